"""Answers of tools: short, in plain words, with units, cautions and what the user is to be asked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from api.text import kit_lines, next_lines, suspect_lines

Answer = Mapping[str, Any]
CONFIRM = "Confirm with the user before you record any of this as a finding."
DECIDES = (
    "These are suggestions: the person at the machine decides, and local codes, licences and the maker's own "
    "instructions come first. Pass the cautions on."
)


def machines_text(answer: Answer) -> str:
    """The machines that may be meant."""
    lines = [f"{m['equipment']}: {m['title']} (score {m['score']:.2f})" for m in answer["machines"]]
    if not lines:
        return "No machine that the service knows has a name like that. Ask the user what stands on its plate."
    return "\n".join([*lines, "Ask the user which it is, unless only one fits."])


def words_text(answer: Answer) -> str:
    """Dangers, then what was said and what it may mean."""
    heard = answer["heard"]
    lines = list(_dangers(heard["dangers"]))
    for complaint in heard["complaints"]:
        lines.append(f"“{complaint['text']}” may mean:")
        lines += [
            f"  {m['symptom']} = {m['outcome']} ({m['equipment']}): {m['title']} (score {m['score']:.2f})"
            for m in complaint["matches"]
        ]
        lines.append(f"  Ask back: {complaint['confirm']}")
    if not heard["complaints"]:
        lines.append("Nothing that was said is like a symptom that the service knows. Ask what it does, or doesn't do.")
    lines += [f"Heard a figure: {m['text']}" for m in heard["measures"]]
    return "\n".join([*lines, CONFIRM])


def turn_text(answer: Answer) -> str:
    """The next question with its answers, or how the call goes on."""
    turn = answer["turn"]
    lines = list(_dangers(turn["dangers"]))
    question, end = turn["question"], turn["conclusion"]
    if question is not None:
        lines.append(f"Ask ({question['about']}): {question['text']}")
        lines += [f"  how to look: {step}" for step in question["look"]]
        lines += [f"  {a['outcome']}: {a['title']}" for a in question["answers"]]
        lines += [f"Why: {question['why']}", CONFIRM]
    if end is not None:
        lines.append(f"How it goes on: {end['sentence']}")
        if end["self_help"] is not None:
            lines.append(f"To try ({end['self_help']['remedy']}, about {end['self_help']['minutes']:g} min):")
            lines += [f"  {step}" for step in end["self_help"]["how"]]
            lines += [f"  {step}" for step in end["self_help"]["check"]]
            lines.append(f"Ask afterwards: {end['self_help']['question']} Yes is runs, no is still_faulty.")
        if end["kind"] == "technician":
            lines.append(f"For whoever sends somebody: {end['dispatch']['sentence']}")
        lines += [f"Caution: {c}" for c in end["cautions"]]
    return "\n".join(lines)


def answer_text(answer: Answer) -> str:
    """What a free answer means, and whether to ask back."""
    heard = answer["heard"]
    lines = list(_dangers(heard["dangers"]))
    if heard["outcome"] is not None:
        lines.append(f"That means {heard['outcome']}: {heard['title']} (confidence {heard['confidence']:.2f})")
    if heard["confirm"] is not None:
        lines.append(f"Ask back before it is recorded: {heard['confirm']}")
    return "\n".join(lines)


def advice_text(answer: Answer) -> str:
    """Suspects, the next step with its outcomes and cautions."""
    advice = answer["advice"]
    lines = [f"{advice['title']}. Most likely:", *suspect_lines(advice, 3), "Next:", *next_lines(advice)]
    if advice["conflict"]:
        lines.insert(0, f"The findings clash: {advice['conflict']['sentence']}")
    lines += [f"Note: {note}" for note in advice["notes"]]
    return "\n".join([*lines, DECIDES])


def kit_text(answer: Answer) -> str:
    """What to bring."""
    return "\n".join([*kit_lines(answer["kit"]), *answer["notes"], "Confirm with the user before anything is ordered."])


def case_text(answer: Answer) -> str:
    """A case: what is on record."""
    lines = [
        f"Case {answer['id']} ({answer['status']}, version {answer['version']}) on {answer['graph']['equipment']}."
    ]
    lines += [
        f"  {f['number']}. {f['about']}: {f['outcome'] if f['reading'] is None else _reading(f['reading'])}"
        + (" (withdrawn)" if f["withdrawn"] else "")
        for f in answer["findings"]
    ]
    return "\n".join(lines)


def problem_text(status: int, problem: Answer) -> str:
    """Why a request was refused, and the nearest valid name."""
    lines = [f"Refused ({status}): {problem['title']}: {problem['detail']}"]
    for item in problem["errors"]:
        near = f"; nearest: {item['nearest']}" if item["nearest"] else ""
        expected = f"; expected {item['expected']}" if item["expected"] else ""
        lines.append(f"  {item['pointer'] or item['parameter'] or 'request'}: {item['detail']}{expected[:400]}{near}")
    return "\n".join(lines)


def _reading(reading: Answer) -> str:
    return f"{reading['value']:g} {reading['unit']}"


def _dangers(dangers: list[Answer]) -> Iterator[str]:
    for danger in dangers:
        yield f"DANGER: {danger['title']}. Say this first, and ask no troubleshooting question after it:"
        yield from (f"  {instruction}" for instruction in danger["instructions"])
