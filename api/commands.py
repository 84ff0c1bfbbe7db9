"""What each command does; returns its exit status (0 done, 1 defects found, 2 can't be done as asked, 3 warnings).

Each command imports what it needs, so that the service starts without charts and simulations.
"""

from __future__ import annotations

import argparse
import sys
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from api.exit_status import DEFECTS, OK, USAGE
from api.plain_output import answer_only
from api.problems import Refusal, refusal_of
from api.progress import progress
from api.settings import Settings
from graph.errors import DocumentError, HalfsplitError, UnknownName

if TYPE_CHECKING:
    from graph.compile import CompiledModel
    from graph.equipment import Equipment
    from schemas.kit_requests import KitForEquipment
    from schemas.requests import AdviceForEquipment, PathForEquipment


def run(given: argparse.Namespace) -> int:
    """Run the command that was given; what is refused is told on standard error."""
    try:
        commands = {
            "serve": _serve, "demo": _demo, "check": _check, "diff": _diff, "advise": _advise, "chart": _chart,
            "expect": _expect, "kit": _kit, "chat": _chat, "simulate": _simulate, "calls": _calls,
            "testability": _testability,
        }
        if given.command in ("serve", "demo"):
            return commands[given.command](given)
        with answer_only():
            return commands[given.command](given)
    except Refusal as refusal:
        print(_refusal_text(refusal), file=sys.stderr)
    except DocumentError as error:
        print("\n".join([f"halfsplit: {error.detail}", *(d.sentence() for d in error.defects)]), file=sys.stderr)
        return DEFECTS if getattr(given, "graph", None) or given.command != "expect" else USAGE
    except HalfsplitError as error:
        print(_refusal_text(refusal_of(error)), file=sys.stderr)
    except BrokenPipeError:
        return OK
    except OSError as error:
        print(f"halfsplit: {error.filename or ''}: {error.strerror or error}", file=sys.stderr)
    return USAGE


def _serve(given: argparse.Namespace) -> int:
    from api.remembered import usual_directory
    from api.run import serve

    return serve(Settings(
        database=given.database, equipment=tuple(given.equipment), host=given.host, port=given.port,
        workers=given.workers,
        remember=None if given.forget else given.remember or usual_directory(),
        sentences=given.sentences, quota=given.quota, open=given.open,
    ), log=given.log)


def _demo(given: argparse.Namespace) -> int:
    from api.demo import demo

    return demo(given.port)


def _check(given: argparse.Namespace) -> int:
    from api.checking import check

    return check(given)


def _diff(given: argparse.Namespace) -> int:
    from api.diffing import diff

    return diff(given)


def _advise(given: argparse.Namespace) -> int:
    import orjson

    from api.consultation import question
    from api.text import advice_text
    from schemas.requests import AdviceForEquipment

    with progress(f"reading {given.graph}"):
        model = _model(given.graph)
    equipment = model.equipment
    body: AdviceForEquipment = _request(given.request, equipment.id, AdviceForEquipment)
    answer = question(model, body, body.findings).answer(body)
    encoded = orjson.dumps(answer, option=orjson.OPT_INDENT_2)
    print(advice_text(orjson.loads(encoded)) if given.text else encoded.decode())
    return OK


def _chart(given: argparse.Namespace) -> int:
    from api.chart import chart_text
    from api.chart_sheets import chart_svg
    from api.consultation import question, visit_path
    from schemas.requests import PathForEquipment

    with progress(f"reading {given.graph}"):
        model = _model(given.graph)
    body: PathForEquipment = _request(given.request, model.equipment.id, PathForEquipment)
    with progress("following every outcome"):
        tree = visit_path(question(model, body, body.findings), body)
    if given.svg is None:
        print(chart_text(tree))
    else:
        given.svg.write_text(chart_svg(tree, given.paper), encoding="utf-8")
    return OK


def _kit(given: argparse.Namespace) -> int:
    import orjson

    from api.consultation import question
    from api.kit_plot import frontier_svg
    from api.kitting import kit_answer, van_answer
    from api.text import kit_lines, van_lines
    from graph.belief import believe
    from schemas.kit_requests import KitForEquipment

    with progress(f"reading {given.graph}"):
        model = _model(given.graph)
    bodies: list[KitForEquipment] = [
        _request(name, model.equipment.id, KitForEquipment) for name in given.requests or [None]
    ]
    asked = [question(model, body, body.findings) for body in bodies]
    if len(bodies) > 1:
        with progress("loading the van"):
            load = van_answer(
                [believe(model, a.findings, a.known) for a in asked], bodies[0], asked[0].economics, asked[0].asker
            )
        encoded = orjson.dumps(load, option=orjson.OPT_INDENT_2)
        print(encoded.decode() if given.json else "\n".join(van_lines(orjson.loads(encoded))))
        return OK
    wanted = bodies[0].model_copy(update={"frontier": bodies[0].frontier or given.svg is not None})
    with progress("packing"):
        kit = kit_answer(asked[0], wanted)
    if given.svg is not None:
        given.svg.write_text(frontier_svg(kit, model.equipment.currency), encoding="utf-8")
    encoded = orjson.dumps(kit, option=orjson.OPT_INDENT_2)
    print(encoded.decode() if given.json else "\n".join(kit_lines(orjson.loads(encoded))))
    return OK


def _chat(given: argparse.Namespace) -> int:
    from api.chat import Chat, listened

    packaged = {path.stem: path for path in _packaged()}
    path = packaged.get(given.equipment, Path(given.equipment))
    if given.equipment not in packaged and not path.exists():
        raise UnknownName("equipment", given.equipment, packaged, pointer="/equipment")
    with progress(f"reading {path}"):
        model = _model(path)
    Chat(model, print, _typed if sys.stdin.isatty() else listened(iter(sys.stdin), print)).run()
    return OK


def _typed(prompt: str) -> str | None:
    try:
        return input(f"{prompt}\n> ")
    except EOFError:
        return None


def _packaged() -> list[Path]:
    return [Path(str(e)) for e in (files("fixtures") / "equipment").iterdir() if e.name.endswith(".yaml")]


def _expect(given: argparse.Namespace) -> int:
    from api.expect import curves_text, expectation, states_text, table_text
    from api.expect_sheet import expectation_svg

    if given.graph is not None and given.test is not None:
        print(states_text(_load(given.graph), given.test, given.given))
        return OK
    if given.quantity is None:
        print("halfsplit: expect needs --quantity, or --graph and --test", file=sys.stderr)
        return USAGE
    if given.curve is None:
        print(curves_text(given.quantity))
        return OK
    asked = (given.quantity, given.curve, given.given, given.over, given.unit, given.tolerance_percent)
    print(table_text(expectation(*asked)))
    if given.svg is not None:
        given.svg.write_text(expectation_svg(expectation(*asked, smooth=True)), encoding="utf-8")
    return OK


def _simulate(given: argparse.Namespace) -> int:
    import orjson

    from api.simulate import Match, simulate, table
    from api.text import asking_table, trial_table
    from graph.context import Asker, Economics
    from graph.conversation.trial import asking_trial
    from graph.equipment import Licence
    from graph.kit.trial import trial
    from graph.policy.contenders import contenders

    for name, least in (("calls", 2), ("seed", 0), ("budget_ms", 0), ("processes", 1)):
        value = getattr(given, name)
        if value is not None and value < least:
            print(f"halfsplit: --{name.replace('_', '-')} is {value}; expected {least} or more", file=sys.stderr)
            return USAGE
    licences = given.licence or get_args(Licence)
    for i, name in enumerate(licences):
        if name not in get_args(Licence):
            raise UnknownName("licence", name, get_args(Licence), pointer=f"/licences/{i}")
    asker = Asker(licences=frozenset(licences))
    if given.kits:
        model = _model(given.equipment)
        money = given.money or [30.0, 60.0, 120.0, 250.0]
        with progress("packing for every call"):
            tried = trial(model, given.calls, given.seed, asker, Economics(), money)
        encoded = orjson.dumps(tried, option=orjson.OPT_INDENT_2)
        print(encoded.decode() if given.json else trial_table(orjson.loads(encoded), model.equipment.currency))
        return OK
    if given.questions:
        model = _model(given.equipment)
        with progress("asking every caller"):
            talked = asking_trial(model, given.calls, given.seed, asker, Economics(), given.money or [60.0, 120.0])
        encoded = orjson.dumps(talked, option=orjson.OPT_INDENT_2)
        print(encoded.decode() if given.json else asking_table(orjson.loads(encoded), model.equipment.currency))
        return OK
    match = Match(
        given.equipment, given.calls, given.seed, given.budget_ms, asker, Economics(),
    )
    found = simulate(match, given.policy or list(contenders(0)), given.processes)
    currency = _load(given.equipment).currency
    print(orjson.dumps(found, option=orjson.OPT_INDENT_2).decode() if given.json else table(found, currency))
    return OK


def _calls(given: argparse.Namespace) -> int:
    from api.known_calls import calls_command

    return calls_command(given.files, given.equipment, given.json)


def _testability(given: argparse.Namespace) -> int:
    from api.testability import testability_command

    return testability_command(
        given.graph, given.calls, tuple(given.licence), tuple(given.instrument), given.svg, given.json,
    )


def _request(name: str | None, equipment: str, shape: type[Any]) -> Any:
    """The request from a file or standard input; the equipment is the graph's own where none is named."""
    import orjson
    from pydantic import TypeAdapter
    from pydantic_core import from_json

    from api.bodies import parsed

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
    request = parsed(orjson.dumps(data), TypeAdapter(shape))
    if request.equipment != equipment:
        raise UnknownName("equipment", request.equipment, [equipment], pointer="/equipment")
    return request


def _model(path: Path) -> CompiledModel:
    from graph.compile import compile_model

    return compile_model(_load(path))


def _load(path: Path) -> Equipment:
    from schemas.load import load_text

    return load_text(path.read_bytes(), str(path))


def _refusal_text(refusal: Refusal) -> str:
    lines = [f"halfsplit: {refusal.kind.title}: {refusal.detail}"]
    for item in refusal.errors:
        hint = f" (did you mean {item.nearest!r}?)" if item.nearest else ""
        expected = f"; expected {item.expected}" if item.expected else ""
        lines.append(f"  {item.pointer or '/'}: {item.detail}{expected}{hint}")
    return "\n".join(lines)
