"""The founders of a flock: what each gave to the birds of today, and how much of it is left.

A founder is a bird with no parent in the books. Where only one parent of a bird is unwritten,
that parent is a founder too, of which one allele came in; one unwritten parent of a whole clutch
is one bird. Only founders that left young in the books or are among the birds asked about are
counted; all are taken as unrelated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from matchmaker.genetics.kin.clutch_parents import with_clutch_parents
from matchmaker.genetics.kin.gene_drop import drop_genes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree, Side
    from matchmaker.genetics.kin.clutch_parents import ClutchParents

SIDES: tuple[Side, Side] = ("sire", "dam")
Vector = NDArray[np.float64]

DROPS = 4096
"""Times that the founders' genes are dropped through the pedigree, unless told otherwise."""


@dataclass(frozen=True, slots=True)
class Founder:
    """A founder: the bird itself, or (``unwritten``) that parent of it which no book names."""

    bird: str
    unwritten: Side | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FounderPart:
    """What one founder gave, and what is left of it.

    ``contribution`` is the expected part of the birds' genes that came from it; ``retention`` the
    expected part of its own two alleles, at any place, that at least one of the birds still has,
    with its standard error from the number of drops.
    """

    founder: Founder
    contribution: float
    retention: float
    retention_error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FounderGenes:
    """Founders of some birds, and how many of them they are worth.

    ``effective_founders`` is how many founders, all giving alike, would vary as much in what they
    gave. ``genomes_left`` is the sum of the retentions: of so many founders' genes a copy is
    left somewhere ("genes of 13.9 of 14 founders"). ``genome_equivalents`` also minds how
    unequally they are spread: so many founders, giving alike and losing nothing, would be as
    varied (Lacy 1989); it is never more than the other two. The errors are standard errors.
    """

    parts: tuple[FounderPart, ...]
    drops: int
    effective_founders: float
    genomes_left: float
    genomes_left_error: float
    genome_equivalents: float
    genome_equivalents_error: float


def founder_contributions(pedigree: Pedigree, birds: Sequence[str]) -> dict[Founder, float]:
    """Expected part of the genes of ``birds`` that came from each founder, summing to one.

    Founders whose young all left nothing stand with 0.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ...     "D ? A C",
    ... )
    >>> {founder.bird: part for founder, part in founder_contributions(cross, ["D"]).items()}
    {'A': 0.75, 'B': 0.25}
    """
    whole = with_clutch_parents(pedigree)
    return {_named(one, whole): part for one, part in _contributions(whole.pedigree, birds).items()}


def _contributions(pedigree: Pedigree, birds: Sequence[str]) -> dict[Founder, float]:
    first = pedigree.first_bird
    parts = np.zeros(first + len(pedigree.birds))
    node_of = pedigree.node_of()
    for bird in birds:
        parts[node_of[bird]] += 1 / len(birds)
    founders = _founders(pedigree, set(birds))
    found = dict.fromkeys(founders, 0.0)
    for at in range(len(pedigree.birds) - 1, -1, -1):
        part = float(parts[first + at])
        own = Founder(pedigree.birds[at])
        if own in found:
            found[own] = part
        elif part:
            for side, links in zip(SIDES, (pedigree.sires[at], pedigree.dams[at]), strict=True):
                for node, chance in links:
                    parts[node] += part * chance / 2
                if (half := Founder(own.bird, side)) in found:
                    found[half] = part * _from_pools(links, first) / 2
    return found


def effective_founders(contributions: Sequence[float]) -> float:
    """Return 1 / Σ p², the number of founders that would give alike and vary as much.

    Notes
    -----
    Lacy 1989, Zoo Biol 8:111.

    Examples
    --------
    >>> effective_founders([0.5, 0.25, 0.25])
    2.6666666666666665
    """
    total = sum(part**2 for part in contributions)
    return 1.0 / total if total else 0.0


def founder_genes(
    pedigree: Pedigree, birds: Sequence[str], rng: np.random.Generator, drops: int = DROPS
) -> FounderGenes:
    """Return what is left of each founder in ``birds``, by dropping genes through the pedigree.

    Uncertain parents are drawn anew in every drop: for each chick on its own, or once for all
    chicks of a clutch.

    Notes
    -----
    Retention r of each founder by simulation (MacCluer et al. 1986, Zoo Biol 5:147; from memory);
    founder genome equivalents 1 / Σ (p² / r) over the founders with anything left: Lacy 1989,
    Zoo Biol 8:111. Their standard error is that of the first-order expansion in r.

    Examples
    --------
    Three full sibs lack an allele of a parent with 1/8:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> sibs = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ...     "D ? A B",
    ...     "E ? A B",
    ... )
    >>> found = founder_genes(sibs, ["C", "D", "E"], np.random.default_rng(1))
    >>> abs(found.genomes_left - 1.75) < 5 * found.genomes_left_error
    True
    """
    whole = with_clutch_parents(pedigree)
    contributions = _contributions(whole.pedigree, birds)
    alleles = _alleles(whole.pedigree, contributions)
    kept = drop_genes(whole.pedigree, birds, alleles, rng, drops)
    parts = np.array(list(contributions.values()))
    left, error = kept.rates, np.sqrt(np.diag(kept.covariance))
    weights = np.divide(parts, left, out=np.zeros_like(parts), where=left > 0) ** 2
    load = float(weights @ left)
    equivalents = 1.0 / load if load else 0.0
    return FounderGenes(
        parts=tuple(
            FounderPart(
                founder=_named(founder, whole),
                contribution=part,
                retention=float(left[at]),
                retention_error=float(error[at]),
            )
            for at, (founder, part) in enumerate(contributions.items())
        ),
        drops=drops,
        effective_founders=effective_founders(parts.tolist()),
        genomes_left=float(left.sum()),
        genomes_left_error=float(np.sqrt(kept.covariance.sum())),
        genome_equivalents=equivalents,
        genome_equivalents_error=equivalents**2
        * float(np.sqrt(weights @ kept.covariance @ weights)),
    )


def _named(founder: Founder, whole: ClutchParents) -> Founder:
    """The founder as the books know it: a clutch's parent by the first of its chicks."""
    chick = whole.chicks.get(founder.bird)
    return founder if chick is None else Founder(*chick)


def _founders(pedigree: Pedigree, birds: set[str]) -> list[Founder]:
    """Founders that left young or are asked about, in the order of the pedigree."""
    first = pedigree.first_bird
    parents = {node for side in (*pedigree.sires, *pedigree.dams) for node, _ in side}
    found = []
    for at, bird in enumerate(pedigree.birds):
        if bird not in birds and first + at not in parents:
            continue
        sides = (pedigree.sires[at], pedigree.dams[at])
        if all(node < first for side in sides for node, _ in side):
            found.append(Founder(bird))
        else:
            halves = zip(SIDES, sides, strict=True)
            found += [Founder(bird, side) for side, links in halves if _from_pools(links, first)]
    return found


def _from_pools(links: Links, first: int) -> float:
    return sum(chance for node, chance in links if node < first)


def _alleles(pedigree: Pedigree, founders: Mapping[Founder, float]) -> dict[tuple[int, int], int]:
    """Founder (by number) that each founding gamete belongs to, by bird and side."""
    at = {bird: place for place, bird in enumerate(pedigree.birds)}
    return {
        (at[founder.bird], side): number
        for number, founder in enumerate(founders)
        for side in (0, 1)
        if founder.unwritten in {None, SIDES[side]}
    }
