"""What to say next: the question that would change most, or how the call goes on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.conversation.answers import AnswerChoice, Audience, Question, Turn
from graph.conversation.at_word import at_word, foregone
from graph.conversation.ending import conclusion_of, in_short, make_safe
from graph.conversation.stakes import CONTACT, Stakes, askable, stakes_of
from graph.equipment import Equipment, Observation
from graph.evidence import Finding
from graph.explain import percent
from graph.kit.questions import outcome_masses
from graph.words.dangers import Danger, dangers_of, dangers_of_titles
from graph.workload import workload

MOST_ASKED = 4
"""Questions after which a caller has had enough."""
LEAST_WORTH = 0.5
"""Money below which no question is worth asking."""
LIKELY_ANSWER = 0.02
"""Chance from which it is worked out what an answer would change."""
CANT_TELL = AnswerChoice("could_not_tell", "I can't tell", 0.0, "The next question, or a decision without it.")


def next_turn(
    model: CompiledModel, findings: Sequence[Finding], passed_over: Sequence[str] = (), *, said: str = "",
    known: Mapping[str, str] | None = None, asker: Asker = CONTACT, economics: Economics | None = None,
    audience: Audience = "site_contact", most: int = MOST_ASKED,
) -> Turn:
    """The next question or the end of a conversation. A pure function of its arguments.

    Parameters
    ----------
    model
        The machine.
    findings
        What was said and found so far, confirmed.
    passed_over
        Observations that were asked for and could not be told.
    said
        The caller's words so far; a danger in them ends the conversation, as one in the findings does.
    known
        Conditions that are known, by name.
    asker
        Who would be sent, by licences and parts aboard; a site contact stands for somebody with every licence.
    economics
        What time and trips cost.
    audience
        Who is asked: somebody at the machine, or a dispatcher who asks the caller.
    most
        Questions in all, those answered or passed over included.
    """
    equipment = model.equipment
    asked = len({f.about for f in findings if f.about in equipment.observations} | set(passed_over))
    dangers = heard_dangers(equipment, findings, said)
    if dangers:
        return Turn(dangers, None, make_safe(dangers), asked, 0.0)
    belief = believe(model, findings, known)
    tried = frozenset(f.about for f in findings if f.about in equipment.remedies)
    stakes = stakes_of(belief, asker, economics or Economics(), tried)
    closed = frozenset((*passed_over, *(f.about for f in findings if f.counts)))
    best = best_question(stakes, closed) if asked < most + first_words(findings, equipment) else None
    if best is not None:
        return Turn((), question_of(stakes, *best, audience), None, asked, stakes.now)
    return Turn((), None, conclusion_of(stakes, audience, again=bool(tried)), asked, stakes.now)


def first_words(findings: Sequence[Finding], equipment: Equipment) -> int:
    """How many of the findings came with the first words, and were no questions: one, where there is a symptom."""
    return int(any(f.about in equipment.symptoms for f in findings))


def heard_dangers(equipment: Equipment, findings: Sequence[Finding], said: str) -> tuple[Danger, ...]:
    """The dangers in a caller's words, and in what a person on site has found."""
    titles = []
    for found in findings:
        observation = equipment.observations.get(found.about)
        if observation is None or observation.role != "site_contact" or not found.counts:
            continue
        titles += [
            observation.outcome_title(outcome) for outcome, times in found.counts if times and outcome != "absent"
        ]
    return tuple({d.kind: d for d in (*(dangers_of(said) if said else ()), *dangers_of_titles(titles))}.values())


def best_question(stakes: Stakes, closed: frozenset[str]) -> tuple[str, float] | None:
    """The question worth most whose answer isn't known, and what it is worth; None where none is worth its time."""
    return next(iter(worthwhile(stakes, closed)), None)


def worthwhile(stakes: Stakes, closed: frozenset[str]) -> list[tuple[str, float]]:
    """The questions that are worth the caller's time and whose answers aren't known; what each is worth, best first."""
    names = askable(stakes.belief, closed)
    known = foregone(at_word(stakes.belief), names)
    names = [name for name in names if name not in known]
    worths = sorted(zip(stakes.worths(names), names, strict=True), key=lambda w: (round(w[0], 9), w[1]), reverse=True)
    return [(name, worth) for worth, name in worths if worth >= LEAST_WORTH]


def question_of(stakes: Stakes, name: str, worth: float, audience: Audience) -> Question:
    """A question as it is asked, with what each of its answers would change."""
    equipment = stakes.belief.model.equipment
    asked = equipment.observations[name]
    answers = answers_of(stakes, asked, audience)
    text = wording_of(asked)
    if audience == "dispatcher":
        text = f"Ask the caller: {text[0].lower() + text[1:] if not text.startswith('I ') else text}"
    return Question(
        name, asked.kind, text, asked.how if asked.kind == "test" else (), why_of(stakes, answers, audience),
        (*answers, CANT_TELL), workload(equipment, CONTACT).minutes[name], worth,
    )


def why_of(stakes: Stakes, answers: Sequence[AnswerChoice], audience: Audience) -> str:
    """Why something is asked: what would be done now, and on the likeliest answer that would change it."""
    now = in_short(stakes, stakes.masses, audience)
    turns = [a for a in answers if a.then != now and a.chance >= LIKELY_ANSWER]
    why = f"As things stand {now[0].lower() + now[1:]}"
    if not turns:
        return f"{why} The answer tells which parts to bring."
    first = max(turns, key=lambda a: a.chance)
    chance = f" ({percent(first.chance)})" if audience == "dispatcher" else ""
    return f"{why} If the answer is “{first.title}”{chance} {first.then[0].lower() + first.then[1:]}"


def wording_of(asked: Observation) -> str:
    """The question itself: a symptom's own, or a test as a request."""
    if asked.kind == "symptom" and asked.how:
        return " ".join(asked.how)
    verb, _, rest = asked.title.partition(" ")
    if verb in ("Ask", "Say"):
        return f"Can you tell me {rest}?"
    return f"Can you {asked.title[0].lower() + asked.title[1:]}?"


def answers_of(stakes: Stakes, asked: Observation, audience: Audience) -> tuple[AnswerChoice, ...]:
    """The answers of a question with their chances and what each would change."""
    (joint,) = outcome_masses(stakes.belief, stakes.fates.of_set, len(stakes.fates.need), [asked.id])
    choices = []
    for outcome, masses in zip(asked.outcomes, joint.T, strict=True):
        title = outcome.title
        if asked.kind == "symptom" and outcome.id == "absent":
            title = "No, that's not so"
        choices.append(AnswerChoice(outcome.id, title, float(masses.sum()), in_short(stakes, masses, audience)))
    return tuple(choices)
