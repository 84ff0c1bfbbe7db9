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
from graph.equipment import Remedy
from graph.errors import FindingMisfit, UnknownName
from graph.hypotheses import Floats, Ints

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

    `whole` says that the one outcome stands for the observation done as its document describes it.
    """

    about: str
    counts: tuple[tuple[str, int], ...]
    whole: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """One clue: the log-likelihood of every row (N) and, where it speaks of rates, every climate (R).

    `times` is how many findings it rests on.
    """

    about: str
    said: str
    rows: Floats
    climates: Floats | None = None
    times: int = 1


def finding(model: CompiledModel, about: str, outcome: str | Mapping[str, int], pointer: str = "") -> Finding:
    """Check one finding against the graph.

    Raises UnknownName for an unknown observation, remedy or outcome (with the nearest valid one) and
    FindingMisfit for a series of a remedy.
    """
    equipment = model.equipment
    counts = {outcome: 1} if isinstance(outcome, str) else dict(outcome)
    if about in equipment.remedies:
        valid: tuple[str, ...] = VERIFIED
        if len(counts) != 1:
            raise FindingMisfit(f"the remedy {about!r} has more than one outcome", pointer=f"{pointer}/outcome",
                                expected=f"one of {', '.join(VERIFIED)}")
    elif about in equipment.observations:
        valid = tuple(o.id for o in equipment.observations[about].outcomes)
    else:
        raise UnknownName("symptom, test or remedy", about, [*equipment.observations, *equipment.remedies],
                          pointer=f"{pointer}/about")
    for name in counts:
        if name not in valid and name not in NEUTRAL:
            where = f"{pointer}/outcome" + ("" if isinstance(outcome, str) else f"/{name}")
            raise UnknownName(f"outcome of {about}", name, [*valid, *NEUTRAL], pointer=where)
    kept = tuple((name, times) for name, times in counts.items() if name in valid and times > 0)
    return Finding(about, kept, whole=isinstance(outcome, str))


def outcome_title(model: CompiledModel, found: Finding) -> str:
    """What was found, for people: a symptom's own words, `title: outcome` of a test, counts of a series."""
    equipment = model.equipment
    if found.about in equipment.remedies:
        said = {RUNS: "runs", STILL_FAULTY: "still faulty", DONE: "carried out"}
        result = said[found.counts[0][0]] if found.counts else "not done"
        return f"{equipment.remedies[found.about].title}: {result}"
    observation = equipment.observations[found.about]
    lead = "" if observation.kind == "symptom" else f"{observation.title}: "
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
    if watch.climate is not None or (newest.whole and len(sessions) == 1):
        first = model.outcomes.log_starts[watch.first + watch.outcomes[newest.counts[-1][0]]]
        table = logs[first: first + len(watch.chances)]
    else:
        table = log_chances(model, watch, sessions, masses)
    if watch.climate is not None:
        return Evidence(watch.observation.id, said, np.zeros(model.rows), table[watch.climate], len(sessions))
    pattern = model.patterns[watch.column]
    rows = table.take(pattern if left is None else pattern.take(left))
    outside = rows[-len(model.hypotheses.scenes.shares):]
    np.maximum(outside, LOG_FLOOR, out=outside)
    return Evidence(watch.observation.id, said, rows, None, len(sessions))


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
    return Evidence(remedy.id, said, np.log(runs if outcome == RUNS else 1 - runs))


def removed_modes(model: CompiledModel, remedy: Remedy) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which modes (M) a remedy removes."""
    return np.array([remedy.id in model.equipment.modes[m].remedies for m in model.hypotheses.modes])
