"""A closed case as a close-out record, and a close-out record as the requests that a case is made of."""

from __future__ import annotations

from dataclasses import dataclass

from api.problems import Refusal
from graph.equipment import Equipment
from graph.errors import UnknownName
from schemas.answers import CaseRecord
from schemas.closeouts import Activity, Closeout, SparePart
from schemas.requests import ClosureRequest, FindingGiven


def closeout_of(case: CaseRecord, equipment: Equipment) -> Closeout:
    """What a closed case hands over. Raises Refusal case-open."""
    if case.closure is None:
        raise Refusal("case-open", "the case is open: it has nothing to hand over yet")
    closure = case.closure.closure
    found = closure.found if isinstance(closure.found, list) else []
    return Closeout(
        case=case.id, external_id=case.external_id, equipment=equipment.id, equipment_title=equipment.title,
        unit=case.unit, opened=case.created, closed=case.closure.recorded, problem=case.complaint,
        findings=[
            FindingGiven(about=f.about, outcome=f.outcome, note=f.note, reading=f.reading, by=f.by)
            for f in case.findings if f.withdrawn is None
        ],
        cause=closure.found, cause_titles=[equipment.title_of(mode)[:200] for mode in found],
        activities=[_activity(name, equipment) for name in closure.remedies],
        spare_parts=[
            SparePart(part=name, quantity=n, number=equipment.parts[name].number[:200],
                      title=equipment.parts[name].title[:200])
            for name, n in closure.parts.items()
        ],
        active_minutes=closure.minutes, note=closure.note, by=closure.by,
    )


def _activity(name: str, equipment: Equipment) -> Activity:
    remedy = equipment.remedies[name]
    stocked = any(not equipment.parts[part].consumable for part, _ in remedy.parts)
    return Activity(remedy=name, activity="replace" if stocked else "repair", title=remedy.title[:200])


def closure_of(record: Closeout) -> ClosureRequest:
    """The closure that a record stands for; quantities of a part that is named twice add up."""
    parts: dict[str, int] = {}
    for used in record.spare_parts:
        parts[used.part] = parts.get(used.part, 0) + used.quantity
    return ClosureRequest(
        found=record.cause, remedies=[a.remedy for a in record.activities], parts=parts,
        minutes=record.active_minutes, note=record.note, by=record.by,
    )


@dataclass(frozen=True, slots=True)
class Places:
    """Where the names of a closure stand in a body: JSON Pointers with the place in the list, or the part's name."""

    cause: str = "/found/{}"
    remedy: str = "/remedies/{}"
    part: str = "/parts/{}"


CLOSURE = Places()


def in_record(number: int) -> Places:
    """The places of the record with this number in a list of close-outs."""
    at = f"/closeouts/{number}"
    return Places(f"{at}/cause/{{}}", f"{at}/activities/{{}}/remedy", f"{at}/spare_parts")


def check_closure(equipment: Equipment, body: ClosureRequest, places: Places = CLOSURE) -> None:
    """Hold the names of a closure against the machine's. Raises UnknownName."""
    modes = () if isinstance(body.found, str) else body.found
    for kind, names, valid, where in (
        ("failure mode", enumerate(modes), equipment.modes, places.cause),
        ("remedy", enumerate(body.remedies), equipment.remedies, places.remedy),
        ("part", ((part, part) for part in body.parts), equipment.parts, places.part),
    ):
        for key, name in names:
            if name not in valid:
                raise UnknownName(kind, name, valid, pointer=where.format(key))
