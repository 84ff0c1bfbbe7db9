"""What the modules say of a fault is what the ice maker, written by hand, says of it: the same states of the same signals."""

from __future__ import annotations

from pathlib import Path

import pytest

from schemas.document import Document
from schemas.load import written_out
from tests.documents import in_full
from tests.graph.counting import Counting
from tests.schemas.modules.test_shipped import SHIPPED, machine

ICE_MAKER = Path(__file__).parents[3] / "fixtures" / "equipment" / "quillmere-c45.yaml"
LOOP = {"contact": "level_contact", "loop": "level_loop", "volts": "loop_volts", "seen": "loop_seen"}
COMPRESSOR = {"drive": "compressor_drive", "state": "compressor_state", "start_trial": "start_trial",
              "amps": "compressor_amps"}
CASES = [
    *(("level-switch", LOOP, mode, other) for mode, other in {
        "switch.never_closes": "float_switch.never_closes", "switch.stuck_closed": "float_switch.stuck_closed",
        "switch.misses": "float_switch.misses", "switch.fouled": "float_switch.float_fouled",
        "plug.not_seated": "loop_plug.not_seated", "plug.crimp_loose": "loop_plug.crimp_loose",
        "lead.chafed": "loop_lead.chafed", "input.dead": "board.loop_input_dead",
    }.items()),
    *(("hermetic-compressor", COMPRESSOR, mode, other) for mode, other in {
        "start_relay.open": "start_relay.open", "start_relay.drops_out": "start_relay.drops_out",
        "start_capacitor.failed": "start_capacitor.failed", "overload.trips_early": "overload.trips_early",
        "body.worn": "compressor.worn", "body.seized": "compressor.seized",
        "lead.burnt_terminal": "compressor_lead.burnt_terminal",
    }.items()),
    *(("inlet-valve", {"flow": "inlet_flow"}, mode, other) for mode, other in {
        "strainer.blocked": "inlet_strainer.blocked", "valve.stuck_shut": "inlet_valve.stuck_shut",
        "valve.coil_open": "inlet_valve.coil_open", "valve.passes": "inlet_valve.passes",
    }.items()),
]


@pytest.fixture(scope="module")
def ice_maker() -> Counting:
    return Counting(in_full(ICE_MAKER))


@pytest.mark.parametrize(("module", "signals", "mode", "other"), CASES, ids=lambda v: v if isinstance(v, str) else "")
def test_a_fault_shows_as_it_does_there(
    module: str, signals: dict[str, str], mode: str, other: str, ice_maker: Counting,
) -> None:
    document = Document.model_validate(machine(SHIPPED[module], "", ""))
    ours = Counting(written_out(document).model_dump(mode="json", exclude_unset=True))
    assert f"it_{mode}" in ours.modes
    assert other in ice_maker.modes
    where = tuple((c, next(iter(shape["states"]))) for c, shape in ice_maker.conditions.items())
    for name, there in signals.items():
        for faults, same in ((frozenset[str](), frozenset[str]()), (frozenset({f"it_{mode}"}), frozenset({other}))):
            assert ours.state(f"it_{name}", faults, ()) == ice_maker.state(there, same, where), name
