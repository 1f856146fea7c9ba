"""The piece of the donor's chromosome that comes along with its allele, by the crosses behind it.

Every meiosis in a carrier whose other chromosome is of the recurrent breed can cut the piece; one
in a bird that is of the donor's breed on both does not, nor does a hen's when the gene sits on
her only Z. What counts is therefore the number of such meioses on the allele's own way down. In a
carrier crossed with a carrier the two pieces are taken to be of one length, so that a crossover
between them cuts nothing; the true piece is then somewhat shorter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.shares.allele_descent import carriers
from matchmaker.genetics.shares.genome_map import MORGAN, Z, chicken_map

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.shares.genome_map import GenomeMap

ARM_UNKNOWN = 50.0
"""Centimorgans to each end of the chromosome where nobody knows on which the gene sits: the
middle of a chromosome of 1 Morgan, a usual teaching example and near the chicken's mean."""


@dataclass(frozen=True, slots=True)
class GenePlace:
    """Where a gene is taken to sit: its chromosome ("" if unknown), and cM to both ends of it.

    Positions are not known to the catalogue: the middle is assumed, where a piece is longest.
    """

    chromosome: str
    arms: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class DonorSegment:
    """The donor's piece around its allele in a bird that carries it.

    ``meioses[t]`` is the chance that t meioses could have cut the piece. ``carrying`` is the
    chance that the bird carries the allele at all, by pedigree and what is known of copies.
    """

    place: GenePlace
    meioses: tuple[float, ...]
    carrying: float

    @property
    def mean_meioses(self) -> float:
        """Expected number of meioses that could have cut the piece."""
        return sum(count * chance for count, chance in enumerate(self.meioses))

    @property
    def sides(self) -> tuple[float, float]:
        """Expected length on each side of the gene, in cM."""
        first, second = (
            sum(chance * side_length(count, arm) for count, chance in enumerate(self.meioses))
            for arm in self.place.arms
        )
        return first, second

    @property
    def length(self) -> float:
        """Expected length of the whole piece, in cM."""
        return sum(self.sides)


def side_length(meioses: int, arm: float) -> float:
    """Expected length in cM of the donor's piece on one side of a gene, ``arm`` cM from the end.

    Notes
    -----
    (1 − e⁻ᵗˣ) / t Morgans after t meioses, x Morgans from the end (Stam & Zeven 1981, Euphytica
    30:227; the formula as in Naveira & Barbadilla 1992, Genetics 130:205, papers read as
    abstracts only). Crossovers do not hinder each other.

    Examples
    --------
    >>> round(2 * side_length(6, 50.0), 2), side_length(0, 50.0)
    (31.67, 50.0)
    """
    if meioses == 0:
        return arm
    return float(-np.expm1(-meioses * arm / MORGAN)) * MORGAN / meioses


def place_of(locus: Locus, genome: GenomeMap | None = None) -> GenePlace:
    """Return the middle of the locus's chromosome, or of one of 1 Morgan if it is not known.

    Examples
    --------
    >>> from matchmaker.genetics.loci.locus import Locus
    >>> place_of(Locus(symbol="S", name="Silver", z_linked=True))
    GenePlace(chromosome='Z', arms=(100.0, 100.0))
    """
    chromosome = Z if locus.z_linked else locus.chromosome
    arms = (genome or chicken_map()).arms(chromosome)
    return GenePlace(chromosome, arms) if arms else GenePlace("", (ARM_UNKNOWN, ARM_UNKNOWN))


def donor_segments(
    pedigree: Pedigree,
    birds: Sequence[str],
    locus: Locus,
    recurrent: str,
    copies: Mapping[str, Sequence[float]] | None = None,
) -> dict[str, DonorSegment]:
    """Return the donor's piece around the locus in each of ``birds`` that can carry its allele.

    ``copies`` are the chances of 0, 1 and 2 copies of as many birds as one knows them of; the
    others go by the pedigree. Founders of any breed but the recurrent one bring the donor's
    allele with ``locus.founder_frequency``; one that the recurrent breed brought itself drags
    nothing along and is not followed.

    Examples
    --------
    A first cross has the donor's chromosome whole; its backcross comes out of one meiosis.

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.locus import Locus
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> found = donor_segments(cross, cross.birds, Locus(symbol="X", name="X"), "sussex")
    >>> {bird: (piece.mean_meioses, round(piece.length, 1)) for bird, piece in found.items()}
    {'D': (0.0, 100.0), 'F1': (0.0, 100.0), 'BC1': (1.0, 78.7)}
    """
    place = place_of(locus)
    found = carriers(pedigree, birds, locus, recurrent, copies or {})
    return {
        bird: DonorSegment(place=place, meioses=carrier.meioses(), carrying=carrier.carrying)
        for bird, carrier in found.items()
        if carrier.carrying > 0
    }


def donor_segment(
    pedigree: Pedigree,
    bird: str,
    locus: Locus,
    recurrent: str,
    copies: Mapping[str, Sequence[float]] | None = None,
) -> DonorSegment | None:
    """Return the donor's piece in one bird, see ``donor_segments``; None if it cannot carry.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.locus import Locus
    >>> pure = pedigree_of("R ? sussex sussex")
    >>> donor_segment(pure, "R", Locus(symbol="X", name="X"), "sussex") is None
    True
    """
    return donor_segments(pedigree, [bird], locus, recurrent, copies).get(bird)
