"""What the service leaves alone until somebody needs it, and what it remembers from one start to the next."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from fastapi.testclient import TestClient

from api.app import create_app
from api.database import newest, open_database, upgrade, version
from api.models import Canonical
from api.registry import EquipmentNotUsable
from api.remembered import MOST, Remembered
from api.run import warm
from tests.api.conftest import EQUIPMENT, settings
from tests.effort import calls_made

ROOT = Path(__file__).parents[2]
SLOW = ("CoolProp", "alembic", "matplotlib", "networkx", "pandas", "pint", "pygraphviz", "scipy", "scipy.sparse",
        "tqdm")
OURS = ("api.chart", "api.demo", "api.examples", "api.expect", "api.kit_plot", "api.openapi", "api.simulate",
        "api.testability", "graph.kit.van", "graph.policy.calls", "graph.replay")
START = """
import asyncio, sys
from pathlib import Path
import api.commands, api.run
from api.app import create_app
from api.settings import Settings
app = create_app(Settings(database={database!r}, remember=Path({directory!r})))
async def asked():
    said = []
    async def receive(): return {{"type": "http.request", "body": b"", "more_body": False}}
    async def send(message): said.append(message)
    scope = {{"type": "http", "asgi": {{"version": "3.0"}}, "http_version": "1.1", "method": "GET", "scheme": "http",
             "path": "/v1/health", "raw_path": b"/v1/health", "query_string": b"", "headers": [], "root_path": "",
             "client": None, "server": None}}
    await app(scope, receive, send)
    return said[0]["status"]
print(asyncio.run(asked()), sorted(name for name in {names!r} if name in sys.modules))
"""


def started(tmp_path: Path) -> str:
    """The status of the first answer, and which of the slow modules were there by then."""
    script = START.format(
        database=str(tmp_path / "start.db"), directory=str(tmp_path / "remembered"), names=(*SLOW, *OURS)
    )
    said = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    return said.stdout.strip()


def test_the_service_answers_without_what_few_requests_need(tmp_path: Path) -> None:
    first = started(tmp_path)
    assert "CoolProp" not in first
    assert "scipy.sparse" not in first, "not even the first start compiles a graph"
    assert started(tmp_path) == "200 []"


def test_a_remembered_start_takes_a_fraction_of_the_work(tmp_path: Path) -> None:
    def start() -> None:
        create_app(settings(packaged=True, database=str(tmp_path / "x.db"), remember=tmp_path / "kept"))

    start()
    anew = calls_made(lambda: create_app(settings(packaged=True, database=str(tmp_path / "x.db"))))
    again = calls_made(start)
    assert again < anew / 10


def test_a_graph_is_compiled_once_and_by_itself_after_a_while(client: TestClient) -> None:
    service = client.app.state.service  # type: ignore[attr-defined]
    stocked, = service.registry.families.values()
    assert not stocked.ready, "nobody has asked"
    with ThreadPoolExecutor(4) as pool:
        models = list(pool.map(lambda _: stocked.model, range(4)))
    assert all(model is models[0] for model in models)
    assert stocked.ready
    assert models[0].equipment is stocked.equipment


def test_warming_compiles_every_family(client: TestClient) -> None:
    service = client.app.state.service  # type: ignore[attr-defined]
    warm(service.registry)
    assert all(stocked.ready for stocked in service.registry.families.values())


@pytest.fixture
def remembered(tmp_path: Path) -> Remembered:
    return Remembered(tmp_path / "kept")


TEXT = b'{"equipment":{"id":"urn"}}'
KNOWN = Canonical(TEXT, hashlib.sha256(TEXT).hexdigest())


def test_a_text_is_recalled_as_it_was_kept(remembered: Remembered) -> None:
    text = b"equipment: urn"
    assert remembered.recall(text) is None
    remembered.keep(text, "urn", KNOWN)
    found = remembered.recall(text)
    assert found is not None
    assert found == ("urn", KNOWN)
    assert remembered.recall(text + b" ") is None, "another text"


@pytest.mark.parametrize("harm", [
    lambda kept: kept[:-1], lambda kept: b"", lambda kept: kept.replace(b"urn", b"run"), lambda kept: kept + b" ",
    lambda kept: b"\xff" * 300,
])
def test_what_is_broken_is_as_if_it_were_not_there(
    remembered: Remembered, tmp_path: Path, harm: Callable[[bytes], bytes]
) -> None:
    remembered.keep(b"text", "urn", KNOWN)
    place, = (tmp_path / "kept").iterdir()
    place.write_bytes(harm(place.read_bytes()))
    assert remembered.recall(b"text") is None


def test_another_program_does_not_trust_it(remembered: Remembered, monkeypatch: pytest.MonkeyPatch) -> None:
    remembered.keep(b"text", "urn", KNOWN)
    monkeypatch.setattr("api.remembered._program", lambda: b"another")
    assert remembered.recall(b"text") is None


def test_a_directory_that_cannot_be_written_is_no_harm(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    remembered = Remembered(tmp_path / "file")
    remembered.keep(b"text", "urn", KNOWN)
    assert remembered.recall(b"text") is None
    create_app(settings(remember=tmp_path / "file"))


def test_the_oldest_are_forgotten(remembered: Remembered, tmp_path: Path) -> None:
    for number in range(MOST + 5):
        remembered.keep(b"%d" % number, "urn", KNOWN)
    assert len(list((tmp_path / "kept").iterdir())) == MOST
    assert remembered.recall(b"%d" % (MOST + 4)) is not None


def test_defects_are_told_at_every_start(tmp_path: Path) -> None:
    text = next(EQUIPMENT.glob("*.yaml")).read_text(encoding="utf-8")
    (tmp_path / "machines").mkdir()
    (tmp_path / "machines" / "urn.yaml").write_text(text.replace("remedies:", "remedys:", 1), encoding="utf-8")
    told = settings(equipment=(tmp_path / "machines",), remember=tmp_path / "kept")
    for _ in range(2):
        with pytest.raises(EquipmentNotUsable):
            create_app(told)


def test_the_newest_migration_is_the_one_that_alembic_finds(tmp_path: Path) -> None:
    config = Config()
    config.set_main_option("script_location", "api:migrations")
    config.set_main_option("path_separator", "os")
    assert newest() == ScriptDirectory.from_config(config).get_current_head()
    database = open_database(str(tmp_path / "new.db"))
    assert version(database) is None
    upgrade(database)
    assert version(database) == newest()
    database.close()


def test_an_old_schema_is_brought_up(tmp_path: Path) -> None:
    database = open_database(str(tmp_path / "old.db"))
    upgrade(database)
    with database.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0000'")
    assert version(database) == "0000"
    with pytest.raises(Exception, match="0000"):
        upgrade(database)
    database.close()
