from __future__ import annotations

import numpy as np
import pytest

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Economics
from graph.conversation.asking import next_turn
from graph.conversation.at_word import at_word, foregone
from graph.conversation.stakes import CONTACT, askable, stakes_of
from graph.evidence import finding


def test_nothing_said_changes_nothing(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker)
    assert np.array_equal(at_word(belief).rows, belief.rows)


def test_what_was_said_is_so(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker, [finding(ice_maker, "machine_dead", "present")])
    literal = at_word(belief)
    assert literal.rows.sum() == pytest.approx(1.0)
    before, after = belief.marginals_of("modes"), literal.marginals_of("modes")
    assert after["site_power.off"] > before["site_power.off"]
    assert all(0 < after[m] < before[m] / 2 for m in ("pump.dead", "pump.impeller_fouled"))


def test_a_technicians_reading_is_weighed_as_it_was(ice_maker: CompiledModel) -> None:
    test = next(o.id for o in ice_maker.equipment.tests.values() if o.role == "technician")
    belief = believe(ice_maker, [finding(ice_maker, test, ice_maker.equipment.observations[test].outcomes[0].id)])
    assert np.array_equal(at_word(belief).rows, belief.rows)


def test_sayings_that_nothing_fits_are_weighed_as_usual(urn: CompiledModel) -> None:
    said = [finding(urn, o.id, "present") for o in urn.equipment.symptoms.values()]
    belief = believe(urn, said)
    literal = at_word(belief)
    assert literal.rows.sum() == pytest.approx(1.0)


def test_the_lamp_of_a_dead_machine_is_not_asked_for(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker, [finding(ice_maker, "machine_dead", "present")])
    known = foregone(at_word(belief), askable(belief, frozenset()))
    assert "look_lamp" in known and "look_supply" not in known
    assert not foregone(at_word(believe(ice_maker)), askable(belief, frozenset())) & {"look_lamp", "read_alarm"}


def test_no_remedy_is_offered_against_what_was_said(ice_maker: CompiledModel) -> None:
    said = [finding(ice_maker, name, "present") for name in ("no_ice", "hums_and_clicks")]
    stakes = stakes_of(believe(ice_maker, said), CONTACT, Economics())
    offered = {stakes.fates.remedies[place] for place, _ in stakes.trying}
    assert "set_selector" not in offered
    turn = next_turn(ice_maker, said, most=0)
    assert turn.conclusion is not None and turn.conclusion.kind == "technician"
