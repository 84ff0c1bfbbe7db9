"""How a call goes on, in words: try it yourself, a technician comes, or stop and make safe."""

from __future__ import annotations

from collections.abc import Sequence

from graph.conversation.answers import Conclusion, Dispatch, SelfHelp
from graph.conversation.stakes import CONTACT, MANAGED, Stakes
from graph.equipment import Equipment
from graph.errors import listed
from graph.explain import percent
from graph.hypotheses import Floats
from graph.kit.plan import licences_of, sentence_of
from graph.words.dangers import Danger
from graph.workload import workload

_SAFETY = (
    "Don't open any cover and don't reach into the machine. Stop if anything seems unsafe.",
    "Local rules and the maker's own instructions come first.",
)
_LICENCE_WORTH_NAMING = 0.2
"""Chance from which whoever is sent should hold a licence."""


def in_short(stakes: Stakes, masses: Floats) -> str:
    """What would be done with these masses of the fates, in one sentence."""
    equipment = stakes.belief.model.equipment
    kit, remedy = stakes.way(masses)
    if remedy is not None:
        return f"Before anybody is sent, the site tries this: “{equipment.remedies[remedy].title}”."
    if not kit:
        return "A technician comes, without any part for it."
    return f"A technician comes with {_parts(equipment, kit)}."


def _parts(equipment: Equipment, kit: dict[str, int]) -> str:
    return listed([f"{n} x {equipment.parts[p].title}" if n > 1 else equipment.parts[p].title for p,
    n in kit.items()], 4)


def conclusion_of(stakes: Stakes) -> Conclusion:
    """How a call goes on without another question: the cheapest way on what is known."""
    _, remedy = stakes.way(stakes.masses)
    dispatch = _dispatch(stakes)
    if remedy is None:
        return Conclusion("technician", f"A technician has to come. {dispatch.sentence}", None, dispatch, _SAFETY)
    help_ = _self_help(stakes, remedy)
    steps = " ".join(help_.how)
    return Conclusion(
        "self_help",
        f"There is something you can put right yourself: “{help_.title}”. {steps} {' '.join(help_.check)} "
        "If that doesn't help, a technician comes.",
        help_, dispatch, _SAFETY,
    )


def _self_help(stakes: Stakes, name: str) -> SelfHelp:
    equipment = stakes.belief.model.equipment
    remedy = equipment.remedies[name]
    check: tuple[str, ...] = ("It worked if the machine does again what it did before.",)
    if remedy.verify is not None:
        test = equipment.observations[remedy.verify]
        if test.role == "site_contact":
            title = test.title[0].lower() + test.title[1:]
            check = (f"To see whether it worked: {title}.", *test.how)
    return SelfHelp(
        remedy.id, remedy.title, remedy.how, check, MANAGED * stakes.chance_of(name),
        workload(equipment, CONTACT).minutes[name],
    )


def _dispatch(stakes: Stakes) -> Dispatch:
    """The best kit, exactly, and the licences that the work is likely to need."""
    equipment, problem, best = stakes.belief.model.equipment, stakes.problem, stakes.best
    kit = {item.key: n for item, n in zip(problem.items, best.loaded, strict=True) if n}
    price = problem.used("budget", best.loaded)
    (none,) = problem.chances([[0] * len(problem.items)])
    licences = licences_of(stakes.belief)
    sentence = sentence_of(
        equipment, [(n, equipment.parts[p].title) for p, n in kit.items()], price, best.finished, none,
    )
    needed = [name for name, chance in licences.items() if chance >= _LICENCE_WORTH_NAMING]
    if needed:
        named = ", ".join(f"{name} ({percent(licences[name])})" for name in needed)
        sentence += f" Send somebody licensed for: {named}."
    return Dispatch(kit, price, best.finished, licences, sentence)


def make_safe(dangers: Sequence[Danger]) -> Conclusion:
    """Stop, and say what to do at once: the most urgent danger in the sentence, all of them in the cautions."""
    steps = " ".join(dangers[0].instructions)
    cautions = tuple(dict.fromkeys(step for danger in dangers for step in danger.instructions))
    return Conclusion("make_safe", f"{dangers[0].title}. {steps}", None, None, cautions)
