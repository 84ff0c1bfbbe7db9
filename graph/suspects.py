"""Which failure modes, components and parts are implicated, and why."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from graph.answers import ComponentChance, ImplicatedPart, Suspect
from graph.belief import Belief, prior_of
from graph.compile import CompiledModel
from graph.context import Asker, workload
from graph.equipment import Equipment
from graph.explain import WORTH_NAMING, evidence_weights, percent, signal_paths
from graph.hypotheses import Ints


def suspects_of(belief: Belief, asker: Asker, most: int) -> tuple[Suspect, ...]:
    """The likeliest failure modes, explained."""
    model = belief.model
    equipment = model.equipment
    chances = belief.chances_of("modes")
    usual = model.marginals["modes"] @ prior_of(model, belief.prior.known).table.sum(axis=1)
    top = [int(i) for i in np.argsort(-chances, kind="stable")[:most] if chances[i] >= WORTH_NAMING]
    scene = belief.scene
    weights = evidence_weights(belief, top, [float(chances[i]) for i in top])
    groups = ambiguity_groups(model, asker, scene, top)
    answers = []
    for i, evidence in zip(top, weights, strict=True):
        mode = equipment.modes[model.hypotheses.modes[i]]
        title = equipment.mode_title(mode.id)
        chance = float(chances[i])
        fellows = tuple(model.hypotheses.modes[j] for j in groups[i] if j != i)
        answers.append(Suspect(
            mode.id, title, mode.component, chance, float(usual[i]), mode.remedies, fellows, evidence,
            signal_paths(model, mode.id, scene, evidence),
            _suspect_sentence(title, chance, float(usual[i]), mode.shows, [equipment.mode_title(f) for f in fellows]),
        ))
    return tuple(answers)


def ambiguity_groups(
    model: CompiledModel, asker: Asker, scene: int, modes: Sequence[int]
) -> dict[int, tuple[int, ...]]:
    """For each mode, those of `modes` that no test open to the asker tells from it, itself included.

    Two modes are in one group when every such observation has the same outcome chances under either
    alone, in one state of the conditions (`scene`).
    """
    hypotheses = model.hypotheses
    members = np.full((len(modes), hypotheses.members.shape[1]), -1, dtype=np.int64)
    members[:, 0] = modes
    rows = hypotheses.rows_of(members, np.full(len(modes), scene), np.zeros(len(modes), dtype=bool))
    rows = np.minimum(rows, model.rows - 1)
    signatures: list[bytes] = [b""] * len(modes)
    columns, starts, alike = _open_watches(model, asker)
    if len(columns):
        marks = alike[model.patterns[:, rows][columns] + starts[:, None]]
        signatures = [column.tobytes() for column in marks.T]
    groups: dict[bytes, list[int]] = {}
    for mode, signature in zip(modes, signatures, strict=True):
        groups.setdefault(signature, []).append(mode)
    return {mode: tuple(groups[s]) for mode, s in zip(modes, signatures, strict=True)}


@lru_cache(maxsize=256)
def _open_watches(model: CompiledModel, asker: Asker) -> tuple[Ints, Ints, Ints]:
    """Column, offset and `alike` numbers (flat) of the observations that an asker can make."""
    missing = workload(model.equipment, asker).missing
    chosen = [w for w in model.watches if w.column >= 0 and not missing[w.observation.id]]
    sizes = [len(w.alike) for w in chosen]
    starts = np.cumsum([0, *sizes])[:-1]
    flat = np.concatenate([np.zeros(0, dtype=np.int64), *(w.alike for w in chosen)])
    return np.array([w.column for w in chosen], dtype=np.int64), starts.astype(np.int64), flat


@lru_cache(maxsize=64)
def used_by(equipment: Equipment) -> dict[str, tuple[str, ...]]:
    """The remedies that use each part."""
    return {
        part: tuple(r.id for r in equipment.remedies.values() if any(p == part for p, _ in r.parts))
        for part in equipment.parts
    }


def implicated_parts(belief: Belief) -> tuple[ImplicatedPart, ...]:
    """The parts that the usual repairs need, likeliest first."""
    model = belief.model
    equipment = model.equipment
    chances = belief.marginals_of("parts")
    answers = []
    for name in sorted((p for p, c in chances.items() if c >= WORTH_NAMING), key=lambda p: (-chances[p], p)):
        chance = chances[name]
        part = equipment.parts[name]
        answers.append(ImplicatedPart(
            name, part.number, part.title, chance, part.price, used_by(equipment)[name],
            f"{part.title} ({part.number}) is needed with a chance of {percent(chance)}.",
        ))
    return tuple(answers)


def _suspect_sentence(title: str, chance: float, usual: float, shows: float, fellows: Sequence[str]) -> str:
    comes = f" It comes and goes: it shows in about {round(shows * 100)} trials of 100." if shows < 1 else ""
    same = f" No test at hand tells it from {', '.join(f'“{f}”' for f in fellows)}." if fellows else ""
    return f"“{title}”: {percent(chance)} now, {percent(usual)} before anything was found.{comes}{same}"


def components_of(belief: Belief) -> tuple[ComponentChance, ...]:
    """The components that are probably not right, likeliest first."""
    equipment = belief.model.equipment
    chances = belief.marginals_of("components")
    named = sorted(((c, n) for n, c in chances.items() if c >= WORTH_NAMING), key=lambda pair: (-pair[0], pair[1]))
    return tuple(
        ComponentChance(n, equipment.components[n].title, c, equipment.components[n].external) for c, n in named
    )


