"""One caller, three ways to talk: over HTTP, through a language model's tools, in the terminal. All say the same."""

from __future__ import annotations

import asyncio
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import httpx
import httpx2
import pytest
from mcp.client import Client
from mcp.client.streamable_http import streamable_http_client

from api.cli import main
from api.demo import first_key
from api.run import serving
from api.settings import Settings

Finding = dict[str, str]
LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True)
class Heard:
    """A complaint: what is asked back, and what it may mean as (symptom, outcome, title)."""

    confirm: str
    plain: bool
    matches: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Asked:
    """A question; `answers` are (outcome, title)."""

    about: str
    text: str
    look: tuple[str, ...]
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class End:
    """How the call goes on. `remedy` names what the caller is to try, `question` what is asked then."""

    sentence: str
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    remedy: str | None = None
    question: str = ""
    sent: str | None = None


@dataclass(frozen=True)
class Meaning:
    """What a free answer was taken for."""

    outcome: str | None
    title: str
    confirm: str | None


Dangers = tuple[tuple[str, tuple[str, ...]], ...]
"""Titles with what to do at once."""


class Way(Protocol):
    """A way to reach the service; each answers with its dangers first."""

    async def hear(self, words: str) -> tuple[Dangers, Sequence[Heard]]: ...

    async def next(self, findings: Sequence[Finding], said: str) -> tuple[Dangers, Asked | End]: ...

    async def meaning(self, about: str, words: str) -> tuple[Dangers, Meaning]: ...


class OverHttp:
    """The REST interface."""

    def __init__(self, client: httpx.AsyncClient, equipment: str) -> None:
        self.client, self.equipment = client, equipment

    async def post(self, path: str, **body: Any) -> Any:
        answer = await self.client.post(f"/v1/{path}", json={"equipment": self.equipment, **body})
        assert answer.status_code == 200, answer.text
        return answer.json()

    async def hear(self, words: str) -> tuple[Dangers, Sequence[Heard]]:
        heard = (await self.post("symptom-matches", words=words))["heard"]
        return _dangers(heard), [
            Heard(c["confirm"], c["plain"], tuple((m["symptom"], m["outcome"], m["title"]) for m in c["matches"]))
            for c in heard["complaints"]
        ]

    async def next(self, findings: Sequence[Finding], said: str) -> tuple[Dangers, Asked | End]:
        turn = (await self.post("questions", findings=findings, said=said))["turn"]
        if (q := turn["question"]) is not None:
            answers = tuple((a["outcome"], a["title"]) for a in q["answers"])
            return (), Asked(q["about"], q["text"], tuple(q["look"]), answers)
        end, cautions = turn["conclusion"], tuple(turn["conclusion"]["cautions"])
        if (help_ := end["self_help"]) is not None:
            steps = (*help_["how"], *help_["check"])
            return (), End(help_["offer"], steps, cautions, help_["remedy"], help_["question"])
        sent = None if end["dispatch"] is None else end["dispatch"]["sentence"]
        return _dangers(turn), End(end["sentence"], cautions=cautions, sent=sent)

    async def meaning(self, about: str, words: str) -> tuple[Dangers, Meaning]:
        heard = (await self.post("answer-matches", about=about, words=words))["heard"]
        return _dangers(heard), Meaning(heard["outcome"], heard["title"], heard["confirm"])


def _dangers(answer: Any) -> Dangers:
    return tuple((d["title"], tuple(d["instructions"])) for d in answer["dangers"])


class ThroughTools:
    """The tools of a language model, read as a model reads them."""

    def __init__(self, client: Client, equipment: str) -> None:
        self.client, self.equipment = client, equipment

    async def call(self, tool: str, **arguments: Any) -> tuple[Dangers, list[str]]:
        answer = await self.client.call_tool(tool, {"equipment": self.equipment, **arguments})
        lines: list[str] = answer.content[0].text.splitlines()  # type: ignore[union-attr]
        assert not answer.is_error, lines
        dangers: list[tuple[str, tuple[str, ...]]] = []
        while lines and (found := re.match(r"DANGER: (.*)\. Say this first", lines[0])):
            steps = [line.strip() for line in _while_indented(lines[1:])]
            dangers.append((found[1], tuple(steps)))
            del lines[: 1 + len(steps)]
        return tuple(dangers), lines

    async def hear(self, words: str) -> tuple[Dangers, Sequence[Heard]]:
        dangers, lines = await self.call("match_words", words=words)
        heard = []
        for place, line in enumerate(lines):
            if re.fullmatch(r"“.*” may mean:", line):
                *matches, asked = _while_indented(lines[place + 1:])
                found = [re.fullmatch(r"  (\w+) = (\w+) \(\S+\): (.*) \(score [\d.]+\)", m) for m in matches]
                confirm = asked.removeprefix("  Ask back: ")
                heard.append(Heard(
                    confirm, not confirm.endswith("which of these comes nearest?"),
                    tuple((m[1], m[2], m[3]) for m in found if m is not None),
                ))
        return dangers, heard

    async def next(self, findings: Sequence[Finding], said: str) -> tuple[Dangers, Asked | End]:
        dangers, lines = await self.call("next_question", findings=findings, said=said)
        if found := re.match(r"Ask \((\w+)\): (.*)", lines[0]):
            below = _while_indented(lines[1:])
            look = [line.removeprefix("  how to look: ") for line in below if line.startswith("  how to look: ")]
            answers = [line.strip().partition(": ") for line in below[len(look):]]
            return dangers, Asked(found[1], found[2], tuple(look), tuple((o, title) for o, _, title in answers))
        sentence = lines[0].removeprefix("How it goes on: ")
        cautions = tuple(line.removeprefix("Caution: ") for line in lines if line.startswith("Caution: "))
        if found := re.match(r"To try \((\w+), about", lines[1]):
            steps = [line.strip() for line in _while_indented(lines[2:])]
            asked = re.fullmatch(r"Ask afterwards: (.*\?) Yes is runs, no is still_faulty\.", lines[2 + len(steps)])
            assert asked is not None
            offer = sentence.partition(f" {steps[0]}")[0]
            return dangers, End(offer, tuple(steps), cautions, found[1], asked[1])
        sent = lines[1].removeprefix("For whoever sends somebody: ")
        return dangers, End(sentence, cautions=cautions, sent=None if sent == lines[1] else sent)

    async def meaning(self, about: str, words: str) -> tuple[Dangers, Meaning]:
        dangers, lines = await self.call("match_answer", about=about, words=words)
        told = "\n".join(lines)
        meant = re.search(r"That means (\w+): (.*) \(confidence", told)
        back = re.search(r"Ask back before it is recorded: (.*)", told)
        return dangers, Meaning(
            None if meant is None else meant[1], "" if meant is None else meant[2], None if back is None else back[1])


def _while_indented(lines: Sequence[str]) -> list[str]:
    count = next((i for i, line in enumerate(lines) if not line.startswith("  ")), len(lines))
    return list(lines[:count])


class Conversation:
    """A chat that listens, confirms, asks and says how it goes on: `told` is all that was said, in its order."""

    def __init__(self, way: Way, script: Sequence[str]) -> None:
        self.way, self.script, self.told = way, iter(script), list[str]()
        self.findings: list[Finding] = []

    def say(self, *texts: str) -> None:
        self.told += texts

    def listen(self) -> str:
        said = next(self.script, None)
        assert said is not None, "\n".join(["the caller has no more to say:", *self.told])
        self.told.append(f"> {said}")
        return said

    def agreed(self, text: str) -> bool:
        self.say(text)
        return self.listen().lower().startswith("y")

    def danger(self, dangers: Dangers) -> None:
        for title, steps in dangers:
            self.say(f"{title}:", *steps)

    async def run(self) -> None:
        words = self.listen()
        dangers, heard = await self.way.hear(words)
        if dangers:
            self.danger(dangers)
            after, end = await self.way.next([], words)
            assert after == dangers and isinstance(end, End) and end.sent is end.remedy is None
            return
        for complaint in heard:
            self.confirm(complaint)
        while await self.step():
            pass

    def confirm(self, complaint: Heard) -> None:
        place = 0
        if not complaint.plain:
            self.say(complaint.confirm, *(title for _, _, title in complaint.matches), "None of them")
            place = LETTERS.index(self.listen())
        elif not self.agreed(complaint.confirm):
            return
        if place < len(complaint.matches):
            symptom, outcome, _ = complaint.matches[place]
            self.findings.append({"about": symptom, "outcome": outcome})

    async def step(self) -> bool:
        """One question, one thing to try, or the end; False at the end."""
        words = "\n".join(text.removeprefix("> ") for text in self.told if text.startswith("> "))
        dangers, turn = await self.way.next(self.findings, words)
        if dangers:
            self.danger(dangers)
            return False
        if isinstance(turn, Asked):
            self.say(turn.text, *turn.look, *(title for _, title in turn.answers))
            return await self.answered(turn)
        self.say(turn.sentence, *turn.steps, *(c for c in turn.cautions if c not in self.told))
        if turn.remedy is None:
            self.say(*([turn.sent] if turn.sent is not None else []))
            return False
        works = self.agreed(turn.question)
        self.findings.append({"about": turn.remedy, "outcome": "runs" if works else "still_faulty"})
        return not works

    async def answered(self, asked: Asked) -> bool:
        while True:
            dangers, meant = await self.way.meaning(asked.about, self.listen())
            if dangers:
                self.danger(dangers)
                return False
            if meant.outcome is None:
                self.say(str(meant.confirm))
                continue
            if meant.confirm is None or self.agreed(meant.confirm):
                break
        self.findings.append({"about": asked.about, "outcome": meant.outcome})
        if meant.outcome != "could_not_tell":
            self.say(meant.title.removeprefix("it is not so that: "))
        return True


@dataclass(frozen=True)
class Script:
    """What a caller says, one sentence after the other, and what must have been said to them in the end."""

    equipment: str
    lines: tuple[str, ...]
    end: str


SCRIPTS = {
    "an ice maker put right by the caller": Script("quillmere-c45", (
        "No ice since yesterday and an orange lamp is flashing, but it isn't leaking", "yes", "yes", "yes",
        "two, I think", "yes", "I can't tell", "yes",
    ), "see that the machine's stop tap is open"),
    "a freezer that needs somebody licensed": Script("quillmere-f140", (
        "It's running warm and it never stops, but the doors close fine", "yes", "yes", "yes",
        "only white at one corner, I think", "yes", "a strong cold stream",
    ), "Send somebody licensed for: refrigeration"),
    "a glasswasher whose remedy did not help": Script("quillmere-w50", (
        "Bits left in the glasses, but there's no foam", "yes", "yes", "it's clear, changed this morning",
        "one layer, upside down", "don't know", "no",
    ), "Seal of the standpipe"),
    "an oven that begins to smoke": Script("quillmere-h6", (
        "Since we scrubbed it the door leaks at one corner", "yes", "hang on, there's smoke coming out now",
    ), "call the fire brigade"),
    "an ice maker that gave a shock": Script("quillmere-c45", ("I got a shock when I touched it",), "Electric shock"),
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, dict[str, str]]]:
    """Address of a service with the shipped machines, and the header that lets a caller in."""
    settings = Settings(database=str(tmp_path_factory.mktemp("talk") / "talk.db"), port=0)
    key = first_key(settings.database)
    with serving(settings) as address:
        yield address, {"authorization": f"Bearer {key}"}


def over_http(service: tuple[str, dict[str, str]], script: Script) -> list[str]:
    async def talk() -> list[str]:
        address, headers = service
        async with httpx.AsyncClient(base_url=address, headers=headers, timeout=30) as client:
            return await told(OverHttp(client, script.equipment), script)

    return asyncio.run(talk())


def through_tools(service: tuple[str, dict[str, str]], script: Script) -> list[str]:
    async def talk() -> list[str]:
        address, headers = service
        async with (
            httpx2.AsyncClient(headers=headers, timeout=30) as http,
            Client(streamable_http_client(f"{address}/mcp", http_client=http)) as client,
        ):
            return await told(ThroughTools(client, script.equipment), script)

    return asyncio.run(talk())


async def told(way: Way, script: Script) -> list[str]:
    conversation = Conversation(way, script.lines)
    await conversation.run()
    unsaid = list(conversation.script)
    assert not unsaid, "\n".join([f"the call ended before {unsaid}:", *conversation.told])
    return conversation.told


def in_the_terminal(script: Script, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(script.lines) + "\n"))
    capsys.readouterr()
    assert main(["chat", script.equipment]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("script", SCRIPTS.values(), ids=SCRIPTS)
def test_all_ways_say_the_same(
    service: tuple[str, dict[str, str]], script: Script, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = over_http(service, script)
    assert through_tools(service, script) == said
    assert any(script.end in text for text in said)
    assert left_over(in_the_terminal(script, monkeypatch, capsys), said) == ""


BETWEEN = re.compile(
    r"Hello\. This is about .*? number\.|You can say .*? end\.|What is the matter with it\? Tell me .*? words\.|"
    r"A letter, please\.|What do you find\?|How is it\?|No matter\.|Noted: (not so, )?“|”\.|\b[a-z]  |  [-!] |"
    r"Take your time\.|Thank you for trying\. Then we go on\.|Good\. Nobody needs to come\..*? back\.|"
    r"Stop there, please\. Safety first, and no more questions\.|For whoever sends somebody:"
)
"""What belongs to the terminal's form: greetings, marks, letters, thanks."""


def left_over(terminal: str, said: Sequence[str]) -> str:
    """What a terminal showed beside all that was said, in its order, and beside its form."""
    rest, text = [], _flat(terminal)
    for words in map(_flat, said):
        before, found, text = text.partition(words)
        assert found, f"{words!r} was not said in the terminal, or not there:\n{terminal}"
        rest.append(before)
    return " ".join(BETWEEN.sub(" ", " ".join([*rest, text])).split())


def test_what_a_terminal_adds_or_leaves_out_is_seen() -> None:
    said = ["> it drips", "Is it wet?", "Wet", "Dry"]
    terminal = "> it drips\n\nIs it\nwet?\n    a  Wet\n    b  Dry\nHow is it?\n"
    assert left_over(terminal, said) == ""
    assert left_over(terminal + "Bring a pump.", said) == "Bring a pump."
    with pytest.raises(AssertionError, match="'Dry' was not said"):
        left_over(terminal.replace("Dry", ""), said)


def _flat(text: str) -> str:
    """Text without its line ends and paragraphs; marks and letters before a line keep their two spaces."""
    marked = re.sub(r"\n {2,4}([a-z]  |[-!] )", "\0\\1", text.replace("\u00a0", " "))
    return " ".join(marked.split()).replace("\0", "  ")
