"""How a call goes on, in words: try it yourself, a technician comes, or stop and make safe."""

from __future__ import annotations

from collections.abc import Sequence

from graph.conversation.answers import Audience, Conclusion, Dispatch, SelfHelp
from graph.conversation.stakes import CONTACT, MANAGED, Stakes
from graph.equipment import CallerWords, Equipment, Remedy
from graph.errors import listed
from graph.explain import percent
from graph.hypotheses import Floats
from graph.kit.plan import licences_of, sentence_of
from graph.words.dangers import Danger
from graph.workload import workload

_SAFETY = (
    "Do no more than is said here, and take no cover off. Stop if anything seems unsafe.",
    "Local rules and the maker's own instructions come first.",
)
_WAITING = (
    "Leave its covers on until then, and switch it off if anything seems unsafe.",
    "Local rules and the maker's own instructions come first.",
)
_LICENCE_WORTH_NAMING = 0.2
"""Chance from which whoever is sent should hold a licence."""


def in_short(stakes: Stakes, masses: Floats, audience: Audience) -> str:
    """What would be done with these masses of the fates, in one sentence for whoever is asked."""
    equipment = stakes.belief.model.equipment
    kit, remedy = stakes.way(masses)
    if audience == "site_contact":
        if remedy is not None:
            return f"There is something you can try yourself: “{said_to_caller(equipment.remedies[remedy]).title}”."
        return "A technician has to come, with parts for it." if kit else "A technician has to come."
    if remedy is not None:
        return f"Before anybody is sent, the site tries this: “{equipment.remedies[remedy].title}”."
    if not kit:
        return "A technician comes, without any part for it."
    return f"A technician comes with {_parts(equipment, kit)}."


def _parts(equipment: Equipment, kit: dict[str, int]) -> str:
    return listed([f"{n} x {equipment.parts[p].title}" if n > 1 else equipment.parts[p].title for p,
    n in kit.items()], 4)


def conclusion_of(stakes: Stakes, audience: Audience, again: bool = False) -> Conclusion:
    """How a call goes on without another question: the cheapest way on what is known.

    `again` says that the caller has tried something already.
    """
    _, remedy = stakes.way(stakes.masses)
    sent = _dispatch(stakes)
    if remedy is None:
        comes = "A technician has to come"
        if audience == "dispatcher":
            return Conclusion("technician", f"{comes}. {sent.sentence}", None, sent, _WAITING)
        bringing = ", and brings what is most likely needed" if sent.parts else ""
        return Conclusion("technician", f"{comes}{bringing}.", None, sent, _WAITING)
    help_ = _self_help(stakes, remedy, again)
    return Conclusion(
        "self_help", " ".join((help_.offer, *help_.how, *help_.check, "If that doesn't help, a technician comes.")),
        help_, sent, _SAFETY,
    )


def said_to_caller(remedy: Remedy) -> CallerWords:
    """A remedy in words for whoever is to do it; as it stands where the document has none for them."""
    return remedy.caller or CallerWords(remedy.title, remedy.how, "")


def _self_help(stakes: Stakes, name: str, again: bool) -> SelfHelp:
    equipment = stakes.belief.model.equipment
    remedy = equipment.remedies[name]
    words = said_to_caller(remedy)
    lead = "There is one more thing that you can try" if again else "There is something you can try yourself"
    return SelfHelp(
        name, words.title, f"{lead}: {words.title[0].lower() + words.title[1:]}.", words.how,
        _check(equipment, remedy, words), "Is it all right again now?", MANAGED * stakes.chance_of(name),
        workload(equipment, CONTACT).minutes[name],
    )


def _check(equipment: Equipment, remedy: Remedy, words: CallerWords) -> tuple[str, ...]:
    """How the caller sees that a remedy worked."""
    if words.worked:
        return (f"If it worked, {words.worked[0].lower() + words.worked[1:]}",)
    test = None if remedy.verify is None else equipment.observations[remedy.verify]
    if test is None or test.role != "site_contact":
        return ("If it worked, the machine does again what it did before.",)
    return (f"To see whether it worked: {test.title[0].lower() + test.title[1:]}.", *test.how)


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
