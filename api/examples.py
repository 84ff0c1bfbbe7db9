"""The examples of the OpenAPI document: requests that are run, and the answers that came back.

One service call is played through on a store in memory, with the smallest machine that the service
knows, so every example fits the equipment at hand and shows what really happens.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import count
from types import MappingProxyType
from typing import Any

import orjson
from fastapi import FastAPI

from api.app import wired
from api.clock import Clock, written
from api.closeouts.table import written as table
from api.database import open_database, upgrade
from api.example_graph import TEXT
from api.identity import Names, case_names
from api.in_process import NOTHING, call
from api.registry import Registry, Stocked
from api.service import Service
from api.storage import graphs
from api.tables import SHARED
from schemas.closeouts import Closeout
from schemas.source import parse

FIRST: Mapping[str, str] = MappingProxyType({"if-none-match": "*"})
NAMED: Mapping[str, str] = MappingProxyType({"x-request-id": "desk-7-20417"})
ANY: Mapping[str, str] = MappingProxyType({"if-match": "*"})


@dataclass(frozen=True, slots=True)
class Exchange:
    """One request and its answer. `body` is a JSON value, or text where `media_type` is not JSON."""

    operation: str
    title: str
    method: str
    path: str
    parameters: dict[str, str | int | bool]
    headers: Mapping[str, str]
    media_type: str | None
    body: Any
    status: int
    answer: Any


def example_clock() -> Clock:
    """A clock that starts on a Monday morning and moves on half a minute each time it is read."""
    ticks = count()
    return lambda: datetime(2026, 3, 2, 8, 15, tzinfo=UTC) + timedelta(seconds=30 * next(ticks))


def example_names(clock: Clock) -> Names:
    """Case names that come out the same every time."""
    numbers = count(1)
    return case_names(clock, lambda bits: next(numbers) * 0x9E3779B97F4A7C15F39D % (1 << bits))


class _Play:
    """The call as it goes on."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self.exchanges: list[Exchange] = []

    async def do(
        self, operation: str, title: str, method: str, path: str, body: Any = None, media_type: str | None = None,
        headers: Mapping[str, str] = NOTHING, **parameters: str | int | bool,
    ) -> Any:
        """Run one exchange; path parameters fill the template, the others go in the query."""
        if body is not None:
            media_type = media_type or "application/json"
        sent = b"" if body is None else body.encode() if isinstance(body, str) else orjson.dumps(body)
        asked = {k: v for k, v in parameters.items() if f"{{{k}}}" not in path}
        query = "&".join(f"{k}={str(v).lower() if isinstance(v, bool) else v}" for k, v in asked.items())
        address = path.format(**parameters) + (f"?{query}" if query else "")
        typed = {} if media_type is None else {"content-type": media_type}
        status, raw = await call(self.app, method, address, {**typed, **headers}, sent)
        answer = orjson.loads(raw)
        self.exchanges.append(
            Exchange(operation, title, method, path, parameters, headers, media_type, body, status, answer)
        )
        return answer


def smallest(registry: Registry) -> Stocked | None:
    """The machine with the fewest failure modes; None where there is none."""
    return min(registry.families.values(), key=lambda s: (len(s.equipment.modes), s.equipment.id), default=None)


async def _play(app: FastAPI, stocked: Stocked | None) -> list[Exchange]:
    play = _Play(app)
    for name, path in (("readHealth", "/v1/health"), ("readReadiness", "/v1/ready"),
                       ("listEquipment", "/v1/equipment"), ("readGraphSchema", "/v1/graph-schema")):
        await play.do(name, "As it is", "GET", path)
    document = parse(TEXT).data
    await play.do("checkGraph", "A small graph in YAML", "POST", "/v1/graph-checks", TEXT, "application/yaml")
    await play.do(
        "checkGraph", "The same with a misspelt remedy, in JSON", "POST", "/v1/graph-checks", _misspelt(document)
    )
    if stocked is not None:
        await _handed_over(play, await _machine(play, stocked))
    await _told(play)
    await play.do(
        "advise", "A machine whose graph comes along", "POST", "/v1/advice",
        {"document": document, "findings": [{"about": "water_cold", "outcome": "present"}], "most": 2},
    )
    return play.exchanges


def _misspelt(document: Any) -> Any:
    copy = orjson.loads(orjson.dumps(document))
    copy["components"]["thermostat"]["failure_modes"]["stuck_open"]["remedies"] = ["replace_termostat"]
    return copy


async def _machine(play: _Play, stocked: Stocked) -> str:
    e = stocked.equipment
    for name, path in (("readEquipment", ""), ("listSymptoms", "/symptoms"), ("listTests", "/tests"),
                       ("readSequence", "/sequence"), ("readGraph", "/graph"), ("readDocument", "/document")):
        await play.do(name, "As it is", "GET", "/v1/equipment/{equipment_id}" + path, equipment_id=e.id)
    await play.do("readTestability", "With some simulated calls", "GET", "/v1/equipment/{equipment_id}/testability",
                  equipment_id=e.id, calls=5)
    symptom = next(iter(e.symptoms.values()), None)
    findings = [{"about": symptom.id, "outcome": "present"}] if symptom else []
    complaint = (symptom.phrases or (symptom.title,))[0] if symptom else ""
    conditions = {c.id: c.states[0] for c in list(e.conditions.values())[:1]}
    technician = {"role": "technician", "instruments": sorted(e.instruments)}
    await play.do(
        "advise", "A machine the service knows", "POST", "/v1/advice",
        {"equipment": e.id, "conditions": conditions, "findings": findings, "asker": technician,
         "economics": {"labour_per_hour": 80, "return_trip": 120, "currency": e.currency}, "most": 1},
    )
    await play.do(
        "adviseMany", "One that can be answered, one that can't", "POST", "/v1/advice/batches",
        {"items": [{"equipment": e.id, "findings": findings, "most": 1, "budget_ms": 0}, {"equipment": "nothing"}]},
        headers=NAMED,
    )
    await play.do(
        "drawPath", "The first steps", "POST", "/v1/paths",
        {"equipment": e.id, "findings": findings, "asker": technician, "most_steps": 2, "budget_ms": 5},
    )
    await play.do(
        "planKit", "The best chance for some money", "POST", "/v1/kits",
        {"equipment": e.id, "findings": findings, "asker": technician, "aim": "chance", "budget": 100,
         "frontier": True},
    )
    await play.do(
        "matchSymptoms", "What a caller says", "POST", "/v1/symptom-matches",
        {"equipment": e.id, "words": f"{complaint.rstrip('.')}, since yesterday", "most": 2},
    )
    await play.do("matchEquipment", "By its name", "GET", "/v1/equipment-matches", words=e.category.replace(" ", "+"))
    await play.do(
        "askNext", "Who is at the machine", "POST", "/v1/questions", {"equipment": e.id, "findings": findings}
    )
    if symptom is not None:
        await play.do(
            "matchAnswer", "In the caller's words", "POST", "/v1/answer-matches",
            {"equipment": e.id, "about": symptom.id, "words": f"I think so, {complaint.lower()}"},
        )
    case = await play.do(
        "openCase", "A caller reports a fault", "POST", "/v1/cases",
        {"equipment": e.id, "complaint": complaint, "external_id": "WO-20417", "metadata": {"route": "north"},
         "findings": findings, "asker": {"role": "site_contact"}, "unit": {"serial": "Q-0042", "age_years": 6}},
    )
    name = case["id"]
    await play.do("listCases", "The open cases", "GET", "/v1/cases", status="open", limit=10)
    of_case = "/v1/cases/{case_id}"
    await play.do("readCase", "As it is", "GET", of_case, case_id=name)
    await play.do("setCaseContext", "A technician arrives", "PUT", of_case + "/context",
                  {"conditions": conditions, "asker": technician}, headers=ANY, case_id=name)
    following = await play.do(
        "readCaseNextTests", "The best test", "GET", of_case + "/next-tests", case_id=name, most=1
    )
    tests = following["next_tests"]
    found = {"about": tests[0]["test"], "outcome": max(tests[0]["outcomes"], key=lambda o: o["chance"])["outcome"]} \
        if tests else {"about": next(iter(e.remedies)), "outcome": "not_done"}
    recorded = await play.do("addFindings", "What the technician saw", "POST", of_case + "/findings",
                             {"findings": [{**found, "by": "N. Fitter"}]}, case_id=name)
    for operation, path in (("readCaseAdvice", "/advice"), ("readCaseParts", "/parts")):
        await play.do(operation, "The best of each", "GET", of_case + path, case_id=name, most=1)
    await play.do("readCaseKit", "Within a budget", "GET", of_case + "/kit", case_id=name, budget=150)
    parts = list(e.parts)[:1]
    await play.do("planCaseKit", "A part is out of stock", "POST", of_case + "/kit",
                  {"stock": dict.fromkeys(parts, 0), "lead_days": dict.fromkeys(parts, 3)}, case_id=name)
    await play.do("askNextOfCase", "A danger is heard", "POST", of_case + "/questions",
                  {"said": "There is smoke coming out of it now"}, case_id=name)
    await play.do("loadVan", "Two jobs", "POST", "/v1/van-loads",
                  {"jobs": [{"case": name}, {"equipment": e.id, "findings": findings}], "budget": 300})
    await play.do("readCasePath", "Two steps ahead", "GET", of_case + "/path", case_id=name, most_steps=2, budget_ms=0)
    suspects = await play.do("readCaseSuspects", "The likeliest", "GET", of_case + "/suspects", case_id=name, most=1)
    await _own_graph(play)
    await play.do("withdrawFinding", "A slip", "POST", of_case + "/findings/{number}/withdrawal",
                  {"reason": "Read from the wrong terminals."}, case_id=name, number=len(recorded["findings"]))
    await play.do("closeCase", "The repair is done", "POST", of_case + "/closure",
                  _closure(stocked, [s["failure_mode"] for s in suspects["suspects"]][:1]), case_id=name)
    return str(name)


async def _handed_over(play: _Play, name: str) -> None:
    await play.do("readPersonalData", "As it is", "GET", "/v1/cases/{case_id}/personal-data", case_id=name)
    await play.do("erasePersonalData", "A caller asks for it", "DELETE", "/v1/cases/{case_id}/personal-data",
                  case_id=name)
    page = await play.do("listCloseouts", "The newest", "GET", "/v1/closeouts", limit=1)
    record = page["closeouts"][0]
    await play.do("readCloseout", "As it is", "GET", "/v1/cases/{case_id}/closeout", case_id=record["case"])
    other = {**record, "case": None, "external_id": "WO-17044"}
    await play.do("importCloseouts", "A job from elsewhere", "POST", "/v1/closeouts", {"closeouts": [other]})
    await play.do("importCloseoutTable", "The same as a table", "POST", "/v1/closeout-tables",
                  table([Closeout.model_validate(other)]), "text/csv")


async def _told(play: _Play) -> None:
    wanted = {"url": "https://workorders.example/halfsplit", "types": ["halfsplit.case.closed"], "title": "Work orders"}
    added = await play.do("addWebhook", "Told of closed cases", "POST", "/v1/webhooks", wanted)
    name, one = added["webhook"]["id"], "/v1/webhooks/{webhook_id}"
    await play.do("listWebhooks", "All of them", "GET", "/v1/webhooks")
    await play.do("readWebhook", "As it is", "GET", one, webhook_id=name)
    await play.do("setWebhook", "Told of everything", "PUT", one, {**wanted, "types": []}, webhook_id=name)
    await play.do("testWebhook", "A test", "POST", one + "/test", webhook_id=name)
    await play.do("replayWebhook", "From the beginning", "POST", one + "/replay", {"since": 0}, webhook_id=name)
    await play.do("listDeliveries", "The newest", "GET", one + "/deliveries", webhook_id=name, limit=2)
    await play.do("rotateWebhookSecret", "A new secret", "POST", one + "/secret", webhook_id=name)
    await play.do("removeWebhook", "No longer used", "DELETE", one, webhook_id=name)
    await play.do("readEvents", "The first two", "GET", "/v1/events", after=0, limit=2)


async def _own_graph(play: _Play) -> None:
    """Publish the small graph of the examples and lay figures over it."""
    document = parse(TEXT).data
    of = "/v1/equipment/{equipment_id}"
    name = document["equipment"]["id"]
    await play.do("publishRevision", "The first of an equipment", "POST", of + "/revisions", document,
                  headers=FIRST, equipment_id=name, note="first")
    await play.do("listRevisions", "As it is", "GET", of + "/revisions", equipment_id=name)
    await play.do("readRevision", "As it is", "GET", of + "/revisions/{number}", equipment_id=name, number=1)
    await play.do("readOverlay", "Nothing yet", "GET", of + "/overlay", equipment_id=name)
    await play.do(
        "setOverlay", "Thermostats fail more often here", "PUT", of + "/overlay",
        {"calls_per_thousand": {"thermostat.stuck_open": 180}, "prices": {"thermostat": 48}}, headers=ANY,
        equipment_id=name,
    )


def _closure(stocked: Stocked, modes: list[str]) -> dict[str, Any]:
    if not modes:
        return {"found": "unlisted", "minutes": 45}
    remedy = stocked.equipment.remedies[stocked.equipment.modes[modes[0]].remedies[0]]
    return {"found": modes, "remedies": [remedy.id], "parts": dict(remedy.parts), "minutes": 45, "note": "Runs again."}


def played(service: Service, app: FastAPI) -> Iterator[Exchange]:
    """All exchanges, run on `app` (routes like the service's own) with a database in memory."""
    database = open_database(":memory:")
    upgrade(database)
    clock = example_clock()
    with database.writing() as db:
        for stocked in service.registry.families.values():
            graphs.loaded(db, SHARED, stocked.equipment.id, stocked.canonical, written(clock()))
    stage = wired(replace(service.settings, open=True), database, clock, example_names(clock), service.registry)
    stage.resolve = lambda host, port: ["93.184.215.14"]
    app.state.service = stage
    with ThreadPoolExecutor(1) as pool:
        exchanges = pool.submit(lambda: asyncio.run(_play(app, smallest(service.registry)))).result()
    stage.writer.stop()
    database.close()
    yield from exchanges
