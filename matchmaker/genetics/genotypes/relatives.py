"""Who is whose kin, as evidence about a bird is sorted by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import LIKELY
from matchmaker.genetics.genotypes.observed import ChickCount, birds_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence


class Kin(StrEnum):
    """Whose records a step adds, seen from the bird, nearest first."""

    OWN = "own"
    PARENT = "parent"
    ANCESTOR = "ancestor"
    CHICK = "chick"
    MATE = "mate"
    SIB = "sib"
    DESCENDANT = "descendant"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Relatives:
    """The bands of a bird's kin by what they are to it."""

    bird: str
    parents: frozenset[str]
    ancestors: frozenset[str]
    chicks: frozenset[str]
    mates: frozenset[str]
    sibs: frozenset[str]
    descendants: frozenset[str]

    @classmethod
    def of(cls, pedigree: Pedigree, bird: str, told: Iterable[Evidence] = ()) -> Relatives:
        """Sort out a bird's kin: who is at all likely to be a parent or chick counts as one.

        A bird named with it in a count of chicks (in ``told``) is a mate too.

        Examples
        --------
        >>> from matchmaker.flock.pedigree import pedigree_of
        >>> family = pedigree_of(
        ...     "A ? sussex sussex",
        ...     "B ? sussex sussex",
        ...     "C ? A B",
        ... )
        >>> own = Relatives.of(family, "A")
        >>> sorted(own.chicks), sorted(own.mates)
        (['C'], ['B'])
        """
        parents_of = {
            band: _bands(pedigree, pedigree.sires[at]) | _bands(pedigree, pedigree.dams[at])
            for at, band in enumerate(pedigree.birds)
        }
        own = parents_of[bird]
        named = [
            set(birds_of(one))
            for one in told
            if isinstance(one, ChickCount) and bird in birds_of(one)
        ]
        chicks = frozenset(band for band, parents in parents_of.items() if bird in parents)
        descendants: set[str] = set(chicks)
        for band, parents in parents_of.items():
            if parents & descendants:
                descendants.add(band)
        ancestors: set[str] = set(own)
        for band in reversed(pedigree.birds):
            if band in ancestors:
                ancestors |= parents_of[band]
        return cls(
            bird=bird,
            parents=own,
            ancestors=frozenset(ancestors) - own,
            chicks=chicks,
            mates=frozenset().union(*(parents_of[chick] for chick in chicks), *named) - {bird},
            sibs=frozenset(band for band, parents in parents_of.items() if parents & own) - {bird},
            descendants=frozenset(descendants) - chicks,
        )

    def kin_of(self, evidence: Evidence) -> Kin:
        """Whose record it is; a count of chicks is a record of those chicks."""
        if isinstance(evidence, ChickCount):
            return self._kin_of_chicks(set(birds_of(evidence)))
        kinds = (
            (Kin.OWN, frozenset({self.bird})),
            (Kin.PARENT, self.parents),
            (Kin.ANCESTOR, self.ancestors),
            (Kin.CHICK, self.chicks),
            (Kin.MATE, self.mates),
            (Kin.SIB, self.sibs),
            (Kin.DESCENDANT, self.descendants),
        )
        return next((kin for kin, bands in kinds if evidence.bird in bands), Kin.OTHER)

    def _kin_of_chicks(self, parents: set[str]) -> Kin:
        if self.bird in parents:
            return Kin.CHICK
        if parents & self.parents:
            return Kin.SIB
        return Kin.DESCENDANT if parents & (self.chicks | self.descendants) else Kin.OTHER


def _bands(pedigree: Pedigree, links: Links) -> frozenset[str]:
    return frozenset(band for band, _ in pedigree.birds_among(links, LIKELY))
