"""Rows of the integer program for limits on the plan as a whole."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.plan.arithmetic.bounds import high

if TYPE_CHECKING:
    from matchmaker.plan.program.model import Model


def add_limits(model: Model) -> None:
    """Add the rows of every limit that is set."""
    limits = model.problem.limits
    if limits.pairs is not None:
        model.exactly({model.total: 1.0}, limits.pairs)
    if limits.mean_inbreeding_max is not None:
        _add_mean_inbreeding(model, limits.mean_inbreeding_max)
    if limits.sire_share_max is not None:
        _add_sire_share(model, limits.sire_share_max)
    if limits.chicks_max is not None:
        _add_chicks(model, limits.chicks_max)
    if limits.eggs_max is not None:
        _add_eggs(model, limits.eggs_max)


def _add_mean_inbreeding(model: Model, most: float) -> None:
    """What pairs are above the limit is made good by what others are below it."""
    above = {
        column: one.kinship - most
        for column, one in zip(model.x, model.layout.candidates, strict=True)
    }
    model.at_most(above, high(0.0))


def _add_sire_share(model: Model, share: float) -> None:
    """Each cock's pairs are at most his share of all; a whole number where that of all is given."""
    pairs = model.problem.limits.pairs
    for places in model.by_cock.values():
        model.at_most(model.taken(places) | {model.total: -share}, high(0.0))
        if pairs is not None:
            model.at_most(model.taken(places), math.floor(share * pairs + tolerance.INTEGRALITY))


def _add_chicks(model: Model, most: float) -> None:
    candidates = model.layout.candidates
    chicks = {x: one.chicks for x, one in zip(model.x, candidates, strict=True) if one.chicks}
    model.at_most(chicks, high(most))


def _add_eggs(model: Model, most: float) -> None:
    """Eggs of turns that overlap may be set in one week."""
    candidates = model.layout.candidates
    for places in model.layout.at_once(range(len(candidates))):
        eggs = {model.x[at]: candidates[at].eggs for at in places if candidates[at].eggs}
        model.at_most(eggs, high(most))
