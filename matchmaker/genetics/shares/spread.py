"""How far a share can be trusted: the spread of birds of one pedigree around their expectation.

Chicks of one backcross do not all have 75 per cent of the recurrent breed: chromosomes pass on in
large pieces. The standard deviations here are exact for the pedigree and the map (any loops, any
uncertain parents); the chicken's map is only roughly known, see ``genome_map``. They cover the
autosomes; the Z, about a fifteenth of the genome, is told apart, because a hen has one and hands
it on whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.shares.genome_map import (
    MORGAN,
    Z,
    chicken_map,
    genome_pairs,
    pairs_with_place,
)
from matchmaker.genetics.shares.two_locus import both_from_breed, trace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.shares.genome_map import GenomeMap
    from matchmaker.genetics.shares.two_locus import Descent

DEGREE_MAX = 31
"""Generations followed exactly; beyond, a rule of 16 points is exact to rounding all the same."""

Z_95 = 1.959963984540054
"""Standard deviations on each side of the mean within which 95 % of a normal variable lies."""


@dataclass(frozen=True, slots=True)
class ShareRange:
    """An expected share, 0 to 1, and the standard deviation of the true ones around it."""

    share: float
    deviation: float

    @property
    def low(self) -> float:
        """Lower end of the range of 95 in 100 such birds (normal approximation, cut at 0)."""
        return max(0.0, self.share - Z_95 * self.deviation)

    @property
    def high(self) -> float:
        """Upper end of the range of 95 in 100 such birds (normal approximation, cut at 1)."""
        return min(1.0, self.share + Z_95 * self.deviation)


def share_spread(
    pedigree: Pedigree, breed: str, birds: Sequence[str], genome: GenomeMap | None = None
) -> dict[str, float]:
    """Return the standard deviation of each bird's share of a breed, 0 to ½, over the autosomes.

    Notes
    -----
    The share is the mean over all places of the genome, so its variance is the mean, over all
    pairs of places, of their covariance. For one backcross chain Hill 1993, J Hered 84:212; here
    from the recursion of ``two_locus``, for any pedigree. No selection is taken into account.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> found = share_spread(cross, "sussex", ["F1", "BC1"])
    >>> found["F1"], round(found["BC1"], 3)
    (0.0, 0.037)
    """
    ranges = share_ranges(pedigree, breed, birds, genome)
    return {bird: found.deviation for bird, found in ranges.items()}


def share_ranges(
    pedigree: Pedigree, breed: str, birds: Sequence[str], genome: GenomeMap | None = None
) -> dict[str, ShareRange]:
    """Return expected share and spread of a breed in the autosomes of each bird.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pure = pedigree_of("R ? sussex sussex")
    >>> share_ranges(pure, "sussex", ["R"])
    {'R': ShareRange(share=1.0, deviation=0.0)}
    """
    lengths = (genome or chicken_map()).autosomes
    return _ranges(_descent(pedigree, breed, birds), birds, lengths)


def z_share_ranges(
    pedigree: Pedigree, breed: str, birds: Sequence[str], genome: GenomeMap | None = None
) -> dict[str, ShareRange]:
    """Return expected share and spread of a breed in the Z, of which a cock has two, a hen one.

    Examples
    --------
    A recurrent hen gives her daughters no Z: those by a donor cock have his alone.

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D cock araucana araucana",
    ...     "R hen sussex sussex",
    ...     "F1 hen D R",
    ... )
    >>> z_share_ranges(cross, "sussex", ["F1"])["F1"].share
    0.0
    """
    length = (genome or chicken_map()).lengths[Z] / MORGAN
    return _ranges(_descent(pedigree, breed, birds, on_z=True), birds, (length,))


def carrier_shares(
    pedigree: Pedigree,
    recurrent: str,
    birds: Sequence[str],
    arms: tuple[float, float],
    genome: GenomeMap | None = None,
) -> dict[str, float]:
    """Return the expected recurrent share of each bird if it carries the donor's gene, 0 to 1.

    A carrier keeps more of the donor than its pedigree says, since a piece around the gene comes
    with it. ``arms`` are the distances in cM from an autosomal gene to the ends of its chromosome.
    Carrying means that an allele drawn at the gene's place is not of the recurrent breed. A bird
    that cannot carry has its plain share.

    Notes
    -----
    Mean over all other places of P(donor here and there) / P(donor here), from ``two_locus``.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> round(carrier_shares(cross, "sussex", ["BC1"], (50.0, 50.0))["BC1"], 4)
    0.7445
    """
    pure = [pool.breed != recurrent for pool in pedigree.pools]
    descent = trace(pedigree, pure, birds, on_z=False)
    total = sum((genome or chicken_map()).autosomes)
    rule = pairs_with_place((arms[0] / MORGAN, arms[1] / MORGAN), total, _degree(descent))
    both = rule.mean(both_from_breed(descent, birds, rule.nearness))
    node_of = pedigree.node_of()
    donor = descent.shares[[node_of[bird] for bird in birds]]
    kept = np.divide(both, donor, out=np.zeros_like(both), where=donor > 0)
    return {bird: 1.0 - float(share) for bird, share in zip(birds, kept, strict=True)}


def _descent(
    pedigree: Pedigree, breed: str, birds: Sequence[str], *, on_z: bool = False
) -> Descent:
    return trace(pedigree, [pool.breed == breed for pool in pedigree.pools], birds, on_z=on_z)


def _degree(descent: Descent) -> int:
    return min(descent.generations, DEGREE_MAX)


def _ranges(
    descent: Descent, birds: Sequence[str], lengths: tuple[float, ...]
) -> dict[str, ShareRange]:
    rule = genome_pairs(lengths, _degree(descent))
    node_of = descent.pedigree.node_of()
    shares = descent.shares[[node_of[bird] for bird in birds]]
    both = both_from_breed(descent, birds, rule.nearness)
    variances = np.maximum(rule.mean(both - shares[:, None] ** 2), 0.0)
    return {
        bird: ShareRange(float(share), float(variance) ** 0.5)
        for bird, share, variance in zip(birds, shares, variances, strict=True)
    }
