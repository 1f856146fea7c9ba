"""Founders' strands told apart: by labels that two of them share as often as their pools say."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.ahead.birds import Numbers
    from matchmaker.flock.pedigree import Pedigree


@dataclass(slots=True)
class _Urn:
    """Labels drawn one after the other, any two of them alike with the chance ``base``."""

    base: float
    held: list[int] = field(default_factory=list)

    def draw(self, rng: np.random.Generator) -> int | None:
        """One of the labels drawn before, or ``None``: a new one, to be put in with ``add``."""
        before = len(self.held)
        if before == 0 or self.base <= 0:
            return None
        # new with chance θ / (θ + before), θ = (1 − base) / base
        if rng.random() * (1 - self.base + before * self.base) < 1 - self.base:
            return None
        return self.held[int(rng.integers(before))]

    def add(self, label: int) -> int:
        """Put a label in."""
        self.held.append(label)
        return label


def founder_labels(pedigree: Pedigree, pools: Iterable[int], rng: np.random.Generator) -> Numbers:
    """Labels, from 0 on, of gametes out of the pools of these numbers, one after the other.

    Notes
    -----
    Two gametes are to be identical with the chance that their pools' base says. An urn gives each
    gamete of a pool the label of one drawn before, or a new one with chance θ / (θ + n), n being
    the number drawn before and θ = (1 − b) / b; then any two are alike with chance b, in whatever
    order they were drawn (Hoppe 1984, J Math Biol 20:91; Ewens 1972, Theor Popul Biol 3:87; from
    memory). New labels of a pool come from the urn of its breed, whose b₀ is that of two pools of
    one breed, so that b = b₀ + (1 − b₀) b₁ within a pool has b₁ = (b − b₀) / (1 − b₀) for the
    pool's own urn. A label goes for the whole strand: kin of founders hold in expectation, but one
    pair of strands is alike throughout or nowhere.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> none = dict(birds=(), sexes=(), sires=(), dams=())
    >>> one = Pedigree(pools=(Pool("sussex"),), bases=((0.0,),), **none)
    >>> founder_labels(one, [0, 0, 0], np.random.default_rng(1)).tolist()
    [0, 1, 2]
    >>> close = Pedigree(pools=(Pool("sussex"),), bases=((1.0,),), **none)
    >>> founder_labels(close, [0, 0, 0], np.random.default_rng(1)).tolist()
    [0, 0, 0]
    """
    of_breeds = {breed: _Urn(base) for breed, base in _breed_bases(pedigree).items()}
    of_pools = [
        _Urn(_beyond(pedigree.bases[at][at], of_breeds[pool.breed].base))
        for at, pool in enumerate(pedigree.pools)
    ]
    found: list[int] = []
    fresh = 0
    for at in pools:
        breed = of_breeds[pedigree.pools[at].breed]
        label = of_pools[at].draw(rng)
        if label is None:
            label = breed.draw(rng)
            if label is None:
                label, fresh = fresh, fresh + 1
            breed.add(label)
        found.append(of_pools[at].add(label))
    return np.array(found, dtype=np.int64)


def _breed_bases(pedigree: Pedigree) -> dict[str, float]:
    """Chance that gametes of two pools of a breed are identical; of its only pool, that in it."""
    found: dict[str, float] = {}
    for at, pool in enumerate(pedigree.pools):
        others = [
            pedigree.bases[at][other]
            for other, one in enumerate(pedigree.pools)
            if one.breed == pool.breed and other != at
        ]
        found[pool.breed] = min(others, default=pedigree.bases[at][at])
    return found


def _beyond(base: float, of_breed: float) -> float:
    """What the pool's own urn must add to the breed's for the pool's base."""
    return max(base - of_breed, 0.0) / (1 - of_breed) if of_breed < 1 else 0.0
