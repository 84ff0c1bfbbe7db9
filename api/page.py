"""The frame of the service's own pages: plain HTML with one style sheet inside, nothing from elsewhere."""

from __future__ import annotations

from html import escape
from string import Template

_STYLE = """
:root { color-scheme: light dark; --ink: #1c2430; --dim: #5a6675; --paper: #fff; --tint: #f4f6f8; --line: #dde3e9;
  --blue: #0b5c9e; --green: #1d6b3c; --amber: #8a5a00; --code: #16202b; --on-code: #e6edf3; }
@media (prefers-color-scheme: dark) { :root { --ink: #e3e8ee; --dim: #9aa7b5; --paper: #12171d; --tint: #1a212a;
  --line: #2c3742; --blue: #79b8f3; --green: #7cc993; --amber: #e0b35a; --code: #0b1016; } }
* { box-sizing: border-box; }
body { margin: 0; color: var(--ink); background: var(--paper); font: 16px/1.55 system-ui, sans-serif; }
a { color: var(--blue); }
main { max-width: 62rem; margin: 0 auto; padding: 2rem 1.5rem 5rem; }
h1 { font-size: 2rem; line-height: 1.2; margin: 0 0 .5rem; }
h2 { font-size: 1.4rem; margin: 3rem 0 .5rem; padding-top: 1rem; border-top: 1px solid var(--line); }
h3 { font-size: 1.15rem; margin: 0; } h4 { font-size: .95rem; margin: 1.4rem 0 .4rem; }
code, pre { font: .86rem/1.5 ui-monospace, "DejaVu Sans Mono", monospace; }
code { background: var(--tint); border-radius: 3px; padding: .1em .3em; overflow-wrap: anywhere; }
pre { background: var(--code); color: var(--on-code); border-radius: 6px; padding: .9rem 1rem; overflow: auto;
  max-height: 24rem; margin: .3rem 0; }
table { border-collapse: collapse; width: 100%; font-size: .92rem; }
th, td { text-align: left; vertical-align: top; padding: .35rem .7rem .35rem 0; border-bottom: 1px solid var(--line); }
th { color: var(--dim); font-weight: 600; }
.dim { color: var(--dim); } .must { color: var(--amber); font-size: .85em; }
.operation { border: 1px solid var(--line); border-radius: 8px; margin: 1.2rem 0; padding: 1.1rem 1.3rem; }
.method { display: inline-block; min-width: 3.6rem; font: 700 .85rem ui-monospace, monospace; color: var(--green); }
.method.post, .method.put { color: var(--blue); }
.path { font: 600 1rem ui-monospace, "DejaVu Sans Mono", monospace; background: none; padding: 0; }
details { margin: .5rem 0; } summary { cursor: pointer; color: var(--blue); }
.fields { table-layout: fixed; } .fields td:first-child { width: 34%; } .fields td:nth-child(2) { width: 26%; }
.status { width: 3.5rem; } .fields .fields td { border-bottom-style: dotted; }
nav ul { list-style: none; padding: 0; margin: .2rem 0 1rem; columns: 2; }
nav { padding: 1.5rem 1.5rem 0; }
nav li { break-inside: avoid; padding: .12rem 0; }
@media (min-width: 78rem) { body.aside main { margin-left: 22rem; } body.aside nav { position: fixed; inset: 0 auto 0 0;
  width: 20rem; overflow: auto; padding: 1.5rem 1.2rem; background: var(--tint); border-right: 1px solid var(--line);
  font-size: .9rem; } body.aside nav ul { columns: 1; } }
@media (max-width: 40rem) { nav ul { columns: 1; } main { padding: 1rem; } .operation { padding: .8rem; } }
"""
_PAGE = Template("""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>$style</style>
</head>
<body class="$kind">
$content
</body>
</html>
""")


def page(title: str, content: str, kind: str = "plain") -> str:
    """A whole page around content that is already HTML."""
    return _PAGE.substitute(title=escape(title), style=_STYLE, content=content, kind=kind)
