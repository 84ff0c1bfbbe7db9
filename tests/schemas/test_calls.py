"""Files of known calls: what their authors are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from graph.compile import CompiledModel, compile_model
from graph.errors import Defect, DocumentError
from schemas.calls import read_calls
from schemas.load import load_text

URN = Path(__file__).parents[1] / "graph" / "machines" / "urn.yaml"
GOOD = """\
equipment: tea-urn
calls:
  - title: Cold
    complaint: "It is stone cold"
    truth: [element.burnt_out]
    asker: {licences: [electrical], parts: {gasket: 1}}
    findings:
      - {about: stays_cold, outcome: present, at: phone}
      - {about: look_inside, outcome: burnt, at: site}
      - {about: replace_element, outcome: runs, at: site}
    closed: New element.
  - title: Fine when we came
    truth: no_fault_found
    findings:
      - {about: stays_cold, outcome: could_not_tell, at: phone}
      - {about: watch_thermostat, outcome: {keeps_closed: 4}, at: site}
"""


@pytest.fixture(scope="module")
def urn() -> CompiledModel:
    return compile_model(load_text(URN.read_bytes()))


def defects(text: str, model: CompiledModel | None = None) -> tuple[Defect, ...]:
    try:
        file = read_calls(text, "calls.yaml")
        if model is not None:
            file.known(model)
    except DocumentError as refused:
        return refused.defects
    return ()


def test_a_file_becomes_calls(urn: CompiledModel) -> None:
    burnt, fine = read_calls(GOOD, "calls.yaml").known(urn)
    assert burnt.truth == ("element.burnt_out",)
    assert burnt.at_dispatch == 1
    assert [f.about for f in burnt.findings] == ["stays_cold", "look_inside", "replace_element"]
    assert burnt.asker.licences == {"electrical"}
    assert burnt.asker.parts == frozenset({("gasket", 1)})
    assert fine.asker.licences == {"electrical", "refrigeration", "gas"}, "who is not named holds every licence"
    assert fine.findings[0].counts == ()
    assert fine.findings[1].counts == (("keeps_closed", 4),)


def test_every_defect_of_the_shape_has_its_line() -> None:
    text = GOOD.replace("complaint:", "complant:").replace("at: phone}", "at: fone}", 1).replace(
        "    truth: no_fault_found\n", "")
    found = {d.line: d for d in defects(text)}
    assert found[4].code == "unknown-field"
    assert found[4].nearest == "complaint"
    assert found[8].code == "unknown-value"
    assert found[8].nearest == "phone"
    assert found[12].code == "missing"
    assert found[12].expected == "the field 'truth'"


def test_every_unknown_name_has_its_line_and_the_nearest(urn: CompiledModel) -> None:
    text = GOOD.replace("element.burnt_out", "element.burnt_ou").replace("about: look_inside", "about: look_insid")
    text = text.replace("keeps_closed", "keeps_close").replace("equipment: tea-urn", "equipment: tea-run")
    found = [(d.line, d.found, d.nearest) for d in defects(text, urn)]
    assert found == [
        (1, "'tea-run'", None),
        (9, "'look_insid'", "look_inside"),
        (5, "'element.burnt_ou'", "element.burnt_out"),
        (16, "'keeps_close'", "keeps_closed"),
    ]
    assert "calls.yaml:9: /calls/0/findings/1/about: unknown-name" in defects(text, urn)[1].sentence()


def test_a_misfit_says_what_would_do(urn: CompiledModel) -> None:
    text = GOOD.replace("[element.burnt_out]", "[element.burnt_out, element.scaled]")
    defect, = defects(text, urn)
    assert (defect.code, defect.line) == ("truth-misfit", 5)
    assert "at most 2 failure modes" in defect.expected


def test_the_phone_comes_before_the_site() -> None:
    late = "outcome: burnt, at: site}\n      - {about: slow, outcome: absent, at: phone"
    text = GOOD.replace("outcome: burnt, at: site", late)
    defect, = defects(text)
    assert (defect.code, defect.line) == ("out-of-order", 10)
