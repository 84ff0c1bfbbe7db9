"""One visit through the typed client, against a service on a real socket."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.client import Client, Refused
from api.run import serving
from schemas.kit_requests import JobOfCase, KitForEquipment, VanLoadRequest
from schemas.requests import (
    AdviceForEquipment,
    AdviceWanted,
    AskerGiven,
    CaseRequest,
    ClosureRequest,
    Context,
    FindingGiven,
    PathForEquipment,
    WithdrawalRequest,
)
from tests.api.conftest import settings

COLD = FindingGiven(about="water_cold", outcome="present")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    place: Path = tmp_path_factory.mktemp("client")
    with serving(settings(database=str(place / "client.db"), port=0)) as address, Client(address) as client:
        yield client


def test_one_question(client: Client) -> None:
    advice = client.advise(AdviceForEquipment(equipment="toy-urn", findings=[COLD])).advice
    assert advice.suspects[0].chance >= advice.suspects[1].chance > 0
    kit = client.kit(KitForEquipment(equipment="toy-urn", findings=[COLD])).kit
    assert 0 < kit.chance_to_finish <= 1
    assert client.path(PathForEquipment(equipment="toy-urn", findings=[COLD])).path


def test_a_visit_from_the_first_words_to_the_closed_job(client: Client) -> None:
    case = client.open_case(CaseRequest(equipment="toy-urn", complaint="cold tea", findings=[COLD]))
    assert client.case(case.id) == case
    advised = client.case_advice(case.id, AdviceWanted(most=1)).advice
    test = client.tests("toy-urn").tests[0]
    seen = client.add_findings(case.id, [FindingGiven(about=test.id, outcome=test.outcomes[0].id)], case.version)
    taken_back = client.withdraw(case.id, 2, WithdrawalRequest(reason="misread"), seen.version)
    assert taken_back.findings[1].withdrawn is not None
    assert client.case_advice(case.id, AdviceWanted(most=1)).advice == advised
    known = client.set_context(case.id, Context(asker=AskerGiven(licences=["electrical"])))
    assert known.asker.licences == ["electrical"]
    assert client.case_kit(case.id).graph == case.graph
    assert client.van_load(VanLoadRequest(jobs=[JobOfCase(case=case.id)])).graphs == (case.graph,)
    closed = client.close_case(case.id, ClosureRequest(found="unlisted", minutes=20.0))
    assert closed.status == "closed" and closed.closure is not None


def test_lists_are_read_page_by_page(client: Client) -> None:
    made = {client.open_case(CaseRequest(equipment="toy-urn", external_id="pages")).id for _ in range(5)}
    lines = list(client.cases(external_id="pages", limit="2"))
    assert [line.id for line in lines] == sorted(made, reverse=True)


def test_the_machine_and_its_graph(client: Client) -> None:
    assert [line.id for line in client.equipment().equipment] == ["toy-urn"]
    assert client.machine("toy-urn").counts["failure_modes"] > 0
    assert {s.id for s in client.symptoms("toy-urn").symptoms} >= {"water_cold"}
    assert not client.check(b"equipment: {id: x}").usable


def test_a_refusal_says_what_was_meant(client: Client) -> None:
    with pytest.raises(Refused, match="did you mean 'toy-urn'") as caught:
        client.advise(AdviceForEquipment(equipment="toy-urm"))
    assert (caught.value.status, caught.value.code) == (404, "unknown-equipment")


def test_a_change_of_an_older_version_is_refused(client: Client) -> None:
    case = client.open_case(CaseRequest(equipment="toy-urn"))
    client.add_findings(case.id, [COLD], case.version)
    with pytest.raises(Refused) as caught:
        client.add_findings(case.id, [COLD], case.version)
    assert caught.value.code == "case-changed"
