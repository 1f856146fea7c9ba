"""The terms of every hen × cock that no row of matings changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from matchmaker.pairs.grids import numbered
from matchmaker.pairs.value import chicks_raised

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.pairs.grids import Grid, Places
    from matchmaker.pairs.judge import Judge


class Terms(TypedDict):
    """The fields of a ``Pair`` that no row changes."""

    hen: str
    cock: str
    kinship: float
    recurrent_share: float
    gains: Mapping[str, float]
    merit: float
    chicks: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Figures:
    """The terms of all pairs at once, in the order of the judge's hens and cocks."""

    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    kinship: Grid
    recurrent_share: Grid
    gains: Mapping[str, Grid]
    merit: Grid
    chicks: Grid

    @classmethod
    def of(cls, judge: Judge) -> Figures:
        """The terms of all pairs that are judged."""
        study, prospects = judge.study, judge.study.prospects
        hens, cocks = ([bird.band for bird in side] for side in (judge.hens, judge.cocks))
        block = prospects.block(hens, cocks)
        share = study.recurrent_share
        own, other = (np.array([share[bird] for bird in side]) for side in (hens, cocks))
        return cls(
            hens=tuple(hens),
            cocks=tuple(cocks),
            kinship=judge.kinship,
            recurrent_share=(own[:, None] + other[None, :]) / 2,
            gains={
                aim.trait: prospects.gains[aim.trait][block] for aim in study.aims if aim.weight
            },
            merit=prospects.merit[block],
            chicks=chicks_raised(judge.hens, judge.cocks, study.flock.settings, judge.kinship),
        )

    def at(self, places: Places) -> Iterator[Terms]:
        """The terms of some pairs."""
        traits = tuple(self.gains)
        gains = [self.gains[trait][places].tolist() for trait in traits]
        by_pair = zip(*gains, strict=True) if gains else (() for _ in places[0])
        columns = zip(
            numbered(places),
            self.kinship[places].tolist(),
            self.recurrent_share[places].tolist(),
            by_pair,
            self.merit[places].tolist(),
            self.chicks[places].tolist(),
            strict=True,
        )
        for (hen, cock), kinship, share, gained, merit, chicks in columns:
            yield {
                "hen": self.hens[hen],
                "cock": self.cocks[cock],
                "kinship": kinship,
                "recurrent_share": share,
                "gains": dict(zip(traits, gained, strict=True)),
                "merit": merit,
                "chicks": chicks,
            }
