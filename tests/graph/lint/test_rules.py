"""Every rule's examples, and that all rules are in the list."""

from __future__ import annotations

import re
from pathlib import Path
from pkgutil import iter_modules
from typing import Any

import pytest

import graph.lint.rules
from graph.compile import compile_model
from graph.errors import Defect
from graph.lint.linting import ACCEPTANCE_UNUSED, ALL_RULES, lint
from graph.lint.rule import LintRule
from schemas.load import load_data
from schemas.source import parse

BASE = (Path(__file__).parents[3] / "fixtures" / "lint" / "urn.yaml").read_text(encoding="utf-8")
IDS = [rule.code for rule in ALL_RULES]


def patched(target: Any, patch: Any) -> Any:
    """A merge patch applied (RFC 7396)."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = patched(result.get(key), value)
    return result


def urn(patch: str = "") -> Any:
    data = parse(BASE).data
    return patched(data, parse(patch).data) if patch else data


def remarks(data: Any) -> list[Defect]:
    return list(lint(compile_model(load_data(data))).remarks)


def exists(data: Any, path: tuple[str | int, ...]) -> bool:
    for item in path:
        keys = range(len(data)) if isinstance(data, list) else data
        if item not in keys:
            return False
        data = data[item]
    return True


def test_the_document_of_the_examples_is_clean() -> None:
    assert [d.sentence() for d in remarks(urn())] == []


@pytest.mark.parametrize("rule", ALL_RULES, ids=IDS)
def test_a_rule_reports_its_wrong_example_and_no_other_does(rule: LintRule) -> None:
    data = urn(rule.wrong)
    found = remarks(data)
    assert found
    assert {d.code for d in found} == {rule.code}
    for defect in found:
        assert exists(data, defect.path), defect.pointer


@pytest.mark.parametrize("rule", ALL_RULES, ids=IDS)
def test_no_rule_reports_a_right_example(rule: LintRule) -> None:
    assert urn(rule.right) != urn(rule.wrong)
    assert [d.sentence() for d in remarks(urn(rule.right))] == []


def test_every_module_has_one_rule_in_the_list() -> None:
    modules = [m.name for m in iter_modules(graph.lint.rules.__path__)]
    assert sorted([ACCEPTANCE_UNUSED.code, *(m.replace("_", "-") for m in modules)]) == sorted(IDS)
    assert len(set(IDS)) == len(IDS)


@pytest.mark.parametrize("rule", ALL_RULES, ids=IDS)
def test_rules_speak_in_sentences(rule: LintRule) -> None:
    assert re.fullmatch(r"[A-Z].*\.", rule.says, re.DOTALL)
    assert re.fullmatch(r"\S.*[.?]", rule.why, re.DOTALL)
