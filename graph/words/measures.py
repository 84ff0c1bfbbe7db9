"""Temperatures and times in a message: “it's at minus five”, “since yesterday”, “for half an hour”."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

_ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
"twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_WORDS = {w: i for i, w in enumerate(_ONES)} | {w: 10 * (i + 2) for i, w in enumerate(_TENS)} | {"fourty": 40}
_SPOKEN = rf"(?:(?:{'|'.join(_TENS)})[ -](?:{'|'.join(_ONES[1:10])})|{'|'.join(sorted(_WORDS, key=len, reverse=True))})"
_NUMBER = rf"(?P<number>\d+(?:[.,]\d+)?|{_SPOKEN})"
_SIGN = r"(?P<sign>minus |[-\u2212\u2013] ?)?"
_SCALE = r"(?P<scale>°? ?(?:degrees? )?(?:celsius|fahrenheit|centigrade|[cf])\b|°|deg(?:ree)?s?\b)"
_DEGREES = re.compile(rf"(?<![\w.]){_SIGN}\b{_NUMBER} ?{_SCALE}(?P<below>(?: [cf]\b)?(?: below(?: zero)?)?)", re.I)
_AT = re.compile(
    rf"\b(?P<lead>(?:it'?s|is|are|at|reads?|says?|shows?|showing|display(?:s|ing)?|"
    rf"temperature(?: is)?|only|about|"
    rf"around|to|down to|up to) )(?P<sign>minus |[-\u2212\u2013] ?){_NUMBER}(?![\w.,]*\d)"
    r"(?! ?(?:%|minutes?|hours?|days?|weeks?|litres?))",
    re.I,
)
_UNITS = {"second": 1 / 60, "minute": 1.0, "min": 1.0, "hour": 60.0, "day": 1440.0, "week": 10080.0,
"fortnight": 20160.0,
          "month": 43830.0, "year": 525960.0, "night": 720.0}
_SPAN = re.compile(
    rf"\b(?P<half>half an? |quarter of an? )?(?:{_NUMBER}|an?|a couple of|a few|several)? ?"
    rf"(?P<and>and a half )?(?P<unit>{'|'.join(_UNITS)})s?\b(?P<ago> ago)?", re.I,
)
_SINCE = {
    "since this morning": 360.0, "this morning": 360.0, "since last night": 720.0, "last night": 720.0,
    "overnight": 720.0, "since yesterday": 1440.0, "yesterday": 1440.0, "since the weekend": 2880.0,
    "over the weekend": 2880.0, "since last week": 10080.0, "last week": 10080.0, "today": 360.0,
}
_SAID = re.compile(r"\b(" + "|".join(sorted(_SINCE, key=len, reverse=True)) + r")\b", re.I)
_LOOSE = {"a couple of": 2.0, "a few": 3.0, "several": 4.0}


@dataclass(frozen=True, slots=True)
class Measure:
    """A number that was said: degrees Celsius, or minutes. `assumed` says what nobody said and was taken."""

    kind: Literal["temperature", "time"]
    value: float
    unit: Literal["Cel", "min"]
    text: str
    start: int
    end: int
    assumed: str


def measures_of(text: str) -> tuple[Measure, ...]:
    """The temperatures and times of a message in its order; where two overlap, the longer."""
    found = sorted((*_temperatures(text), *_times(text)), key=lambda m: (m.start - m.end, m.start))
    kept: list[Measure] = []
    for measure in found:
        if all(measure.end <= k.start or measure.start >= k.end for k in kept):
            kept.append(measure)
    return tuple(sorted(kept, key=lambda m: m.start))


def _temperatures(text: str) -> Iterator[Measure]:
    for found in _DEGREES.finditer(text):
        scale = found["scale"].lower().strip("° ") + (found["below"] or "").lower()
        value = number_of(found["number"])
        below = bool(found["sign"]) or "below" in scale
        value = -value if below else value
        fahrenheit = bool(re.search(r"fahrenheit|(?:^|\s)f\b", scale))
        named = fahrenheit or bool(re.search(r"celsius|centigrade|(?:^|\s)c\b", scale))
        celsius = (value - 32) / 1.8 if fahrenheit else value
        yield Measure(
            "temperature", round(celsius, 2), "Cel", found[0].strip(), found.start(), found.end(),
            "" if named else "degrees Celsius",
        )
    for found in _AT.finditer(text):
        start = found.start() + len(found["lead"])
        yield Measure(
            "temperature", -number_of(found["number"]), "Cel", text[start:found.end()], start, found.end(),
            "a temperature, in degrees Celsius",
        )


def _times(text: str) -> Iterator[Measure]:
    for found in _SAID.finditer(text):
        yield Measure("time", _SINCE[found[0].lower()], "min", found[0], found.start(), found.end(), "about how long")
    for found in _SPAN.finditer(text):
        minutes = _UNITS[found["unit"].lower()]
        said = found[0].lower()
        loose = next((n for words, n in _LOOSE.items() if said.startswith(words)), None)
        if found["number"]:
            count = number_of(found["number"])
        elif found["half"]:
            count = 0.5 if said.startswith("half") else 0.25
        elif loose is not None:
            count = loose
        elif re.match(r"an? ", said):
            count = 1.0
        else:
            continue
        count += 0.5 if found["and"] else 0.0
        yield Measure(
            "time", round(count * minutes, 2), "min", found[0].strip(), found.start(), found.end(),
            "about how many" if loose is not None else "",
        )


def number_of(said: str) -> float:
    """A number in digits or in words up to ninety-nine."""
    said = said.lower().replace(",", ".")
    if said[0].isdigit():
        return float(said)
    return float(sum(_WORDS[part] for part in re.split(r"[ -]", said)))
