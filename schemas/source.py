"""A graph document's text: parsed safely, with the line of everything in it.

YAML 1.2's core scalars only (`on`, `off`, `yes` and `no` stay words), no aliases, no tags, no
duplicate keys, bounded size and depth. JSON has a reader of its own that keeps lines too. Both tell
one builder what they meet, so that depth never costs stack and an alias never costs memory.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import count
from math import isfinite
from typing import Any

import yaml

from graph.errors import Defect, DocumentError, PathItem

MOST_BYTES = 8_000_000
MOST_VALUES = 400_000
MOST_DEPTH = 40
MOST_DEFECTS = 100
"""Once this many things are wrong, the rest of the list would help nobody."""

_INTEGER = re.compile(r"[-+]?[0-9]{1,18}\Z")
_NUMBER = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")
_NOT_A_NUMBER = re.compile(r"[-+]?\.(inf|Inf|INF)\Z|\.(nan|NaN|NAN)\Z")
_WORDS = {"true": True, "True": True, "false": False, "False": False, "null": None, "~": None, "": None}
_JSON_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+')
_JSON_WORDS = {"true": True, "false": False, "null": None}
_SURROGATE = re.compile("[\ud800-\udfff]")
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

Path = tuple[PathItem, ...]


@dataclass(slots=True)
class Source:
    """Plain data, and the line (from 1) of each path in it.

    Once modules are written out, `trace` turns a defect of the full document into one of the data as they were given.
    """

    name: str
    data: Any = None
    lines: dict[Path, int] = field(default_factory=dict)
    trace: Callable[[Defect], Defect] = lambda defect: defect

    def line_of(self, path: Path) -> int | None:
        """The line of `path`, or of the nearest thing that contains it."""
        for length in range(len(path), -1, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None

    def locate(self, defect: Defect) -> Defect:
        """The same defect as one of these data, with this source's name and line where it has lines."""
        traced = self.trace(defect)
        return replace(traced, source=self.name, line=self.line_of(traced.path)) if self.lines else traced


def parse(text: str | bytes, name: str = "document") -> Source:
    """Parse YAML or JSON text.

    Raises DocumentError with every defect of the text itself: `not-utf8`, `too-large`, `empty`,
    `not-parsable`, `too-deep`, `alias-not-allowed`, `duplicate-key`, `key-not-a-name`,
    `not-a-number`, `tag-not-allowed`.
    """
    if len(text) > MOST_BYTES:
        raise _refusal(name, "too-large", f"{len(text):,} bytes", f"at most {MOST_BYTES:,}")
    text = _decoded(text, name)
    builder = _Builder(name)
    if not _read_json(text, builder):
        builder = _Builder(name)
        _read_yaml(text, builder)
    if builder.empty:
        builder.refuse("empty", "nothing", "a graph document", 1)
    if builder.defects:
        raise DocumentError(builder.defects)
    return builder.source


def _refusal(name: str, code: str, found: str, expected: str, line: int | None = None) -> DocumentError:
    return DocumentError([Defect(code, (), found, expected, None, name, line)])


def _decoded(text: str | bytes, name: str) -> str:
    try:
        if isinstance(text, bytes):
            return text.decode("utf-8-sig")
        text.encode()
    except UnicodeError as error:
        start = int(getattr(error, "start", 0))
        kind, newline = ("byte", b"\n") if isinstance(text, bytes) else ("character", "\n")
        line = text[:start].count(newline) + 1  # type: ignore[arg-type]
        raise _refusal(name, "not-utf8", f"{kind} {start} that is not UTF-8", "UTF-8 text", line) from None
    return text.removeprefix("\ufeff")


@dataclass(slots=True)
class _Frame:
    """A map or list that is still open; `key` is where its next value goes (None: a key is due)."""

    into: dict[str, Any] | list[Any]
    path: Path
    key: str | None = None


class _Builder:
    """Plain data and lines from what a reader meets, in its order."""

    def __init__(self, name: str) -> None:
        self.source = Source(name)
        self.defects: list[Defect] = []
        self.open: list[_Frame] = []
        self.empty = True
        self.values = count(1)

    def defect(self, code: str, path: Path, found: str, expected: str, line: int) -> None:
        """Note a defect; after the last that is worth noting, give up."""
        self.defects.append(Defect(code, path, found, expected, None, self.source.name, line))
        if len(self.defects) >= MOST_DEFECTS:
            raise DocumentError(self.defects)

    def refuse(self, code: str, found: str, expected: str, line: int | None, path: Path = ()) -> None:
        """Note a defect after which nothing more can be read."""
        raise DocumentError([*self.defects, Defect(code, path, found, expected, None, self.source.name, line)])

    @property
    def key_due(self) -> bool:
        """Whether the next scalar is the key of a map."""
        return bool(self.open) and self.open[-1].key is None and isinstance(self.open[-1].into, dict)

    def here(self) -> Path:
        """The path of the next value; of the map itself while a key is due."""
        if not self.open:
            return ()
        frame = self.open[-1]
        if isinstance(frame.into, list):
            return (*frame.path, len(frame.into))
        return frame.path if frame.key is None else (*frame.path, frame.key)

    def key(self, key: str, line: int) -> None:
        """The key of a map's next value."""
        frame = self.open[-1]
        path = (*frame.path, key)
        if key in frame.into:
            first = self.source.lines[path]
            self.defect("duplicate-key", path, f"{key!r} again", f"it once (first at line {first})", line)
        else:
            self.source.lines[path] = line
        frame.key = key

    def value(self, value: Any, line: int) -> None:
        """A map's, list's or the whole document's next value."""
        self.empty = False
        if next(self.values) > MOST_VALUES:
            self.refuse("too-large", "more values", f"at most {MOST_VALUES:,}", line)
        if not self.open:
            self.source.data = value
            self.source.lines[()] = line
            return
        frame = self.open[-1]
        if isinstance(frame.into, list):
            self.source.lines[(*frame.path, len(frame.into))] = line
            frame.into.append(value)
        elif frame.key is not None:
            frame.into.setdefault(frame.key, value)
            frame.key = None

    def start(self, into: dict[str, Any] | list[Any], line: int) -> None:
        """A map or list begins; what comes until its end goes into it."""
        path = self.here()
        if self.key_due:
            self.refuse("key-not-a-name", "a list or map as a key", "a name", line, self.open[-1].path)
        if len(self.open) >= MOST_DEPTH:
            self.refuse("too-deep", "values nested deeper", f"at most {MOST_DEPTH} levels", line, path)
        self.value(into, line)
        self.open.append(_Frame(into, path))

    def number(self, text: str, line: int) -> float:
        """The value of a decimal number too large or too broken for an integer."""
        value = float(text)
        if not isfinite(value):
            self.defect("not-a-number", self.here(), text[:40], "a finite number", line)
        return value


def _read_json(text: str, builder: _Builder) -> bool:
    """Tell the builder what a JSON text holds. Returns False where the text is not JSON."""
    if not text.lstrip().startswith(("{", "[")):
        return False
    try:
        json.loads(text, parse_int=float)
    except RecursionError:
        builder.refuse("too-deep", "brackets nested without end", f"at most {MOST_DEPTH} levels", 1)
    except ValueError:
        return False
    line, end = 1, 0
    for token in _JSON_TOKEN.finditer(text):
        line += text.count("\n", end, token.start())
        end = token.start()
        word = token.group()
        if word in ",:":
            continue
        if word in "}]":
            builder.open.pop()
        elif word in "{[":
            builder.start({} if word == "{" else [], line)
        elif word[0] == '"':
            _json_string(json.loads(word), line, builder)
        elif word in _JSON_WORDS:
            builder.value(_JSON_WORDS[word], line)
        elif word in ("NaN", "Infinity", "-Infinity"):
            builder.defect("not-a-number", builder.here(), word, "a finite number", line)
            builder.value(None, line)
        else:
            builder.value(int(word) if _INTEGER.match(word) else builder.number(word, line), line)
    return True


def _json_string(string: str, line: int, builder: _Builder) -> None:
    if _SURROGATE.search(string):
        builder.defect("not-utf8", builder.here(), "half of a surrogate pair", "whole characters", line)
        string = _SURROGATE.sub("?", string)
    if builder.key_due:
        builder.key(string, line)
    else:
        builder.value(string, line)


def _read_yaml(text: str, builder: _Builder) -> None:
    """Tell the builder what a YAML text holds."""
    line: int | None = None
    loader = None
    try:
        loader = _Loader(text)
        while loader.check_event():
            event = loader.get_event()
            line = event.start_mark.line + 1
            _yaml_event(event, line, builder)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        found = " ".join(str(part) for part in (error.context, error.problem) if part)
        builder.refuse("not-parsable", found or "broken text", "YAML or JSON", mark.line + 1 if mark else line)
    except yaml.reader.ReaderError as error:
        line = text.encode()[: error.position].count(b"\n") + 1
        builder.refuse("not-parsable", "a control character", "printable text", line)
    except (yaml.YAMLError, ValueError, RecursionError) as error:
        builder.refuse("not-parsable", str(error).split("\n")[0][:200], "YAML or JSON", line)
    finally:
        if loader is not None:
            loader.dispose()


def _yaml_event(event: yaml.Event, line: int, builder: _Builder) -> None:
    tag = getattr(event, "tag", None)
    if tag is not None:
        builder.defect("tag-not-allowed", builder.here(), f"the tag {tag[:40]!r}", "a plain value", line)
    if isinstance(event, yaml.ScalarEvent):
        if builder.key_due:
            builder.key(str(event.value), line)
        else:
            builder.value(event.value if event.style else _plain_scalar(event.value, line, builder), line)
    elif isinstance(event, yaml.MappingStartEvent):
        builder.start({}, line)
    elif isinstance(event, yaml.SequenceStartEvent):
        builder.start([], line)
    elif isinstance(event, yaml.CollectionEndEvent):
        builder.open.pop()
    elif isinstance(event, yaml.AliasEvent):
        found = f"an alias (*{event.anchor})"
        builder.defect("alias-not-allowed", builder.here(), found, "the value written out", line)
        if builder.key_due:
            builder.key(f"*{event.anchor}", line)
        else:
            builder.value(None, line)
    elif isinstance(event, yaml.DocumentStartEvent) and not builder.empty:
        builder.refuse("not-parsable", "a second document", "one document a file", line)


def _plain_scalar(value: str, line: int, builder: _Builder) -> Any:
    """What a YAML scalar without quotes stands for."""
    if value in _WORDS:
        return _WORDS[value]
    if _INTEGER.match(value):
        return int(value)
    if _NUMBER.match(value):
        return builder.number(value, line)
    if _NOT_A_NUMBER.match(value):
        builder.defect("not-a-number", builder.here(), value, "a finite number", line)
    return value
