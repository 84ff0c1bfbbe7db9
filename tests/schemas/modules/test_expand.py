"""What a module makes of a document: what somebody would have written by hand."""

from __future__ import annotations

from typing import Any

import pytest

from graph.errors import DocumentError
from schemas.document import Document
from schemas.load import document_of, load_data, written_out
from schemas.modules.library import Library
from schemas.modules.places import LeftOut
from schemas.source import parse
from tests.schemas.modules.library import EXPECTED, LAMP, LIBRARY, MACHINE, TRADE, USE


def data(text: str) -> Any:
    return parse(text).data


def by_hand() -> Any:
    """The machine with the expected entries among its own, section by section."""
    document, more = data(MACHINE), data(EXPECTED)
    return {**document, **{section: {**document.get(section, {}), **entries} for section, entries in more.items()}}


def dumped(document: Document) -> Any:
    return document.model_dump(mode="json", exclude_unset=True)


def test_it_is_what_somebody_would_have_written_by_hand() -> None:
    written = dumped(document_of(MACHINE + USE, "cabinet.yaml", LIBRARY))
    hand = dumped(Document.model_validate(by_hand()))
    assert written == hand
    for section in ("components", "signals", "tests", "remedies", "parts"):
        assert list(written[section]) == list(hand[section])


def test_the_equipment_is_the_same() -> None:
    assert repr(load_data(data(MACHINE + USE), LIBRARY)) == repr(load_data(by_hand()))


def test_a_document_that_was_parsed_before_is_written_out_alike() -> None:
    raw = data(MACHINE + USE)
    parsed = written_out(Document.model_validate(raw), LIBRARY)
    assert dumped(parsed) == dumped(document_of(MACHINE + USE, "cabinet.yaml", LIBRARY))


def test_the_given_data_are_left_as_they_were() -> None:
    raw = data(MACHINE + USE)
    load_data(raw, LIBRARY)
    assert raw == data(MACHINE + USE)


def expanded(use: str) -> Any:
    return dumped(document_of(MACHINE + use, "cabinet.yaml", LIBRARY))


PARTS = "parts: {bulb_part: {number: P-1}, driver_part: {number: P-2}, grease: paste}"


def test_another_build_has_other_entries() -> None:
    told = "{name: lamp, build: diode, feed: supply, daylight: {sun: up}}"
    use = f"modules: {{lamp: {{module: lamp, with: {told}, {PARTS}}}}}"
    written = expanded(use)
    assert list(written["components"]) == ["mains", "lamp_bulb", "lamp_driver"]
    assert list(written["components"]["lamp_bulb"]["failure_modes"]) == ["blown"]
    assert list(written["tests"]) == ["lamp_look"]
    assert "lamp_wipe" not in written["remedies"], "nothing is left that it mends"
    assert written["parts"]["lamp_bulb_part"]["alternatives"] == ["lamp_driver_part"]
    faults = [rule["when"] for rule in written["signals"]["lamp_light"]["rules"] if "when" in rule]
    assert faults == [{"sun": "up"}, {"supply": "absent"}, {"any_fault": ["lamp_driver.dead", "lamp_bulb.blown"]}]


def test_what_is_given_goes_before_a_choice_and_before_what_is_given_for_all() -> None:
    use = f"""
module_defaults: {{ohms: 40, daylight: {{sun: up}}, isolated: {{power: isolated}}}}
modules:
  one: {{module: lamp, with: {{name: first lamp, feed: supply}}, {PARTS}}}
  lamp:
    module: lamp
    with: {{name: second lamp, group: Lamps, feed: supply, ohms: 30.5}}
    {PARTS}
    rename: {{look: glance, new_bulb: bulb_2}}
"""
    written = document_of(MACHINE + use, "cabinet.yaml", LIBRARY)
    titles = [written.tests[name].outcomes["sound"] for name in ("one_bulb_ohms", "lamp_bulb_ohms")]
    assert [getattr(title, "title", None) for title in titles] == ["Near 40 Ω", "Near 30.5 Ω"]
    assert written.components["lamp_bulb"].group == "Lamps"
    assert written.remedies["bulb_2"].verify == "glance"


def test_a_rule_on_something_optional_is_there_once_it_is_given() -> None:
    use = USE.replace("daylight: {sun: up}", "daylight: {sun: up}, shaded: {all_faults: [mains.off]}")
    rules = expanded(use)["signals"]["lamp_light"]["rules"]
    assert {"when": {"all_faults": ["mains.off"]}, "state": "dim"} in rules


NO_DIM = USE.replace("change: {bulb.dim: {calls_per_thousand: 5}, look: {minutes: 2}}", "without: [bulb.dim]")


def test_a_state_that_nothing_brings_about_any_more_goes_with_its_outcomes() -> None:
    written = expanded(NO_DIM)
    assert written["signals"]["lamp_light"]["states"] == ["bright", "dark"]
    assert list(written["tests"]["lamp_look"]["outcomes"]) == ["bright", "dark"]


def test_a_state_stays_while_something_brings_it_about() -> None:
    written = expanded(NO_DIM.replace("daylight: {sun: up}", "daylight: {sun: up}, shaded: {mains: off}"))
    assert written["signals"]["lamp_light"]["states"] == ["bright", "dim", "dark"]
    assert list(written["tests"]["lamp_look"]["outcomes"]) == ["bright", "dim", "dark"]


def test_a_machine_that_asks_for_a_state_it_has_not_is_told_so() -> None:
    asking = MACHINE.replace("shows: {lamp_light: dark}", "shows: {lamp_light: [dark, dim]}")
    with pytest.raises(DocumentError) as caught:
        document_of(asking + NO_DIM, "cabinet.yaml", LIBRARY)
    (defect,) = caught.value.defects
    assert (defect.code, defect.pointer, defect.found) == ("unknown-name", "/symptoms/dark/shows/lamp_light/1", "'dim'")
    assert "bright, dark" in defect.expected


def test_rules_that_ask_for_a_lost_state_go_too_and_a_signal_keeps_two_states() -> None:
    rules = [{"when": "$never", "state": "idle"}, {"when": {"drive": "off"}, "state": "still"}, {"state": "turns"}]
    signals = {
        "shaft": {"states": ["turns", "still", "idle"], "titles": {"idle": "is idle"}, "rules": rules},
        "air": {"states": ["blows", "none", "waits"], "rules": [
            {"when": {"shaft": "idle"}, "state": "waits"}, {"when": {"shaft": ["still", "idle"]}, "state": "none"},
            {"state": "blows"},
        ]},
        "lamp": {"states": ["lit", "dark"], "rules": [{"when": {"shaft": "idle"}, "state": "dark"}, {"state": "lit"}]},
    }
    left = LeftOut({"signals": signals}, [], [("signals", "shaft", "rules", 0)])
    assert left.states == {"shaft.idle", "air.waits"}
    assert left.gone == {
        ("signals", "shaft", "rules", 0), ("signals", "shaft", "states", 2), ("signals", "shaft", "titles", "idle"),
        ("signals", "air", "rules", 0), ("signals", "air", "rules", 1, "when", "shaft", 1),
        ("signals", "air", "states", 2), ("signals", "air", "titles", "waits"), ("signals", "lamp", "rules", 0),
    }


@pytest.mark.parametrize(("without", "gone"), [
    ("look", {"lamp_look"}),
    ("bulb_ohms", {"lamp_bulb_ohms"}),
    ("bulb.dim", {"lamp_wipe"}),
    ("bulb", {"pear", "lamp_bulb_ohms", "lamp_new_bulb", "lamp_wipe", "lamp_bulb_part"}),
    ("wipe", {"lamp_wipe"}),
])
def test_what_is_left_out_takes_along_what_only_served_it(without: str, gone: set[str]) -> None:
    use = USE.replace("change: {bulb.dim: {calls_per_thousand: 5}, look: {minutes: 2}}", f"without: [{without}]")
    if without == "look":
        use = use.replace("daylight: {sun", "verify: lamp_bulb_ohms, daylight: {sun")
    names = [name for entries in data(EXPECTED).values() for name in entries]
    written = dumped(document_of(MACHINE + use, "cabinet.yaml", LIBRARY))
    left = [name for entries in written.values() if isinstance(entries, dict) for name in entries]
    assert {name for name in names if name not in left} - {"multimeter", "mains_voltage"} == gone


def test_all_modes_together_have_the_calls_that_were_asked_for() -> None:
    use = USE.replace("\n    change: {bulb.dim: {calls_per_thousand: 5}, look: {minutes: 2}}", "")
    modes = expanded(use)["components"]["pear"]["failure_modes"]
    assert [m["calls_per_thousand"] for m in modes.values()] == [60, 20]


def test_a_change_of_the_module_changes_the_document() -> None:
    newer = Library({"trade": TRADE, "lamp": LAMP.replace(b"minutes: 3", b"minutes: 4")})
    texts = [dumped(document_of(MACHINE + USE, "x", library)) for library in (LIBRARY, newer)]
    assert texts[0] != texts[1]


def test_a_document_without_modules_is_as_it_was() -> None:
    raw = by_hand()
    assert dumped(written_out(Document.model_validate(raw))) == dumped(Document.model_validate(raw))


def test_hazards_come_for_modules_only() -> None:
    raw = by_hand()
    del raw["hazards"]["mains_voltage"]
    with pytest.raises(DocumentError) as caught:
        load_data(raw, LIBRARY)
    assert caught.value.defects[0].code == "unknown-name"
