"""Where in a module's entries its own names stand, and what goes when some of them are left out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from graph.equipment import OTHERWISE
from graph.errors import PathItem

Path = tuple[PathItem, ...]
Sections = Mapping[str, Mapping[str, Any]]
SECTIONS = ("components", "signals", "tests", "remedies", "parts")
How = Literal["key", "value", "mode"]

_PATTERNS: tuple[tuple[Path, How], ...] = (
    (("components", "*", "failure_modes", "*", "remedies"), "value"),
    (("signals", "*", "rules", "*", "when"), "key"),
    (("signals", "*", "rules", "*", "when", "any_fault"), "mode"),
    (("signals", "*", "rules", "*", "when", "all_faults"), "mode"),
    (("tests", "*", "reveals"), "value"),
    (("tests", "*", "disturbs"), "value"),
    (("remedies", "*", "disturbs"), "value"),
    (("remedies", "*", "parts"), "key"),
    (("remedies", "*", "verify"), "value"),
    (("parts", "*", "alternatives"), "value"),
    (("parts", "*", "superseded_by"), "value"),
)
"""Every place of a document that names an entry: the map, text or list there, and how the name is written."""


@dataclass(frozen=True, slots=True)
class Mention:
    """One name at one place; `how` says whether it is a key, a value or the first half of component.mode."""

    path: Path
    name: str
    how: How


def mentions(sections: Sections) -> Iterator[Mention]:
    """Every name that the entries mention."""
    for pattern, how in _PATTERNS:
        for path, value in _matching(sections, pattern, ()):
            if isinstance(value, str):
                yield Mention(path, value, how)
            elif isinstance(value, list):
                for i, item in enumerate(value):
                    if isinstance(item, str):
                        yield Mention((*path, i), item.split(".")[0] if how == "mode" else item, how)
            elif isinstance(value, dict):
                yield from (Mention((*path, key), key, how) for key in value)


def _matching(value: Any, pattern: Path, path: Path) -> Iterator[tuple[Path, Any]]:
    if not pattern:
        yield path, value
        return
    step, rest = pattern[0], pattern[1:]
    if step == "*":
        items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, item in items:
            yield from _matching(item, rest, (*path, key))
    elif isinstance(value, Mapping) and step in value:
        yield from _matching(value[step], rest, (*path, step))


def at(sections: Sections, path: Path) -> Any:
    """What stands at a path."""
    here: Any = sections
    for item in path:
        here = here[item]
    return here


class LeftOut:
    """What goes with the names that a machine does without; `gone` holds the paths, of entries and inside them.

    A component without modes goes, as does a rule that can't fire, a state that only such rules brought about, an
    outcome without states, a test that no longer tells anything, a remedy that no mode names and a part that no remedy
    takes. `states` holds what is left out as component.mode and as signal.state.
    """

    def __init__(self, sections: Sections, without: Collection[str], never: Collection[Path]) -> None:
        self.sections = sections
        self.gone: set[Path] = set(never)
        self.states: set[str] = {name for name in without if "." in name}
        self.names: set[str] = {name for name in without if "." not in name}
        size = -1
        while size != len(self.gone) + len(self.states) + len(self.names):
            size = len(self.gone) + len(self.states) + len(self.names)
            self._components()
            self._rules()
            self._tests()
            self._mentions()
            self._unused()
        self.gone |= {(s, name) for s in SECTIONS for name in sections.get(s, {}) if name in self.names}

    def _entries(self, section: str) -> Iterator[tuple[str, Any]]:
        for name, entry in self.sections.get(section, {}).items():
            if name not in self.names and isinstance(entry, dict):
                yield name, entry

    def _components(self) -> None:
        for name, entry in self.sections.get("components", {}).items():
            modes = [f"{name}.{m}" for m in entry["failure_modes"]]
            if name in self.names:
                self.states.update(modes)
            elif self.states.issuperset(modes):
                self.names.add(name)
            self.gone |= {("components", name, "failure_modes", m.split(".")[1]) for m in self.states & set(modes)}

    def _rules(self) -> None:
        for name, entry in self._entries("signals"):
            for i, rule in enumerate(entry["rules"]):
                when = rule.get("when")
                if isinstance(when, dict) and self._impossible(when, ("signals", name, "rules", i, "when")):
                    self.gone.add(("signals", name, "rules", i))
            self._signal_states(name, entry)

    def _signal_states(self, name: str, entry: Mapping[str, Any]) -> None:
        """States that rules brought about, all of them gone; but two at least are left."""
        path: Path = ("signals", name)
        rules = entry["rules"]
        left = {rule["state"] for i, rule in enumerate(rules) if (*path, "rules", i) not in self.gone}
        lost = {rule["state"] for rule in rules} - left
        if len(left) > 1:
            self.states |= {f"{name}.{state}" for state in lost}
            self.gone |= {(*path, "states", i) for i, state in enumerate(entry["states"]) if state in lost}
            self.gone |= {(*path, "titles", state) for state in lost}

    def _impossible(self, when: Mapping[str, Any], path: Path) -> bool:
        """Whether a rule can't fire any more; on the way, single modes in its lists go."""
        for key, asked in when.items():
            listed = [asked] if isinstance(asked, str) else asked
            full = listed if key in ("any_fault", "all_faults") else [f"{key}.{state}" for state in listed]
            lost = {(*path, key, i) for i, mode in enumerate(full) if mode in self.states}
            if key in self.names or len(lost) == len(full) or (lost and key == "all_faults"):
                return True
            self.gone |= lost
        return False

    def _tests(self) -> None:
        for name, entry in self._entries("tests"):
            reveals = entry["reveals"]
            if reveals in self.names:
                self.names.add(name)
                continue
            path: Path = ("tests", name)
            for outcome, said in entry["outcomes"].items():
                states: Sequence[str] = said["states"] if isinstance(said, dict) else said
                if states == OTHERWISE:
                    continue
                lost = {i for i, state in enumerate(states) if f"{reveals}.{state}" in self.states}
                where: Path = (*path, "outcomes", outcome)
                inside: Path = ("states",) if isinstance(said, dict) else ()
                self.gone |= {where} if len(lost) == len(states) else {(*where, *inside, i) for i in lost}
            if sum((*path, "outcomes", outcome) not in self.gone for outcome in entry["outcomes"]) < 2:
                self.names.add(name)
            for inside in (("chances",), ("reading", "expected")):
                for found, states_said in _matching(entry, inside, path):
                    self.gone |= {(*found, state) for state in states_said if f"{reveals}.{state}" in self.states}

    def _mentions(self) -> None:
        """Mentions of what is gone, but for rules, tests and modes, which have been seen to."""
        for mention in mentions(self.sections):
            if mention.name in self.names and mention.path[0] != "signals" and mention.path[2] != "reveals":
                self.gone.add(mention.path)

    def _unused(self) -> None:
        """Remedies and parts that nothing names any more."""
        for section in ("remedies", "parts"):
            named = {m.name for m in mentions(self.sections) if m.path[2] != "verify" and not self._lost(m.path)}
            self.names |= {name for name, _ in self._entries(section) if name not in named}

    def _lost(self, path: Path) -> bool:
        return path[1] in self.names or any(path[:length] in self.gone for length in range(2, len(path) + 1))
