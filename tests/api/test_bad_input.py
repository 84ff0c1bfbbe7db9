from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import orjson
import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from api.bodies import parsed
from api.problems import Refusal
from schemas.problems import MOST_ITEMS
from schemas.requests import AdviceRequest
from tests.api.conftest import Open
from tests.effort import calls_made

JSON = {"content-type": "application/json"}
NOTE = b'{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": "present", "note": "%s"}]}'


def refused(client: TestClient, body: bytes | Iterator[bytes], status: int, code: str, path: str = "/v1/cases") -> Any:
    response = client.post(path, content=body, headers=JSON)
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    problem = response.json()
    assert problem["type"] == f"/problems/{code}"
    assert problem["status"] == status
    assert problem["instance"] == path
    assert client.get("/v1/cases").json()["cases"] == []
    return problem


@pytest.mark.parametrize("body", [
    b"", b" ", b'{"equipment":', b"{'equipment': 'toy-urn'}", b"\xff\xfe{}", NOTE % b"\\ud800", NOTE % b"\xed\xa0\x80",
    b"[" * 100_000, b'{"a":' * 50_000, b'{"equipment": "toy-urn"} {}', b"\x00",
])
@pytest.mark.parametrize("path", ["/v1/cases", "/v1/advice"])
def test_what_is_not_json(client: TestClient, body: bytes, path: str) -> None:
    refused(client, body, 400, "not-json", path)


@pytest.mark.parametrize(("body", "pointer"), [
    (b"[]", ""), (b"null", ""), (b'"toy-urn"', ""), (b"{}", "/equipment"),
    (NOTE % b"\\u0000", "/findings/0/note"), (NOTE % b"\\u202e", "/findings/0/note"),
    (NOTE % (b"x" * 2001), "/findings/0/note"), (b'{"equipment": 5}', "/equipment"),
    (b'{"equipment": "Toy Urn"}', "/equipment"), (b'{"equipment": ["a"]}', "/equipment"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": NaN}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": -Infinity}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": 1e999}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": 9223372036854775808}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": ' + b"9" * 4000 + b"}}", "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": "4"}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "unit": {"age_years": true}}', "/unit/age_years"),
    (b'{"equipment": "toy-urn", "asker": {"role": "technicain"}}', "/asker/role"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": {"present": 9223372036854775808}}]}',
     "/findings/0/outcome/present"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": {"present": 0.5}}]}',
     "/findings/0/outcome/present"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": {}}]}', "/findings/0/outcome"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": 3}]}', "/findings/0/outcome"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "reading": {"value": 1e16, "unit": "A"}}]}',
     "/findings/0/reading/value"),
    (b'{"equipment": "toy-urn", "findings": [{"about": "boils", "reading": {"value": 1}}]}',
     "/findings/0/reading/unit"),
    (b'{"equipment": "toy-urn", "findings": [{"outcome": "present"}]}', "/findings/0/about"),
])
def test_what_does_not_fit_the_schema(client: TestClient, body: bytes, pointer: str) -> None:
    problem = refused(client, body, 422, "invalid-request")
    assert pointer in {e["pointer"] for e in problem["errors"]}
    assert all(e["detail"] for e in problem["errors"])


def test_a_misspelt_field_is_named_with_the_nearest(client: TestClient) -> None:
    problem = refused(client, b'{"equipment": "toy-urn", "asker": {"rolle": "technician"}, "finding": []}', 422,
                      "invalid-request")
    assert {e["pointer"]: e["nearest"] for e in problem["errors"]} == {"/asker/rolle": "role", "/finding": "findings"}


@pytest.mark.parametrize("word", ["(word)", "(equipment)", "(one)", "[key]", "full", "name"])
def test_a_field_is_named_whatever_it_is_called(client: TestClient, word: str) -> None:
    found = refused(client, orjson.dumps({"equipment": "toy-urn", word: None}), 422, "invalid-request")
    assert [e["pointer"] for e in found["errors"]] == [f"/{word}"]
    found = refused(client, orjson.dumps({"equipment": "toy-urn", "conditions": {word: 1}}), 422, "invalid-request")
    assert f"/conditions/{word}" in {e["pointer"] for e in found["errors"]}
    checked = client.post("/v1/graph-checks", json={"format": 1, word: None}).json()
    assert f"/{word}" in {d["pointer"] for d in checked["defects"]}


def test_an_unknown_word_is_named_with_the_nearest(client: TestClient) -> None:
    problem = refused(client, b'{"equipment": "toy-urn", "asker": {"role": "technicain"}}', 422, "invalid-request")
    assert problem["errors"][0]["nearest"] == "technician"


def test_an_answer_never_repeats_what_was_sent(client: TestClient) -> None:
    problem = client.post("/v1/advice", content=b'{"equipment": {"secret": "letmein"}}', headers=JSON)
    assert "letmein" not in problem.text


def test_of_duplicate_keys_the_last_counts(client: TestClient) -> None:
    response = client.post("/v1/cases", content=b'{"equipment": "other", "equipment": "toy-urn"}', headers=JSON)
    assert response.status_code == 201


def test_an_integral_float_is_an_integer(client: TestClient) -> None:
    body = b'{"equipment": "toy-urn", "most": 2.0, "findings": [{"about": "boils", "outcome": {"absent": 3.0}}]}'
    assert client.post("/v1/advice", content=body, headers=JSON).status_code == 200


@pytest.mark.parametrize(
    "given", [None, "text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "json"]
)
def test_another_content_type(client: TestClient, given: str | None) -> None:
    headers = {"content-type": given} if given else {}
    response = client.post("/v1/cases", content=b'{"equipment": "toy-urn"}', headers=headers)
    assert (response.status_code, response.json()["type"]) == (415, "/problems/unsupported-content-type")
    assert response.headers["accept-post"] == "application/json"


def test_a_content_type_with_parameters(client: TestClient) -> None:
    response = client.post("/v1/cases", content=b'{"equipment": "toy-urn"}',
                           headers={"content-type": "Application/JSON; charset=utf-8"})
    assert response.status_code == 201


def test_a_body_over_the_limit(opened: Open) -> None:
    client = opened(most_bytes=1000)
    long = NOTE % (b"x" * 1000)
    refused(client, long, 413, "body-too-large")
    read = 0

    def pieces() -> Iterator[bytes]:
        nonlocal read
        for _ in range(100):
            read += 1
            yield b" " * 600

    refused(client, pieces(), 413, "body-too-large")
    assert client.post("/v1/graph-checks", content=long, headers=JSON).status_code == 413
    assert client.post("/v1/cases", content=iter([b'{"equipment":', b' "toy-urn"}']), headers=JSON).status_code == 201


@pytest.mark.parametrize(("method", "path", "allowed"), [
    ("DELETE", "/v1/cases", "GET, POST"), ("PATCH", "/v1/advice", "POST"), ("POST", "/v1/equipment", "GET"),
    ("GET", "/v1/cases/01m88z3x6604tztnsprqx9gak9/context", "PUT"), ("PUT", "/problems/not-json", "GET"),
])
def test_another_method(client: TestClient, method: str, path: str, allowed: str) -> None:
    response = client.request(method, path)
    assert response.status_code == 405
    assert response.headers["allow"] == allowed
    assert response.json()["type"] == "/problems/method-not-allowed"


@pytest.mark.parametrize("path", ["/", "/v1", "/v1/cases/", "/v2/cases", "/docs", "/redoc", "/v1/%00", "/%ff%fe"])
def test_an_address_with_nothing(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert (response.status_code, response.json()["type"]) == (404, "/problems/not-found")


@pytest.mark.parametrize(("path", "parameter"), [
    ("/v1/cases/%00", "case_id"), ("/v1/cases/1", "case_id"), ("/v1/equipment/Toy", "equipment_id"),
    ("/v1/cases?limit=0", "limit"), ("/v1/cases?limit=9223372036854775808", "limit"), ("/v1/cases?limit=NaN", "limit"),
    ("/v1/cases?status=opened", "status"), ("/v1/cases?cursor=%F0%9F%98%80", "cursor"),
    ("/v1/cases?state=open", "state"), ("/v1/cases?external_id=%00", "external_id"),
    ("/v1/cases/01m88z3x6604tztnsprqx9gak9/kit?most=21", "most"),
    ("/v1/cases?equipment=urn&equipment=toy-urn", "equipment"),
    ("/v1/equipment/toy-urn/testability?calls=0&licences=gas&licences=electrical&calls=1", "calls"),
])
def test_parameters_that_do_not_fit(client: TestClient, path: str, parameter: str) -> None:
    response = client.get(path)
    assert (response.status_code, response.json()["type"]) == (422, "/problems/invalid-request")
    assert response.json()["errors"][0]["parameter"] == parameter


def test_a_number_in_the_path_that_does_not_fit(client: TestClient, case: str) -> None:
    for number in ("0", "-1", "x", "9223372036854775808"):
        response = client.post(f"{case}/findings/{number}/withdrawal", json={"reason": "no"})
        assert response.status_code == 422


@pytest.mark.parametrize("inside", [(), ("document",)])
def test_many_defects_take_little_more_work_than_some(inside: tuple[str, ...]) -> None:
    def work(fields: int) -> int:
        body: Any = {f"equipmnt{i}": 1 for i in range(fields)}
        for name in inside:
            body = {name: body}
        adapter: TypeAdapter[Any] = TypeAdapter(AdviceRequest)

        def refused() -> None:
            with pytest.raises(Refusal) as caught:
                parsed(orjson.dumps(body), adapter)
            assert len(caught.value.errors) == MOST_ITEMS
            assert "the first 100 are told" in caught.value.detail

        refused()
        return calls_made(refused)

    assert work(20_000) < 2 * work(200)
