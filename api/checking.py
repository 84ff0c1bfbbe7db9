"""`halfsplit check`: defects and warnings of graph documents, and the rules behind the warnings."""

from __future__ import annotations

import argparse
import sys
import textwrap
from dataclasses import dataclass, field
from pathlib import Path

import orjson

from api.exit_status import DEFECTS, OK, USAGE, WARNINGS
from api.progress import progress
from graph.compile import compile_model
from graph.equipment import Equipment
from graph.errors import Defect, DocumentError, HalfsplitError
from graph.lint.linting import ALL_RULES, lint
from schemas.load import load_source
from schemas.source import parse

_WIDTH = 96


@dataclass(frozen=True, slots=True)
class Checked:
    """One file: whether it can be used, its defects, what the rules warn of, what was accepted, and a summary."""

    file: str
    usable: bool
    defects: list[str]
    warnings: list[str] = field(default_factory=list)
    accepted: list[str] = field(default_factory=list)
    summary: str = ""


def check(given: argparse.Namespace) -> int:
    """Check the files that were given, or list the rules; returns the exit status."""
    if given.rules:
        print(rules_text())
        return OK
    if not given.files:
        print("halfsplit: check needs a FILE, or --rules", file=sys.stderr)
        return USAGE
    found = []
    for path in given.files:
        with progress(f"checking {path}"):
            found.append(checked(path))
    if given.json:
        print(orjson.dumps(found, option=orjson.OPT_INDENT_2).decode())
    else:
        for one in found:
            print("\n".join([*one.defects, *one.warnings, *([one.summary] if one.summary else [])]))
    if not all(one.usable for one in found):
        return DEFECTS
    return WARNINGS if any(one.warnings for one in found) and not given.warnings_ok else OK


def checked(path: Path) -> Checked:
    """The check of one file. Raises OSError where it can't be read."""
    name = str(path)
    try:
        source = parse(path.read_bytes(), name)
        model = compile_model(load_source(source))
    except DocumentError as error:
        return Checked(name, False, [d.sentence() for d in error.defects])
    except HalfsplitError as error:
        place = tuple(error.pointer.split("/")[1:])
        defect = Defect(error.code, place, error.detail, error.expected or "a smaller graph", None, name)
        return Checked(name, False, [defect.sentence()])
    linted = lint(model)
    warnings = [_warning(source.locate(d)) for d in linted.remarks]
    accepted = [f"{_warning(source.locate(d))} (accepted: {a.reason})" for d, a in linted.accepted]
    summary = f"{name}: usable. {_counted(model.equipment)}; {model.rows:,} hypotheses. {_tally(warnings, accepted)}"
    return Checked(name, True, [], warnings, accepted, summary)


def rules_text() -> str:
    """Every rule: its code, what it reports and why."""
    lines = []
    for rule in ALL_RULES:
        lines += [rule.code, textwrap.indent(textwrap.fill(f"{rule.says} {rule.why}", _WIDTH), "  ")]
    return "\n".join(lines)


def _warning(defect: Defect) -> str:
    """A remark as a sentence, told apart from a defect."""
    place, dot, rest = defect.sentence().partition(": /")
    return f"{place}: warning: /{rest}" if dot else f"warning: {defect.sentence()}"


def _counted(equipment: Equipment) -> str:
    return (
        f"{len(equipment.modes)} failure modes, {len(equipment.signals)} signals, "
        f"{len(equipment.symptoms)} symptoms, {len(equipment.tests)} tests, "
        f"{len(equipment.remedies)} remedies, {len(equipment.parts)} parts"
    )


def _tally(warnings: list[str], accepted: list[str]) -> str:
    said = f"{len(warnings)} warning{'s' if len(warnings) != 1 else ''}" if warnings else "No warnings"
    return f"{said}, {len(accepted)} accepted." if accepted else f"{said}."
