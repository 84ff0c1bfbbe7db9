"""What is wrong with the use of a module, or in a module, said at both places."""

from __future__ import annotations

import pytest

from graph.errors import Defect, DocumentError
from schemas.load import load_data, load_text
from schemas.modules.library import Library, shipped
from schemas.source import MOST_VALUES, parse
from tests.schemas.modules.library import LAMP, LIBRARY, MACHINE, TRADE, USE

TEXT = MACHINE + USE


def refused(text: str, library: Library = LIBRARY) -> tuple[Defect, ...]:
    with pytest.raises(DocumentError) as caught:
        load_text(text, "cabinet.yaml", library)
    return caught.value.defects


def line_of(text: str, part: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if part in line)


def module_line(part: str, text: bytes = LAMP) -> int:
    return line_of(text.decode(), part)


@pytest.mark.parametrize(("before", "after", "code", "pointer", "expected", "nearest"), [
    ("module: lamp", "module: lmap", "unknown-module", "module", "a module: lamp", "lamp"),
    ("module: lamp", "module: trade", "unknown-module", "module", "a module: lamp", None),
    ("feed: supply", "fed: supply, feed: supply", "unknown-parameter", "with/fed", "a parameter of lamp: ", "feed"),
    ("name: cabinet lamp", "name: 7", "wrong-parameter", "with/name", "words as they stand within", None),
    ("daylight: {sun: up}", "daylight: up", "wrong-parameter", "with/daylight", "a condition as in a rule's", None),
    ("feed: supply", "feed: supply, ohms: [60]", "wrong-parameter", "with/ohms", "a number", None),
    ("feed: supply", "feed: supply, build: diod", "wrong-parameter", "with/build", "one of: filament, diode", "diode"),
    ("grease: paste", "grease: paste, greese: paste", "unknown-part", "parts/greese", "a part of lamp: ", "grease"),
    ("bulb: pear", "blub: pear", "unknown-name", "rename/blub", "a name of lamp: ", "bulb"),
    ("bulb.dim:", "bulb.dimm:", "unknown-name", "change/bulb.dimm", "a name of lamp: ", "bulb.dim"),
    ("bulb.dim:", "driver.dead:", "unknown-name", "change/driver.dead", "a name that is left", None),
    ("rename:", "without: [look, bulb_ohm]\n    rename:", "unknown-name", "without/1", "a name of lamp:", "bulb_ohms"),
    ("{bulb.dim:", "{grease: {title: Fat}, bulb.dim:", "unknown-name", "change/grease", "a name that is left", None),
])
def test_a_wrong_use(before: str, after: str, code: str, pointer: str, expected: str, nearest: str | None) -> None:
    text = TEXT.replace(before, after)
    defect, = refused(text)
    assert (defect.code, defect.pointer, defect.nearest) == (code, f"/modules/lamp/{pointer}", nearest)
    assert defect.expected.find(expected) >= 0
    assert defect.line == line_of(text, after.split("\n")[0])
    assert defect.source == "cabinet.yaml"


def test_a_missing_parameter_says_what_it_is_and_where_the_module_asks() -> None:
    defect, = refused(TEXT.replace(", daylight: {sun: up}", ""))
    assert (defect.code, defect.pointer) == ("missing-parameter", "/modules/lamp/with")
    assert defect.expected == "'daylight': It is light outside"
    assert defect.module == f"lamp.yaml:{module_line('daylight: {title')} /parameters/daylight"


def test_a_missing_part_is_asked_for() -> None:
    defect, = refused(TEXT.replace("bulb_part: {number: P-1, price: 2.5}, ", ""))
    assert (defect.code, defect.pointer) == ("missing-part", "/modules/lamp/parts")
    assert defect.module == f"lamp.yaml:{module_line('  bulb_part: {title')} /parts/bulb_part"


def test_a_name_that_was_given_is_wrong_where_it_was_given_and_the_module_says_where_it_is_used() -> None:
    text = TEXT.replace("{sun: up}", "{sun: upp}")
    defect, = refused(text)
    assert (defect.code, defect.pointer, defect.nearest) == ("unknown-name", "/modules/lamp/with/daylight/sun", "up")
    assert defect.line == line_of(text, "{sun: upp}")
    assert defect.module == f"lamp.yaml:{module_line('when: $daylight')} /signals/light/rules/0/when"


def test_a_signal_that_was_given_has_to_have_the_states_that_the_module_asks_for() -> None:
    defect, = refused(TEXT.replace("feed: supply", "feed: sun"))
    assert (defect.code, defect.found, defect.pointer) == ("unknown-name", "'absent'", "/modules/lamp/with/feed")
    assert "state of sun: up, down" in defect.expected
    assert f"lamp.yaml:{module_line('$feed: absent')}" in str(defect.module)


def test_a_change_is_checked_where_it_is_written() -> None:
    text = TEXT.replace("look: {minutes: 2}", "look: {minuts: 2}")
    defect, = refused(text)
    assert (defect.code, defect.nearest) == ("unknown-field", "minutes")
    assert defect.pointer == "/modules/lamp/change/look/minuts"
    assert defect.line == line_of(text, "minuts")
    assert f"lamp.yaml:{module_line('  look:')}" in str(defect.module)


def test_a_defect_of_a_module_is_said_at_its_use_and_in_the_module() -> None:
    broken = LAMP.replace(b"reveals: light", b"reveals: lihgt")
    defect, = refused(TEXT, Library({"trade": TRADE, "lamp": broken}))
    assert (defect.code, defect.pointer, defect.line) == ("unknown-name", "/modules/lamp", line_of(TEXT, "  lamp:"))
    assert defect.module == f"lamp.yaml:{module_line('lihgt', broken)} /tests/look/reveals"
    assert defect.sentence().startswith("cabinet.yaml:")
    assert "(from the module, lamp.yaml:" in defect.sentence()


@pytest.mark.parametrize(("before", "after", "code", "place"), [
    (b"$feed: absent", b"$fed: absent", "unknown-parameter", "/signals/light/rules/1/when/$fed"),
    (b"Bulb of the $name", b"Bulb of the ${nam}", "unknown-parameter", "/components/bulb/title"),
    (b"\n  wipe: {", b"\n  look: {", "name-twice", "/remedies/look"),
    (b"format: 1", b"format: 1\nmodules: {lamp: {module: lamp}}", "modules-nested", "/modules"),
    (b"kind: number", b"kind: numbr", "unknown-value", "/parameters/ohms/kind"),
    (b"title: Ohms when cold", b"title: *cold", "alias-not-allowed", "/parameters/ohms/title"),
    (b"title: Ohms when cold", b"title: [a, b", "not-parsable", ""),
])
def test_a_module_that_is_unsound_in_itself(before: bytes, after: bytes, code: str, place: str) -> None:
    defect = refused(TEXT, Library({"trade": TRADE, "lamp": LAMP.replace(before, after)}))[0]
    assert (defect.code, defect.pointer) == (code, "/modules/lamp/module")
    assert defect.line == line_of(TEXT, "module: lamp")
    assert str(defect.module).startswith("lamp.yaml:")
    assert str(defect.module).endswith(f" {place}")


def test_what_has_the_name_of_another_thing_is_refused() -> None:
    text = TEXT.replace("rename: {bulb: pear}", "rename: {bulb: mains, light: restore, look: sun}")
    found = {(d.code, d.pointer, d.found) for d in refused(text)}
    assert found == {("name-twice", "/modules/lamp", "'mains' also in components")}
    text = TEXT.replace("rename: {bulb: pear}", "rename: {light: mains}")
    found = {(d.code, d.pointer, d.found) for d in refused(text)}
    assert ("name-twice", "/modules/lamp", "'mains' also in components") in found


def test_two_uses_of_one_module_with_one_name() -> None:
    other = USE.split("modules:\n")[1].replace("  lamp:\n", "  other:\n")
    text = TEXT + other.replace("bulb: pear", "bulb: pear, look: lamp_look")
    found = {(d.code, d.pointer, d.found) for d in refused(text)}
    assert found == {("name-twice", "/modules/other", "'pear' also in components"),
                     ("name-twice", "/modules/other", "'lamp_look' also in tests")}


def test_a_default_for_all_modules_that_no_module_knows() -> None:
    defect, = refused(TEXT + "module_defaults: {isolted: {power: isolated}}")
    assert (defect.code, defect.nearest) == ("unknown-parameter", "isolated")
    assert defect.pointer == "/module_defaults/isolted"


def test_a_wrong_default_for_all_modules_is_said_there() -> None:
    defect, = refused(TEXT + "module_defaults: {isolated: {pwer: isolated}}")
    assert (defect.code, defect.pointer, defect.nearest) == ("unknown-name", "/module_defaults/isolated/pwer", "power")


@pytest.mark.parametrize("name", ["../equipment/quillmere-c45", "/etc/passwd", "lamp.yaml", "https://x.test", "Lamp"])
def test_a_module_is_a_name_and_never_a_path(name: str) -> None:
    defect, = refused(TEXT.replace("module: lamp", f"module: {name}"))
    assert (defect.code, defect.pointer) == ("bad-name", "/modules/lamp/module")
    assert "level-switch" in defect.expected


def test_an_alias_in_the_document_is_refused_as_ever() -> None:
    codes = {d.code for d in refused(TEXT.replace("daylight: {sun: up}", "daylight: &a {sun: up}, shaded: *a"))}
    assert codes == {"alias-not-allowed"}


def test_what_is_put_in_has_a_limit_in_all() -> None:
    heavy = {f"k{i}": 0 for i in range(MOST_VALUES // 200)}
    uses = {
        f"l{i}": {
            "module": "lamp", "with": {"name": "lamp", "feed": "supply", "daylight": {"sun": "up"}, "isolated": heavy},
            "parts": {"bulb_part": {"number": "P"}, "grease": "paste"},
        } for i in range(100)
    }
    bare = parse(MACHINE).data
    with pytest.raises(DocumentError) as caught:
        load_data({**bare, "modules": {**uses, **{f"m{i}": u for i, u in enumerate(uses.values())}}}, LIBRARY)
    assert caught.value.defects[0].expected == "at most 100 of them"
    for use in uses.values():
        use["change"] = {"look": {"needs": heavy}, "bulb_ohms": {"only_if": heavy}}
    with pytest.raises(DocumentError) as caught:
        load_data({**bare, "modules": uses}, LIBRARY)
    assert {d.code for d in caught.value.defects} == {"too-large"}


def test_the_shipped_modules_can_be_named() -> None:
    assert shipped().ids == [
        "contactor-heater", "fan-motor", "hermetic-compressor", "inlet-valve", "level-switch", "temperature-probe",
    ]
