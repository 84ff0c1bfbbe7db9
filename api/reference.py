"""The API reference page: the OpenAPI document for people."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from shlex import quote
from typing import Any

import orjson

from api.page import page

_MOST_LINES = 60
Node = dict[str, Any]


def reference(document: Node) -> str:
    """The whole page."""
    info = document["info"]
    by_tag: dict[str, list[tuple[str, str, Node]]] = {tag["name"]: [] for tag in document["tags"]}
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            by_tag[operation["tags"][0]].append((method, path, operation))
    contents = "".join(
        f"<strong>{escape(tag.capitalize())}</strong><ul>" + "".join(
            f'<li><a href="#{o["operationId"]}">{escape(o["summary"])}</a></li>' for _, _, o in found
        ) + "</ul>"
        for tag, found in by_tag.items()
    )
    sections = "".join(
        f"<h2>{escape(tag['name'].capitalize())}</h2><p>{prose(tag['description'])}</p>"
        + "".join(_operation(document, *found) for found in by_tag[tag["name"]])
        for tag in document["tags"]
    )
    intro = "".join(f"<p>{prose(part)}</p>" for part in info["description"].strip().split("\n\n"))
    return page(f"{info['title']} API reference", (
        f"<nav>{contents}</nav><main><h1>{escape(info['title'])} API reference</h1>"
        f'<p class="dim">Version {escape(info["version"])} · <a href="/openapi.json">OpenAPI 3.1 document</a> · '
        f'<a href="/problems">Problems</a> · '
        f'<a href="/reference/lint">Rules for documents</a></p>{intro}{sections}</main>'
    ), "aside")


def prose(text: str) -> str:
    """Text with `code` and **strong**, as HTML."""
    text = re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text))
    return re.sub(r"\*\*([^*]+)\*\*", r"<strong>\1</strong>", text)


def _operation(document: Node, method: str, path: str, operation: Node) -> str:
    parts = [
        f'<section class="operation" id="{operation["operationId"]}">',
        f'<p><span class="method {method}">{method.upper()}</span> <code class="path">{escape(path)}</code></p>',
        f"<h3>{escape(operation['summary'])}</h3><p>{prose(operation['description'])}</p>",
        f'<p class="dim">{_who_may(operation)}</p>',
    ]
    if operation.get("parameters"):
        rows = "".join(_parameter(document, p) for p in operation["parameters"])
        parts.append(f"<h4>Parameters</h4><table class=\"fields\">{rows}</table>")
    for media_type, content in operation.get("requestBody", {}).get("content", {}).items():
        parts.append(_body(document, media_type, content))
    parts += _examples(method, path, operation)
    rows = "".join(
        f'<tr><td class="status">{status}</td>'
        f"<td>{prose(response['description'])}{_fields_of_answer(document, response)}</td></tr>"
        for status, response in sorted(operation["responses"].items())
    )
    parts.append(f"<details><summary>Answers and problems</summary><table>{rows}</table></details></section>")
    return "".join(parts)


def _who_may(operation: Node) -> str:
    scopes = [scope for way in operation["security"] for scope in way["key"]]
    said = f"Needs a key with the scope <code>{escape(scopes[0])}</code>." if scopes else "Needs no key."
    if operation.get("deprecated"):
        said += f" Deprecated: see <code>{escape(operation['x-instead'])}</code>; ends {escape(operation['x-sunset'])}."
    return said


def _parameter(document: Node, parameter: Node) -> str:
    must = ' <span class="must">required</span>' if parameter.get("required") else ""
    said = parameter.get("description") or parameter["schema"].get("description", "")
    said = said[:1].upper() + said[1:]
    return (
        f"<tr><td><code>{escape(parameter['name'])}</code>{must}</td><td class=\"dim\">{parameter['in']}</td>"
        f"<td class=\"dim\">{escape(_type(document, parameter['schema']))}</td><td>{prose(said)}</td></tr>"
    )


def _body(document: Node, media_type: str, content: Node) -> str:
    """The fields of a body; of alternatives, the first in full and what is different in the others."""
    schema = content["schema"]
    branches = [_resolved(document, b) for b in schema.get("oneOf", [schema])]
    first = branches[0].get("properties", {})
    parts = []
    for number, branch in enumerate(branches):
        alternative = f" ({number + 1} of {len(branches)})" if len(branches) > 1 else ""
        parts.append(f'<h4>Body{alternative} <span class="dim">{escape(media_type)}</span></h4>')
        if branch.get("description"):
            parts.append(f"<p>{prose(branch['description'])}</p>")
        fields = branch.get("properties", {})
        shared = [n for n in fields if number and n in first]
        own = {**branch, "properties": {n: f for n, f in fields.items() if n not in shared}}
        if fields:
            parts.append(f"<table class=\"fields\">{''.join(_field_rows(document, own, '', 2))}</table>")
        else:
            parts.append("<p>Any document of this type.</p>")
        if shared:
            parts.append(f"<p>And as above: {', '.join(f'<code>{n}</code>' for n in shared)}.</p>")
    return "".join(parts)


def _field_rows(document: Node, schema: Node, prefix: str, depth: int) -> Iterator[str]:
    for name, field in schema["properties"].items():
        must = ' <span class="must">required</span>' if name in schema.get("required", ()) else ""
        said = field.get("description") or _resolved(document, field).get("description") or ""
        said = said[:1].upper() + said[1:]
        default = field.get("default")
        if default not in (None, "", [], {}) and not isinstance(default, dict):
            said += f"{'.' if said and said[-1] not in '.)' else ''} Default {orjson.dumps(default).decode()}."
        yield (
            f"<tr><td><code>{escape(prefix + name)}</code>{must}</td>"
            f'<td class="dim">{escape(_type(document, field))}</td><td>{prose(said)}</td></tr>'
        )
        inner, mark = _inner(document, field)
        if depth > 1 and inner is not None and name != "document":
            yield from _field_rows(document, inner, f"{prefix}{name}{mark}.", depth - 1)


def _inner(document: Node, field: Node) -> tuple[Node | None, str]:
    """The object inside a field, directly or as items of a list."""
    for branch in (field, *field.get("anyOf", ())):
        mark = ""
        node = _resolved(document, branch)
        if node.get("type") == "array":
            node, mark = _resolved(document, node.get("items", {})), "[]"
        if node.get("properties"):
            return node, mark
    return None, ""


def _resolved(document: Node, node: Node) -> Node:
    if "$ref" in node:
        return dict(document["components"]["schemas"][node["$ref"].rsplit("/", 1)[-1]])
    return node


def _type(document: Node, node: Node) -> str:
    """A schema's type in a few words."""
    if "$ref" in node:
        name = node["$ref"].rsplit("/", 1)[-1]
        resolved = _resolved(document, node)
        return str(name) if resolved.get("type") == "object" else _type(document, resolved)
    for union in ("oneOf", "anyOf"):
        if union in node:
            return " or ".join(dict.fromkeys(_type(document, branch) for branch in node[union]))
    if "const" in node:
        return orjson.dumps(node["const"]).decode()
    if "enum" in node:
        return " | ".join(str(value) for value in node["enum"])
    kind = node.get("type", "any")
    if kind == "array":
        return f"list of {_type(document, node.get('items', {}))}"
    if kind == "object" and isinstance(node.get("additionalProperties"), dict):
        return f"map of {_type(document, node['additionalProperties'])}"
    low, high = node.get("minimum", node.get("exclusiveMinimum")), node.get("maximum")
    if low is not None and high is not None:
        return f"{kind} {low:,.10g} to {high:,.10g}"
    return str(kind)


def _fields_of_answer(document: Node, response: Node) -> str:
    schema = response.get("content", {}).get("application/json", {}).get("schema", {})
    node = _resolved(document, schema)
    if not node.get("properties"):
        return ""
    return f"<table class=\"fields\">{''.join(_field_rows(document, node, '', 2))}</table>"


def _examples(method: str, path: str, operation: Node) -> Iterator[str]:
    address = path
    query, headers = [], []
    if operation["security"]:
        headers.append("Authorization: Bearer $HALFSPLIT_KEY")
    for parameter in operation.get("parameters", ()):
        if "example" in parameter:
            if parameter["in"] == "path":
                address = address.replace(f"{{{parameter['name']}}}", str(parameter["example"]))
            elif parameter["in"] == "header":
                headers.append(f"{parameter['name']}: {parameter['example']}")
            else:
                query.append(f"{parameter['name']}={parameter['example']}")
    address += "?" + "&".join(query) if query else ""
    sent = [
        (media_type, name, example)
        for media_type, content in operation.get("requestBody", {}).get("content", {}).items()
        for name, example in content.get("examples", {}).items()
    ]
    answers = {
        name: example for response in operation["responses"].values()
        for name, example in response.get("content", {}).get("application/json", {}).get("examples", {}).items()
    }
    for number, (media_type, name, example) in enumerate(sent or [(None, name, None) for name in answers]):
        title = answers[name]["summary"]
        yield f"<details{' open' if sent and not number else ''}><summary>Example: {escape(title)}</summary>"
        yield f"<pre>{escape(_curl(method, address, headers, media_type, example))}</pre>"
        yield f"<pre>{escape(_shortened(answers[name]['value']))}</pre></details>"


def _curl(method: str, address: str, headers: list[str], media_type: str | None, example: Node | None) -> str:
    verb = "" if method == "get" else f" -X {method.upper()}"
    lines = [f'curl{verb} "$HALFSPLIT{address}"', *(f'  -H "{header}"' for header in headers)]
    if media_type is not None and example is not None:
        value = example["value"]
        text = value if isinstance(value, str) else orjson.dumps(value, option=orjson.OPT_INDENT_2).decode()
        lines += [f"  -H 'Content-Type: {media_type}'", f"  --data-binary {quote(text)}"]
    return " \\\n".join(lines)


def _shortened(value: Any) -> str:
    lines = orjson.dumps(value, option=orjson.OPT_INDENT_2).decode().split("\n")
    if len(lines) > _MOST_LINES:
        left = len(lines) - _MOST_LINES
        lines = [*lines[:_MOST_LINES], f"… {left} more lines"]
    return "\n".join(lines)
