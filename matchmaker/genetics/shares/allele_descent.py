"""The way of the donor's allele down a pedigree, and the meioses on it that could cut its piece.

A meiosis counts where the other chromosome is the recurrent breed's at the gene's place. Whether a
bird's other strand has the allele too follows from its parents and from what is known of its own
copies, taken strand by strand: the two are treated as independent given the parents' copies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from matchmaker.genetics.shares.two_locus import trace
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.loci.locus import Locus

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Gamete:
    """What a bird has from one side: the allele with chance ``allele``, out of ``meioses``.

    ``blank`` is the chance that the place is of the donor's breed all the same if the allele is
    not there, by the pedigree alone.
    """

    allele: float
    blank: float
    meioses: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Carrier:
    """Copies of the donor's allele in a bird, by the meioses that could have cut their piece.

    ``carrying`` is the chance that it has any. ``came`` are the copies expected in it, ``given``
    those in one gamete of it, ``handed`` in sum; both by the number of meioses, from 0.
    """

    carrying: float
    came: Vector
    given: Vector
    handed: float

    def meioses(self) -> tuple[float, ...]:
        """Distribution of the meioses behind a copy that the bird has."""
        return tuple(np.trim_zeros(self.came / self.came.sum(), "b").tolist())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walk:
    """Passes the donor's allele down the pedigree, parents first.

    ``allele`` and ``donor`` are the chances by pedigree that a gamete of each node has the
    donor's allele, and that it has the donor's breed at the place.
    """

    pedigree: Pedigree
    order: tuple[int, ...]
    on_z: bool
    allele: Vector
    donor: Vector
    copies: Mapping[str, Sequence[float]]
    none: Vector
    here: dict[int, Carrier]

    def pass_on(self, node: int) -> None:
        """Work out a bird from its parents; at a Z-linked locus an unsexed one is half of each."""
        at = node - self.pedigree.first_bird
        sire, dam = self._received(self.pedigree.sires[at]), self._received(self.pedigree.dams[at])
        known = self.copies.get(self.pedigree.birds[at])
        sex = self.pedigree.sexes[at]
        hen_part = {Sex.COCK: 0.0, Sex.HEN: 1.0, None: 0.5}[sex] if self.on_z else 0.0
        parts = [(1.0 - hen_part, _with_two(sire, dam, known)), (hen_part, _with_one(sire, known))]
        self.here[node] = Carrier(
            carrying=sum(part * one.carrying for part, one in parts),
            came=sum((part * one.came for part, one in parts), self.none),
            given=sum((part * one.given for part, one in parts), self.none),
            handed=sum(part * one.handed for part, one in parts),
        )

    def _received(self, links: Links) -> _Gamete:
        allele, meioses = 0.0, self.none.copy()
        for node, chance in links:
            if node < self.pedigree.first_bird:
                handed = float(self.allele[node])
                meioses[0] += chance * handed
            else:
                handed = self.here[node].handed
                meioses += chance * self.here[node].given
            allele += chance * handed
        plain = sum(chance * float(self.allele[node]) for node, chance in links)
        donor = sum(chance * float(self.donor[node]) for node, chance in links)
        blank = (donor - plain) / (1.0 - plain) if plain < 1.0 else 1.0
        return _Gamete(allele, blank, meioses / allele if allele else meioses)


def carriers(
    pedigree: Pedigree,
    birds: Sequence[str],
    locus: Locus,
    recurrent: str,
    copies: Mapping[str, Sequence[float]],
) -> dict[str, Carrier]:
    """Follow the donor's allele down to ``birds``; see ``segment.donor_segments`` for the terms.

    Examples
    --------
    A backcross has the allele with ½, out of one meiosis of the first cross:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.locus import Locus
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> found = carriers(cross, ["BC1"], Locus(symbol="X", name="X"), "sussex", {})["BC1"]
    >>> found.carrying, found.meioses()
    (0.5, (0.0, 1.0))
    """
    walk = _walk(pedigree, birds, locus, recurrent, copies)
    for node in walk.order:
        walk.pass_on(node)
    node_of = pedigree.node_of()
    return {bird: walk.here[node_of[bird]] for bird in birds}


def _walk(
    pedigree: Pedigree,
    birds: Sequence[str],
    locus: Locus,
    recurrent: str,
    copies: Mapping[str, Sequence[float]],
) -> _Walk:
    foreign = [float(pool.breed.casefold() != recurrent.casefold()) for pool in pedigree.pools]
    brought = [
        part * locus.founder_frequency(pool.breed, recurrent)
        for part, pool in zip(foreign, pedigree.pools, strict=True)
    ]
    alleles = trace(pedigree, brought, birds, on_z=locus.z_linked)
    return _Walk(
        pedigree=pedigree,
        order=alleles.nodes,
        on_z=locus.z_linked,
        allele=alleles.shares,
        donor=trace(pedigree, foreign, birds, on_z=locus.z_linked).shares,
        copies=copies,
        none=np.zeros(alleles.generations + 1),
        here={},
    )


def _with_two(sire: _Gamete, dam: _Gamete, known: Sequence[float] | None) -> Carrier:
    """A bird with two strands: a gamete of it is cut if the other strand is the recurrent's."""
    one, two = _weights(sire, dam, known)
    came, given = np.zeros_like(sire.meioses), np.zeros_like(sire.meioses)
    for own, other in ((sire, dam), (dam, sire)):
        alone = own.allele * (1.0 - other.allele) * one
        here = (alone + own.allele * other.allele * two) * own.meioses
        cut = alone * (1.0 - other.blank) * own.meioses
        came += here
        given += here - cut
        given[1:] += cut[:-1]
    carrying = 1.0 - (1.0 - sire.allele) * (1.0 - dam.allele) if known is None else 1.0 - known[0]
    handed = float(came.sum()) / 2
    return Carrier(carrying if handed else 0.0, came, given / 2, handed)


def _with_one(sire: _Gamete, known: Sequence[float] | None) -> Carrier:
    """A hen with her sire's Z, which she hands on whole."""
    carrying = sire.allele if known is None or not sire.allele else 1.0 - known[0]
    came = carrying * sire.meioses
    return Carrier(carrying, came, came, carrying)


def _weights(sire: _Gamete, dam: _Gamete, known: Sequence[float] | None) -> tuple[float, float]:
    """What is known of a bird's copies over what its parents say: for one copy and for two."""
    one = sire.allele * (1.0 - dam.allele) + dam.allele * (1.0 - sire.allele)
    two = sire.allele * dam.allele
    if known is None:
        return 1.0, 1.0
    weights = (known[1] / one if one else 0.0, known[2] / two if two else 0.0)
    # Copies that this pedigree's donors cannot have brought are not followed.
    return weights if any(weights) or known[0] >= 1.0 else (1.0, 1.0)
