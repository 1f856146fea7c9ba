"""Pedigrees for the tests of kinship: clutches, unknown sexes, large flocks of two arrays."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of_parents

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Ancestry

COCK_OF = 80
"""Chicks of a season for each of its cocks."""


def with_clutches(pedigree: Pedigree, seed: int, share: float = 0.4) -> Pedigree:
    """Make a part of the birds clutch mates of the bird before them, and hide a few sexes."""
    rng = random.Random(seed)  # noqa: S311
    sires, dams = list(pedigree.sires), list(pedigree.dams)
    clutches: list[int | None] = [None] * len(sires)
    for at in range(1, len(sires)):
        if rng.random() < share:
            clutches[at] = clutches[at - 1] = at if clutches[at - 1] is None else clutches[at - 1]
            sires[at], dams[at] = sires[at - 1], dams[at - 1]
    return replace(pedigree, sires=tuple(sires), dams=tuple(dams), clutches=tuple(clutches))


def with_unknown_sexes(pedigree: Pedigree) -> Pedigree:
    """Hide the sex of the last two birds."""
    return replace(pedigree, sexes=(*pedigree.sexes[:-2], None, None))


@dataclass(frozen=True)
class Flock:
    """A large certain pedigree: numbers of parents (−1: founder) and sexes (1 cock, 2 hen)."""

    sires: NDArray[np.int64]
    dams: NDArray[np.int64]
    sexes: NDArray[np.int64]
    season_of: NDArray[np.int64]

    @property
    def ancestry(self) -> Ancestry:
        return ancestry_of_parents(self.sires, self.dams, sexes=self.sexes)

    def of_last_seasons(self, count: int, seed: int) -> NDArray[np.int64]:
        """Return ``count`` birds of the last two seasons, at random."""
        late = np.flatnonzero(self.season_of >= self.season_of.max() - 1)
        rng = np.random.default_rng(seed)
        return np.sort(rng.choice(late, min(count, len(late)), replace=False))


def simulated_flock(birds: int, *, seasons: int = 25, hens_per_cock: int = 8, seed: int) -> Flock:
    """A flock over ``seasons``: cocks breed for one or two springs, hens for one to three.

    Each spring a cock serves for every 80 chicks (at least two), with eight hens; chicks fall to
    the hens at random. A season has at least 20 chicks: a small flock has fewer seasons.
    """
    seasons = min(seasons, max(1, birds // 20))
    rng = np.random.default_rng(seed)
    season_of = np.arange(birds) * seasons // birds
    sexes = rng.integers(1, 3, birds)
    sires, dams = np.full(birds, -1), np.full(birds, -1)
    cocks = max(2, birds // seasons // COCK_OF)
    hens = cocks * hens_per_cock
    chosen: dict[int, list[NDArray[np.int64]]] = {1: [], 2: []}
    for season in range(seasons):
        born = np.flatnonzero(season_of == season)
        if season:
            hen = rng.permutation(np.concatenate(chosen[2][-3:]))[:hens]
            cock = rng.permutation(np.concatenate(chosen[1][-2:]))[:cocks]
            nest = rng.integers(0, len(hen), len(born))
            dams[born], sires[born] = hen[nest], cock[nest % len(cock)]
        for sex, count in ((1, cocks), (2, hens)):
            chosen[sex].append(rng.permutation(born[sexes[born] == sex])[:count])
    return Flock(sires, dams, sexes, season_of)
