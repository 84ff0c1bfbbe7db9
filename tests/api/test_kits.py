from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from api.cli import main
from schemas.answers import KitAnswer, VanLoadAnswer
from tests.api.conftest import COLD, EQUIPMENT

URN = next(EQUIPMENT.glob("*.yaml"))


def plan(client: TestClient, status: int = 200, **body: Any) -> Any:
    response = client.post("/v1/kits", json={"equipment": "toy-urn", "findings": [COLD], **body})
    assert response.status_code == status, response.text
    return response.json()


def load(client: TestClient, status: int = 200, **body: Any) -> Any:
    response = client.post("/v1/van-loads", json=body)
    assert response.status_code == status, response.text
    return response.json()


def parts_of(client: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/v1/equipment/toy-urn/document").json()["parts"]
    return found


def test_a_kit_fits_its_schema_and_explains_itself(client: TestClient) -> None:
    answer = plan(client, frontier=True)
    TypeAdapter(KitAnswer).validate_python(answer)
    kit = answer["kit"]
    assert kit["gap"] == 0
    assert kit["lines"]
    assert kit["chance_without"] < kit["chance_to_finish"] <= kit["chance_at_most"]
    assert all(line["sentence"] and line["worth"] > 0 for line in kit["lines"])
    assert kit["frontier"][0]["price"] == 0
    assert kit["minutes"]["in_50"] <= kit["minutes"]["in_90"]


def test_a_case_and_a_single_question_get_the_same_kit(client: TestClient, case: str) -> None:
    assert client.get(f"{case}/kit").json()["kit"] == plan(client)["kit"]
    wanted: dict[str, Any] = {"stock": dict.fromkeys(parts_of(client), 0)}
    empty = client.post(f"{case}/kit", json=wanted).json()["kit"]
    assert empty == plan(client, **wanted)["kit"]
    assert empty["lines"] == []
    assert empty["limits_cost"] > 0


def test_reading_a_kit_again_is_spared(client: TestClient, case: str) -> None:
    tag = client.get(f"{case}/kit").headers["etag"]
    assert client.get(f"{case}/kit", headers={"if-none-match": tag}).status_code == 304


def test_limits_are_kept(client: TestClient) -> None:
    free = plan(client, aim="chance")["kit"]
    tight = plan(client, aim="chance", count=1)["kit"]
    assert sum(line["quantity"] for line in tight["lines"]) <= 1
    assert tight["chance_to_finish"] <= free["chance_to_finish"]
    assert plan(client, budget=0)["kit"]["price"] == 0
    assert plan(client, economics={"kit_budget": 0}, budget=100)["kit"]["price"] == 0, "the tighter of the two counts"


def test_the_frontier_can_be_drawn(client: TestClient) -> None:
    response = client.post("/v1/kits", json={"equipment": "toy-urn", "findings": [COLD], "form": "svg"})
    assert response.headers["content-type"] == "image/svg+xml"
    drawing = ElementTree.fromstring(response.content)
    words = "".join(drawing.itertext())
    assert "this kit" in words
    assert "every part there is" in words


@pytest.mark.parametrize(("body", "status", "kind", "pointer"), [
    ({"budget": -1}, 422, "invalid-request", "/budget"),
    ({"count": -1}, 422, "invalid-request", "/count"),
    ({"economics": {"return_trip": -5}}, 422, "invalid-request", "/economics/return_trip"),
    ({"stock": {"thermostat_part": -1}}, 422, "invalid-request", "/stock/thermostat_part"),
    ({"stock": {"thermostatt": 1}}, 404, "unknown-name", "/stock/thermostatt"),
    ({"must_bring": {"thermostatt": 1}}, 404, "unknown-name", "/must_bring/thermostatt"),
    ({"aim": "glory"}, 422, "invalid-request", "/aim"),
])
def test_what_makes_no_kit_is_refused(client: TestClient, body: Any, status: int, kind: str, pointer: str) -> None:
    problem = plan(client, status, **body)
    assert problem["type"].endswith(kind)
    assert problem["errors"][0]["pointer"] == pointer


def test_a_kit_that_does_not_fit_is_refused(client: TestClient) -> None:
    part, record = next((name, p) for name, p in parts_of(client).items() if p["price"] > 1)
    problem = plan(client, 409, must_bring={part: 2}, budget=record["price"])
    assert problem["type"].endswith("kit-infeasible")
    assert problem["errors"][0]["pointer"] == "/limits/budget"
    assert f"{2 * record['price']:g}" in problem["detail"]
    assert plan(client, 409, must_bring={part: 2}, stock={part: 1})["type"].endswith("kit-infeasible")


def test_a_van_is_loaded_for_cases_and_for_jobs_told_in_full(client: TestClient, case: str) -> None:
    answer = load(client, jobs=[
        {"case": case.rsplit("/", 1)[1]}, {"equipment": "toy-urn", "findings": [COLD], "conditions": {"water": "hard"}},
    ])
    TypeAdapter(VanLoadAnswer).validate_python(answer)
    van = answer["load"]
    assert [job["job"] for job in van["jobs"]] == [1, 2]
    assert van["without"] < van["expected_finished"] <= van["planned_finished"] + 2 * van["within"]
    held = {line["number"]: line["quantity"] for line in van["lines"]}
    again = load(client, jobs=[{"case": case.rsplit("/", 1)[1]}] * 2, aboard=held)["load"]
    assert again["price"] < van["price"]


@pytest.mark.parametrize(("body", "status", "kind", "pointer"), [
    ({"jobs": []}, 422, "invalid-request", "/jobs"),
    ({"jobs": [{"equipment": "toy-urm"}]}, 404, "unknown-equipment", "/jobs/0/equipment"),
    ({"jobs": [{"case": "0" * 26}]}, 404, "unknown-case", None),
    ({"jobs": [{"equipment": "toy-urn", "findings": [{"about": "water_colt", "outcome": "present"}]}]}, 404,
     "unknown-name", "/jobs/0/findings/0/about"),
    ({"jobs": [{"equipment": "toy-urn"}], "stock": {"QM-1": 2}}, 404, "unknown-name", "/stock/QM-1"),
    ({"jobs": [{"equipment": "toy-urn"}], "budget": -2}, 422, "invalid-request", "/budget"),
])
def test_a_load_that_makes_no_sense_is_refused(
    client: TestClient, body: Any, status: int, kind: str, pointer: str | None
) -> None:
    problem = load(client, status, **body)
    assert problem["type"].endswith(kind)
    if pointer is not None:
        assert problem["errors"][0]["pointer"] == pointer


def test_the_command_line_packs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    request, drawing = tmp_path / "job.json", tmp_path / "kit.svg"
    request.write_text('{"findings": [{"about": "water_cold", "outcome": "present"}]}')
    assert main(["kit", "--graph", str(URN), str(request), "--svg", str(drawing)]) == 0
    assert "Bring" in capsys.readouterr().out
    assert "this kit" in drawing.read_text()
    assert main(["kit", "--graph", str(URN), str(request), str(request)]) == 0
    assert "of 2 jobs" in capsys.readouterr().out
    assert main(["simulate", "--equipment", str(URN), "--kits", "--calls", "20", "--money", "40"]) == 0
    assert "likeliest parts" in capsys.readouterr().out
