"""Parts whose price is out of scale."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

CONSUMABLE, TIMES = 150, 60
"""Money in the document's currency (amounts near EUR or USD); times the median price: common practice, no source."""


def _look(subject: Subject) -> Iterator[Remark]:
    parts = subject.equipment.parts
    middle = median(p.price for p in parts.values()) if parts else 0.0
    for name, part in parts.items():
        if part.price <= 0:
            yield Remark(("parts", name, "price"), "a part for nothing", "its price")
        elif part.consumable and part.price > CONSUMABLE:
            yield Remark(("parts", name, "price"), f"a consumable for {part.price:g}", f"at most {CONSUMABLE}")
        elif part.price > TIMES * middle:
            yield Remark(("parts", name, "price"), f"{part.price:g}, {part.price / middle:.0f} times the middle price",
                         f"at most {TIMES} times")


RULE = LintRule(
    code="price-out-of-scale",
    says="A part for nothing, a consumable above 150, or a part that costs more than sixty times the middle one.",
    why="A slip of the decimal point decides what is brought, and whether a test is worth its minutes.",
    wrong="""
parts: {element_2_kw: {price: 5400}}
""",
    right="""
parts: {element_2_kw: {price: 61}}
""",
    look=_look,
)
