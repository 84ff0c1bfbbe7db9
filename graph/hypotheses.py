"""The hypotheses of an equipment: sets of failure modes, joint states of conditions, their prior.

P(D, c) is proportional to pi(c) * prod_{f in D} lambda * w_f(c) / sum(w); lambda is solved for each c
so that calls with two or more faults have the share the document gives them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np
from numpy.typing import NDArray

from graph.equipment import Equipment, Requirement
from graph.errors import GraphTooLarge

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MOST_HYPOTHESES = 2_000_000


def sums_by(groups: Ints, mass: Floats, count: int) -> Floats:
    """The mass of each of `count` groups; `groups[i]` is the group of `mass[i]`."""
    return np.asarray(np.bincount(groups, mass, count), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class JointStates:
    """All joint states of some conditions.

    `names` are the conditions; `states[j, i]` is the state index of condition i in joint state j;
    `shares[j]` is the usual share of calls, adding up to 1.
    """

    names: tuple[str, ...]
    states: Ints
    shares: Floats

    @classmethod
    def of(cls, equipment: Equipment, names: tuple[str, ...]) -> JointStates:
        """The joint states of the named conditions, independent of one another."""
        conditions = [equipment.conditions[n] for n in names]
        combos = list(product(*(range(len(c.states)) for c in conditions)))
        shares = [float(np.prod([c.shares[i] for c, i in zip(conditions, combo, strict=True)])) for combo in combos]
        return cls(names, np.array(combos, dtype=np.int64).reshape(len(combos), len(names)), np.array(shares))

    def matching(self, equipment: Equipment, needs: tuple[Requirement, ...]) -> NDArray[np.bool_]:
        """Which joint states satisfy the requirements on the conditions named here."""
        mask = np.ones(len(self.shares), dtype=bool)
        for name, states in needs:
            if name in self.names:
                wanted = [equipment.conditions[name].states.index(s) for s in states]
                mask &= np.isin(self.states[:, self.names.index(name)], wanted)
        return mask


@dataclass(frozen=True, slots=True, eq=False)
class Hypotheses:
    """N hypotheses over M failure modes.

    A *scene* is a joint state of the conditions that signals or tests depend on; a *climate* one of
    those that only shift rates. `members[i]` are the mode indices of row i, ascending, -1 after the
    last; `scene[i]` its scene; `unlisted[i]` marks the one cause outside the graph (no members).
    `fault_set[i]` (below `fault_sets`) is the same for rows that differ in their scene alone.
    `prior[i, r]` is P(row i, climate r); everything adds up to 1.
    """

    modes: tuple[str, ...]
    members: Ints
    scene: Ints
    unlisted: NDArray[np.bool_]
    fault_set: Ints
    fault_sets: int
    prior: Floats
    scenes: JointStates
    climates: JointStates
    keys: Ints

    @property
    def one_scene(self) -> bool:
        """Whether there is one scene only, so that rows and fault sets are the same."""
        return len(self.scenes.shares) == 1

    @property
    def examples(self) -> Ints:
        """A row of each fault set (F)."""
        rows = np.zeros(self.fault_sets, dtype=np.int64)
        rows[self.fault_set] = np.arange(len(self.members))
        return rows

    @property
    def places(self) -> int:
        """The number of pooled masses."""
        return len(self.members) + (0 if self.one_scene else self.fault_sets)

    def pooled(self, mass: Floats) -> Floats:
        """Mass of each fault set in all scenes (F), followed by that of each row (`mass`, N) if they differ."""
        if self.one_scene:
            return mass
        return np.concatenate((np.bincount(self.fault_set, mass, self.fault_sets), mass))

    def without(self, removed: NDArray[np.bool_]) -> Ints:
        """For each row, the row that is left when the modes marked in `removed` (M) are gone."""
        gone = np.concatenate([removed, [True]])[self.members]
        left = np.sort(np.where(gone, len(self.modes), self.members), axis=1)
        return self.rows_of(np.where(left == len(self.modes), -1, left), self.scene, self.unlisted)

    def rows_of(self, members: Ints, scene: Ints, unlisted: NDArray[np.bool_]) -> Ints:
        """Row numbers of given sets (shape n x K, as `members`) in given scenes."""
        keys = _keys(members, scene, unlisted, len(self.modes), len(self.scenes.shares))
        return np.asarray(np.searchsorted(self.keys, keys), dtype=np.int64)


def _keys(members: Ints, scene: Ints, unlisted: NDArray[np.bool_], modes: int, scenes: int) -> Ints:
    """One integer a row, in the order of rows: (unlisted, scene, size, members)."""
    key = np.asarray(unlisted, dtype=np.int64) * scenes + scene
    key = key * (members.shape[1] + 1) + (members >= 0).sum(axis=1)
    for column in members.T:
        key = key * (modes + 1) + column + 1
    return np.asarray(key, dtype=np.int64)


def fault_sets(components: Ints, coincide: NDArray[np.bool_], most: int, limit: int) -> Ints:
    """All sets of at most `most` modes, shape (n, most), -1 padded, by size then ascending.

    `components[f]` is the component of mode f; two modes of one component exclude each other unless
    `coincide[f]`. Raises GraphTooLarge past `limit` rows.
    """
    count = len(components)
    if count >= limit:
        raise GraphTooLarge(
            f"{count} failure modes are more than {limit:,} hypotheses", pointer="/components",
            expected=f"{limit - 1:,} failure modes or less",
        )
    sets = [np.full((1, most), -1, dtype=np.int64)]
    block = np.full((count, most), -1, dtype=np.int64)
    block[:, 0] = np.arange(count)
    sets.append(block)
    for size in range(2, most + 1):
        last = block[:, size - 2]
        room = count - 1 - last
        total = int(room.sum())
        if total + sum(map(len, sets)) > limit:
            raise GraphTooLarge(
                f"sets of {size} among {count} failure modes are more than {limit:,} hypotheses",
                pointer="/equipment/most_faults", expected=f"most_faults of {size - 1} or less",
            )
        base = np.repeat(np.arange(len(block)), room)
        step = np.arange(total) - np.repeat(np.cumsum(room) - room, room)
        added = last[base] + 1 + step
        extended = block[base].copy()
        extended[:, size - 1] = added
        clash = np.zeros(total, dtype=bool)
        for earlier in extended[:, : size - 1].T:
            clash |= (components[earlier] == components[added]) & ~coincide[added]
        block = extended[~clash]
        sets.append(block)
    return np.concatenate(sets)


def fault_weight(sums: Floats, share: float) -> float:
    """The weight lambda such that sum_{k>=2} lambda^k e_k / sum_{k>=1} lambda^k e_k = share.

    `sums[k-1]` is e_k, the sum over sets of k modes of the product of their relative rates.
    """
    if share <= 0 or not sums[1:].any():
        return 0.0
    if not sums[2:].any():
        return float(share / (1 - share) * sums[0] / sums[1])

    from scipy.optimize import brentq  # a slow import that graphs of pairs never need

    def excess(log_weight: float) -> float:
        powers = np.exp(log_weight * np.arange(len(sums))) * sums
        return float(powers[1:].sum() * (1 - share) - share * powers[0])

    return float(np.exp(brentq(excess, -60, 60, xtol=1e-15, rtol=8.9e-16)))


def rates(equipment: Equipment, modes: tuple[str, ...], scenes: JointStates, climates: JointStates) -> Floats:
    """Calls per thousand of each mode in each scene and climate, shape (M, S, R)."""
    table = np.empty((len(modes), len(scenes.shares), len(climates.shares)))
    for i, name in enumerate(modes):
        mode = equipment.modes[name]
        table[i] = mode.calls_per_thousand
        table[i] *= scenes.matching(equipment, mode.only_if)[:, None]
        table[i] *= climates.matching(equipment, mode.only_if)[None, :]
        for condition, state, factor in mode.raised_by:
            need = ((condition, (state,)),)
            if condition in scenes.names:
                table[i][scenes.matching(equipment, need)] *= factor
            else:
                table[i][:, climates.matching(equipment, need)] *= factor
    return table


def structural_conditions(equipment: Equipment) -> tuple[str, ...]:
    """The conditions that a signal's rule or an observation's `only_if` depends on.

    One that is revealed in some scenes only counts too: what is found then speaks of both.
    """
    used = {n for s in equipment.signals.values() for rule in s.rules for n, _ in rule.needs}
    for observation in equipment.observations.values():
        if observation.only_if:
            used |= {observation.reveals, *(n for n, _ in observation.only_if)}
    return tuple(n for n in equipment.conditions if n in used)


def hypotheses_of(equipment: Equipment, limit: int = MOST_HYPOTHESES) -> Hypotheses:
    """Enumerate the hypotheses of an equipment with their prior. Raises GraphTooLarge."""
    modes = tuple(equipment.modes)
    structural = structural_conditions(equipment)
    shifting = {c for m in equipment.modes.values() for c, _, _ in m.raised_by}
    shifting |= {c for m in equipment.modes.values() for c, _ in m.only_if}
    shifting |= {o.reveals for o in equipment.observations.values() if o.reveals in equipment.conditions}
    rate_only = tuple(n for n in equipment.conditions if n in shifting and n not in structural)
    joint_states = prod(len(equipment.conditions[n].states) for n in (*structural, *rate_only))
    if joint_states > limit:
        raise GraphTooLarge(
            f"the conditions have {joint_states:,} joint states", pointer="/conditions",
            expected=f"{limit:,} or less of those that signals, tests and rates depend on",
        )
    scenes, climates = JointStates.of(equipment, structural), JointStates.of(equipment, rate_only)
    component = {name: i for i, name in enumerate(equipment.components)}
    components = np.array([component[equipment.modes[m].component] for m in modes])
    coincide = np.array([equipment.components[equipment.modes[m].component].can_coincide for m in modes])
    most = min(equipment.most_faults, len(modes))
    sets = fault_sets(components, coincide, most, limit // len(scenes.shares))
    size = (sets >= 0).sum(axis=1)

    table = rates(equipment, modes, scenes, climates)
    total = table.sum(axis=0)
    relative = table / np.where(total > 0, total, 1.0)
    padded = np.concatenate([relative, np.ones((1, *relative.shape[1:]))])
    listed_share = 1 - equipment.nothing_wrong - equipment.unlisted
    joint = np.empty((len(sets), len(scenes.shares), len(climates.shares)))
    share = scenes.shares[:, None] * climates.shares
    unlisted_share = np.where(total > 0, equipment.unlisted, equipment.unlisted + listed_share) * share
    for s in range(len(scenes.shares)):
        for r in range(len(climates.shares)):
            weight = padded[:, s, r][sets].prod(axis=1)
            sums = sums_by(size, weight, most + 1)[1:]
            factor = fault_weight(sums, equipment.coincidence / listed_share)
            faulty = weight * factor ** np.maximum(size - 1, 0) * (size > 0)
            mass = listed_share * faulty / (faulty.sum() or 1.0)
            mass[0] = equipment.nothing_wrong
            joint[:, s, r] = mass * share[s, r]

    possible = joint.any(axis=2) | (size == 0)[:, None]
    scene, kept = np.nonzero(possible.T)
    every_scene = np.arange(len(scenes.shares))
    members = np.concatenate([sets[kept], np.full((len(every_scene), most), -1)])
    unlisted = np.arange(len(members)) >= len(kept)
    number = np.cumsum(possible.any(axis=1)) - 1
    fault_set = np.concatenate([number[kept], np.full(len(every_scene), number[-1] + 1)])
    prior = np.concatenate([joint[kept, scene], unlisted_share])
    scene = np.concatenate([scene, every_scene])
    return Hypotheses(
        modes, members, scene, unlisted, fault_set, int(number[-1]) + 2, prior, scenes, climates,
        _keys(members, scene, unlisted, len(modes), len(scenes.shares)),
    )
