"""How the unit is brought from one state into another, in words.

The supply is locked out in the order of US OSHA 29 CFR 1910.147(d) and given back in that of (e): prepare, shut
down, isolate, lock, release stored energy, verify; then clear tools, clear people, unlock. Local codes and the
rules of the licence come first.
"""

from __future__ import annotations

from collections.abc import Mapping

from graph.equipment import Equipment, UnitState
from graph.unit import Unit

LOCKING_OUT = (
    "Prepare: know every supply of the unit, and tell the people who use it.",
    "Shut down by the normal switch.",
    "Isolate at the plug, wall switch or breaker.",
    "Lock it off with your own lock and tag.",
    "Release what is stored: capacitors, pressure, springs, heat, water.",
    "Verify: try the switch, and prove dead with a tester proved before and after.",
)
"""The order of isolation."""
GIVING_BACK = (
    "Take tools and leads out; see that guards and covers are on, but for those that the work needs off.",
    "See that everybody is clear, and tell them.",
    "Take your lock off and restore the supply.",
)
"""The order of giving the supply back."""


def switching_steps(
    equipment: Equipment, before: Mapping[str, str], needs: Mapping[str, str]
) -> tuple[str, ...]:
    """What to do to the unit to get from one state to what some work needs, in the order in which it is safe.

    States that `before` does not name are as usual.
    """
    unit = Unit(equipment, before)
    unit.bring(needs.items())
    return tuple(step for name, state in unit.moves for step in _in_words(equipment.unit_states[name], state))


def _in_words(unit_state: UnitState, state: str) -> tuple[str, ...]:
    if state == unit_state.lockout:
        return LOCKING_OUT
    if unit_state.lockout is not None:
        return GIVING_BACK
    minutes = unit_state.minutes.get(state, 0.0)
    return (f"{unit_state.title}: {state.replace('_', ' ')}" + (f" (about {minutes:g} min)." if minutes else "."),)
