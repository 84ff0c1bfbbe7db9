"""Every field of every record of an equipment, changed one at a time, is told of and no other is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from graph import equipment as records
from graph.equipment import Acceptance, Equipment, Observation, Rule, Wear
from graph.readings.quantities import Unit, unit_of
from graph.readings.records import Circumstance, CurveUse, Expected, Reading
from graph.revisions.changes import changes_of
from graph.revisions.readings import LABELS
from graph.revisions.vocabulary import KINDS, VOCABULARY, WHOLE
from schemas.load import load_text

PATH = Path(__file__).parents[3] / "fixtures" / "equipment" / "quillmere-c45.yaml"
TEXT = PATH.read_text(encoding="utf-8")
C45 = load_text(TEXT)
MATCHED_BY = {"id", "code", "where", "kind", "component"}
"""Fields by which records of the two documents find each other."""


def other(value: Any) -> Any:
    """A value like this one, but not it."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, float | int):
        return value + 1
    if isinstance(value, str):
        return f"{value}_x"
    if isinstance(value, Unit):
        return unit_of("kV" if value.symbol != "kV" else "V", "voltage")
    if isinstance(value, Mapping):
        return {**value, "another": "thing"}
    if isinstance(value, tuple):
        return (*value[:-1], other(value[-1])) if value else ("another",)
    if is_dataclass(value) and not isinstance(value, type):
        name = next(f.name for f in fields(value) if f.name not in MATCHED_BY)
        return replace(value, **{name: other(getattr(value, name))})
    assert value is None
    return "another"


SPECIAL: dict[tuple[str, str], Any] = {
    ("Observation", "reading"): next(o.reading for o in C45.observations.values() if o.reading is not None),
    ("FailureMode", "wear"): Wear(3.5, 4.5),
    ("FailureMode", "raised_by"): (("kitchen_air", "clean", 9.0),),
    ("FailureMode", "only_if"): (("kitchen_air", ("clean",)),),
    ("Observation", "only_if"): (("kitchen_air", ("clean",)),),
    ("Observation", "needs"): (("power", "off"),),
    ("Remedy", "needs"): (("power", "off"),),
    ("Remedy", "parts"): (("pump_part", 7),),
    ("Remedy", "caller"): records.CallerWords("Turn it", ("Turn it to the right.",), "It is turned."),
    ("Part", "volume_litres"): 77.0,
    ("Part", "weight_kg"): 77.0,
    ("Step", "minutes"): 77.0,
    ("Step", "shows"): (("stage", "none"),),
    ("UnitState", "disturbs"): {"off": ("stage",)},
    ("UnitState", "minutes"): {"off": 77.0},
}
"""Other values where a shape must be kept."""


def changed(equipment: Equipment, collection: str, record: Any, field: str, value: Any) -> Equipment:
    table = getattr(equipment, collection)
    if isinstance(table, tuple):
        entries: Any = tuple(replace(r, **{field: value}) if r is record else r for r in table)
    else:
        entries = {k: replace(r, **{field: value}) if r is record else r for k, r in table.items()}
    return replace(equipment, **{collection: entries})


def every_field() -> Iterator[Any]:
    for collection in KINDS:
        table = getattr(C45, collection)
        entries = list(table if isinstance(table, tuple) else table.values())
        if isinstance(entries[0], str):
            continue
        some = [entries[0]]
        if isinstance(entries[0], Observation):
            some = [next(o for o in entries if o.kind == "symptom"), next(o for o in entries if o.reading)]
        for record in some:
            for field in fields(record):
                if field.name not in MATCHED_BY:
                    yield pytest.param(collection, record, field.name, id=f"{collection}-{record}"[:40] + field.name)


def test_there_is_a_word_for_every_field_of_every_record() -> None:
    assert {*WHOLE, *KINDS} == {f.name for f in fields(Equipment)}
    for kind, words in VOCABULARY.items():
        assert set(words) == {f.name for f in fields(kind)}, kind
    for kind, labels in LABELS.items():
        assert set(labels) == {f.name for f in fields(kind)}, kind
    told_within = {records.CallerWords, records.Outcome, Rule, Wear}
    known = {*VOCABULARY, *LABELS, *told_within, Equipment}
    everything = {r for r in vars(records).values() if isinstance(r, type) and is_dataclass(r)}
    assert everything <= known


@pytest.mark.parametrize(("collection", "record", "field"), list(every_field()))
def test_a_changed_field_is_the_one_change(collection: str, record: Any, field: str) -> None:
    value = SPECIAL.get((type(record).__name__, field), other(getattr(record, field)))
    if field == "reading" and record.reading is not None:
        value = replace(record.reading, percent=0.123)
    change, = changes_of(C45, changed(C45, collection, record, field, value))
    assert change.what == field
    assert change.kind == (record.kind if isinstance(record, Observation) else KINDS[collection])
    assert change.sentence.startswith(change.kind)
    back = changes_of(changed(C45, collection, record, field, value), C45)
    assert [c.what for c in back] == [field]


@pytest.mark.parametrize("field", list(WHOLE))
def test_a_changed_field_of_the_whole_is_the_one_change(field: str) -> None:
    change, = changes_of(C45, replace(C45, **{field: other(getattr(C45, field))}))
    assert (change.kind, change.what) == ("equipment", field)


def observed(reading: Reading) -> Equipment:
    name = next(k for k, o in C45.observations.items() if o.reading is not None)
    table = {**C45.observations, name: replace(C45.observations[name], reading=reading)}
    return replace(C45, observations=table)


CURVE = CurveUse("ntc", (("b", 3435.0),), (("side", "dew"),), (("celsius", "room"),))
GOOD = Expected("present", "good", curve=CURVE)
ROOM = Circumstance("room", "Room", unit_of("°C", "temperature"), 20, 1, 5)
VOLTS = Reading("voltage", unit_of("V", "voltage"), (ROOM,), (GOOD,), 0.01, 2, 0.1, 0.03)


@pytest.mark.parametrize("field", [f.name for f in fields(Reading)])
def test_a_changed_field_of_a_reading_is_told(field: str) -> None:
    value = other(getattr(VOLTS, field))
    if field in ("circumstances", "expected"):
        value = ()
    change, = changes_of(observed(VOLTS), observed(replace(VOLTS, **{field: value})))
    assert change.what == "reading"


@pytest.mark.parametrize("field", [f.name for f in fields(Circumstance)])
def test_a_changed_circumstance_is_told(field: str) -> None:
    room = replace(ROOM, **{field: other(getattr(ROOM, field))})
    assert changes_of(observed(VOLTS), observed(replace(VOLTS, circumstances=(room,))))


@pytest.mark.parametrize("field", [f.name for f in fields(Expected)])
def test_a_changed_expectation_is_told(field: str) -> None:
    value: Any = {"value": 7.0, "low": 7.0, "high": 7.0, "factor": (1.0, 2.0), "offset": (1.0, 2.0)}.get(
        field, other(getattr(GOOD, field)))
    expected = replace(GOOD, **{field: value})
    assert changes_of(observed(VOLTS), observed(replace(VOLTS, expected=(expected,))))


@pytest.mark.parametrize("field", [f.name for f in fields(CurveUse)])
def test_a_changed_curve_is_told(field: str) -> None:
    expected = replace(GOOD, curve=replace(CURVE, **{field: other(getattr(CURVE, field))}))
    assert changes_of(observed(VOLTS), observed(replace(VOLTS, expected=(expected,))))


@pytest.mark.parametrize("field", [f.name for f in fields(Rule)])
def test_a_changed_rule_is_told_whole(field: str) -> None:
    signal = next(iter(C45.signals.values()))
    value: Any = (("stage", ("none",)),) if field == "needs" else other(getattr(signal.rules[0], field))
    rules = (replace(signal.rules[0], **{field: value}), *signal.rules[1:])
    change, = changes_of(C45, changed(C45, "signals", signal, "rules", rules))
    assert "now " in change.sentence and "no longer " in change.sentence


def test_rules_in_another_order_are_told() -> None:
    signal = next(s for s in C45.signals.values() if len(s.rules) > 2)
    rules = (signal.rules[1], signal.rules[0], *signal.rules[2:])
    change, = changes_of(C45, changed(C45, "signals", signal, "rules", rules))
    assert "another order" in change.sentence


def test_the_same_document_has_no_changes() -> None:
    assert changes_of(C45, load_text(TEXT)) == ()


def test_entries_that_come_and_go_are_told_in_order_of_kind_and_id() -> None:
    parts = {k: p for k, p in C45.parts.items() if k != "board_part"}
    tests = {k: o for k, o in C45.observations.items() if k not in ("look_dial", "feed_volts")}
    steps = (C45.sequence[1], C45.sequence[0], *C45.sequence[2:])
    newer = replace(C45, parts=parts, observations=tests, sequence=steps, accepted=(Acceptance("x", "/y", "z"),),
                    instruments={**C45.instruments, "torch": "Lamp"})
    changes = changes_of(C45, newer)
    assert [(c.kind, c.id, c.what) for c in changes][:5] == [
        ("equipment", "quillmere-c45", "order"), ("instrument", "torch", "title"),
        ("test", "feed_volts", "removed"), ("test", "look_dial", "removed"), ("part", "board_part", "removed"),
    ]
    back = [c.what for c in changes_of(newer, C45)]
    assert back.count("added") == 2 + 1 + len(C45.accepted)


@pytest.mark.parametrize(("old", "new", "sentence"), [
    ("        calls_per_thousand: 24\n        remedies: [clean_float]",
     "        calls_per_thousand: 35\n        remedies: [clean_float]",
     "failure mode “Float level switch: Float hangs on its stem, scaled or slimed”: 24 → 35 calls in a thousand"),
    ("needs: {power: any}\n    right_in_100: 96\n    how: [Pour", "needs: {power: any, front_panel: off}\n"
     "    right_in_100: 96\n    how: [Pour",
     "test “Pour a litre into the drain and watch it go”: now needs Front panel off"),
    ("price: 38", "price: 45", "part “Float switch with bracket and lead”: dearer: 38.00 → 45.00 EUR"),
    ("        shows_in_100: 30\n", "        shows_in_100: 20\n",
     "failure mode “Float level switch: Reed contact misses now and then”: shows in 30 → 20 trials in 100"),
])
def test_changes_read_as_people_say_them(old: str, new: str, sentence: str) -> None:
    assert old in TEXT
    assert [c.sentence for c in changes_of(C45, load_text(TEXT.replace(old, new, 1)))] == [sentence]
