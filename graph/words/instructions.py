"""What a caller is told at once when something is dangerous. Common practice, no source; local rules come first."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

Kind = Literal[
    "injury", "smoke_or_fire", "gas_smell", "shock", "sparks", "burning_smell", "chemical", "scald", "refrigerant",
    "water_on_electrics", "breaker",
]
_EMERGENCY = "Call the emergency number if anyone is hurt or you are in any doubt."
_LEAVE_OFF = "Leave it off, and let nobody switch it on again until someone licensed has looked at it."

KINDS: Mapping[Kind, tuple[str, tuple[str, ...]]] = MappingProxyType({
    "injury": ("Someone may be hurt", (
        "See to the person first. Call the emergency number now if it is more than a scratch.",
        "Don't touch anyone who may still be in contact with electricity: switch off at the breaker first.",
        "Switch the machine off at the wall if you can do it safely, and keep everybody away from it.",
    )),
    "smoke_or_fire": ("Smoke or fire", (
        "Get everybody out and call the fire brigade on the emergency number.",
        "Switch the machine off at the wall or the breaker only if you can do it without going near smoke or flames.",
        "Never put water on it. Don't go back in for anything.",
    )),
    "gas_smell": ("Smell of gas, or a gas alarm", (
        "Touch no switch and no plug, don't smoke, light no flame, use no phone in the room.",
        "Shut the gas valve if you can reach it safely, open doors and windows, get everybody outside.",
        "From outside call the gas emergency service or the emergency number. If anyone feels ill, say so.",
    )),
    "shock": ("Electric shock", (
        "Don't touch the machine again. Switch it off at the breaker, not at the machine.",
        "Anyone who had a shock should be seen by a doctor, even if they feel well. " + _EMERGENCY,
        _LEAVE_OFF,
    )),
    "sparks": ("Sparks or arcing", (
        "Keep away from it. Switch it off at the breaker if you can do so without touching the machine.",
        _LEAVE_OFF,
        "If it smokes or burns, get everybody out and call the emergency number.",
    )),
    "burning_smell": ("Smell of burning", (
        "Switch the machine off, at the wall or the breaker, if you can do it safely.",
        "Stay near enough to see whether it smokes, and keep others away. If it smokes or burns, get everybody out and "
        "call the emergency number.",
        _LEAVE_OFF,
    )),
    "chemical": ("Cleaning chemical or ammonia", (
        "On skin or in the eyes: rinse with plenty of cool running water for at least fifteen minutes, and call "
        "a doctor "
        "or the poison centre with the label in your hand. Swallowed: don't make anyone vomit, call at once.",
        "Fumes, or chemicals mixed: leave the room, let fresh air in if you can do it on the way, keep everybody out.",
        _EMERGENCY,
    )),
    "scald": ("Scald", (
        "Cool it under running cool water for twenty minutes, no ice and no ointment; take off rings and watches.",
        "Call the emergency number if it is larger than a palm, blistered, or on face, hands or a child.",
        "Switch the machine off if you can do it safely, and keep everybody away from it.",
    )),
    "refrigerant": ("Refrigerant may be escaping", (
        "It may burn: no flame, no smoking, and touch no switch or plug near the machine.",
        "Open doors and windows, leave the room and keep everybody out. Don't touch the liquid: it freezes the skin.",
        "Call someone licensed for refrigerants; the emergency number if anyone feels ill or it is a large room full.",
    )),
    "water_on_electrics": ("Water near electrics", (
        "Don't touch the machine, the plug or the water. Switch off at the breaker if you can get there dry.",
        "Keep everybody off the wet floor. Shut the water tap if you can reach it dry.",
        _LEAVE_OFF,
    )),
    "breaker": ("A breaker that trips", (
        "Leave the breaker off. Don't reset it again: it trips because current goes where it shouldn't.",
        "Don't touch the machine's metal parts until it is off.",
        "A licensed person has to look at it before it is switched on again.",
    )),
})
"""By kind, the most urgent first: its title, and what to do in order."""
