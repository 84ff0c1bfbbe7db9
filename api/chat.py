"""A conversation with a caller in the terminal: listen, confirm, ask what matters, say how it goes on."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from string import ascii_lowercase
from textwrap import fill
from typing import NoReturn

from api.wording import heard
from graph.compile import CompiledModel
from graph.conversation.answers import AnswerChoice, Conclusion, Question
from graph.conversation.asking import next_turn
from graph.conversation.hearing import cannot_tell, hear, yes_or_no
from graph.evidence import RUNS, STILL_FAULTY, Finding
from graph.words.answers import ComplaintMatches, SymptomMatch
from graph.words.dangers import Danger, dangers_of

WIDTH = 92
PATIENCE = 3
"""Times that something is asked again before it is left."""
_UNIT = re.compile(r"(?<=\d) (?=(?:[A-Z]{3}|°?\w{1,2}|%)(?:\W|$))")
"""The space between a number and its unit, where no line may end."""
Listen = Callable[[str], str | None]
"""Says a prompt and returns what was answered; None where the caller has gone."""
Speak = Callable[[str], None]


class _Gone(Exception):
    """The caller has hung up."""


class _Danger(Exception):
    """The caller has been told what to do at once, and is asked nothing more."""


@dataclass(slots=True)
class Chat:
    """One conversation about one machine."""

    model: CompiledModel
    speak: Speak
    listen: Listen
    findings: list[Finding] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)
    cautioned: set[str] = field(default_factory=set)

    def run(self) -> None:
        """The whole conversation."""
        title = self.model.equipment.title
        self.say(f"Hello. This is about the {title}. If anybody is hurt, or anything burns, smokes or smells of "
                 "gas, see to that first and call the emergency number.")
        self.say("You can say “I can't tell” to anything, “why” to a question, and “bye” to end.")
        try:
            self.first_words()
            self.questions()
        except _Gone:
            self.say("All right. Goodbye.")
        except _Danger:
            return

    def first_words(self) -> None:
        """Hear what is wrong."""
        prompt = "What is the matter with it? Tell me in your own words."
        for _ in range(PATIENCE):
            matches = heard([self.model.equipment], self.ask(prompt), 3)
            for complaint in matches.complaints:
                self.confirm(complaint)
            if self.findings:
                return
            prompt = "I'm not sure I know that one. Can you put it another way: what does it do, or what doesn't it do?"
        self.say("Never mind, a few questions will do.")

    def confirm(self, complaint: ComplaintMatches) -> None:
        """Nothing becomes a finding before the caller has said so."""
        if complaint.plain:
            if self.agreed(complaint.confirm):
                self.take(complaint.matches[0])
            return
        self.say(complaint.confirm)
        self.choices([*(m.title for m in complaint.matches), "None of them"])
        place = _place(self.ask("A letter, please."))
        if place is not None and place < len(complaint.matches):
            self.take(complaint.matches[place])

    def take(self, match: SymptomMatch) -> None:
        """Record what the caller has confirmed."""
        self.findings.append(Finding(match.symptom, ((match.outcome, 1),)))

    def agreed(self, question: str) -> bool | None:
        """Whether the caller says yes; None where they can't tell, or say neither."""
        for _ in range(PATIENCE):
            said = self.ask(question)
            told = yes_or_no(said)
            if told is not None or cannot_tell(said):
                return told
            question = "Sorry, just yes or no, please."
        return None

    def questions(self) -> None:
        """Ask what is worth asking, then say how it goes on."""
        while True:
            turn = next_turn(self.model, self.findings, self.passed_over)
            if turn.question is not None:
                self.put(turn.question)
            elif turn.conclusion is not None and not self.conclude(turn.conclusion, turn.dangers):
                return

    def put(self, question: Question) -> None:
        """One question."""
        self.speak("")
        self.say(question.text)
        for step in question.look:
            self.say(step, "    ", "  - ")
        self.choices([choice.title for choice in question.answers])
        for _ in range(PATIENCE):
            said = self.ask("What do you find?" if question.kind == "test" else "How is it?")
            if said.strip(" ?.!").lower() in ("why", "why do you ask"):
                self.say(question.why)
                said = self.ask("So, how is it?")
            outcome = self.understood(question, said)
            if outcome is not None:
                self.record(question, outcome)
                return
        self.say("Never mind, we leave that one.")
        self.passed_over.append(question.about)

    def understood(self, question: Question, said: str) -> str | None:
        """The outcome that is meant, confirmed where it isn't sure."""
        place = _place(said)
        if place is not None and place < len(question.answers):
            return question.answers[place].outcome
        meant = hear(self.model.equipment.observations[question.about], said)
        if meant.outcome is None:
            self.say(meant.confirm or "")
            return None
        if meant.confirm is not None and not self.agreed(meant.confirm):
            self.say("Then once more, please; the letter in front of the answer will do.")
            return None
        return meant.outcome

    def record(self, question: Question, outcome: str) -> None:
        """Note an answer, and say so."""
        choice = next((c for c in question.answers if c.outcome == outcome), None)
        if choice is None or outcome == "could_not_tell":
            self.say("No matter.")
            self.passed_over.append(question.about)
            return
        self.say(_noted(choice, self.model.equipment.observations[question.about].title))
        self.findings.append(Finding(question.about, ((outcome, 1),)))

    def conclude(self, conclusion: Conclusion, dangers: tuple[Danger, ...]) -> bool:
        """Say how it goes on; True where there is more to ask afterwards."""
        self.speak("")
        if conclusion.kind == "make_safe":
            self.danger(dangers)
        if conclusion.self_help is None:
            self.say(conclusion.sentence)
            self.caution(conclusion.cautions)
            if conclusion.dispatch is not None:
                self.speak("")
                self.say(f"For whoever sends somebody: {conclusion.dispatch.sentence}")
            return False
        help_ = conclusion.self_help
        self.say(help_.offer)
        for step in (*help_.how, *help_.check):
            self.say(step, "    ", "  - ")
        self.caution(conclusion.cautions)
        works = self.agreed(f"Take your time. {help_.question}")
        counts = () if works is None else ((RUNS if works else STILL_FAULTY, 1),)
        self.findings.append(Finding(help_.remedy, counts))
        if works:
            self.say("Good. Nobody needs to come. Keep an eye on it today, and call again if it comes back.")
            return False
        self.say("Thank you for trying. Then we go on.")
        return True

    def choices(self, titles: Sequence[str]) -> None:
        """What may be answered, by letters: a number may be the answer itself."""
        for letter, title in zip(ascii_lowercase, titles, strict=False):
            self.say(f"{letter}  {title}", "       ", "    ")

    def caution(self, cautions: Sequence[str]) -> None:
        """What to be careful of; what was said before is not said again."""
        for caution in cautions:
            if caution not in self.cautioned:
                self.say(caution, "    ", "  ! ")
        self.cautioned.update(cautions)

    def danger(self, dangers: tuple[Danger, ...]) -> NoReturn:
        """Say what to do at once, and nothing else. Raises _Danger."""
        self.speak("")
        self.say("Stop there, please. Safety first, and no more questions.")
        for danger in dangers:
            self.say(f"{danger.title}:")
            for step in danger.instructions:
                self.say(step, "    ", "  ! ")
        raise _Danger

    def ask(self, prompt: str) -> str:
        """What the caller says, heard for dangers first. Raises _Gone and _Danger."""
        said = self.listen(prompt)
        if said is None or said.strip(" .!").lower() in ("bye", "goodbye", "quit", "exit"):
            raise _Gone
        if dangers := dangers_of(said):
            self.danger(dangers)
        return said

    def say(self, text: str, indent: str = "", first: str | None = None) -> None:
        """A paragraph, wrapped."""
        text = _UNIT.sub("\u00a0", text)
        self.speak(fill(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent))


def _place(said: str) -> int | None:
    """The place of a choice that was named by its letter."""
    letter = said.strip(" .)").lower()
    return ascii_lowercase.index(letter) if len(letter) == 1 and letter in ascii_lowercase else None


def _noted(choice: AnswerChoice, title: str) -> str:
    return f"Noted: not so, “{title}”." if choice.outcome == "absent" else f"Noted: “{choice.title}”."


def listened(lines: Iterator[str], echo: Speak) -> Listen:
    """Answers from lines of text, shown as they are read: a conversation that was written down."""
    def listen(prompt: str) -> str | None:
        echo(prompt)
        line = next(lines, None)
        if line is None:
            return None
        echo(f"> {line.strip()}")
        return line.strip()

    return listen
