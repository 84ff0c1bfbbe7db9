"""What is about people, and that it is gone after it was erased."""

from __future__ import annotations

from pathlib import Path

from tests.api.conftest import COLD, Open

WORDS = ("Ada Marsh", "0301-555", "N. Fitter", "S-77", "rang twice", "her number")


def test_what_was_said_can_be_read_and_is_erased_everywhere(opened: Open, tmp_path: Path) -> None:
    client = opened(database=str(tmp_path / "cases.db"))
    once = {"idempotency-key": "k"}
    case = str(client.post("/v1/cases", headers=once, json={
        "equipment": "toy-urn", "complaint": "Ada Marsh, 0301-555: cold tea", "external_id": "WO-5",
        "metadata": {"contact": "her number"}, "unit": {"serial": "S-77", "model": "U2"},
        "findings": [{**COLD, "note": "Ada Marsh rang twice", "by": "N. Fitter"}],
    }).headers["location"])
    client.post(f"{case}/findings", headers=once, json={"findings": [COLD]})
    client.post(f"{case}/findings/2/withdrawal", json={"reason": "Ada Marsh was wrong", "by": "N. Fitter"})
    client.post(f"{case}/closure", json={"found": "unlisted", "note": "Ada Marsh is happy", "by": "N. Fitter"})
    held = client.get(f"{case}/personal-data").text
    assert all(word in held for word in WORDS)
    advice = client.get(f"{case}/suspects").json()
    left = client.delete(f"{case}/personal-data")
    assert left.status_code == 200 and not [word for word in WORDS if word in left.text]
    record = client.get(case).json()
    assert record["unit"] == {"model": "U2", "serial": None, "age_years": None} and record["version"] == 5
    assert [f["outcome"] for f in record["findings"]] == ["present", "present"]
    assert client.get(f"{case}/suspects").json() == advice
    everything = [client.get(path).text for path in (case, "/v1/cases", "/v1/closeouts", "/v1/events")]
    database = client.app.state.service.database  # type: ignore[attr-defined]
    with database.reading() as db:
        for table in db.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars().all():
            everything += map(str, db.exec_driver_sql(f'SELECT * FROM "{table}"').all())
    assert not [word for word in WORDS if any(word in text for text in everything)]
