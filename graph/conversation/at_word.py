"""A caller taken at their word: what needs not be asked, and what can't help, if what they confirmed is so.

A belief allows for callers who are mistaken, and so it should for what the van brings. But whoever talks to one does
not ask which lamp is lit when no lamp is, nor offers to turn a knob that can't be the matter if the machine hums.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from graph.belief import Belief, posterior
from graph.evidence import Evidence
from graph.hypotheses import sums_by

FOREGONE = 0.995
"""Chance of an answer from which it needs not be asked for."""
_DOUBTED = float(np.log(1 / 8))
"""A cause that makes a finding so much less likely than another does, in logs, is at odds with it."""


def at_word(belief: Belief) -> Belief:
    """The belief without the causes that are at odds with what the site said; the belief itself where none is left."""
    clues = tuple(_meant(belief, clue) for clue in belief.evidence)
    log_rows, before = posterior(belief.prior, clues)
    if not np.isfinite(log_rows[~belief.model.hypotheses.unlisted]).any():
        return belief
    rows = before if belief.left is None else sums_by(belief.left, before, len(before))
    return replace(belief, evidence=clues, log_rows=log_rows, before=before, rows=rows)


def foregone(belief: Belief, names: Iterable[str]) -> frozenset[str]:
    """Those of the observations whose answer is as good as known, misreadings and unlisted causes aside."""
    model = belief.model
    listed = np.where(model.hypotheses.unlisted, 0.0, belief.rows)
    known = set()
    for name in names:
        watch = model.watches[model.by_id[name]]
        if watch.climate is not None:
            continue
        telling = (watch.chances / np.maximum(watch.chances.max(axis=0), 1e-12)).argmax(axis=1)
        masses = np.bincount(telling[model.patterns[watch.column]], listed)
        if masses.max() >= FOREGONE * masses.sum() > 0:
            known.add(name)
    return frozenset(known)


def _meant(belief: Belief, clue: Evidence) -> Evidence:
    """A clue of the site's with no likelihood where it would have to be mistaken."""
    observation = belief.model.equipment.observations.get(clue.about)
    if observation is None or observation.role != "site_contact":
        return clue
    doubted = (clue.rows < clue.rows.max() + _DOUBTED) & ~belief.model.hypotheses.unlisted
    return replace(clue, rows=np.where(doubted, -np.inf, clue.rows))
