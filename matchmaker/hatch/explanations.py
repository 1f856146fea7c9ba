"""Why a hatch may look other than expected, each reason with its odds after the hatch."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.naming import genotype_names
from matchmaker.hatch.exact import likelihood
from matchmaker.hatch.expected import by_parents, expectation, genotypes_of_bird
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.hatch.expected import Classes, Expectation

    Array = NDArray[np.float64]

Weighted = tuple[str, Fraction]

KIND_PRIOR: Final = 0.02
"""Chance given beforehand to each kind of error, shared out among its cases (common practice, no
source: in most books one hatch in fifty or so has such an error)."""

MISREAD: Final = 0.05
"""If markers were misread, so many chicks of each class (common practice, no source)."""

SHARES: Final = (0.25, 0.5, 0.75, 1.0)
"""Of the chicks that may be another cock's, each part as likely."""

WORTH_TELLING: Final = 0.01
"""A kind of reason with less odds than this, all its cases together, is not told."""

NEGLIGIBLE: Final = 1e-4
"""Nor is a case with less."""

NEW: Final = 0.01
"""A genotype that the book gives a bird with less than this would be news."""


class Why(StrEnum):
    """What may lie behind a hatch that fits badly."""

    CHANCE = "chance"
    GENOTYPE = "genotype"
    OTHER_SIRE = "other sire"
    MISREAD = "misread"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """One reason: ``bird`` would have ``genotype``, or be the sire; ``odds`` of all reasons."""

    why: Why
    prior: float
    odds: float
    bird: str = ""
    genotype: str = ""


def explain_hatch(
    genotypes: Genotypes,
    classes: Classes,
    expected: Expectation,
    parents: tuple[Sequence[Weighted], Sequence[Weighted]],
    others: Sequence[str],
) -> tuple[Explanation, ...]:
    """Return the reasons that could have made this hatch, the likeliest first.

    ``parents`` are the possible sires and dams, ``others`` the cocks that may have come to the
    hens unseen. Bayes' theorem over the reasons listed: what is not among them gets no odds.
    """
    cases = list(_cases(genotypes, classes, expected, parents, others))
    total = sum(prior * chance for _, prior, chance in cases)
    if total <= 0:
        return ()
    found = [
        Explanation(
            why=one.why,
            prior=prior,
            odds=prior * chance / total,
            bird=one.bird,
            genotype=one.genotype,
        )
        for one, prior, chance in cases
    ]
    kinds = {why: sum(one.odds for one in found if one.why is why) for why in Why}
    telling = (one for one in found if kinds[one.why] >= WORTH_TELLING and one.odds >= NEGLIGIBLE)
    return tuple(sorted(telling, key=lambda one: (-one.odds, one.why, one.bird, one.genotype)))


@dataclass(frozen=True, slots=True)
class _Case:
    why: Why
    bird: str = ""
    genotype: str = ""


_Weighed = tuple[_Case, float, float]
"""A reason, its chance beforehand, and the chance of the hatch if it holds."""


def _cases(
    genotypes: Genotypes,
    classes: Classes,
    expected: Expectation,
    parents: tuple[Sequence[Weighted], Sequence[Weighted]],
    others: Sequence[str],
) -> Iterator[_Weighed]:
    counts = classes.counts
    by_chance = likelihood(counts, expected.chances.tolist(), expected.weights.tolist())
    yield _Case(Why.CHANCE), 1 - 3 * KIND_PRIOR, by_chance
    blurred = _blurred(expected.chances, 2 if classes.sexed else 1)
    misread = likelihood(counts, blurred.tolist(), expected.weights.tolist())
    yield _Case(Why.MISREAD), KIND_PRIOR, misread
    news = list(_genotypes_unthought_of(genotypes, parents))
    for bird, sex, at in news:
        chance = _if_genotype(genotypes, classes, parents, (bird, sex, at))
        name = genotype_names(classes.locus)[_name_at(classes, sex, at)]
        yield _Case(Why.GENOTYPE, bird, name), KIND_PRIOR / len(news), chance
    for cock in others:
        chance = _if_other_sire(genotypes, classes, expected, parents, cock)
        yield _Case(Why.OTHER_SIRE, cock), KIND_PRIOR / len(others), chance


def _blurred(chances: Array, sexes: int) -> Array:
    """Each chick written into another class of its sex with ``MISREAD``, the classes alike."""
    own = chances.reshape(len(chances), sexes, -1)
    looks = own.shape[2]
    if looks == 1:
        return chances
    others = own.sum(axis=2, keepdims=True) - own
    mixed: Array = (1 - MISREAD) * own + MISREAD * others / (looks - 1)
    return mixed.reshape(chances.shape)


def _genotypes_unthought_of(
    genotypes: Genotypes, parents: tuple[Sequence[Weighted], Sequence[Weighted]]
) -> Iterator[tuple[str, Sex, int]]:
    for side, sex in zip(parents, (Sex.COCK, Sex.HEN), strict=True):
        for bird, _ in side:
            row = genotypes_of_bird(genotypes, bird, sex)
            yield from ((bird, sex, int(at)) for at in np.flatnonzero(row < NEW))


def _name_at(classes: Classes, sex: Sex, at: int) -> int:
    """Place of a genotype among the names, which go on with a hen's on the Z."""
    on_z = classes.locus.z_linked and sex is Sex.HEN
    return at + (len(classes.locus.inheritance.genotypes(Sex.COCK)) if on_z else 0)


def _if_genotype(
    genotypes: Genotypes,
    classes: Classes,
    parents: tuple[Sequence[Weighted], Sequence[Weighted]],
    supposed: tuple[str, Sex, int],
) -> float:
    """Chance of the hatch if one parent has this genotype and the others are as in the book."""
    table, (bird, sex, at) = by_parents(classes), supposed
    rows = [
        [
            np.eye(table.shape[side])[at]
            if (band, which) == (bird, sex)
            else genotypes_of_bird(genotypes, band, which)
            for band, _ in parents[side]
        ]
        for side, which in enumerate((Sex.COCK, Sex.HEN))
    ]
    return _likelihood_of(classes, parents, rows)


def _likelihood_of(
    classes: Classes,
    parents: tuple[Sequence[Weighted], Sequence[Weighted]],
    rows: list[list[Array]],
) -> float:
    """Chance of the hatch with each parent's genotypes as given, parents independent."""
    table = by_parents(classes)
    sire = _means(rows[0], [w for _, w in parents[0]])
    dam = _means(rows[1], [w for _, w in parents[1]])
    chances, shares = [], []
    for his, his_share in sire:
        for hers, her_share in dam:
            row = np.einsum("s,d,sdc->c", his, hers, table)
            if row.sum() > 0:
                chances.append((row / row.sum()).tolist())
                shares.append(his_share * her_share)
    total = sum(shares)
    return likelihood(classes.counts, chances, [s / total for s in shares]) if total else 0.0


def _means(rows: list[Array], weights: list[Fraction]) -> list[tuple[Array, float]]:
    """What one side may be: the only parent genotype by genotype, several by their mean."""
    if len(rows) == 1:
        (row,) = rows
        return [(np.eye(len(row))[at], float(row[at])) for at in np.flatnonzero(row)]
    mean = np.array([float(w) for w in weights]) @ np.array(rows)
    return [(mean, 1.0)]


def _if_other_sire(
    genotypes: Genotypes,
    classes: Classes,
    expected: Expectation,
    parents: tuple[Sequence[Weighted], Sequence[Weighted]],
    cock: str,
) -> float:
    """Chance of the hatch if a part of the chicks, nobody knows how large, is another cock's."""
    his = expectation(genotypes, classes, [(cock, Fraction(1))], parents[1])
    own, other = np.array(expected.mean), np.array(his.mean)
    chances = [((1 - share) * own + share * other).tolist() for share in SHARES]
    return likelihood(classes.counts, chances, [1 / len(SHARES)] * len(SHARES))
