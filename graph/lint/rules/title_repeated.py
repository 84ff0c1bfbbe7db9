"""Titles that two entries share."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import Path, of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    e = subject.equipment
    modes: dict[str, list[tuple[Path, str]]] = {}
    for mode in e.modes.values():
        modes.setdefault(mode.component, []).append((of_mode(mode.id), mode.title))
    kinds: list[list[tuple[Path, str]]] = [
        [((kind, name), entry.title) for name, entry in table.items()]
        for kind, table in (
            ("hazards", e.hazards), ("unit_states", e.unit_states), ("conditions", e.conditions),
            ("components", e.components), ("signals", e.signals), ("symptoms", e.symptoms), ("tests", e.tests),
            ("remedies", e.remedies), ("parts", e.parts),
        )
    ]
    kinds += [[(("instruments", name), title) for name, title in e.instruments.items()], *modes.values()]
    kinds.append([(("parts", name, "number"), part.number) for name, part in e.parts.items()])
    for entries in kinds:
        first: dict[str, Path] = {}
        for path, title in entries:
            before = first.setdefault(" ".join(title.casefold().split()), path)
            if before != path:
                yield Remark(path, f"{title!r}, like {'/'.join(map(str, before))}", "a title that no other has")


RULE = LintRule(
    code="title-repeated",
    says="Two entries of one kind with the same title, or two parts with the same number.",
    why="Whoever reads the answer cannot tell them apart.",
    wrong="""
parts: {thermostat_unit: {title: Tap washer}}
""",
    right="""
parts: {thermostat_unit: {title: Control thermostat with washer}}
""",
    look=_look,
)
