"""A path as a service chart in plain text, for a phone or a printer, and the words that its drawing shares."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from graph.explain import percent
from graph.policy.decision import SETTLED
from graph.policy.lockout import GIVING_BACK, LOCKING_OUT
from graph.policy.path_answers import Path, PathBranch, PathEnd, PathNode, PathPart

WIDTH = 100
INDENT, DEEPEST = 2, 10
"""Columns for each level, and the level from which lines are not indented any further."""
LOCK, RESTORE = "LOCK OUT THE SUPPLY, order A", "RESTORE THE SUPPLY, order B"
ORDERS = (
    ("A. To lock out the supply", LOCKING_OUT),
    ("B. To restore the supply", GIVING_BACK),
)
LICENSED = "Local codes and the rules of your licence come before anything on this chart."
_DOES = {"ask": "ASK", "test": "TEST", "repair": "REPAIR"}


def often(chance: float) -> str:
    """A chance in one or two words."""
    limits = ((0.9, "nearly always"), (0.65, "mostly"), (0.4, "about half"), (0.15, "at times"))
    return next((word for least, word in limits if chance >= least), "seldom")


def switching_words(switching: Sequence[str]) -> Iterator[str]:
    """What to do to the unit, one line each; the orders of locking out and restoring by their letters."""
    for line in switching:
        if line in LOCKING_OUT:
            if line == LOCKING_OUT[0]:
                yield LOCK
        elif line in GIVING_BACK:
            if line == GIVING_BACK[0]:
                yield RESTORE
        else:
            yield line


def orders_of(path: Path) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The orders A and B that a path calls for."""
    ends = [path.end, *(b.end for n in path.nodes for b in n.branches)]
    said = {line for end in ends if end for line in end.switching}
    said |= {line for n in path.nodes for line in (*n.switching, *(n.trial.switching if n.trial else ()))}
    return tuple((title, lines) for title, lines in ORDERS if said.intersection(lines))


def cautions_of(path: Path) -> tuple[str, ...]:
    """The general cautions; that local codes come first is always among them."""
    said = any("local codes" in c.casefold() for c in path.general_cautions)
    return path.general_cautions if said else (*path.general_cautions, LICENSED)


def parts_words(parts: Sequence[PathPart]) -> str:
    """Parts in one line."""
    return ", ".join(f"{p.quantity} x {p.title} ({p.number})" for p in parts)


def needs_words(node: PathNode) -> str:
    """Licence and instruments in one line; empty where anybody can do it bare-handed."""
    licence = [f"{node.licence} licence"] if node.licence else []
    return ", ".join([*licence, *node.instruments])


def title_words(node: PathNode) -> str:
    """The step in its own words: what to ask, test or repair."""
    again = f" ({node.repeats} times; one miss counts)" if node.repeats > 1 else ""
    return f"{_DOES[node.kind]}: {node.title}{again}"


def effort_words(node: PathNode, currency: str) -> str:
    """Minutes, money and how often the step is reached."""
    comes = "always" if node.chance >= 1 else f"in {percent(node.chance)} of visits"
    return f"about {node.minutes:g} min, {node.money:.2f} {currency}; {comes}"


def end_words(end: PathEnd) -> str:
    """How the visit ends, loud and with what to bring."""
    bring = "; ".join([*([parts_words(end.parts)] if end.parts else []), *end.missing])
    sure = f" (all right: {percent(end.nothing_left)})" if end.kind == "close" else ""
    return f"{end.title.upper()}{sure}{f' WITH: {bring}' if bring else ''}"


def outcome_words(node: PathNode, branch: PathBranch) -> str:
    """An outcome; of a question whether its title is so, as a yes to its words may mean either."""
    if node.kind != "ask" or set(branch.outcomes) - {"present", "absent"}:
        return branch.title
    if len(branch.outcomes) > 1:
        return "whatever the answer"
    return "it is so" if branch.outcomes == ("present",) else "it is not so"


def came_words(path: Path, node: PathNode) -> str:
    """Which step a step follows, after which outcome; empty for the first."""
    if node.comes_from is None:
        return ""
    parent = path.nodes[node.comes_from - 1]
    branch = next(b for b in parent.branches if b.step == node.number)
    return f"after step {parent.number}, {outcome_words(parent, branch)}"


def branch_words(branch: PathBranch) -> str:
    """Where an outcome leads."""
    if branch.end is not None:
        return end_words(branch.end)
    if branch.cut is None:
        return f"step {branch.step}"
    if branch.cut.title is None:
        return "ask again from here"
    return f"ask again from here; next would be “{branch.cut.title}”"


def chart_text(path: Path) -> str:
    """The whole chart: what it is about, cautions first, then every step with its outcomes."""
    return "\n".join([*_head(path), *_steps(path)]) + "\n"


def _paragraph(text: str, first: str = "", rest: str | None = None) -> Iterator[str]:
    """Wrapped lines; a number stays with its per cent sign."""
    indent = " " * len(first) if rest is None else rest
    lines = wrap(text.replace(" %", "\u00a0%"), WIDTH, initial_indent=first, subsequent_indent=indent)
    yield from (line.replace("\u00a0", " ") for line in lines)


def _head(path: Path) -> Iterator[str]:
    yield from _paragraph(f"{path.title}: {'; '.join(path.given) or 'nothing found yet'}")
    yield "=" * WIDTH
    yield from _paragraph(path.sentence)
    for note in path.notes:
        yield from _paragraph(note)
    yield ""
    yield "CAUTIONS"
    for caution in cautions_of(path):
        yield from _paragraph(caution, "  - ")
    for hazard in path.cautions:
        yield from _paragraph(f"{hazard.title}. {' '.join(hazard.precautions)}", "  /!\\ ")
    for title, lines in orders_of(path):
        yield ""
        yield title.upper()
        for number, line in enumerate(lines, 1):
            yield from _paragraph(line, f"  {number}. ")


def _steps(path: Path) -> Iterator[str]:
    yield ""
    yield "STEPS"
    if path.end is not None:
        yield from _paragraph(end_words(path.end), "  => ")
        yield from _end(path.end, "     ")
    explained: dict[str, int] = {}
    for node in path.nodes:
        yield ""
        indent = " " * (INDENT * min(node.depth, DEEPEST))
        yield from _step(path, node, indent, explained)


def _step(path: Path, node: PathNode, indent: str, explained: dict[str, int]) -> Iterator[str]:
    lead = f"{indent}{node.number}. "
    body = " " * len(lead)
    yield from _paragraph(title_words(node), lead)
    if node.comes_from is not None:
        yield from _paragraph(f"({came_words(path, node)})", body)
    yield from _paragraph(effort_words(node, path.currency), body)
    if node.hazards:
        yield from _paragraph("; ".join(h.title for h in node.hazards), f"{body}/!\\ Danger: ")
    if needs_words(node):
        yield from _paragraph(f"Needs: {needs_words(node)}", body)
    if node.parts:
        yield from _paragraph(f"Parts: {parts_words(node.parts)}", body)
    for line in switching_words(node.switching):
        yield from _paragraph(line, f"{body}* ")
    if node.id in explained:
        yield from _paragraph(f"How: as in step {explained[node.id]}.", body)
    elif node.how:
        explained[node.id] = node.number
        for how in node.how:
            yield from _paragraph(how, f"{body}- ")
    if node.trial is not None:
        for line in switching_words(node.trial.switching):
            yield from _paragraph(f"Then: {line}", f"{body}* ")
        yield from _paragraph(f"Then try it: {node.trial.title}", f"{body}- ")
    for branch in node.branches:
        chance = f"{percent(branch.chance)}, {often(branch.chance)}: "
        yield from _paragraph(f"{chance}{outcome_words(node, branch)} => {branch_words(branch)}", f"{body}> ")
        if branch.end is not None:
            yield from _end(branch.end, f"{body}  ")


def _end(end: PathEnd, indent: str) -> Iterator[str]:
    """Why a visit ends otherwise than well, and how the unit is left."""
    if end.kind != "close" or end.nothing_left < SETTLED:
        yield from _paragraph(end.sentence, indent)
    for line in switching_words(end.switching):
        yield from _paragraph(f"Before you leave: {line}", f"{indent}* ")
