"""The page of the rules is made from them and leaves none out."""

from __future__ import annotations

from html import escape

import pytest
from fastapi.testclient import TestClient

from api.checking import rules_text
from api.reference import prose
from graph.lint.linting import ALL_RULES
from graph.lint.rule import LintRule


@pytest.mark.parametrize("rule", ALL_RULES, ids=[rule.code for rule in ALL_RULES])
def test_a_rule_is_on_the_page_with_its_examples(client: TestClient, rule: LintRule) -> None:
    text = client.get("/reference/lint").text
    for said in (f'id="{rule.code}"', prose(rule.says), prose(rule.why), escape(rule.wrong.strip()),
                 escape(rule.right.strip())):
        assert said in text


def test_the_page_has_the_document_that_the_examples_change(client: TestClient) -> None:
    response = client.get("/reference/lint")
    assert response.headers["content-type"].startswith("text/html")
    assert "id: tea-urn" in response.text
    assert 'href="/reference/lint"' in client.get("/reference").text


def test_the_command_line_lists_every_rule() -> None:
    lines = rules_text().splitlines()
    assert [line for line in lines if not line.startswith(" ")] == [rule.code for rule in ALL_RULES]
    assert max(map(len, lines)) <= 100
