"""The readings of a case: what was expected, how far off each is, and the slip that would make it fit."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

import numpy as np

from graph.answers import ConflictReport, ExpectedReading, ReadingReport
from graph.belief import Prior
from graph.equipment import Observation
from graph.evidence import Finding
from graph.hypotheses import Floats
from graph.readings.likelihood import Outlook, look_at
from graph.readings.records import Reading, Taken
from graph.readings.sentences import assumed, comparison, expected_text, given_text, off_text, ranked, verdict
from graph.readings.slips import likeliest_slip
from graph.readings.taking import likeliest_state

MISFIT = "check the instrument, the unit, or the graph"
DISAGREE = 20.0
"""How many times likelier a state of another outcome must make a number, until it is said that the two disagree."""


def readings_of(prior: Prior, findings: Sequence[Finding]) -> tuple[ReadingReport, ...]:
    """A report on every reading, in the order of the findings."""
    observations = prior.model.equipment.observations
    return tuple([
        _report(prior, observations[found.about], found.number, found.counts[0][0])
        for found in findings if found.number is not None and found.counts
    ])


def misfit(reports: Sequence[ReadingReport], before: ConflictReport | None) -> ConflictReport | None:
    """The conflict report with the newest readings that fit no state; these are to be looked at first."""
    newest = {r.test: r for r in reports}
    wrong = [r for r in newest.values() if not r.fits]
    if not wrong:
        return before
    said = " ".join(r.sentence for r in wrong)
    nats = max(float(-np.log(r.chance_of_slip)) for r in wrong)
    if before is None:
        return ConflictReport(nats, tuple((r.test,) for r in wrong), said)
    names = tuple((r.test,) for r in wrong)
    rest = tuple(g for g in before.withdraw if g not in names)
    return ConflictReport(min(before.nats + nats, 1000.0), names + rest, f"{said} {before.sentence}")


def disagreements(prior: Prior, findings: Sequence[Finding]) -> tuple[str, ...]:
    """A note for each reading that says another thing than the outcome that was named with it."""
    notes = []
    for found in findings:
        observation = prior.model.equipment.observations.get(found.about)
        if observation is None or found.number is None or not found.counts or observation.reading is None:
            continue
        look = look_at(observation.reading, found.number.at)
        named = [o.id for o in observation.outcomes].index(found.counts[0][0])
        logs = np.array(look.log_ratios(found.number.value))
        means = np.array(observation.chances).argmax(axis=1) == named
        if means.any() and logs.max() - logs[means].max() > np.log(DISAGREE):
            notes.append(
                f"The reading {given_text(observation.reading, found.number)} of “{observation.title}” does not go "
                f"with “{observation.outcomes[named].title}”; the number was believed."
            )
    return tuple(notes)


def _report(prior: Prior, observation: Observation, number: Taken, named: str) -> ReadingReport:
    reading = observation.reading
    assert reading is not None
    look = look_at(reading, number.at)
    fits = look.fits_any(number.value)
    slip = None if fits else likeliest_slip(reading, number, _shares(prior, observation).tolist())
    states = prior.model.equipment.states_of(observation.reveals)
    likeliest = likeliest_state(reading, number, look)
    return ReadingReport(
        test=observation.id,
        title=observation.title,
        given=given_text(reading, number),
        value=number.value,
        unit=reading.unit.ucum,
        outcome=named,
        expected=_expectations(reading, number, look, states),
        state=states[likeliest] if fits else None,
        fits=fits,
        chance_of_slip=look.wrong,
        slip=None if slip is None else slip.sentence,
        assumed=assumed(reading, number),
        sentence=_sentence(reading, number, look, likeliest, fits, None if slip is None else slip.sentence),
    )


def _expectations(
    reading: Reading, number: Taken, look: Outlook, states: Sequence[str]
) -> tuple[ExpectedReading, ...]:
    answers = []
    for expected, place in ranked(reading, look):
        density = look.known[place]
        low, high = (end if isfinite(end) else None for end in (density.low, density.high))
        off = off_text(density, number.value, reading.unit) or "as expected"
        names = tuple(s for s, k in zip(states, look.place, strict=True) if k == place)
        answers.append(ExpectedReading(
            names, expected.title, low, high, density.off(number.value),
            f"{expected.title}: {expected_text(density, reading.unit)} ({off})",
        ))
    return tuple(answers)


def _sentence(
    reading: Reading, number: Taken, look: Outlook, likeliest: int, fits: bool, slip: str | None
) -> str:
    compared = comparison(reading, number, look)
    if fits:
        return f"{compared}. {verdict(reading, number, look, likeliest)}"
    hint = f" Likeliest slip: {slip}." if slip is not None else ""
    return f"{compared}. It fits none of these: {MISFIT}.{hint}"


def _shares(prior: Prior, observation: Observation) -> Floats:
    """The chance of each state before anything was found."""
    model = prior.model
    watch = model.watches[model.by_id[observation.id]]
    if watch.climate is not None:
        weight = prior.table.sum(axis=0)
        return np.asarray(np.bincount(watch.climate, weights=weight, minlength=len(watch.chances)), dtype=np.float64)
    column = model.columns[watch.column]
    masses = prior.masses[column.first: column.first + len(column.mix)]
    return np.asarray(masses @ column.mix, dtype=np.float64)
