"""One call from the first words to the closed job, through the service's own HTTP interface.

The machine, the people and the fault are made up. What is asked, looked at and repaired is what the
service proposes at each step; the story only knows what would be seen.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, closing
from pathlib import Path
from types import MappingProxyType
from typing import Any

import orjson

from api.access import make_key
from api.client.connection import Connection
from api.clock import utc_now
from api.database import open_database, upgrade
from api.progress import progress
from api.run import serving
from api.settings import Settings
from api.text import heading, kit_lines, next_lines, paragraph, suspect_lines

NOTHING: Mapping[str, str] = MappingProxyType({})
EQUIPMENT = "quillmere-c45"
COMPLAINT = (
    "No ice since last night. Every few minutes it hums for some seconds, then there's a click, and then "
    "it's quiet again."
)
FIRST_WORDS = ("no_ice", "hums_and_clicks")
TRUTH, REPAIR = "start_capacitor.failed", "replace_start_capacitor"
SEEN: Mapping[str, str] = {
    "look_lamp": "amber",
    "stuck_filling": "absent",
    "read_alarm": "three",
    "look_ice": "none",
    "capacitor_check": "failed",
}
"""What each question, look or test of the story shows."""
MISCOUNTED = ("read_alarm", "six")
QUESTIONS = 3
"""Questions that a caller is patient enough for."""
MOST_STEPS = 12
DESK = {"role": "site_contact"}
TECHNICIAN = {
    "role": "technician",
    "licences": ["electrical"],
    "instruments": ["multimeter", "capacitance_meter", "clamp_meter", "thermometer", "torch", "stopwatch"],
}


def asked(client: Connection, method: str, path: str, body: object = None, more: Mapping[str, str] = NOTHING) -> Any:
    """One request, its answer as plain data."""
    return client.request(method, path, body, headers=more).json()


class Case:
    """One open case of the story."""

    def __init__(self, client: Connection, asker: object) -> None:
        self.client = client
        findings = [{"about": name, "outcome": "present"} for name in FIRST_WORDS]
        opened = asked(client, "POST", "/v1/cases", {
            "equipment": EQUIPMENT, "complaint": COMPLAINT, "asker": asker, "findings": findings,
        })
        self.path = f"/v1/cases/{opened['id']}"

    def advice(self) -> Any:
        """What the service advises now."""
        return asked(self.client, "GET", f"{self.path}/advice")["advice"]

    def found(self, about: str, outcome: str) -> Any:
        """Record one finding; the case as it is then."""
        return asked(self.client, "POST", f"{self.path}/findings", {"findings": [{"about": about, "outcome": outcome}]})


def demo(port: int = 0) -> int:
    """Run the whole story on a service of its own and print it. Port 0 takes a free one."""
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="halfsplit-"))
        settings = Settings(database=str(Path(folder) / "demo.db"), port=port)
        with progress("starting the service"):
            key = first_key(settings.database)
            address = stack.enter_context(serving(settings))
        print(paragraph(f"A service at {address} of its own, until this ends. The key of this call: {key}\n", ""))
        for line in story(stack.enter_context(closing(Connection(address, key)))):
            print(line, flush=True)
    print(paragraph(
        "All of this went through the HTTP interface. Start it for yourself with “halfsplit serve”; the API "
        f"reference is then at http://{settings.host}:{Settings.port}/reference.", "",
    ))
    return 0


def first_key(database: str) -> str:
    """A key for everything of one tenant, in a new database."""
    with closing(open_database(database)) as opened:
        upgrade(opened)
        return make_key(opened, utc_now, title="the demo").text


def story(client: Connection) -> Iterator[str]:
    """The call, as lines to print."""
    equipment = asked(client, "GET", f"/v1/equipment/{EQUIPMENT}")
    yield f"{equipment['title']}\n{paragraph(equipment['data_note'], '')}"
    yield heading("The caller says")
    yield paragraph(f"“{COMPLAINT}”")
    case = Case(client, DESK)
    yield heading("What that points to")
    yield from suspect_lines(case.advice())
    for question in range(1, QUESTIONS + 1):
        advice = case.advice()
        if advice["next_step"]["kind"] not in ("ask", "test"):
            break
        yield heading(f"Question {question} of the desk")
        yield from _one_step(case, advice)
    yield heading("Before the van leaves")
    yield from suspect_lines(case.advice(), 3)
    yield from kit_lines(asked(client, "GET", f"{case.path}/kit")["kit"])
    asked(client, "PUT", f"{case.path}/context", {"asker": TECHNICIAN}, {"if-match": "*"})
    for _ in range(MOST_STEPS):
        advice = case.advice()
        if advice["next_step"]["kind"] == "close":
            break
        yield heading("On site")
        yield from _one_step(case, advice)
    yield heading("Closing")
    yield paragraph(advice["next_step"]["sentence"])
    closed = asked(client, "POST", f"{case.path}/closure", {
        "found": [TRUTH], "remedies": [REPAIR], "parts": {"start_kit": 1}, "minutes": 55,
        "note": "Read nothing on the meter; new one fitted, full batch seen.",
    })
    yield paragraph(
        f"Case {closed['id']} is closed: found {closed['closure']['closure']['found'][0]}, "
        f"{len(closed['findings'])} findings on record, one of them withdrawn. It answers the same for ever."
    )
    yield ""


def _one_step(case: Case, advice: Any) -> Iterator[str]:
    """What the service proposes, what is then found, and what that changes."""
    step = advice["next_step"]
    yield from next_lines(advice)
    if step["kind"] == "repair":
        outcome = "runs" if step["id"] == REPAIR else "still_faulty"
        yield paragraph(f"=> The technician does it; the machine {'runs' if outcome == 'runs' else 'is still faulty'}.")
    else:
        if step["id"] == MISCOUNTED[0]:
            yield from _miscounted(case, advice)
        outcome = SEEN.get(step["id"], "could_not_tell")
        yield paragraph(f"=> {_said(advice, step['id'], outcome)}")
    case.found(step["id"], outcome)
    after = case.advice()
    if after["suspects"] and after["next_step"]["kind"] != "close":
        first = after["suspects"][0]
        yield paragraph(f"=> Now first: {first['title']} ({round(first['chance'] * 100)} %).")


def _miscounted(case: Case, before: Any) -> Iterator[str]:
    """A finding that turns out wrong and is withdrawn: the earlier answer is back."""
    about, outcome = MISCOUNTED
    number = case.found(about, outcome)["findings"][-1]["number"]
    yield paragraph(f"=> {_said(before, about, outcome)}")
    yield paragraph(f"=> Now first: {case.advice()['suspects'][0]['title']}.")
    yield paragraph("=> “Sorry, I started in the middle. I'll count again.” The finding is withdrawn.")
    asked(case.client, "POST", f"{case.path}/findings/{number}/withdrawal", {"reason": "miscounted"})
    same = orjson.dumps(case.advice()) == orjson.dumps(before)
    yield paragraph(f"=> The earlier answer is back{', to the byte' if same else ', but not the same'}.")


def _said(advice: Any, about: str, outcome: str) -> str:
    """An outcome in the words of the test it belongs to."""
    for test in advice["next_tests"]:
        for known in test["outcomes"]:
            if (test["test"], known["outcome"]) == (about, outcome):
                return str(known["title"])
    return outcome.replace("_", " ")
