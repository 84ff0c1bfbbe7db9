"""What each command does; returns its exit status (0 done, 1 defects found, 2 can't be done as asked)."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import orjson
from pydantic import TypeAdapter
from pydantic_core import from_json

import api.demo
import api.run
from api.bodies import parsed
from api.consultation import question
from api.problems import Refusal, refusal_of
from api.progress import progress
from api.settings import Settings
from api.text import advice_text
from graph.compile import compile_model
from graph.equipment import Equipment
from graph.errors import DocumentError, HalfsplitError, UnknownName
from schemas.load import load_text
from schemas.requests import AdviceForEquipment

OK, DEFECTS, USAGE = 0, 1, 2


def run(given: argparse.Namespace) -> int:
    """Run the command that was given; what is refused is told on standard error."""
    try:
        return {"serve": _serve, "demo": _demo, "check": _check, "advise": _advise}[given.command](given)
    except Refusal as refusal:
        print(_refusal_text(refusal), file=sys.stderr)
    except HalfsplitError as error:
        print(_refusal_text(refusal_of(error)), file=sys.stderr)
    except BrokenPipeError:
        return OK
    except OSError as error:
        print(f"halfsplit: {error.filename or ''}: {error.strerror or error}", file=sys.stderr)
    return USAGE


def _serve(given: argparse.Namespace) -> int:
    return api.run.serve(Settings(
        database=given.database, equipment=tuple(given.equipment), host=given.host, port=given.port,
    ))


def _demo(given: argparse.Namespace) -> int:
    return api.demo.demo(given.port)


def _check(given: argparse.Namespace) -> int:
    broken = 0
    for path in given.files:
        try:
            with progress(f"checking {path}"):
                equipment = _load(path)
                model = compile_model(equipment)
        except DocumentError as error:
            broken += 1
            for defect in error.defects:
                print(defect.sentence())
        except HalfsplitError as error:
            broken += 1
            print(f"{path}: {error.code}: {error.detail}" + (f", expected {error.expected}" if error.expected else ""))
        else:
            print(
                f"{path}: usable. {len(equipment.modes)} failure modes, {len(equipment.signals)} signals, "
                f"{len(equipment.symptoms)} symptoms, {len(equipment.tests)} tests, "
                f"{len(equipment.remedies)} remedies, {len(equipment.parts)} parts; {model.rows:,} hypotheses."
            )
    return DEFECTS if broken else OK


def _advise(given: argparse.Namespace) -> int:
    with progress(f"reading {given.graph}"):
        model = compile_model(_load(given.graph))
    equipment = model.equipment
    body = _request(given.request, equipment.id)
    answer = question(model, body, body.findings).answer(body.most)
    encoded = orjson.dumps(answer, option=orjson.OPT_INDENT_2)
    print(advice_text(orjson.loads(encoded)) if given.text else encoded.decode())
    return OK


def _request(name: str | None, equipment: str) -> AdviceForEquipment:
    """The request from a file or standard input; the equipment is the graph's own where none is named."""
    if name is not None and name != "-":
        text = Path(name).read_bytes()
    else:
        text = b"" if sys.stdin.isatty() else sys.stdin.buffer.read()
    try:
        data = from_json(text if text.strip() else b"{}")
    except ValueError as error:
        raise Refusal("not-json", str(error)) from None
    if isinstance(data, dict):
        data.setdefault("equipment", equipment)
    request: AdviceForEquipment = parsed(orjson.dumps(data), TypeAdapter(AdviceForEquipment))
    if request.equipment != equipment:
        raise UnknownName("equipment", request.equipment, [equipment], pointer="/equipment")
    return request


def _load(path: Path) -> Equipment:
    return load_text(path.read_bytes(), str(path))


def _refusal_text(refusal: Refusal) -> str:
    lines = [f"halfsplit: {refusal.kind.title}: {refusal.detail}"]
    for item in refusal.errors:
        hint = f" (did you mean {item.nearest!r}?)" if item.nearest else ""
        expected = f"; expected {item.expected}" if item.expected else ""
        lines.append(f"  {item.pointer or '/'}: {item.detail}{expected}{hint}")
    return "\n".join(lines)
