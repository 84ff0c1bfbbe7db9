"""The page of the rules for graph documents, made from the rules themselves."""

from __future__ import annotations

from functools import cache
from html import escape
from importlib.resources import files

from api.page import page
from api.reference import prose
from graph.lint.linting import ALL_RULES
from graph.lint.rule import LintRule

_ACCEPTED = """accepted:
  - {code: licence-missing, where: /tests/bridge_loop, reason: The plug carries 5 V only; live parts are covered.}"""


@cache
def lint_reference() -> str:
    """The whole page: each rule with its reason and examples, and the document that the examples change."""
    contents = "".join(f'<li><a href="#{rule.code}">{rule.code}</a></li>' for rule in ALL_RULES)
    base = (files("fixtures") / "lint" / "urn.yaml").read_text(encoding="utf-8")
    return page("Rules for graph documents", (
        f"<nav><strong>Rules</strong><ul>{contents}</ul></nav><main><h1>Rules for graph documents</h1>"
        '<p class="dim"><a href="/reference">API reference</a></p>'
        f"<p>A document without defects can be used; these {len(ALL_RULES)} rules warn of what is odd in it. "
        "<code>halfsplit check</code> and <code>POST /v1/graph-checks</code> report them with line, place, and what "
        "would mend them.</p><p>Where an odd entry is meant so, the document says why, and the warning is silent at "
        "that place and below it:</p>"
        f"<pre>{escape(_ACCEPTED)}</pre>"
        '<p>The examples are merge patches (RFC 7396) to the <a href="#document">document below</a>.</p>'
        f"{''.join(map(_section, ALL_RULES))}"
        f'<h2 id="document">The document that the examples change</h2><pre>{escape(base)}</pre></main>'
    ), "aside")


def _section(rule: LintRule) -> str:
    return (
        f'<section class="operation" id="{rule.code}"><h3><code>{rule.code}</code></h3>'
        f"<p>{prose(rule.says)}</p><p>{prose(rule.why)}</p>"
        f"<h4>Reported</h4><pre>{escape(rule.wrong.strip())}</pre>"
        f"<h4>In order</h4><pre>{escape(rule.right.strip())}</pre></section>"
    )
