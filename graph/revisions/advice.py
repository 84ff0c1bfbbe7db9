"""What a new document does to answers, on simulated calls drawn from it.

The calls are the newer document's: its faults at its rates, its symptoms and tests. Of each call both documents are
told what the desk would know; then a technician follows the advice of each on the machine that the newer one describes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import VERIFIED, Finding
from graph.kit.choose import choose
from graph.kit.plan import kit_problem
from graph.kit.stock import Terms
from graph.policy.calls import Policy, Remembered, draw_calls, play
from graph.policy.contenders import ours
from graph.policy.decision import NOTHING_MORE, Choice, decide
from graph.policy.desk import Desk
from graph.policy.ranking import Ranking, rank_remedies, rank_tests
from graph.policy.standings import Figure, standings
from graph.policy.worktable import situation

MOST_EXAMPLES = 5


@dataclass(frozen=True, slots=True)
class Opening:
    """What one document makes of a call when somebody is sent: first step, leading suspect, kit.

    `step` is (action, id), `suspect` an id with its `chance`, `kit` pairs of part and pieces, `finishes` the chance
    that the kit is enough.
    """

    step: tuple[str, str]
    suspect: str
    chance: float
    kit: tuple[tuple[str, int], ...]
    finishes: float


@dataclass(frozen=True, slots=True)
class Example:
    """What the desk knows, in how many of the calls, and how differently it is answered."""

    said: tuple[str, ...]
    times: int
    before: Opening
    after: Opening
    sentence: str


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """How differently calls are answered: shares of `calls`, money a call under the advice of each document.

    `unheard` is the share of calls of which the older document does not know all that was said; `more` is the newer
    one's money less the older one's, on the same calls.
    """

    calls: int
    seed: int
    step: float
    suspect: float
    kit: float
    unheard: float
    before: Figure
    after: Figure
    more: Figure
    examples: tuple[Example, ...]


def advice_change(
    before: CompiledModel, after: CompiledModel, count: int, seed: int, asker: Asker, economics: Economics,
    budget: float,
) -> AdviceChange:
    """Answer `count` calls (two or more) by both documents. A pure function of its arguments.

    `budget` is the planning effort of a decision, milliseconds.
    """
    calls = draw_calls(after, count, seed)
    desk = Desk(after, economics)
    heard = [desk.findings(call) for call in calls]
    told = {said: _known_to(before, said) for said in heard}
    times = Counter(heard)
    openings = {
        said: (
            _opening(before, known, asker, economics, budget), _opening(after, said, asker, economics, budget)
        ) for said, known in told.items()
    }

    def share(differs: Sequence[tuple[Finding, ...]]) -> float:
        return sum(times[said] for said in differs) / count

    follow: dict[str, Policy] = {"after": Remembered(ours(budget)), "before": Remembered(_by_other(before, budget))}
    visits = {name: [play(after, c, policy, asker, economics) for c in calls] for name, policy in follow.items()}
    new, old = standings(after, asker, economics, calls, visits)
    return AdviceChange(
        count, seed,
        share([s for s, (a, b) in openings.items() if a.step != b.step]),
        share([s for s, (a, b) in openings.items() if a.suspect != b.suspect]),
        share([s for s, (a, b) in openings.items() if a.kit != b.kit]),
        share([s for s, known in told.items() if known != s]),
        old.money, new.money, Figure(-old.more.mean, old.more.within),
        _examples(before, after, openings, times),
    )


def _known_to(model: CompiledModel, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings that a document has words for."""
    equipment = model.equipment
    return tuple(
        f for f in findings if (f.about in equipment.remedies and f.counts[0][0] in VERIFIED) or (
            f.about in model.by_id and f.counts[0][0] in model.watches[model.by_id[f.about]].outcomes
        )
    )


def _opening(
    model: CompiledModel, findings: Sequence[Finding], asker: Asker, economics: Economics, budget: float
) -> Opening:
    belief = believe(model, findings)
    now, lost = situation(model, findings, asker)
    ranking = rank_tests(belief, now, economics, lost)
    first = ours(budget)(belief, ranking)
    suspect, chance = belief.likely("modes", 0.0)[0]
    problem = kit_problem(belief, asker, Terms.of(economics))
    best = choose(problem)
    kit = sorted((item.key, n) for item, n in zip(problem.items, best.loaded, strict=True) if n)
    return Opening((first.action, first.name), suspect, chance, tuple(kit), best.finished)


def _by_other(model: CompiledModel, budget: float) -> Policy:
    """The advice of another document, which sees the same findings in its own way; only jobs that are here count."""

    def choose_by_other(belief: Belief, ranking: Ranking) -> Choice:
        here, there = belief.model.equipment, model.equipment
        found = _known_to(model, [f for e in belief.evidence for f in e.found])
        other = believe(model, found)
        units = {name: u.states for name, u in there.unit_states.items()}
        asker = Asker(
            ranking.asker.role, ranking.asker.licences, ranking.asker.instruments, ranking.asker.parts,
            tuple((n, s) for n, s in ranking.asker.unit_state if s in units.get(n, ())),
        )
        able = set(ranking.candidates())
        passed = [n for n in model.by_id if n not in able]
        ranked = rank_tests(other, asker, ranking.economics, passed)
        remedies = [r for r in rank_remedies(other, ranked) if not r.missing and r.remedy.id in here.remedies]
        choice = decide(other, ranked, remedies, budget, compare=False).first
        if choice.action == "remedy" and choice.name not in here.remedies:
            choice = decide(other, ranked, remedies, 0).first
        return choice if choice.action != "remedy" or choice.name in here.remedies else NOTHING_MORE

    return choose_by_other


def _examples(
    before: CompiledModel, after: CompiledModel, openings: dict[tuple[Finding, ...], tuple[Opening, Opening]],
    times: Mapping[tuple[Finding, ...], int],
) -> tuple[Example, ...]:
    """The commonest calls that are answered differently: first step first, then suspect, then kit."""

    def weight(said: tuple[Finding, ...]) -> tuple[float, str]:
        a, b = openings[said]
        differs = (a.step != b.step) * 1.0 + (a.suspect != b.suspect) * 0.5 + (a.kit != b.kit) * 0.25
        return (-differs * times[said], repr(said))

    found = []
    for said in sorted(openings, key=weight)[:MOST_EXAMPLES]:
        a, b = openings[said]
        if weight(said)[0] < 0:
            words = tuple(f"{after.equipment.title_of(f.about)}: {_yes(f)}" for f in said) or ("nothing yet",)
            lead = f"In {times[said]} of {sum(times.values())} calls ({'; '.join(words)}): "
            found.append(Example(words, times[said], a, b, f"{lead}{_clauses(before, after, a, b)}."))
    return tuple(found)


def _yes(found: Finding) -> str:
    return {"present": "yes", "absent": "no"}.get(found.counts[0][0], found.counts[0][0].replace("_", " "))


def _clauses(before: CompiledModel, after: CompiledModel, a: Opening, b: Opening) -> str:
    """What is answered differently, in words."""
    clauses = []
    if a.step != b.step:
        clauses.append(f"first step {_job(before, a)} → {_job(after, b)}")
    if a.suspect != b.suspect:
        clauses.append(
            f"leading suspect “{before.equipment.mode_title(a.suspect)}” ({a.chance:.0%}) → "
            f"“{after.equipment.mode_title(b.suspect)}” ({b.chance:.0%})"
        )
    if a.kit != b.kit:
        came, went = dict(b.kit), dict(a.kit)
        moves = [f"now with {n} x {after.equipment.title_of(p)}" for p, n in b.kit if went.get(p) != n]
        moves += [f"without {n} x {before.equipment.title_of(p)}" for p, n in a.kit if p not in came]
        clauses.append(f"the kit {', '.join(moves)}")
    return "; ".join(clauses)


def _job(model: CompiledModel, opening: Opening) -> str:
    action, name = opening.step
    return "end the visit" if action == "end" else f"“{model.equipment.title_of(name)}”"
