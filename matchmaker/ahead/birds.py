"""Birds as they truly are in one replicate: strands, alleles and breeding values, in arrays.

Strand 0 of a bird comes from its sire, strand 1 from its dam. A hen has one Z, that of her sire, so
on the Z her strand 1 stands for nothing: no allele is there (``NO_ALLELE``), and she passes on
strand 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.drop.reading import breed_mixed, inbreeding, recurrent_share

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Grid
    from matchmaker.genetics.loci.inheritance import Inheritance

    Matrix = NDArray[np.float64]
    Bits = NDArray[np.uint64]
    Alleles = NDArray[np.int8]
    Flags = NDArray[np.bool_]
    Numbers = NDArray[np.int64]

NO_ALLELE: Final = -1
"""What stands in place of an allele on a hen's missing second Z."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Birds:
    """Birds of one replicate, one after the other along the first axis of every array.

    ``hens`` (shape (birds,)) says who is a hen, ``bits`` (birds, 2, planes, words) are the strands
    in the form of ``genetics/drop``, ``alleles`` (birds, 2, loci) the number of the allele that
    each strand carries (its place in ``Locus.alleles``; ``NO_ALLELE`` on a hen's missing Z).
    ``values`` (birds, traits) are true breeding values and ``lasting`` (birds, traits) what else
    lasts in a bird, both in the traits' units as departures from the average.
    """

    hens: Flags
    bits: Bits
    alleles: Alleles
    values: Matrix
    lasting: Matrix

    def __len__(self) -> int:
        return len(self.hens)

    def take(self, at: Numbers | Flags) -> Birds:
        """Some of the birds, by their numbers or by a mark for each."""
        return Birds(
            hens=self.hens[at],
            bits=self.bits[at],
            alleles=self.alleles[at],
            values=self.values[at],
            lasting=self.lasting[at],
        )

    def joined(self, other: Birds) -> Birds:
        """These birds and after them the others, of the same replicate."""
        return Birds(
            hens=np.concatenate((self.hens, other.hens)),
            bits=np.concatenate((self.bits, other.bits)),
            alleles=np.concatenate((self.alleles, other.alleles)),
            values=np.concatenate((self.values, other.values)),
            lasting=np.concatenate((self.lasting, other.lasting)),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nature:
    """What all birds of one replicate have in common.

    ``loci`` are the symbols of the loci, in the order of their places ``grid.placed_at``, and
    ``inheritances`` how each passes on. ``traits`` are names in the order of the forecast. All else
    is in the traits' units: ``genetic`` (traits, traits) the (co)variances of breeding values of
    unrelated birds, ``lasting_sd`` and ``residual_sd`` (traits,) of what lasts in a bird and of
    what changes from score to score; ``pure_level``, ``share_slope``, ``vigour`` and ``depression``
    (traits,) what ``TraitForecast`` means by them, as they truly are in this replicate.
    """

    grid: Grid
    loci: tuple[str, ...]
    inheritances: tuple[Inheritance, ...]
    traits: tuple[str, ...]
    genetic: Matrix
    lasting_sd: Matrix
    residual_sd: Matrix
    pure_level: Matrix
    share_slope: Matrix
    vigour: Matrix
    depression: Matrix

    @property
    def genetic_sd(self) -> Matrix:
        """Standard deviations of breeding values of unrelated birds, shape (traits,)."""
        return np.asarray(np.sqrt(self.genetic.diagonal()))

    @property
    def z_linked(self) -> Flags:
        """Which of the loci are on the Z, shape (loci,)."""
        return np.array([locus.z_linked for locus in self.inheritances], dtype=np.bool_)

    def copies(self, birds: Birds) -> NDArray[np.int8]:
        """Copies of the named allele of every locus, shape (birds, loci)."""
        named = np.array([locus.named for locus in self.inheritances], dtype=np.int8)
        found: NDArray[np.int8] = (birds.alleles == named).sum(axis=1, dtype=np.int8)
        return found

    def can_live(self, birds: Birds) -> Flags:
        """Whether each bird can live to be banded: no dose of a locus that dies before."""
        copies, living = self.copies(birds), np.ones(len(birds), dtype=np.bool_)
        for at, locus in enumerate(self.inheritances):
            doses = copies[:, at] * np.where(birds.hens & locus.z_linked, 2, 1)
            living &= ~np.isin(doses, locus.dies)
        return living

    def levels(self, birds: Birds) -> Matrix:
        """Where each bird is in truth, without chance of single scores, shape (birds, traits).

        Share of the recurrent breed, crossing and inbreeding are those of the bird's own strands,
        not those expected from its pedigree.
        """
        share, mixed, inbred = (
            read(self.grid, birds.bits)[:, None]
            for read in (recurrent_share, breed_mixed, inbreeding)
        )
        breed = self.share_slope * (share - 1) + self.vigour * mixed + self.depression * inbred
        found: Matrix = self.pure_level + breed + birds.values + birds.lasting
        return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Truth:
    """The living birds of today as they may truly be, in order of their bands."""

    bands: tuple[str, ...]
    birds: Birds
    nature: Nature
