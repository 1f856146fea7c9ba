"""How the alleles of one locus pass on: where it sits, how many there are, which doses die."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TypeAlias

from matchmaker.tables.records import Sex

Genotype: TypeAlias = tuple[int, ...]
"""Numbers of the alleles a bird has at one locus, ascending: two, or the one of a hen's Z."""


@dataclass(frozen=True, slots=True)
class Inheritance:
    """What decides how one locus passes on: where it sits, its alleles, and which doses die.

    ``named`` is the number of the allele whose copies are counted; ``dies`` are doses of it.
    """

    z_linked: bool
    dies: tuple[int, ...] = ()
    alleles: int = 2
    named: int = 1

    def genotypes(self, sex: Sex) -> tuple[Genotype, ...]:
        """Genotypes a bird of this sex can have; with two alleles, in the order of copies.

        Examples
        --------
        >>> Inheritance(z_linked=True).genotypes(Sex.COCK), Inheritance(True).genotypes(Sex.HEN)
        (((0, 0), (0, 1), (1, 1)), ((0,), (1,)))
        """
        ploidy = 1 if self.z_linked and sex is Sex.HEN else 2
        return tuple(combinations_with_replacement(range(self.alleles), ploidy))

    def copies(self, genotype: Genotype) -> int:
        """Copies of the named allele."""
        return genotype.count(self.named)

    def dose(self, copies: int, sex: Sex) -> int:
        """Copies as the body feels them; a hen's only allele on the Z counts double."""
        return 2 * copies if self.z_linked and sex is Sex.HEN else copies

    def lives(self, sex: Sex, genotype: Genotype) -> bool:
        """Whether a chick of this genotype can live to be banded."""
        return self.dose(self.copies(genotype), sex) not in self.dies
