"""Genotype probabilities at every locus of a flock, linked loci together."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.errors import ExitCode, MatchmakerError
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.genetics.genotypes.posterior import ANY_NUMBER
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.linkage import linked_pairs

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

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

    ``linked`` are the pairs of loci worked out together: neighbours on a chromosome, and, where
    some bird's parents are ``unsure``, any two others, since whoever the sire is, he is so at both.
    ``apart`` are linked but counted as if they were not: a locus can be in one pair only.
    """

    pedigree: Pedigree
    recurrent: str
    genotypes: Mapping[str, Genotypes]
    linked: Mapping[Link, LinkedGenotypes]
    apart: tuple[Link, ...]
    unsure: bool

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
        others = {one: found for one, found in self.linked.items() if one != pair}
        return replace(
            self,
            genotypes={**self.genotypes, **told.genotypes},
            linked={**others, **told.linked},
            apart=(*self.apart, *told.apart),
        )

    def approximate(self, symbols: Iterable[str]) -> bool:
        """Whether chances over these loci together are not exact."""
        kept = set(symbols)
        if any(self.genotypes[symbol].method != "exact" for symbol in kept):
            return True
        together = len(kept) < 2 or any(kept <= set(pair) for pair in self.linked)
        return not together and (self.unsure or any(kept.issuperset(pair) for pair in self.apart))


def infer(
    pedigree: Pedigree,
    loci: Mapping[str, Locus],
    evidence: Mapping[str, Sequence[Evidence]],
    recurrent: str,
    *,
    left_max: int = ANY_NUMBER,
) -> Inferred:
    """Return the genotype probabilities of every bird at every locus.

    What would have to be sampled with over ``left_max`` variables that hang together is refused.

    Raises
    ------
    LociClashError
        Naming every locus whose records cannot all be true, else a pair of linked loci whose
        records cannot be true together (they ask for different parents of a bird).
    TooTangledError
        If the parentage is too tangled even for sampling, or for so much of it.

    Examples
    --------
    The first cross of a donor, at two loci that are not linked:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> cross = pedigree_of("F hen araucana sussex")
    >>> loci = {symbol: catalogue()[symbol] for symbol in ("O", "lav")}
    >>> found = infer(cross, loci, {"O": (), "lav": ()}, "sussex")
    >>> [found.genotypes[symbol].carrier_probability("F") for symbol in loci], found.linked
    ([1.0, 1.0], {})
    """
    work = _Work(pedigree, loci, evidence, recurrent, left_max)
    near = linked_pairs(loci)
    unsure = _unsure(pedigree)
    pairs = (*near.pairs, *(_any_two(loci, near.pairs) if unsure else ()))
    linked = {pair: found for pair in pairs if (found := work.together(pair)) is not None}
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
    if work.disagreeing:
        raise LociClashError(work.disagreeing[0], together=True)
    return Inferred(
        pedigree=pedigree,
        recurrent=recurrent,
        genotypes={symbol: genotypes[symbol] for symbol in loci},
        linked=linked,
        apart=(*near.left, *(pair for pair in near.pairs if pair not in linked)),
        unsure=unsure,
    )


def _unsure(pedigree: Pedigree) -> bool:
    """Whether some bird's parent may be one of several, of which one at least is in the books."""
    return any(
        len(links) > 1 and any(node >= pedigree.first_bird for node, _ in links)
        for links in (*pedigree.sires, *pedigree.dams)
    )


def _any_two(loci: Mapping[str, Locus], taken: Iterable[Link]) -> Iterator[Link]:
    """Pair off the loci that are in no pair yet, in their order, those on the Z by themselves."""
    done = {symbol for pair in taken for symbol in pair}
    for on_z in (False, True):
        left = [s for s, locus in loci.items() if s not in done and locus.z_linked is on_z]
        yield from zip(left[::2], left[1::2], strict=False)


@dataclass(slots=True)
class _Work:
    """The pieces of one inference; remembers pairs of loci whose records disagree."""

    pedigree: Pedigree
    loci: Mapping[str, Locus]
    evidence: Mapping[str, Sequence[Evidence]]
    recurrent: str
    left_max: int
    disagreeing: list[Link] = field(default_factory=list)

    def together(self, pair: Link) -> LinkedGenotypes | None:
        """Two loci at once; ``None`` if they clash, or are unlinked and too tangled together."""
        one, two = pair
        try:
            return linked_genotypes(
                self.pedigree,
                (self.loci[one], self.loci[two]),
                (self.evidence[one], self.evidence[two]),
                self.recurrent,
                left_max=self.left_max,
            )
        except TooTangledError:
            return None
        except ContradictionError:
            self.disagreeing.append(pair)
            return None

    def alone(self, symbol: str) -> Genotypes:
        """One locus by itself."""
        return genotype_probabilities(
            self.pedigree,
            self.loci[symbol],
            self.evidence[symbol],
            self.recurrent,
            left_max=self.left_max,
        )
