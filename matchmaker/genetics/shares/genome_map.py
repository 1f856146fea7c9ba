"""The genetic map of the fowl: how long each chromosome is, and what share of pairs lies how near.

Only the total, 3,054 centimorgans over 31 linkage groups and both sexes, is a figure that was
read (Elferink et al. 2010, BMC Genetics 11:11, abstract); the lengths of single chromosomes are
from memory, scaled to it, and the table says so. Crossovers are taken not to hinder each other
(Haldane 1919, J Genet 8:299): loci u Morgans apart recombine with (1 − e⁻²ᵘ) / 2.

Two loci are described by λ = e⁻²ᵘ, one minus twice their recombination: 1 for the same place, 0
for different chromosomes.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Vector = NDArray[np.float64]

Z = "Z"
MORGAN = 100.0
"""Centimorgans in a Morgan."""

FINE = 160
"""Points of the fine grid on each stretch, from which the few points of a rule are made."""

EXHAUSTED = 1e-14
"""Below this a measure has no more points than those found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GenomeMap:
    """Lengths of the chromosomes in centimorgans, by name; the sex chromosome is ``Z``."""

    lengths: Mapping[str, float]

    @property
    def autosomes(self) -> tuple[float, ...]:
        """Lengths of all chromosomes but the Z, in Morgans."""
        return tuple(cm / MORGAN for name, cm in self.lengths.items() if name != Z)

    def arms(self, chromosome: str) -> tuple[float, float] | None:
        """Distances in cM from the middle of a chromosome to its ends; None if it is unknown."""
        if chromosome not in self.lengths:
            return None
        return (self.lengths[chromosome] / 2, self.lengths[chromosome] / 2)


@cache
def chicken_map() -> GenomeMap:
    """Return the shipped map of the fowl.

    Examples
    --------
    >>> lengths = chicken_map().lengths
    >>> len(lengths), sum(lengths.values())
    (31, 3054.0)
    """
    package = resources.files("matchmaker.genetics.shares")
    text = package.joinpath("chicken_map.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return GenomeMap(lengths={row["chromosome"]: float(row["centimorgans"]) for row in rows})


@dataclass(frozen=True, slots=True, eq=False)
class PairRule:
    """A few values of λ with weights summing to one, which stand for all pairs of places.

    The weighted mean of a polynomial in λ over these values is its mean over all the pairs.
    """

    nearness: Vector
    weights: Vector

    def mean(self, values: Vector) -> Vector:
        """Weighted mean over the last axis of ``values``, shape (…, points)."""
        found: Vector = values @ self.weights
        return found


def genome_pairs(lengths: Sequence[float], degree: int) -> PairRule:
    """Return the rule for two places drawn anywhere, exact for polynomials in λ up to ``degree``.

    ``lengths`` are those of the chromosomes in Morgans. On a chromosome of length l the places
    lie u apart with density 2 (l − u); places on different chromosomes have λ = 0.

    Examples
    --------
    Mean λ on one chromosome of 1 Morgan is (2 − 1 + e⁻²) / 2:

    >>> rule = genome_pairs([1.0], 1)
    >>> round(float(rule.mean(rule.nearness)), 6)
    0.567668
    """
    total = sum(lengths)
    stretches = [_stretch(length) for length in lengths]
    near = [
        2 * (length - u) * w / total**2 for length, (u, w) in zip(lengths, stretches, strict=True)
    ]
    apart = 1.0 - sum(length**2 for length in lengths) / total**2
    return _condensed([u for u, _ in stretches], near, max(apart, 0.0), degree)


def pairs_with_place(arms: tuple[float, float], total: float, degree: int) -> PairRule:
    """Return the rule for one given place and another drawn anywhere in the genome.

    ``arms`` are the distances of the place to the ends of its chromosome, ``total`` the length of
    the genome, all in Morgans.

    Examples
    --------
    Half the genome lies on the same chromosome, with mean λ of (1 − e⁻¹):

    >>> rule = pairs_with_place((0.5, 0.5), 2.0, 1)
    >>> round(float(rule.mean(rule.nearness)), 6)
    0.31606
    """
    stretches = [_stretch(arm) for arm in arms if arm > 0]
    near = [w / total for _, w in stretches]
    return _condensed([u for u, _ in stretches], near, 1.0 - sum(arms) / total, degree)


@cache
def _legendre() -> tuple[Vector, Vector]:
    return np.polynomial.legendre.leggauss(FINE)


def _stretch(length: float) -> tuple[Vector, Vector]:
    """Gauss–Legendre points and weights between 0 and ``length``."""
    points, weights = _legendre()
    return length * (points + 1) / 2, length * weights / 2


def _condensed(
    places: Sequence[Vector], weights: Sequence[Vector], apart: float, degree: int
) -> PairRule:
    points = np.concatenate([*(np.exp(-2 * u) for u in places), np.zeros(1)])
    whole = np.concatenate([*weights, np.array([apart])])
    return PairRule(*_gauss(points, whole, degree // 2 + 1))


def _gauss(points: Vector, weights: Vector, count: int) -> tuple[Vector, Vector]:
    """Gauss rule of ``count`` points for a discrete measure (Lanczos; Golub & Welsch 1969)."""
    total = float(weights.sum())
    basis = [np.sqrt(weights / total)]
    middles, steps = [], []
    while True:
        step = points * basis[-1]
        middles.append(float(basis[-1] @ step))
        for _ in range(2):  # once more against rounding
            step = step - sum((known @ step) * known for known in basis)
        size = float(np.linalg.norm(step))
        if len(middles) == count or size < EXHAUSTED:
            break
        steps.append(size)
        basis.append(step / size)
    nodes, vectors = np.linalg.eigh(np.diag(middles) + np.diag(steps, 1) + np.diag(steps, -1))
    return nodes, total * vectors[0] ** 2
