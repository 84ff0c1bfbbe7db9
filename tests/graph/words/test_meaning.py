from __future__ import annotations

import numpy as np
import pytest

from graph.words.meaning import ear_of, sense_of


def test_what_differs_within_a_symptom_counts_less_than_what_differs_between_them() -> None:
    """The first axis tells two symptoms apart, the second is how politely they are said, the third what it is about."""
    def vector(symptom: float, polite: float, about: float = 1.0) -> list[float]:
        given = np.array([symptom, polite, about])
        return list(given / np.linalg.norm(given))

    wordings = np.array([vector(s, p) for s in (-0.3, 0.3) for p in (-1.0, 0.0, 1.0)])
    beside = np.array([vector(0.1, 0.5, -1.0), vector(-0.1, -0.5, -1.0)])
    sense = sense_of(wordings, np.array([0, 3]), np.array([3, 3]), beside)
    asked = np.array(vector(0.3, 2.0))
    assert np.argmax(sense.meant(asked).likeness) >= 3
    polite_of_the_other = np.array(vector(-0.3, 1.0))
    assert asked @ polite_of_the_other > asked @ wordings[4], "before the metric the other symptom was nearer"
    assert np.mean([sense.meant(w).topic for w in wordings]) == pytest.approx(0.5)
    assert np.mean([sense.meant(b).topic for b in beside]) == pytest.approx(-0.5)


def test_a_wording_is_like_itself() -> None:
    dice = np.random.default_rng(3)
    wordings, beside = dice.normal(size=(12, 5)), dice.normal(size=(4, 5))
    sense = sense_of(wordings, np.array([0, 4, 8]), np.array([4, 4, 4]), beside)
    for row, wording in enumerate(wordings):
        assert sense.meant(wording).likeness[row] == pytest.approx(1.0)
        assert np.abs(sense.meant(wording).likeness).max() <= 1 + 1e-9


def test_an_ear_hears_what_is_nearer_to_its_examples_than_to_quiet_ones() -> None:
    ear = ear_of(
        {"smoke": np.array([[1.0, 0.0, 0.0], [0.9, 0.1, 0.0]]), "leak": np.array([[0.0, 1.0, 0.0], [0.1, 0.9, 0.0]])},
        np.array([[0.0, 0.0, 1.0], [0.1, 0.0, 0.9]]), np.array([[0.0, 0.1, 1.0]]),
    )
    assert ear.heard(np.array([0.95, 0.05, 0.1]), 0.0) == "smoke"
    assert ear.heard(np.array([0.05, 0.95, 0.1]), 0.0) == "leak"
    assert ear.heard(np.array([0.1, 0.0, 1.0]), 0.0) is None
