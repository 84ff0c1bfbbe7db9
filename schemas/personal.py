"""What a case holds that may be about a person."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FindingWords:
    """What was written beside a finding, and by whom; the reason for taking it back."""

    number: int
    note: str
    by: str | None
    withdrawal_reason: str | None
    withdrawn_by: str | None


@dataclass(frozen=True, slots=True)
class PersonalData:
    """Everything in a case that could name somebody, or lead to them."""

    case: str
    complaint: str
    metadata: Mapping[str, str]
    serial: str | None
    findings: tuple[FindingWords, ...]
    closing_note: str
    closed_by: str | None
