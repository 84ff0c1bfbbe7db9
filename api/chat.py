"""A conversation with a caller in the terminal: listen, confirm, ask what matters, say how it goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from textwrap import fill

from api.wording import heard
from graph.compile import CompiledModel
from graph.conversation.answers import AnswerChoice, Conclusion, Question
from graph.conversation.asking import next_turn
from graph.conversation.hearing import hear, yes_or_no
from graph.evidence import RUNS, STILL_FAULTY, Finding
from graph.words.answers import ComplaintMatches
from graph.words.dangers import Danger, dangers_of

WIDTH = 92
PATIENCE = 3
"""Times that something is asked again before it is left."""
PLAIN = 0.8
"""Score from which one symptom is offered alone, to be said yes or no to."""
Listen = Callable[[str], str | None]
"""Says a prompt and returns what was answered; None where the caller has gone."""
Speak = Callable[[str], None]


class _Gone(Exception):
    """The caller has hung up."""


@dataclass(slots=True)
class Chat:
    """One conversation about one machine."""

    model: CompiledModel
    speak: Speak
    listen: Listen
    findings: list[Finding] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)

    def run(self) -> None:
        """The whole conversation."""
        title = self.model.equipment.title
        self.say(f"Hello. This is about the {title}. If anybody is hurt, or anything burns, smokes or smells of "
                 "gas, see to that first and call the emergency number.")
        self.say("You can say “I can't tell” to anything, “why” to a question, and “bye” to end.")
        try:
            if self.first_words():
                self.questions()
        except _Gone:
            self.say("All right. Goodbye.")

    def first_words(self) -> bool:
        """Hear what is wrong; False where it is dangerous."""
        prompt = "What is the matter with it? Tell me in your own words."
        for _ in range(PATIENCE):
            matches = heard([self.model.equipment], self.ask(prompt), 3)
            if matches.dangers:
                self.danger(matches.dangers)
                return False
            for complaint in matches.complaints:
                self.confirm(complaint)
            if self.findings:
                return True
            prompt = "I'm not sure I know that one. Can you put it another way: what does it do, or what doesn't it do?"
        self.say("Never mind, a few questions will do.")
        return True

    def confirm(self, complaint: ComplaintMatches) -> None:
        """Nothing becomes a finding before the caller has said so."""
        best = complaint.matches[0]
        if best.outcome == "absent":
            if self.agreed(f"So this is not the case: “{best.title}”. Have I got that right?"):
                self.findings.append(Finding(best.symptom, (("absent", 1),)))
            return
        if len(complaint.matches) == 1 or (best.score >= PLAIN and best.score - complaint.matches[1].score >= 0.1):
            if self.agreed(f"“{complaint.text}”: I take that as “{best.title}”. Is that right?"):
                self.findings.append(Finding(best.symptom, (("present", 1),)))
            return
        self.say(f"“{complaint.text}”: which of these comes nearest?")
        for number, match in enumerate(complaint.matches, 1):
            self.say(f"{number}  {match.title}", "    ")
        self.say(f"{len(complaint.matches) + 1}  None of them", "    ")
        said = self.ask("A number, please.")
        if said.strip(" .").isdigit() and 1 <= int(said.strip(" .")) <= len(complaint.matches):
            self.findings.append(Finding(complaint.matches[int(said.strip(" .")) - 1].symptom, (("present", 1),)))

    def agreed(self, question: str) -> bool:
        """Whether the caller says yes."""
        for _ in range(PATIENCE):
            told = yes_or_no(self.ask(question))
            if told is not None:
                return told
            question = "Sorry, just yes or no, please."
        return False

    def questions(self) -> None:
        """Ask what is worth asking, then say how it goes on."""
        while True:
            turn = next_turn(self.model, self.findings, self.passed_over)
            if turn.question is not None:
                if not self.put(turn.question):
                    return
                continue
            if turn.conclusion is not None and not self.conclude(turn.conclusion, turn.dangers):
                return

    def put(self, question: Question) -> bool:
        """One question; False where its answer is dangerous."""
        for place in range(PATIENCE):
            self.speak("")
            if place == 0:
                self.say(question.text)
                for step in question.look:
                    self.say(step, "    ", "  - ")
                for number, choice in enumerate(question.answers, 1):
                    self.say(f"{number}  {choice.title}", "       ", "    ")
            else:
                self.say("Let me ask that once more. " + question.text + " The number of the answer will do.")
            said = self.ask("What do you find?" if question.kind == "test" else "How is it?")
            if said.strip(" ?.!").lower() in ("why", "why do you ask"):
                self.say(question.why)
                said = self.ask("So, how is it?")
            outcome = self.understood(question, said)
            if outcome == "danger":
                return False
            if outcome is not None:
                self.record(question, outcome)
                return True
        self.say("Never mind, we leave that one.")
        self.passed_over.append(question.about)
        return True

    def understood(self, question: Question, said: str) -> str | None:
        """The outcome that is meant, confirmed where it isn't sure; `danger` where there is one."""
        number = said.strip(" .)")
        if number.isdigit() and 1 <= int(number) <= len(question.answers):
            return question.answers[int(number) - 1].outcome
        meant = hear(self.model.equipment.observations[question.about], said)
        if meant.dangers:
            self.danger(meant.dangers)
            return "danger"
        if meant.outcome is None:
            self.say("Sorry, I didn't follow that.")
            return None
        if meant.confirm is not None and not self.agreed(meant.confirm):
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
            return False
        if conclusion.self_help is None:
            self.say(conclusion.sentence)
            return False
        help_ = conclusion.self_help
        self.say(f"There is something you may be able to put right yourself: {help_.title}.")
        for step in (*help_.how, *help_.check):
            self.say(step, "    ", "  - ")
        for caution in conclusion.cautions:
            self.say(caution, "    ", "  ! ")
        if self.agreed("Take your time. Does the machine work again now?"):
            self.findings.append(Finding(help_.remedy, ((RUNS, 1),)))
            self.say("Good. Nobody needs to come. Keep an eye on it today, and call again if it comes back.")
            return False
        self.findings.append(Finding(help_.remedy, ((STILL_FAULTY, 1),)))
        self.say("Thank you for trying. Then we go on.")
        return True

    def danger(self, dangers: tuple[Danger, ...]) -> None:
        """Say what to do at once, and nothing else."""
        self.speak("")
        self.say("Stop there, please. Safety first, and no more questions.")
        for danger in dangers:
            self.say(f"{danger.title}:")
            for step in danger.instructions:
                self.say(step, "    ", "  ! ")

    def ask(self, prompt: str) -> str:
        """What the caller says; dangers are looked for by whoever asks. Raises _Gone."""
        said = self.listen(prompt)
        if said is None or said.strip(" .!").lower() in ("bye", "goodbye", "quit", "exit"):
            raise _Gone
        if (dangers := dangers_of(said)) and yes_or_no(said) is not None:
            self.danger(dangers)
            raise _Gone
        return said

    def say(self, text: str, indent: str = "", first: str | None = None) -> None:
        """A paragraph, wrapped."""
        self.speak(fill(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent))


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
