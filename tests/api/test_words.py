from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from schemas.word_answers import AnswerMatchAnswer, EquipmentMatchesAnswer, QuestionAnswer, SymptomMatchesAnswer
from tests.api.conftest import COLD


def post(client: TestClient, path: str, status: int = 200, **body: Any) -> Any:
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == status, response.text
    return response.json()


def test_words_become_candidates(client: TestClient) -> None:
    answer = post(client, "symptom-matches", words="the water stays cold since yesterday", equipment="toy-urn")
    TypeAdapter(SymptomMatchesAnswer).validate_python(answer)
    (complaint,) = answer["heard"]["complaints"]
    assert complaint["matches"][0]["symptom"] == "water_cold"
    assert complaint["matches"][0]["outcome"] == "present"
    assert answer["heard"]["measures"][0]["value"] == 1440
    assert answer["graphs"][0]["equipment"] == "toy-urn"


def test_no_match_says_so(client: TestClient) -> None:
    heard = post(client, "symptom-matches", words="my invoice is wrong")["heard"]
    assert heard["complaints"] == heard["dangers"] == []
    assert "Nothing that was said" in heard["sentence"]


def test_dangers_come_first(client: TestClient) -> None:
    heard = post(client, "symptom-matches", words="the water is cold and there is smoke")["heard"]
    assert heard["dangers"][0]["kind"] == "smoke_or_fire"
    assert heard["sentence"].startswith(heard["dangers"][0]["title"])


def test_an_unknown_machine_is_refused_with_the_nearest(client: TestClient) -> None:
    problem = post(client, "symptom-matches", 404, words="cold", equipment="toy-urm")
    assert problem["errors"][0]["nearest"] == "toy-urn"
    assert post(client, "symptom-matches", 422, words="")["errors"]


def test_machines_are_found_by_name(client: TestClient) -> None:
    answer = client.get("/v1/equipment-matches", params={"words": "water boiler"}).json()
    TypeAdapter(EquipmentMatchesAnswer).validate_python(answer)
    assert [m["equipment"] for m in answer["machines"]] == ["toy-urn"]
    assert client.get("/v1/equipment-matches", params={"words": "zebra"}).json() == {"machines": []}


def test_a_conversation_ends(client: TestClient) -> None:
    findings: list[Any] = [COLD]
    for _ in range(8):
        answer = post(client, "questions", equipment="toy-urn", findings=findings)
        TypeAdapter(QuestionAnswer).validate_python(answer)
        turn = answer["turn"]
        assert (turn["question"] is None) != (turn["conclusion"] is None)
        if turn["conclusion"]:
            break
        findings.append({"about": turn["question"]["about"], "outcome": "could_not_tell"})
    assert turn["conclusion"]["kind"] in ("self_help", "technician")


def test_a_case_hears_the_danger_in_its_complaint(client: TestClient) -> None:
    opened = client.post(
        "/v1/cases", json={"equipment": "toy-urn", "complaint": "It gave me a shock", "findings": [COLD]}
    )
    turn = client.post(opened.headers["location"] + "/questions", json={}).json()["turn"]
    assert turn["question"] is None
    assert turn["conclusion"]["kind"] == "make_safe"
    assert turn["dangers"][0]["kind"] == "shock"


def test_free_answers_are_heard(client: TestClient) -> None:
    answer = post(client, "answer-matches", equipment="toy-urn", about="water_cold", words="yes, it's cold")
    TypeAdapter(AnswerMatchAnswer).validate_python(answer)
    assert answer["heard"]["outcome"] == "present"
    problem = post(client, "answer-matches", 404, equipment="toy-urn", about="water_cool", words="yes")
    assert problem["errors"][0]["nearest"] == "water_cold"
