"""The plan of a visit as an answer: its cost, what else was compared, what to look at first, how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from graph.answers import Series
from graph.belief import Belief
from graph.equipment import Equipment
from graph.plan_answers import EvidenceAtStake, Plan, PlanOption, RateMargin
from graph.policy.decision import END, Decision
from graph.policy.margins import Margin, rate_margins
from graph.policy.ranking import RankedRemedy, Ranking
from graph.policy.series import best_series

ENDING = "End the visit"
WORTH_COMPARING = 0.05
"""Bits below which a test is not named as another way to go on."""


def plan_of(
    belief: Belief, ranking: Ranking, remedies: Sequence[RankedRemedy], decision: Decision, budget: float,
    margins: bool,
) -> Plan:
    """The plan behind a decision; `margins` asks how far the rates could be wrong."""
    equipment = belief.model.equipment
    cost = decision.first.cost
    options = tuple(
        PlanOption(_kind(equipment, c.name), None if c.name == END else c.name, _title(equipment, c.name), c.cost)
        for c in decision.choices if c.cost is not None
    )
    return Plan(
        cost, decision.least, None if not cost else 1 - decision.least / cost, decision.optimal, budget, options,
        _at_stake(equipment, ranking, remedies, decision),
        tuple(_margin(equipment, m) for m in rate_margins(belief, decision)) if margins else (),
        _sentence(ranking, decision),
    )


def series_of(belief: Belief, ranking: Ranking, decision: Decision) -> dict[str, Series]:
    """How often to repeat the test that was decided on, where a fault that comes and goes is in question."""
    first = decision.first
    if decision.rollout is None or first.action != "test":
        return {}
    found = best_series(belief, ranking, decision.rollout, first.name, decision.small)
    if found is None:
        return {}
    sentence = (
        f"Do it {found.times} times, one miss counts: a run without a miss lowers the odds of a fault that comes and "
        f"goes from {_odds(found.before)} to {_odds(found.after)}; more would cost more than the doubt that is left."
        if found.times > 1 else "Once is enough: repeats would cost more than the doubt they take away."
    )
    return {first.name: Series(found.times, found.minutes, found.before, found.after, sentence)}


def _odds(chance: float) -> str:
    """A chance as odds for people, e.g. 1 to 12."""
    if chance >= 0.5:
        return f"{chance / max(1 - chance, 1e-6):.0f} to 1"
    return f"1 to {(1 - chance) / max(chance, 1e-6):.0f}"


def _kind(equipment: Equipment, name: str) -> Literal["ask", "test", "repair", "end"]:
    if name == END:
        return "end"
    if name in equipment.remedies:
        return "repair"
    return "ask" if name in equipment.symptoms else "test"


def _title(equipment: Equipment, name: str) -> str:
    return ENDING if name == END else equipment.title_of(name)


def _at_stake(
    equipment: Equipment, ranking: Ranking, remedies: Sequence[RankedRemedy], decision: Decision
) -> tuple[EvidenceAtStake, ...]:
    """What the likeliest jobs that come up would destroy, the most telling first."""
    found: dict[str, EvidenceAtStake] = {}
    jobs = [(r.remedy.id, r.look_first) for r in remedies[:1]]
    jobs += [(n, ranking.looks(n)) for n in ranking.open(3)]
    first = decision.first.name
    if first in ranking.at_risk:
        wiping = next((n for n in ranking.order() if first in ranking.work.destroys.get(n, ())), None)
        jobs += [] if wiping is None else [(wiping, (first,))]
    for job, looks in jobs:
        for look in looks:
            if look in found:
                continue
            bits, later, now = ranking.worth(look), decision.cost_of(job), decision.cost_of(look)
            saves = None if later is None or now is None else max(0.0, later - now)
            money = "" if not saves or saves < 0.01 else f" and saves {saves:.2f} {equipment.currency}"
            found[look] = EvidenceAtStake(
                look, equipment.title_of(look), job, bits, saves,
                f"“{equipment.title_of(job)}” destroys what “{equipment.title_of(look)}” would show: looking first is "
                f"worth {bits:.2f} bits{money}.",
            )
    return tuple(found.values())


def _margin(equipment: Equipment, margin: Margin) -> RateMargin:
    title = equipment.mode_title(margin.mode)
    if margin.factor is None or margin.job is None:
        sentence = f"{title}: the next step stays the same with 8 times or an eighth of its rate."
    else:
        job = _title(equipment, margin.job)
        sentence = f"{title}: with {margin.factor:.2g} times its rate, “{job}” would come first."
    return RateMargin(margin.mode, title, margin.factor, margin.job, sentence)


def _sentence(ranking: Ranking, decision: Decision) -> str:
    """The cost, its proof, and what else could come first; a question that tells next to nothing is passed over."""
    equipment, tests = ranking.model.equipment, ranking.model.by_id
    cost, least = decision.first.cost, decision.least
    if cost is None:
        return (
            "Not planned to the end: the best score decides. "
            f"No plan costs less than {least:.2f} {equipment.currency}."
        )
    proof = "proved to be the least" if decision.optimal else f"no plan costs less than {least:.2f}"
    runner_up = next((
        c for c in decision.choices[1:]
        if c.cost is not None and (c.name not in tests or ranking.worth(c.name) >= WORTH_COMPARING)
    ), None)
    other = ""
    if runner_up is not None and runner_up.cost is not None:
        more = runner_up.cost - cost
        about = f"{more:.2f} more" if more >= 0.01 * cost else "about the same"
        other = f" Starting with “{_title(equipment, runner_up.name)}” instead: {about}."
    return f"From here to a verified repair about {cost:.2f} {equipment.currency} ({proof}).{other}"
