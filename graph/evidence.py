"""Findings, and how likely each hypothesis makes them.

A finding is one recorded outcome, or how often each outcome came up in a series of trials. A steady
state gives the same outcome every time: repeating adds nothing, and the newest finding of an
observation replaces the older ones. Trials of an intermittent mode are independent, so they count
every time. What was found before a remedy speaks of what was, what is found after it of what is left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from graph.columns import Column, Watch
from graph.compile import CompiledModel
from graph.equipment import Observation, Remedy
from graph.errors import FindingMisfit, UnknownName
from graph.hypotheses import Floats, Ints
from graph.readings.likelihood import look_at
from graph.readings.records import Reading, Taken
from graph.readings.sentences import comparison
from graph.readings.taking import Given, likeliest_state, taken

NEUTRAL = ("not_done", "could_not_tell", "skipped")
"""Outcomes that any observation or remedy may have, and that change nothing."""
RUNS, STILL_FAULTY = "runs", "still_faulty"
DONE = "done"
VERIFIED = (RUNS, STILL_FAULTY, DONE)
"""What can be said of a remedy that was carried out; `done` says nothing of how it runs."""

SLIP = 0.001
"""Chance that one trial of a series was misread, where outcomes of a steady state differ."""
VERIFICATION_ERROR = 0.02
"""Chance that a repaired machine is called faulty after the trial run, or a faulty one repaired."""
MOST_MAPS = 4096
"""Ways in which states can be read, up to which reading errors last through a series."""
FLOOR = 1e-9
"""The unlisted cause gives any finding at least this chance: impossible evidence lands there."""
IMPOSSIBLE = 1e-13
"""The chance that an observation can be made at all, below which what is left is rounding."""
LOG_FLOOR = float(np.log(FLOOR))


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found: `counts` are (outcome, times); empty where it changes nothing.

    `whole` says that the one outcome stands for the observation done as its document describes it. Where there is a
    `number`, it speaks, and the outcome is what somebody made of it.
    """

    about: str
    counts: tuple[tuple[str, int], ...]
    whole: bool = True
    number: Taken | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """One clue: the log-likelihood of every row (N) and, where it speaks of rates, every climate (R).

    `times` is how many findings it rests on, `found` those themselves.
    """

    about: str
    said: str
    rows: Floats
    climates: Floats | None = None
    times: int = 1
    found: tuple[Finding, ...] = ()


def finding(
    model: CompiledModel, about: str, outcome: str | Mapping[str, int] | None, pointer: str = "",
    reading: Given | None = None,
) -> Finding:
    """Check one finding against the graph. Without an outcome, the reading says which it is.

    Raises UnknownName for an unknown observation, remedy, outcome or unit (with the nearest valid one), UnitMisfit
    for a unit of another quantity and FindingMisfit for a series of a remedy or of a reading, and for no outcome.
    """
    equipment = model.equipment
    observation = equipment.observations.get(about)
    read = reading if observation is not None and observation.reading is not None else None
    if about in equipment.remedies:
        valid: tuple[str, ...] = VERIFIED
        if isinstance(outcome, Mapping) and len(outcome) != 1:
            raise FindingMisfit(f"the remedy {about!r} has more than one outcome", pointer=f"{pointer}/outcome",
                                expected=f"one of {', '.join(VERIFIED)}")
    elif observation is not None:
        valid = tuple(o.id for o in observation.outcomes)
    else:
        raise UnknownName("symptom, test or remedy", about, [*equipment.observations, *equipment.remedies],
                          pointer=f"{pointer}/about")
    if outcome is None and read is None:
        raise FindingMisfit(f"{about!r} has no outcome" + ("" if reading is None else ", and reads no number"),
                            pointer=f"{pointer}/outcome", expected=f"one of {', '.join([*valid, *NEUTRAL])}")
    counts = {outcome: 1} if isinstance(outcome, str) else dict(outcome or {})
    for name in counts:
        if name not in valid and name not in NEUTRAL:
            where = f"{pointer}/outcome" + ("" if isinstance(outcome, str) else f"/{name}")
            raise UnknownName(f"outcome of {about}", name, [*valid, *NEUTRAL], pointer=where)
    kept = tuple((name, times) for name, times in counts.items() if name in valid and times > 0)
    if read is None:
        return Finding(about, kept, whole=isinstance(outcome, str))
    if isinstance(outcome, Mapping):
        raise FindingMisfit(f"a series of {about!r} has one reading", pointer=f"{pointer}/reading",
                            expected="a finding for each reading")
    assert observation is not None and observation.reading is not None
    number = taken(observation.reading, read, f"{pointer}/reading")
    if outcome is None:
        kept = ((implied_outcome(observation, number), 1),)
    return Finding(about, kept, number=number)


def implied_outcome(observation: Observation, number: Taken) -> str:
    """The outcome that a number amounts to: the likeliest one of the state that it fits best."""
    assert observation.reading is not None
    state = likeliest_state(observation.reading, number, look_at(observation.reading, number.at))
    chances = observation.chances[state]
    return observation.outcomes[max(range(len(chances)), key=lambda o: (chances[o], -o))].id


def outcome_title(model: CompiledModel, found: Finding) -> str:
    """What was found, for people: a symptom's own words, `title: outcome` of a test, counts of a series."""
    equipment = model.equipment
    if found.about in equipment.remedies:
        said = {RUNS: "runs", STILL_FAULTY: "still faulty", DONE: "carried out"}
        result = said[found.counts[0][0]] if found.counts else "not done"
        return f"{equipment.remedies[found.about].title}: {result}"
    observation = equipment.observations[found.about]
    lead = "" if observation.kind == "symptom" else f"{observation.title}: "
    if found.counts and found.number is not None and observation.reading is not None:
        look = look_at(observation.reading, found.number.at)
        return lead + comparison(
            observation.reading, found.number, look, likeliest_state(observation.reading, found.number, look)
        )
    if not found.counts:
        return f"{observation.title}: not known"
    if found.whole:
        return lead + observation.outcome_title(found.counts[0][0])
    return lead + ", ".join(f"{n} times {observation.outcome_title(o)}" for o, n in found.counts)


def log_series_chance(mix: Floats, chances: Floats, counts: Sequence[int]) -> float:
    """Log P(a series of trials with these counts, in one order | one pattern).

    `mix` (S) is the state distribution in one trial, `chances` (S, O) P(outcome | state), `counts` (O).
    Reading errors last through a series (each state always reads the same), trials are independent:
    sum over maps from states to outcomes of prod_s chances[s, map(s)] * prod_o P(trial reads o)^n_o.
    Past `MOST_MAPS` maps, reading errors are taken to be independent too.
    """
    came = [o for o, n in enumerate(counts) if n]
    support = np.flatnonzero(mix > 0)
    width = len(came) + (chances.shape[1] > len(came))
    seen = chances[support][:, came]
    times = np.array([counts[o] for o in came], dtype=np.float64)
    with np.errstate(divide="ignore"):
        if width ** len(support) > MOST_MAPS:
            return float(np.log(mix[support] @ seen) @ times)
        slip = SLIP if len(came) > 1 else 0.0
        table = np.column_stack([seen, 1 - seen.sum(axis=1)])[:, :width]
        logs = []
        for reads in product(range(width), repeat=len(support)):
            shares = np.bincount(reads, weights=mix[support], minlength=width)[: len(came)]
            weight = np.prod(table[np.arange(len(support)), reads])
            if weight > 0:
                logs.append(np.log(weight) + np.log((1 - slip) * shares + slip / chances.shape[1]) @ times)
        return float(np.logaddexp.reduce(logs))


def pattern_logs(model: CompiledModel, watch: Watch, found: Finding) -> Floats:
    """Log P(finding | pattern) for each pattern of the watch's column (special patterns: never).

    A series is taken relative to its best explanation: how often one order of it comes up says nothing.
    """
    observation = watch.observation
    if found.number is not None and observation.reading is not None:
        return _number_logs(model, watch, observation.reading, found.number)
    with np.errstate(divide="ignore"):
        if found.whole or observation.reveals in model.equipment.conditions:
            newest = found.counts[-1][0]
            return np.asarray(np.log(watch.chances[:, watch.outcomes[newest]]), dtype=np.float64)
    column = model.columns[watch.column]
    counts = [0] * len(watch.outcomes)
    for name, times in found.counts:
        counts[watch.outcomes[name]] += times
    logs = np.full(column.count, -np.inf)
    table = np.array(observation.chances)
    for k, mix in enumerate(column.mix):
        logs[k] = log_series_chance(mix, table, counts)
    best = float(logs.max())
    return logs - best if best > -np.inf and sum(counts) > 1 else logs


def _number_logs(model: CompiledModel, watch: Watch, reading: Reading, number: Taken) -> Floats:
    """The log-likelihood of a number under each pattern, relative to the state that explains it best."""
    logs = np.array(look_at(reading, number.at).log_ratios(number.value))
    logs -= logs.max()
    if watch.climate is not None:
        return logs
    column = model.columns[watch.column]
    table = np.full(column.count, -np.inf)
    table[: len(column.mix)] = np.log(column.mix @ np.exp(logs))
    return table


def observed(
    model: CompiledModel,
    watch: Watch,
    sessions: Sequence[Finding],
    logs: Floats,
    masses: Floats,
    left: Ints | None,
) -> Evidence:
    """The evidence of all findings of one observation that speak of the same state of the machine.

    `logs` are the prior's `log_chances`, `masses` (P) its pattern masses of the listed causes: the unlisted
    cause predicts what they predict. `left` maps rows to what a remedy has left of them.
    """
    newest = sessions[-1]
    said = outcome_title(model, newest)
    if newest.number is not None and watch.climate is not None:
        table = pattern_logs(model, watch, newest)
    elif newest.number is None and (watch.climate is not None or (newest.whole and len(sessions) == 1)):
        first = model.outcomes.log_starts[watch.first + watch.outcomes[newest.counts[-1][0]]]
        table = logs[first: first + len(watch.chances)]
    else:
        table = log_chances(model, watch, sessions, masses)
    if watch.climate is not None:
        rows = np.zeros(model.rows)
        return Evidence(watch.observation.id, said, rows, table[watch.climate], len(sessions), tuple(sessions))
    pattern = model.patterns[watch.column]
    rows = table.take(pattern if left is None else pattern.take(left))
    outside = rows[-len(model.hypotheses.scenes.shares):]
    np.maximum(outside, LOG_FLOOR, out=outside)
    return Evidence(watch.observation.id, said, rows, None, len(sessions), tuple(sessions))


def log_chances(model: CompiledModel, watch: Watch, sessions: Sequence[Finding], masses: Floats) -> Floats:
    """The log-likelihood of the findings of one observation under each pattern of its column."""
    column = model.columns[watch.column]
    table = pattern_logs(model, watch, sessions[-1])
    if len(sessions) > 1:
        repeated = np.array([pattern_logs(model, watch, found) for found in sessions]).sum(axis=0)
        varied = ~(column.mix == 1).any(axis=1)
        table[: len(varied)][varied] = repeated[: len(varied)][varied]
    if column.unlisted is not None:
        table[column.unlisted] = np.log(_predicted(column, np.exp(table), masses))
    return table


def _predicted(column: Column, chances: Floats, masses: Floats) -> float:
    """The prior predictive chance of a finding over the listed causes."""
    ordinary = slice(column.first, column.first + len(column.mix))
    reach = float(masses[ordinary].sum())
    if reach <= IMPOSSIBLE:
        return FLOOR
    return max(FLOOR, float(masses[ordinary] @ chances[: len(column.mix)]) / reach)


def clean_runs(model: CompiledModel) -> Floats:
    """The chance that a trial run is clean in each row (N): nothing wrong, or nothing that shows, but for the error."""
    return VERIFICATION_ERROR + (1 - 2 * VERIFICATION_ERROR) * model.without_shows


def verified(model: CompiledModel, remedy: Remedy, outcome: str, left: Ints) -> Evidence:
    """The evidence of a remedy's trial run about everything that is left."""
    runs = clean_runs(model)[left]
    said = f"{remedy.title}: {'runs' if outcome == RUNS else 'still faulty'}"
    logs = np.log(runs if outcome == RUNS else 1 - runs)
    return Evidence(remedy.id, said, logs, found=(Finding(remedy.id, ((outcome, 1),)),))


def removed_modes(model: CompiledModel, remedy: Remedy) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which modes (M) a remedy removes."""
    return np.array([remedy.id in model.equipment.modes[m].remedies for m in model.hypotheses.modes])
