"""A file of known calls: service calls of one machine with what was found in the end.

What can be told from the words alone is checked when the file is read, the names when it meets its machine; either
way every defect is collected.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from typing import Annotated, Literal, get_args

from pydantic import Field, ValidationError

from graph.compile import CompiledModel
from graph.context import Asker
from graph.equipment import Licence
from graph.errors import Defect, DocumentError, HalfsplitError, PathItem, UnknownName
from graph.evidence import Finding
from graph.replay import KnownCall, truth_row
from schemas.asked import asker_of, findings_of
from schemas.defects import defect_of
from schemas.requests import AskerGiven, FindingGiven, Found
from schemas.source import MOST_DEFECTS, Source, parse
from schemas.text import EquipmentName, Prose, Shape, Title

WHAT = "file of known calls"


class FindingKnown(FindingGiven):
    """A finding of a known call, and where it was made."""

    at: Annotated[Literal["phone", "site"], Field(description="before the van was loaded, or on site")]


class CallGiven(Shape):
    """One call from the first words to the closed job."""

    title: Title
    complaint: Annotated[Prose, Field(description="the caller's own words")] = ""
    truth: Annotated[Found, Field(description="failure modes that were present, or no_fault_found, or unlisted")]
    asker: Annotated[
        AskerGiven | None, Field(description="of the visit; a technician with every licence where left out")
    ] = None
    findings: Annotated[list[FindingKnown], Field(min_length=1, max_length=200, description="in their order")]
    closed: Annotated[Prose, Field(description="what was found and done")] = ""


class CallsGiven(Shape):
    """Known calls of one machine."""

    equipment: EquipmentName
    calls: Annotated[list[CallGiven], Field(min_length=1, max_length=5000)]


@dataclass(frozen=True, slots=True)
class CallsFile:
    """A file of known calls as it was read."""

    given: CallsGiven
    source: Source

    @property
    def equipment(self) -> str:
        """The machine that the calls are about."""
        return self.given.equipment

    def known(self, model: CompiledModel) -> tuple[KnownCall, ...]:
        """The calls as the core takes them. Raises DocumentError with every name that the machine doesn't have."""
        defects: list[Defect] = []
        if model.equipment.id != self.equipment:
            defects.append(Defect("unknown-name", ("equipment",), repr(self.equipment), repr(model.equipment.id)))
        calls = [_known(call, f"/calls/{i}", model, defects) for i, call in enumerate(self.given.calls)]
        if defects:
            raise _refused(defects, self.source)
        return tuple(call for call in calls if call is not None)


def read_calls(text: str | bytes, name: str = "calls") -> CallsFile:
    """Read a YAML or JSON file of known calls. Raises DocumentError with every defect, each with its line."""
    source = parse(text, name)
    try:
        given = CallsGiven.model_validate(source.data)
    except ValidationError as error:
        details = islice(error.errors(include_url=False), MOST_DEFECTS)
        raise _refused([defect_of(d, source.data, CallsGiven) for d in details], source) from None
    late = [
        Defect("out-of-order", ("calls", i, "findings", j, "at"), "'phone' after 'site'", "findings on the phone first")
        for i, call in enumerate(given.calls) for j in range(1, len(call.findings))
        if (call.findings[j - 1].at, call.findings[j].at) == ("site", "phone")
    ]
    if late:
        raise _refused(late, source)
    return CallsFile(given, source)


def _refused(defects: Iterable[Defect], source: Source) -> DocumentError:
    return DocumentError([source.locate(d) for d in defects], WHAT)


def _known(call: CallGiven, at: str, model: CompiledModel, defects: list[Defect]) -> KnownCall | None:
    before = len(defects)
    findings: list[Finding] = []
    for j, given in enumerate(call.findings):
        try:
            findings += findings_of(model, [given])
        except HalfsplitError as error:
            defects.append(_defect(error, at + error.pointer.replace("/findings/0", f"/findings/{j}", 1)))
    truth = (call.truth,) if isinstance(call.truth, str) else tuple(call.truth)
    row, asker = -1, Asker(licences=frozenset(get_args(Licence)))
    try:
        row = truth_row(model, truth)
    except HalfsplitError as error:
        defects.append(_defect(error, at + error.pointer))
    try:
        asker = asker if call.asker is None else asker_of(model.equipment, call.asker)
    except HalfsplitError as error:
        defects.append(_defect(error, at + error.pointer))
    if len(defects) > before:
        return None
    on_phone = sum(given.at == "phone" for given in call.findings)
    return KnownCall(call.title, call.complaint, truth, row, asker, tuple(findings), on_phone, call.closed)


def _defect(error: HalfsplitError, pointer: str) -> Defect:
    path: tuple[PathItem, ...] = tuple(int(p) if p.isdecimal() else p for p in pointer.split("/")[1:])
    found = repr(error.name) if isinstance(error, UnknownName) else error.detail
    return Defect(error.code, path, found, error.expected or "something else", error.nearest)
