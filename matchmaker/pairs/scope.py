"""Which pairs are looked at at all, where only some are asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.pairs.chances import WantedChance
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.grids import Flags
    from matchmaker.pairs.judge import Judge


@dataclass(frozen=True, slots=True)
class Scope:
    """Which pairs are looked at: those in open rows alone, those that may be allowed alone."""

    open_only: bool
    allowed_only: bool


def hopeless_pairs(
    judge: Judge, crossings: Sequence[Crossing], wanted: Mapping[str, WantedChance]
) -> Flags:
    """Pairs that some rule surely rejects in every row, shape (hens, cocks); not all of those.

    They are too near under every limit there is, have a bird that is rejected whatever its mate, or
    wanted chicks in no row.
    """
    limits = judge.study.flock.settings.limits
    caps = (judge.study.flock.settings.line(row.chicks).kinship_max for row in crossings)
    highest = max((limits.kinship_max if cap is None else cap for cap in caps), default=0.0)
    hens, cocks = (
        np.array([bool(judge.of_birds[bird.band]) for bird in side], dtype=np.bool_)
        for side in (judge.hens, judge.cocks)
    )
    found = hens[:, None] | cocks[None, :]
    if any(row.tests is not None for row in crossings):
        return found
    some = np.zeros_like(found)
    for chance in wanted.values():
        some |= chance.told_sons + chance.told_daughters > limits.wanted_chance_min
    hopeless: Flags = found | ~some | (judge.kinship > highest + LIMIT)
    return hopeless
