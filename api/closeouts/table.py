"""Close-out records as CSV (RFC 4180), a row a job, to open in a spreadsheet and to read back.

Lists are joined with `; `. A part is `float_switch_part*1`. A finding is `fan_spin=stiff`, a series of trials
`door_cycle=runs*7+stops*1`, a reading `probe_ohms=18.2 kOhm` with its circumstances `probe_ohms=18.2 kOhm @
bath=1`. Notes on single findings are left out: they are in the JSON form. A cell that a spreadsheet would take for
a formula begins with an apostrophe, which is taken off on the way in.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Any

from graph.errors import nearest_name
from schemas.closeouts import MOST, Closeout
from schemas.problems import MOST_ITEMS, ProblemItem
from schemas.requests import FindingGiven

COLUMNS = (
    "case", "external_id", "equipment", "model", "serial", "age_years", "opened", "closed", "problem", "findings",
    "cause", "activities", "spare_parts", "active_minutes", "note", "by",
)
_NEEDED = ("equipment", "opened", "closed", "cause")
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")
_WORDS = ("no_fault_found", "unlisted")
_READING = re.compile(r"(?P<value>[-+]?[0-9][0-9.]*(?:[eE][-+]?[0-9]+)?)\s+(?P<unit>[^@;]+?)(?:\s*@\s*(?P<at>.+))?")


class NotATable(ValueError):
    """A text that is no table of close-outs; `items` say where and why."""

    def __init__(self, items: Iterable[ProblemItem]) -> None:
        self.items = tuple(items)
        super().__init__(self.items[0].detail)


def written(records: Iterable[Closeout]) -> str:
    """The table, with a head."""
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(COLUMNS)
    for r in records:
        rows.writerow([_guarded(cell) for cell in (
            r.case, r.external_id, r.equipment, r.unit.model, r.unit.serial, r.unit.age_years, r.opened, r.closed,
            r.problem, "; ".join(_finding_text(f) for f in r.findings),
            r.cause if isinstance(r.cause, str) else "; ".join(r.cause),
            "; ".join(a.remedy for a in r.activities),
            "; ".join(f"{p.part}*{p.quantity}" for p in r.spare_parts), r.active_minutes, r.note, r.by,
        )])
    return out.getvalue()


def _guarded(cell: object) -> str:
    text = "" if cell is None else format(cell, "g") if isinstance(cell, float) else str(cell)
    return "'" + text if text.startswith(_FORMULA) else text


def _finding_text(finding: FindingGiven) -> str:
    if finding.reading is not None:
        reading = finding.reading
        at = ", ".join(f"{name}={value!r}" for name, value in reading.at.items())
        return f"{finding.about}={reading.value!r} {reading.unit}" + (f" @ {at}" if at else "")
    outcome = finding.outcome
    shown = "+".join(f"{o}*{n}" for o, n in outcome.items()) if isinstance(outcome, dict) else outcome
    return f"{finding.about}={shown or 'not_done'}"


def read(text: str) -> list[dict[str, Any]]:
    """The rows of a table as bodies of close-outs, yet to be checked. Raises NotATable with every misfit cell."""
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        head = [name.strip() for name in next(rows, [])]
        _check_head(head)
        table = [row for row in rows if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise NotATable([ProblemItem("", f"line {rows.line_num}: {error}", "a CSV table (RFC 4180)")]) from None
    if not 1 <= len(table) <= MOST:
        raise NotATable([ProblemItem("", f"the table has {len(table)} rows", f"1 to {MOST} rows below the head")])
    items: list[ProblemItem] = []
    bodies = []
    for number, row in enumerate(table):
        if len(row) > len(head):
            items.append(ProblemItem(f"/closeouts/{number}", f"row {number + 1} has {len(row)} cells",
                                     f"{len(head)} cells, as the head has"))
            continue
        bodies.append(_body(dict(zip(head, map(_unguarded, row), strict=False)), number, items))
    if items:
        raise NotATable(items)
    return bodies


def _check_head(head: list[str]) -> None:
    times = Counter(head)
    unknown = islice((name for name in times if name not in COLUMNS), MOST_ITEMS)
    wrong = [
        ProblemItem("", f"there is no column {name[:80]!r}", f"columns among {', '.join(COLUMNS)}",
                    nearest_name(name[:80], COLUMNS))
        for name in unknown
    ]
    wrong += [ProblemItem("", f"the column {name!r} is missing", f"a head with {', '.join(_NEEDED)}")
              for name in _NEEDED if name not in times]
    wrong += [ProblemItem("", f"the column {name!r} is there twice", "each column once")
              for name in COLUMNS if times[name] > 1]
    if wrong:
        raise NotATable(wrong)


def _unguarded(cell: str) -> str:
    return (cell[1:] if cell.startswith("'") else cell).strip()


def _body(cells: dict[str, str], number: int, items: list[ProblemItem]) -> dict[str, Any]:
    def taken(column: str, take: Callable[[str], Any]) -> Any:
        try:
            return take(cells.get(column, ""))
        except ValueError as error:
            items.append(ProblemItem(f"/closeouts/{number}", f"row {number + 1}, column {column}: {error}"))
            return None

    unit = {"model": cells.get("model") or None, "serial": cells.get("serial") or None,
            "age_years": taken("age_years", _number)}
    body: dict[str, Any] = {
        name: cells[name] for name in ("case", "external_id", "equipment", "opened", "closed", "problem", "note", "by")
        if cells.get(name)
    }
    cause = cells.get("cause", "")
    return body | {
        "unit": unit, "cause": cause if cause in _WORDS else _listed(cause),
        "findings": taken("findings", lambda t: [_finding(one) for one in _listed(t)]),
        "activities": [{"remedy": name} for name in _listed(cells.get("activities", ""))],
        "spare_parts": taken("spare_parts", lambda t: [_part(one) for one in _listed(t)]),
        "active_minutes": taken("active_minutes", _number),
    }


def _listed(text: str) -> list[str]:
    return [item.strip() for item in text.split(";") if item.strip()]


def _number(text: str) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        raise ValueError(f"{text[:40]!r} is no number") from None


def _counted(text: str) -> tuple[str, int]:
    name, star, times = text.partition("*")
    if star and not times.strip().isdecimal():
        raise ValueError(f"{text[:80]!r} is not a name, or name*number")
    return name.strip(), int(times[:9]) if star else 1


def _part(text: str) -> dict[str, Any]:
    name, quantity = _counted(text)
    return {"part": name, "quantity": quantity}


def _finding(text: str) -> dict[str, Any]:
    about, equals, shown = (piece.strip() for piece in text.partition("="))
    if not equals or not about or not shown:
        raise ValueError(f"{text[:80]!r} is not about=outcome")
    reading = _READING.fullmatch(shown)
    if reading is not None:
        at = dict(_circumstances(reading["at"] or ""))
        return {"about": about, "reading": {"value": _number(reading["value"]), "unit": reading["unit"], "at": at}}
    if "*" in shown:
        return {"about": about, "outcome": dict(_counted(one) for one in shown.split("+"))}
    return {"about": about, "outcome": shown}


def _circumstances(text: str) -> Iterator[tuple[str, float | None]]:
    for one in filter(None, (piece.strip() for piece in text.split(","))):
        name, equals, value = one.partition("=")
        if not equals:
            raise ValueError(f"{one[:80]!r} is not circumstance=number")
        yield name.strip(), _number(value.strip())
