"""The whole answer: suspects, parts, next tests and repairs, kit, conflict, cautions, notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from graph.answers import Advice, Caution, ConditionReport, ConflictReport, NextRemedy, NextStep, NextTest, Suspect
from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.conflict import conflict
from graph.context import Asker, Economics
from graph.equipment import Equipment, Observation, Remedy
from graph.evidence import Finding
from graph.explain import percent
from graph.gain import class_entropy
from graph.kit.answers import Kit
from graph.kit.plan import LIKELY_TESTS, KitWanted, exact_kit
from graph.kit.quick import quick_kit
from graph.kit.stock import Terms
from graph.measurements import disagreements, misfit, readings_of
from graph.planning import plan_of, series_of
from graph.policy.decision import DEFAULT_BUDGET, Action, Decision, decide
from graph.policy.ranking import rank_remedies, rank_tests
from graph.policy.worktable import situation
from graph.proposals import blocked_tests, next_remedies_of, next_step_of, next_tests_of
from graph.suspects import components_of, implicated_parts, suspects_of
from graph.workload import lacking_parts, unit_now

MORE_SUSPECTS = 2
"""As many suspects are explained more than tests and repairs."""


def advise(
    model: CompiledModel,
    findings: Sequence[Finding] = (),
    *,
    known: Mapping[str, str] | None = None,
    asker: Asker | None = None,
    economics: Economics | None = None,
    passed_over: Iterable[str] = (),
    most: int = 3,
    budget: float = DEFAULT_BUDGET,
    margins: bool = False,
    notes: Iterable[str] = (),
) -> Advice:
    """The answer to one case. A pure function of its arguments.

    `passed_over` are observations that were skipped or could not be told; `most` is how many tests,
    repairs and suspects are explained; `budget` is the planning effort in milliseconds, `margins` asks how far
    the rates could be wrong. Raises UnknownName for conditions.
    """
    asker, lost = situation(model, findings, asker or Asker())
    economics = economics or Economics()
    belief = believe(model, findings, known)
    equipment = model.equipment
    ranking = rank_tests(belief, asker, economics, (*passed_over, *lost))
    remedies = [r for r in rank_remedies(belief, ranking) if not r.missing]
    blocked = ranking.blocked(most)
    decision = decide(belief, ranking, remedies, budget, blocked)
    if decision.first.action == "remedy" and all(r.remedy.id != decision.first.name for r in remedies):
        remedies = rank_remedies(belief, ranking, (decision.first.name,))
    names = _first(decision, "test", ranking.open(most))[:most]
    tests = next_tests_of(
        belief, [ranking.test(n) for n in names], ranking.gains.outcomes, series_of(belief, ranking, decision)
    )
    by_name = {r.remedy.id: r for r in remedies}
    repairs = next_remedies_of(equipment, [by_name[n] for n in _first(decision, "remedy", tuple(by_name))[:most]])
    measured = readings_of(belief.prior, findings)
    report = misfit(measured, _conflict_report(belief))
    suspects = suspects_of(belief, asker, most + MORE_SUSPECTS)
    if budget > 0:
        kit = exact_kit(belief, ranking, KitWanted(Terms.of(economics)))
    else:
        kit = quick_kit(belief, asker, economics, ranking.order(LIKELY_TESTS))
    step = next_step_of(
        belief, report, decision, tests, repairs, unit_now(equipment, asker),
        [r.id for r in equipment.remedies.values() if lacking_parts(r, equipment, asker)],
    )
    return Advice(
        equipment=equipment.id,
        title=equipment.title,
        currency=equipment.currency,
        summary=_summary(suspects, step, kit),
        next_step=step,
        plan=plan_of(belief, ranking, remedies, decision, budget, margins),
        suspects=suspects,
        components=components_of(belief),
        unlisted=belief.unlisted,
        nothing_wrong=belief.nothing_left,
        uncertainty=class_entropy(belief),
        parts=implicated_parts(belief),
        next_tests=tests,
        blocked_tests=blocked_tests(
            equipment, [ranking.test(n) for n in blocked], decision.saved, economics.labour(1)
        ),
        next_remedies=repairs,
        kit=kit,
        conflict=report,
        readings=measured,
        conditions=_conditions(belief),
        cautions=_cautions(equipment, tests, repairs),
        general_cautions=equipment.cautions,
        notes=(*notes, *disagreements(belief.prior, findings), *_notes(equipment, asker, tests, repairs)),
    )


def _first(decision: Decision, action: Action, names: Sequence[str]) -> tuple[str, ...]:
    """The names, what was decided first of all if it is such an action."""
    if decision.first.action != action:
        return tuple(names)
    return (decision.first.name, *(n for n in names if n != decision.first.name))


def _summary(suspects: Sequence[Suspect], step: NextStep, kit: Kit) -> str:
    if step.kind == "close":
        return step.sentence
    if suspects:
        named = ", then ".join(f"{s.title} ({percent(s.chance)})" for s in suspects[:3])
        likely = f"Most likely: {named}."
    else:
        likely = "Nothing in this graph explains what was found."
    return f"{likely} {step.sentence} {kit.sentence}"


def _conflict_report(belief: Belief) -> ConflictReport | None:
    found = conflict(belief)
    if found is None:
        return None
    titles = belief.model.equipment.title_of
    if found.culprits:
        names = "; or ".join(" with ".join(f"“{titles(n)}”" for n in group) for group in found.culprits)
        hint = f"Check again: {names}."
    else:
        hint = "No one finding explains it: check them all again, or the cause is outside this graph."
    return ConflictReport(min(found.nats, 1000.0), found.culprits, f"These findings hardly go together. {hint}")


def _conditions(belief: Belief) -> tuple[ConditionReport, ...]:
    known = dict(belief.prior.known)
    shares = belief.conditions()
    return tuple(
        ConditionReport(
            c.id, c.title, known.get(c.id), dict(zip(c.states, shares[c.id].tolist(), strict=True)), c.question,
        )
        for c in belief.model.equipment.conditions.values()
    )


def _cautions(equipment: Equipment, tests: Sequence[NextTest], remedies: Sequence[NextRemedy]) -> tuple[Caution, ...]:
    applies: dict[str, list[str]] = {}
    for job, hazards in [*((t.test, t.hazards) for t in tests), *((r.remedy, r.hazards) for r in remedies)]:
        for hazard in hazards:
            applies.setdefault(hazard, []).append(job)
    return tuple(
        Caution(h.id, h.title, h.precautions, tuple(applies[h.id]))
        for h in equipment.hazards.values() if h.id in applies
    )


def _notes(
    equipment: Equipment, asker: Asker, tests: Sequence[NextTest], remedies: Sequence[NextRemedy]
) -> tuple[str, ...]:
    notes = []
    if equipment.data_note:
        notes.append(equipment.data_note)
    observations = [equipment.observations[t.test] for t in tests]
    proposed: list[Observation | Remedy] = [*observations, *(equipment.remedies[r.remedy] for r in remedies)]
    if any(o.reading for o in observations):
        notes.append(
            "Gains of tests with a number are those of the number; give it with its unit rather than an outcome alone."
        )
    if any(p.needs for p in proposed):
        notes.append("Minutes include bringing the unit from its present state into the one that is needed.")
    if any(m.wear for m in equipment.modes.values()):
        notes.append("Wear is carried along in the graph; this version does not use the unit's age.")
    if asker.instruments is None:
        notes.append("No instruments were named, so all are taken to be at hand.")
    return tuple(notes)
