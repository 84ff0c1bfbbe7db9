"""Which failure modes, components and parts are implicated, and why."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from graph.ambiguity import SOUND, signatures
from graph.answers import ComponentChance, ImplicatedPart, Suspect
from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker
from graph.equipment import Equipment
from graph.explain import WORTH_NAMING, evidence_weights, percent, signal_paths
from graph.workload import workload


def suspects_of(belief: Belief, asker: Asker, most: int) -> tuple[Suspect, ...]:
    """The likeliest failure modes, explained."""
    model = belief.model
    equipment = model.equipment
    chances = belief.chances_of("modes")
    usual = belief.prior.usual
    top = [int(i) for i in np.argsort(-chances, kind="stable")[:most] if chances[i] >= WORTH_NAMING]
    scene = belief.scene
    weights = evidence_weights(belief, top, [float(chances[i]) for i in top])
    groups = ambiguity_groups(model, asker, scene)
    answers = []
    for i, evidence in zip(top, weights, strict=True):
        mode = equipment.modes[model.hypotheses.modes[i]]
        title = equipment.mode_title(mode.id)
        chance = float(chances[i])
        fellows = tuple(model.hypotheses.modes[j] for j in groups[i] if j != i and j in top)
        answers.append(Suspect(
            mode.id, title, mode.component, chance, float(usual[i]), mode.remedies, fellows, evidence,
            signal_paths(model, mode.id, scene, evidence),
            _suspect_sentence(title, chance, float(usual[i]), mode.shows, [equipment.mode_title(f) for f in fellows]),
        ))
    return tuple(answers)


@lru_cache(maxsize=256)
def ambiguity_groups(model: CompiledModel, asker: Asker, scene: int) -> tuple[tuple[int, ...], ...]:
    """For each mode (M), the modes that no test open to the asker tells from it, itself included.

    Two modes are in one group when every such observation has the same outcome chances under either
    alone, in one state of the conditions (`scene`).
    """
    missing = workload(model.equipment, asker).missing
    open_to = {name for name in model.equipment.observations if not missing[name]}
    groups: dict[bytes, list[int]] = {}
    for mode, signature in signatures(model, open_to, scene).items():
        if mode != SOUND:
            groups.setdefault(signature, []).append(mode)
    group_of = {mode: tuple(group) for group in groups.values() for mode in group}
    return tuple(group_of.get(mode, (mode,)) for mode in range(len(model.hypotheses.modes)))


@lru_cache(maxsize=64)
def used_by(equipment: Equipment) -> dict[str, tuple[str, ...]]:
    """The remedies that use each part."""
    return {
        part: tuple(r.id for r in equipment.remedies.values() if any(p == part for p, _ in r.parts))
        for part in equipment.parts
    }


def implicated_parts(belief: Belief) -> tuple[ImplicatedPart, ...]:
    """The parts that the usual repairs need, likeliest first."""
    equipment = belief.model.equipment
    answers = []
    for name, chance in belief.likely("parts", WORTH_NAMING):
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
    return tuple([
        ComponentChance(n, equipment.components[n].title, c, equipment.components[n].external)
        for n, c in belief.likely("components", WORTH_NAMING)
    ])


