"""Whether the names in a graph document fit together. Every defect is collected."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import islice
from typing import Any

from graph.equipment import OTHERWISE, SOUND
from graph.errors import Defect, PathItem, listed, nearest_name
from graph.evidence import NEUTRAL
from schemas.document import (
    Document,
    OutcomeShape,
    RemedyShape,
    RuleShape,
    SignalShape,
    StateOrStates,
    TestShape,
)
from schemas.readings import reading_defects
from schemas.source import MOST_DEFECTS

Path = tuple[PathItem, ...]
Placed = Iterable[tuple[Path, str]]
"""Names, each with the path of the place that says it."""

ANY = "any"
"""In `needs`: the work can be done in any state of that name."""
_NAMED = "signal, condition or component"
_ROUNDING = 0.01
"""Shares and chances may miss 100 by this much: thirds are written 33.33."""


def states_listed(states: StateOrStates) -> list[str]:
    """One state or a list of them, as a list."""
    return [states] if isinstance(states, str) else list(states)


def outcome_states(outcome: OutcomeShape | list[str] | str) -> list[str] | str:
    """The states of an outcome in any of its spellings, or `otherwise`."""
    return outcome.states if isinstance(outcome, OutcomeShape) else outcome


def defects(document: Document) -> list[Defect]:
    """Unknown names, states covered twice or never, loops and bad sums; the first MOST_DEFECTS of them."""
    return list(islice(_Names(document).everything(), MOST_DEFECTS))


def _items(names: Iterable[str], path: Path) -> Placed:
    """The names in a list at `path`."""
    return (((*path, i), name) for i, name in enumerate(names))


def _keys(names: Iterable[str], path: Path) -> Placed:
    """The keys of a map at `path`."""
    return (((*path, name), name) for name in names)


def _one_or_more(states: StateOrStates, path: Path) -> Placed:
    """One name at `path`, or those in the list there."""
    return [(path, states)] if isinstance(states, str) else _items(states, path)


def _known(kind: str, names: Placed, valid: Collection[str]) -> Iterator[Defect]:
    """A defect for each name that is not a valid one."""
    for path, name in names:
        if name not in valid:
            article = "an" if kind[0] in "aeiou" else "a"
            expected = f"{article} {kind}" + (f": {listed(valid)}" if valid else ", and there are none")
            yield Defect("unknown-name", path, repr(name), expected, nearest_name(name, valid))


def _repeated(names: Placed, code: str, expected: str) -> Iterator[Defect]:
    """A defect for each name that was said before."""
    seen = set()
    for path, name in names:
        if name in seen:
            yield Defect(code, path, f"{name!r} again", expected)
        seen.add(name)


def _whole(parts: Mapping[str, float], path: Path, code: str, what: str) -> Iterator[Defect]:
    """A defect where shares don't add up to 100."""
    total = sum(parts.values())
    if abs(total - 100) > _ROUNDING:
        yield Defect(code, path, f"{what} that add up to {total:g}", "100")


class _Names:
    """The names of one document and the checks of what refers to them."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.modes = {f"{c}.{m}": None for c, shape in document.components.items() for m in shape.failure_modes}
        self.states: dict[str, Collection[str]] = {
            **{name: s.states for name, s in document.signals.items()},
            **{name: c.states for name, c in document.conditions.items()},
            **{name: {**c.failure_modes, SOUND: None} for name, c in document.components.items()},
        }

    def everything(self) -> Iterator[Defect]:
        """All checks, about in document order."""
        d = self.document
        yield from self.shared_names()
        yield from self.reserved_names()
        yield from self.equipment()
        for name, state in d.unit_states.items():
            path: Path = ("unit_states", name)
            yield from _repeated(_items(state.states, (*path, "states")), "state-twice", "each state once")
            yield from _known("state", [((*path, "usual"), state.usual)], state.states)
            yield from _known("state", _keys(state.minutes, (*path, "minutes")), state.states)
            if state.lockout is not None:
                yield from _known("state", [((*path, "lockout"), state.lockout)], state.states)
            yield from _known("state", _keys(state.disturbs, (*path, "disturbs")), state.states)
            for reached, lost in state.disturbs.items():
                yield from _known(_NAMED, _items(lost, (*path, "disturbs", reached)), self.states)
        for name, condition in d.conditions.items():
            yield from _whole(condition.states, ("conditions", name, "states"), "shares-sum", "shares")
            yield from _known("state", _keys(condition.titles, ("conditions", name, "titles")), condition.states)
        yield from self.components()
        for name, signal in d.signals.items():
            yield from self.signal(signal, ("signals", name))
        yield from self.loops()
        for name, symptom in d.symptoms.items():
            yield from self.required(_NAMED, symptom.shows, self.states, ("symptoms", name, "shows"))
            yield from self.required("condition", symptom.only_if, d.conditions, ("symptoms", name, "only_if"))
        for name, test in d.tests.items():
            yield from self.test(test, ("tests", name))
        yield from self.remedies()
        for name, part in d.parts.items():
            yield from _known("part", _items(part.alternatives, ("parts", name, "alternatives")), d.parts)
        yield from self.successors()

    def successors(self) -> Iterator[Defect]:
        """What superseded each part: known, and never a part that it superseded itself."""
        parts = self.document.parts
        for name, part in parts.items():
            if part.superseded_by is None:
                continue
            path: Path = ("parts", name, "superseded_by")
            yield from _known("part", [(path, part.superseded_by)], parts)
            chain = [name]
            while (after := parts[chain[-1]].superseded_by) in parts and after not in chain:
                chain.append(after)
            if after == name:
                yield Defect("part-loop", path, f"a loop of parts: {listed(chain)}",
                             "a part that is supplied now, at the end of each chain")

    def shared_names(self) -> Iterator[Defect]:
        """Names that two things of the document share, where one name must mean one thing."""
        d = self.document
        groups: list[dict[str, Mapping[str, Any]]] = [
            {"components": d.components, "signals": d.signals, "conditions": d.conditions},
            {"symptoms": d.symptoms, "tests": d.tests, "remedies": d.remedies},
        ]
        for group in groups:
            owner: dict[str, str] = {}
            for kind, entries in group.items():
                for name in entries:
                    if name in owner:
                        found = f"{name!r} also in {owner[name]}"
                        yield Defect("name-twice", (kind, name), found, "a name of its own")
                    owner.setdefault(name, kind)

    def reserved_names(self) -> Iterator[Defect]:
        """Names that already mean something."""
        d = self.document
        for name, component in d.components.items():
            for path, mode in _keys(component.failure_modes, ("components", name, "failure_modes")):
                if mode == SOUND:
                    yield Defect("reserved-name", path, repr(mode), "another name: it is a component without fault")
        for name, test in d.tests.items():
            for path, outcome in _keys(test.outcomes, ("tests", name, "outcomes")):
                if outcome in NEUTRAL:
                    yield Defect("reserved-name", path, repr(outcome), "another name: it says that nothing was found")
        for kind, names in (("components", d.components), ("signals", d.signals), ("conditions", d.conditions)):
            for path, name in _keys(names, (kind,)):
                if name in ("any_fault", "all_faults"):
                    yield Defect("reserved-name", path, repr(name), "another name: it is a key of `when`")

    def equipment(self) -> Iterator[Defect]:
        e, path = self.document.equipment, ("equipment",)
        yield from _known("condition", _items(e.options, (*path, "options")), self.document.conditions)
        total = e.two_faults_in_100 + e.nothing_wrong_in_100 + e.unlisted_in_100
        if total >= 100:
            yield Defect("shares-sum", path, f"unusual calls that add up to {total:g} in 100", "less than 100")
        steps = [((*path, "sequence", i, "id"), step.id) for i, step in enumerate(e.sequence)]
        yield from _repeated(steps, "name-twice", "a name a step")
        for i, step in enumerate(e.sequence):
            where: Path = (*path, "sequence", i, "shows")
            yield from self.required("signal", step.shows, self.document.signals, where)

    def required(
        self, kind: str, needs: Mapping[str, StateOrStates], valid: Collection[str], path: Path
    ) -> Iterator[Defect]:
        """Each key of a map is one of the valid names and each value its state or states."""
        yield from _known(kind, _keys(needs, path), valid)
        for name, states in needs.items():
            if name in valid:
                yield from _known(f"state of {name}", _one_or_more(states, (*path, name)), self.states[name])

    def components(self) -> Iterator[Defect]:
        d = self.document
        for name, component in d.components.items():
            path: Path = ("components", name)
            yield from self.required("condition", component.only_if, d.conditions, (*path, "only_if"))
            for mode_name, mode in component.failure_modes.items():
                where: Path = (*path, "failure_modes", mode_name)
                yield from _known("remedy", _items(mode.remedies, (*where, "remedies")), d.remedies)
                yield from _known("condition", _keys(mode.raised_by, (*where, "raised_by")), d.conditions)
                for condition, factors in mode.raised_by.items():
                    if condition in d.conditions:
                        names = _keys(factors, (*where, "raised_by", condition))
                        yield from _known(f"state of {condition}", names, d.conditions[condition].states)
                yield from self.required("condition", mode.only_if, d.conditions, (*where, "only_if"))

    def signal(self, signal: SignalShape, path: Path) -> Iterator[Defect]:
        yield from _repeated(_items(signal.states, (*path, "states")), "state-twice", "each state once")
        yield from _known("state", _keys(signal.titles, (*path, "titles")), signal.states)
        last = len(signal.rules) - 1
        default = next((i for i, rule in enumerate(signal.rules) if rule.when is None), None)
        for i, rule in enumerate(signal.rules):
            where: Path = (*path, "rules", i)
            yield from self.rule(rule, signal.states, where)
            if default is not None and i > default:
                yield Defect("rule-never-reached", where, "a rule after the default", "the rule without `when` last")
        if default is None:
            yield Defect("no-default", (*path, "rules", last), "a last rule with `when`",
                         "a last rule with only `state`, for all other cases")

    def rule(self, rule: RuleShape, states: Collection[str], path: Path) -> Iterator[Defect]:
        yield from _known("state", [((*path, "state"), rule.state)], states)
        if (when := rule.when) is None:
            return
        path = (*path, "when")
        yield from _known("failure mode", _items(when.any_fault, (*path, "any_fault")), self.modes)
        yield from _known("failure mode", _items(when.all_faults, (*path, "all_faults")), self.modes)
        yield from self.required(_NAMED, when.states, self.states, path)
        if not (when.states or when.any_fault or when.all_faults):
            yield Defect("empty-when", path, "nothing", "something to match, or no `when`")

    def loops(self) -> Iterator[Defect]:
        """Signals that depend on themselves, each knot of them once."""
        signals = self.document.signals
        parents = {
            name: [p for rule in signal.rules for p in (rule.when.states if rule.when else ()) if p in signals]
            for name, signal in signals.items()
        }
        try:
            TopologicalSorter(parents).prepare()
        except CycleError:
            yield from self.knots(parents)

    def knots(self, before: Mapping[str, Iterable[str]]) -> Iterator[Defect]:
        """The loops among signals that come after others."""
        import networkx as nx  # slow to import, and sound documents have no loops

        parents: nx.DiGraph[str] = nx.DiGraph((p, name) for name, some in before.items() for p in some)
        order = {name: i for i, name in enumerate(before)}
        alone = set(nx.nodes_with_selfloops(parents))
        knots = [sorted(knot, key=order.__getitem__) for knot in nx.strongly_connected_components(parents)
                 if len(knot) > 1 or knot & alone]
        for knot in sorted(knots, key=lambda knot: order[knot[0]]):
            yield Defect("signal-loop", ("signals", knot[0], "rules"), f"a loop of signals: {listed(knot)}",
                         "signals that depend on one another in one direction only")

    def test(self, test: TestShape, path: Path) -> Iterator[Defect]:
        d = self.document
        yield from _known(_NAMED, [((*path, "reveals"), test.reveals)], self.states)
        if test.reveals in self.states:
            states = self.states[test.reveals]
            yield from self.outcomes(test, states, path)
            if test.reading is not None:
                yield from reading_defects(test.reading, test.reveals, states, (*path, "reading"))
                if test.repeats > 1:
                    yield Defect("reading-form", (*path, "repeats"), f"a reading of {test.repeats} trials",
                                 "one trial a reading")
        yield from self.required("condition", test.only_if, d.conditions, (*path, "only_if"))
        yield from self.work(test, path)

    def outcomes(self, test: TestShape, states: Collection[str], path: Path) -> Iterator[Defect]:
        """Every state of what a test reveals leads to one outcome, or has chances of its own."""
        owner: dict[str, str] = {}
        for name, outcome in test.outcomes.items():
            where: Path = (*path, "outcomes", name)
            if isinstance(outcome, OutcomeShape):
                where = (*where, "states")
            said = outcome_states(outcome)
            named = list(_one_or_more(said, where))
            yield from _known(f"state of {test.reveals}", named, {OTHERWISE} if said == OTHERWISE else states)
            for place, state in named:
                if state in owner:
                    yield Defect("state-twice", place, f"{state!r}, also in {owner[state]!r}", "one outcome a state")
                owner.setdefault(state, name)
        missing = [s for s in states if s not in owner and s not in test.chances]
        if missing and OTHERWISE not in owner:
            yield Defect("state-not-covered", (*path, "outcomes"), f"no outcome for {listed(missing)}",
                         f"every state of {test.reveals} in an outcome, or `{OTHERWISE}`")
        yield from _known(f"state of {test.reveals}", _keys(test.chances, (*path, "chances")), states)
        for state, chances in test.chances.items():
            yield from _known("outcome", _keys(chances, (*path, "chances", state)), test.outcomes)
            yield from _whole(chances, (*path, "chances", state), "chances-sum", "chances")

    def work(self, job: TestShape | RemedyShape, path: Path) -> Iterator[Defect]:
        """What tests and remedies share: instruments, hazards, the unit state they need, what they disturb."""
        d = self.document
        yield from _known("instrument", _items(job.instruments, (*path, "instruments")), d.instruments)
        yield from _known("hazard", _items(job.hazards, (*path, "hazards")), d.hazards)
        yield from _known("state of the unit", _keys(job.needs, (*path, "needs")), d.unit_states)
        for name, state in job.needs.items():
            if name in d.unit_states:
                place = [((*path, "needs", name), state)]
                yield from _known(f"state of {name}", place, [*d.unit_states[name].states, ANY])
        yield from _known(_NAMED, _items(job.disturbs, (*path, "disturbs")), self.states)

    def remedies(self) -> Iterator[Defect]:
        d = self.document
        used = {r for c in d.components.values() for m in c.failure_modes.values() for r in m.remedies}
        for name, remedy in d.remedies.items():
            path: Path = ("remedies", name)
            yield from _known("part", _keys(remedy.parts, (*path, "parts")), d.parts)
            yield from self.work(remedy, path)
            if remedy.verify is not None:
                yield from _known("test", [((*path, "verify"), remedy.verify)], d.tests)
            if name not in used:
                yield Defect("never-used", path, f"a remedy {name!r} that no failure mode names",
                             "its name in `remedies` of the failure modes that it fixes")
