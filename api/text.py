"""Answers as a person would want to read them: plain text from the JSON of an advice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from textwrap import fill
from typing import Any

from graph.explain import percent
from graph.kit.worth import why_aboard

WIDTH = 96
Answer = Mapping[str, Any]


def paragraph(text: str, indent: str = "  ", first: str | None = None) -> str:
    """Wrap a text, every line indented, the first one by `first`; a number stays with its per cent sign."""
    whole = text.replace(" %", "\u00a0%")
    wrapped = fill(whole, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent)
    return wrapped.replace("\u00a0", " ")


def heading(text: str) -> str:
    """A section's heading."""
    return f"\n{text}\n{'-' * len(text)}"


def advice_text(advice: Answer) -> str:
    """A whole advice: conflict, suspects, the next step with its outcomes, alternatives, kit, cautions, notes."""
    return "\n".join(_advice_lines(advice))


def _advice_lines(advice: Answer) -> Iterator[str]:
    yield advice["title"]
    if advice["conflict"]:
        yield heading("The findings clash")
        yield paragraph(advice["conflict"]["sentence"])
    yield heading("Most likely")
    yield from suspect_lines(advice)
    if advice["readings"]:
        yield heading("Readings")
        for reading in advice["readings"]:
            yield paragraph(f"{reading['title']}: {reading['sentence']} {' '.join(reading['assumed'])}".rstrip())
    yield heading("Next")
    yield from next_lines(advice)
    yield from _alternatives(advice)
    yield heading("Bring")
    yield from kit_lines(advice["kit"])
    if advice["notes"]:
        yield heading("Notes")
        for note in advice["notes"]:
            yield paragraph(note, "    ", "  - ")


def suspect_lines(advice: Answer, most: int = 4) -> Iterator[str]:
    """The likeliest suspects; why, for the first; what can't be told apart."""
    if not advice["suspects"]:
        yield "  Nothing that this graph knows of."
    for place, suspect in enumerate(advice["suspects"][:most]):
        yield f"  {percent(suspect['chance']):>9}  {suspect['title']}"
        if place == 0:
            for weight in suspect["evidence"][:3]:
                if abs(weight["decibans"]) >= 3:
                    yield paragraph(weight["sentence"], " " * 15, " " * 13 + "- ")
            for path in suspect["paths"][:1]:
                yield paragraph(path["sentence"], " " * 15, " " * 13 + "- ")
    if advice["unlisted"] >= 0.05:
        yield f"  {percent(advice['unlisted']):>9}  a cause that this graph does not know"
    if advice["nothing_wrong"] >= 0.05:
        yield f"  {percent(advice['nothing_wrong']):>9}  nothing wrong, or no longer"


def next_lines(advice: Answer) -> Iterator[str]:
    """The step to take now: how, what each outcome would mean, cautions."""
    step = advice["next_step"]
    yield paragraph(step["sentence"])
    for number, switching in enumerate(step["switching"], 1):
        yield paragraph(switching, " " * 7, f"    {chr(96 + min(number, 26))}) ")
    for job in (*advice["next_tests"], *advice["next_remedies"]):
        if step["id"] in (job.get("test"), job.get("remedy")):
            if job.get("kind") != "symptom":
                for number, how in enumerate(job["how"], 1):
                    yield paragraph(how, " " * 7, f"    {number}. ")
                if job.get("reading"):
                    yield paragraph(job["reading"], " " * 7, "    = ")
            for outcome in job.get("outcomes", ()):
                if outcome["chance"] >= 0.02:
                    yield paragraph(outcome["sentence"], " " * 6, "    - ")
    for caution in advice["cautions"]:
        if step["id"] in caution["applies_to"]:
            yield paragraph(f"{caution['title']}. {' '.join(caution['precautions'])}", "      ", "    ! ")
    for stake in advice["plan"]["at_stake"]:
        yield paragraph(stake["sentence"])
    if advice["plan"]["expected_cost"] is not None:
        yield paragraph(advice["plan"]["sentence"])
    for margin in advice["plan"]["margins"]:
        yield paragraph(margin["sentence"], "      ", "    - ")


def _alternatives(advice: Answer) -> Iterator[str]:
    others = [t for t in advice["next_tests"] if t["test"] != advice["next_step"]["id"]][:3]
    if others or advice["blocked_tests"]:
        yield heading("Or")
    for job in (*others, *advice["blocked_tests"][:2]):
        yield paragraph(job["sentence"], "    ", "  - ")


def kit_lines(kit: Answer) -> Iterator[str]:
    """The kit, its sentence first."""
    yield paragraph(kit["sentence"])
    for line in kit["lines"]:
        yield paragraph(
            f"{line['quantity']} x {line['number']}  {line['title']}, {line['price']:.2f}: "
            f"{why_aboard(line['chance_needed'], line['contribution'])}", " " * 18, "    ",
        )
    for line in kit["left_out"][:4]:
        yield paragraph(line["sentence"], "      ", "    - ")
    if kit["limits_cost"] > 0:
        yield paragraph(f"Limits and missing stock cost {kit['limits_cost']:.2f} on average.")
    if kit["minutes"]:
        yield paragraph(kit["minutes"]["sentence"])
    for question in kit["questions"]:
        yield paragraph(question["sentence"], "      ", "    ? ")
    if kit["instruments"]:
        yield paragraph("Instruments: " + ", ".join(i.replace("_", " ") for i in kit["instruments"]) + ".")
    for licence, chance in kit["licences"].items():
        yield paragraph(f"Licence for {licence} work: the repair needs it with a chance of {percent(chance)}.")


def van_lines(load: Answer) -> Iterator[str]:
    """A van's load: what to load, then how each job fares."""
    yield paragraph(load["sentence"])
    for line in load["lines"]:
        yield paragraph(f"{line['number']}  {line['sentence']}", " " * 14, "    ")
    for job in load["jobs"]:
        yield paragraph(job["sentence"], "      ", "    - ")


def trial_table(found: Answer, currency: str) -> str:
    """Kits on simulated calls: promised and kept chances, then the rules for the same money (Markdown)."""
    lines = ["| calls | promised | kept | difference |", "|--:|--:|--:|--:|"]
    for part in found["bins"]:
        gap = part["kept"] - part["promised"]
        lines.append(
            f"| {part['calls']} | {part['promised'] * 100:.1f} % | {part['kept'] * 100:.1f} % | {gap * 100:+.1f} |"
        )
    rules = list(dict.fromkeys(r["rule"] for r in found["rules"]))
    lines += ["", f"| {currency} for parts | " + " | ".join(rules) + " |", "|--:|" + "--:|" * len(rules)]
    for money in dict.fromkeys(r["money"] for r in found["rules"]):
        shares = [r["finished"] for r in found["rules"] if r["money"] == money]
        lines.append(f"| {money:g} | " + " | ".join(f"{share * 100:.1f} %" for share in shares) + " |")
    return "\n".join(lines)


def asking_table(found: Answer, currency: str) -> str:
    """Conversations on simulated calls: asking first against loading at once, for the same money (Markdown)."""
    lines = [
        f"| {currency} for parts | way of working | finished at once | nobody had to come | visits that were the last "
        "| kit of a visit | questions |",
        "|--:|---|--:|--:|--:|--:|--:|",
    ]
    for result in found["results"]:
        way = "asking first" if result["asked_first"] else "loading at once"
        lines.append(
            f"| {result['limit']:g} | {way} | {result['at_once'] * 100:.1f} ± {result['within'] * 100:.1f} % "
            f"| {result['unvisited'] * 100:.1f} % | {result['finished'] * 100:.1f} % | {result['price']:.2f} "
            f"| {result['questions']:.1f} |"
        )
    lines += [
        "", *(
            f"With {limit:g} {currency}: {gain * 100:+.1f} ± {within * 100:.1f} points more jobs finished at once."
            for limit, gain, within in found["gains"]
        ),
    ]
    return "\n".join(lines)
