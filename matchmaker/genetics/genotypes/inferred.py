"""Genotype probabilities at every locus of a flock, linked loci together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import ExitCode, MatchmakerError
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.linkage import linked_pairs

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.genotypes.linked import LinkedGenotypes
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus

Link = tuple[str, str]


class LociClashError(MatchmakerError):
    """The records on these loci cannot all be true: on each, or only ``together``."""

    exit_code = ExitCode.FAULTS

    def __init__(self, loci: Iterable[str], *, together: bool = False) -> None:
        self.loci, self.together = tuple(loci), together
        super().__init__(f"the records on {', '.join(self.loci)} cannot all be true")


@dataclass(frozen=True, slots=True, kw_only=True)
class Inferred:
    """What is known of every bird at every locus.

    ``linked`` are the pairs of loci worked out together; ``apart`` those that are linked but are
    counted as if they were not: a locus can be in one pair only, and two loci together may be too
    tangled where each alone is not.
    """

    pedigree: Pedigree
    recurrent: str
    genotypes: Mapping[str, Genotypes]
    linked: Mapping[Link, LinkedGenotypes]
    apart: tuple[Link, ...]

    def informed(self, symbol: str, added: Sequence[Evidence]) -> Inferred:
        """Return what would be known with more evidence at one locus.

        Raises
        ------
        LociClashError
            If the evidence added cannot be true together with what is known.
        """
        pair = next((pair for pair in self.linked if symbol in pair), (symbol,))
        told = infer(
            self.pedigree,
            {one: self.genotypes[one].locus for one in pair},
            {
                one: (*self.genotypes[one].evidence, *(added if one == symbol else ()))
                for one in pair
            },
            self.recurrent,
        )
        return Inferred(
            pedigree=self.pedigree,
            recurrent=self.recurrent,
            genotypes={**self.genotypes, **told.genotypes},
            linked={**self.linked, **told.linked},
            apart=self.apart,
        )

    def approximate(self, symbols: Iterable[str]) -> bool:
        """Whether chances over these loci together are not exact."""
        kept = set(symbols)
        sampled = any(self.genotypes[symbol].method != "exact" for symbol in kept)
        return sampled or any(kept.issuperset(pair) for pair in self.apart)


def infer(
    pedigree: Pedigree,
    loci: Mapping[str, Locus],
    evidence: Mapping[str, Sequence[Evidence]],
    recurrent: str,
) -> Inferred:
    """Return the genotype probabilities of every bird at every locus.

    Raises
    ------
    LociClashError
        Naming every locus whose records cannot all be true, else a pair of linked loci whose
        records cannot be true together (they ask for different parents of a bird).
    TooTangledError
        If the parentage is too tangled even for sampling.
    """
    work = _Work(pedigree, loci, evidence, recurrent)
    near = linked_pairs(loci)
    linked = {pair: found for pair in near.pairs if (found := work.together(pair)) is not None}
    genotypes = {s: found.of(s) for pair, found in linked.items() for s in pair}
    clashing = []
    for symbol in loci:
        if symbol not in genotypes:
            try:
                genotypes[symbol] = work.alone(symbol)
            except ContradictionError:
                clashing.append(symbol)
    if clashing:
        raise LociClashError(clashing)
    for pair in work.disagreeing:
        raise LociClashError(pair, together=True)
    return Inferred(
        pedigree=pedigree,
        recurrent=recurrent,
        genotypes={symbol: genotypes[symbol] for symbol in loci},
        linked=linked,
        apart=(*near.left, *(pair for pair in near.pairs if pair not in linked)),
    )


class _Work:
    """The pieces of one inference; remembers pairs of loci whose records disagree."""

    def __init__(
        self,
        pedigree: Pedigree,
        loci: Mapping[str, Locus],
        evidence: Mapping[str, Sequence[Evidence]],
        recurrent: str,
    ) -> None:
        self._pedigree, self._loci = pedigree, loci
        self._evidence, self._recurrent = evidence, recurrent
        self.disagreeing: list[Link] = []

    def together(self, pair: Link) -> LinkedGenotypes | None:
        """Two linked loci at once; ``None`` if they are too tangled, or clash."""
        one, two = pair
        try:
            return linked_genotypes(
                self._pedigree,
                (self._loci[one], self._loci[two]),
                (self._evidence[one], self._evidence[two]),
                self._recurrent,
            )
        except TooTangledError:
            return None
        except ContradictionError:
            self.disagreeing.append(pair)
            return None

    def alone(self, symbol: str) -> Genotypes:
        """One locus by itself."""
        return genotype_probabilities(
            self._pedigree, self._loci[symbol], self._evidence[symbol], self._recurrent
        )
