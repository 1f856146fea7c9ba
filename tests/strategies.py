"""Random pedigrees for the laws of kinship and share: cocks and hens, some parents uncertain."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

BREEDS = (Pool("araucana"), Pool("sussex"), Pool("sussex", "Hill"))
UNRELATED = ((0.0,) * 3,) * 3
RELATED = ((0.02, 0.0, 0.0), (0.0, 0.05, 0.05), (0.0, 0.05, 0.125))
SHARES = (Fraction(1, 2), Fraction(1, 4), Fraction(3, 8))


@dataclass(frozen=True)
class Shape:
    """How large and how uncertain a pedigree is."""

    birds: int
    founders: int
    uncertain: float = 0.3
    bases: tuple[tuple[float, ...], ...] = UNRELATED


def pedigree_by_seed(seed: int, shape: Shape) -> Pedigree:
    """Return a pedigree; every probability is a small dyadic fraction, exact in floats."""
    rng = random.Random(seed)  # noqa: S311
    sexes = [(Sex.COCK, Sex.HEN)[at % 2] for at in range(shape.birds)]
    sides: list[list[Links]] = [[], []]
    for at in range(shape.birds):
        for side, sex in enumerate((Sex.COCK, Sex.HEN)):
            older = [len(BREEDS) + k for k in range(at) if sexes[k] is sex]
            founder = at < shape.founders or rng.random() < 0.1
            sides[side].append(_links(rng, range(len(BREEDS)) if founder else older, shape))
    return Pedigree(
        pools=BREEDS,
        bases=shape.bases,
        birds=tuple(f"B{at:02}" for at in range(shape.birds)),
        sexes=tuple(sexes),
        sires=tuple(sides[0]),
        dams=tuple(sides[1]),
    )


def _links(rng: random.Random, nodes: Sequence[int], shape: Shape) -> Links:
    if len(nodes) < 2 or rng.random() > shape.uncertain:
        return ((rng.choice(nodes), 1.0),)
    first, second = sorted(rng.sample(nodes, 2))
    share = float(rng.choice(SHARES))
    return ((first, share), (second, 1 - share))


def pedigrees(shape: Shape) -> st.SearchStrategy[Pedigree]:
    """Return random pedigrees of one shape; a seed is what shrinks."""
    return st.integers(0, 10**6).map(lambda seed: pedigree_by_seed(seed, shape))


def with_chick(pedigree: Pedigree, band: str, sire: int, dam: int) -> Pedigree:
    """Return the pedigree with one more bird, out of two of its nodes."""
    return replace(
        pedigree,
        birds=(*pedigree.birds, band),
        sexes=(*pedigree.sexes, None),
        sires=(*pedigree.sires, ((sire, 1.0),)),
        dams=(*pedigree.dams, ((dam, 1.0),)),
    )
