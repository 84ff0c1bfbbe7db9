"""Backups from and to both databases."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import text

from api.app import create_app
from api.backup import BackupRefused, backup, restore
from api.cli import main
from api.database import Database, open_database
from tests.api.conftest import COLD, settings

Capture = pytest.CaptureFixture[str]


def filled(database: Database) -> tuple[str, bytes, bytes]:
    """A case with a changed graph and a repeatable answer; its address, record and advice."""
    own = open_database(database.engine.url.render_as_string(False))
    with TestClient(create_app(settings(), database=own)) as client:
        client.put("/v1/equipment/toy-urn/overlay", json={"prices": {"thermostat_kit": 9}}, headers={"if-match": "*"})
        address = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]},
                              headers={"idempotency-key": "k"}).headers["location"]
        return address, client.get(address).content, client.get(f"{address}/advice").content


def test_a_backup_holds_everything_and_can_be_served(database: Database, tmp_path: Path) -> None:
    address, record, advice = filled(database)
    file = tmp_path / "backup.db"
    with database.writing() as db:
        db.execute(text("UPDATE service_case SET complaint = 'never committed'"))
        if not database.embedded:
            rows = backup(database, file)
        db.rollback()
    if database.embedded:
        rows = backup(database, file)
    assert rows > 4
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("backup")) == ["backup.db"]
    served = open_database(str(file))
    with TestClient(create_app(settings(), database=served)) as client:
        assert client.get(address).content == record
        assert client.get(f"{address}/advice").content == advice
        again = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]},
                            headers={"idempotency-key": "k"})
        assert again.headers["location"] == address
    with pytest.raises(BackupRefused, match="exists already"):
        backup(database, file)


def test_a_backup_goes_into_either_database(database: Database, tmp_path: Path) -> None:
    source = open_database(str(tmp_path / "source.db"))
    address, record, _ = filled(source)
    file = tmp_path / "backup.db"
    rows = backup(source, file)
    source.close()
    assert restore(file, database) == rows
    with TestClient(create_app(settings(), database=database)) as client:
        assert client.get(address).content == record
    with pytest.raises(BackupRefused, match="holds rows already"):
        restore(file, open_database(str(tmp_path / "source.db")))


@pytest.mark.parametrize(("content", "said"), [
    (None, "there is no file"), (b"", "not one of Halfsplit's"), (b"no database, only words" * 50, "not a database"),
])
def test_what_is_no_backup_is_not_restored(
    tmp_path: Path, capsys: Capture, content: bytes | None, said: str
) -> None:
    file = tmp_path / "backup.db"
    if content is not None:
        file.write_bytes(content)
    assert main(["restore", str(file), "--database", str(tmp_path / "new.db")]) == 1
    assert said in capsys.readouterr().err


def test_the_commands_say_what_they_did(tmp_path: Path, capsys: Capture) -> None:
    source = open_database(str(tmp_path / "cases.db"))
    filled(source)
    source.close()
    backup_file, new = str(tmp_path / "b.db"), str(tmp_path / "new.db")
    assert main(["backup", backup_file, "--database", str(tmp_path / "cases.db")]) == 0
    assert "rows" in capsys.readouterr().out
    assert main(["restore", backup_file, "--database", new]) == 0
    assert "restored" in capsys.readouterr().out
    assert main(["backup", backup_file, "--database", new]) == 1
    assert "overwrites nothing" in capsys.readouterr().err
