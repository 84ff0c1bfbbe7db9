"""Check value 9: a general-purpose Bayesian-network library gives the same answers to 1e-9.

pyAgrum, given the same model as a network of single components (networks.py). Computed here and now,
nothing remembered. What the comparison covers: several modes a component, sets of up to three faults,
intermittent modes, repeated tests, series of trials, conditions that signals depend on, conditions
that only shift rates, observations that can't always be made, the unlisted cause.
"""

from __future__ import annotations

import numpy as np
import pytest

from graph.compile import compile_model
from schemas.load import load_data
from tests.published.asking import ask, worth
from tests.published.described import Description
from tests.published.networks import ComponentNetwork
from tests.published.random_documents import random_case, random_document

GRAPHS = 70
CASES = 4
TOLERANCE = 1e-9


@pytest.mark.parametrize("seed", range(GRAPHS))
def test_posterior_and_gains_of_random_graphs_equal_pyagrum(seed: int) -> None:
    data = random_document(seed)
    described = Description(data)
    model = compile_model(load_data(data))
    for case in range(CASES):
        found, known = random_case(1000 * seed + case, data)
        belief = ask(model, found, known)
        network = ComponentNetwork(described, known)
        network.find(found)
        free = [c for c in described.conditions if c not in known]
        nodes = ["unlisted", *(f"on:{m}" for m in described.modes), *(f"c:{c}" for c in free)]
        expected = network.posteriors(nodes)
        context = (seed, case, found, known)
        assert belief.unlisted == pytest.approx(expected["unlisted"][1], abs=TOLERANCE), context
        marginals = belief.marginals_of("modes")
        for mode in described.modes:
            assert marginals[mode] == pytest.approx(expected[f"on:{mode}"][1], abs=TOLERANCE), (mode, context)
        for condition in free:
            ours = belief.conditions()[condition]
            np.testing.assert_allclose(ours, expected[f"c:{condition}"], rtol=0, atol=TOLERANCE, err_msg=str(context))
        table = worth(belief)
        for i, (name, look) in enumerate(described.looks.items()):
            hypotheses, classes = network.gains(look, f"new{i}")
            assert table[name].hypotheses == pytest.approx(hypotheses, abs=TOLERANCE), (name, context)
            assert table[name].classes == pytest.approx(classes, abs=TOLERANCE), (name, context)
