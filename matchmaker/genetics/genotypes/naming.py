"""Genotypes and haplotypes in writing, with the symbols of their alleles."""

from __future__ import annotations

from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.genetics.loci.inheritance import Genotype
    from matchmaker.genetics.loci.locus import Locus

NO_SECOND_Z = "W"
"""Stands for the missing allele of a hen at a Z-linked locus: she has a W there."""


def genotype_names(locus: Locus) -> tuple[str, ...]:
    """Return the names of all genotypes: those of a cock, on the Z then those of a hen.

    The allele that shows is written first.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> genotype_names(catalogue()["S"])
    ('s+/s+', 'S/s+', 'S/S', 's+/W', 'S/W')
    >>> genotype_names(catalogue()["lav"])
    ('Lav+/Lav+', 'Lav+/lav', 'lav/lav')
    """
    order = precedence(locus)
    numbers = range(len(locus.alleles))
    pairs = (
        sorted(pair, key=order.__getitem__) for pair in combinations_with_replacement(numbers, 2)
    )
    names = ["/".join(locus.alleles[number] for number in pair) for pair in pairs]
    alone = [f"{symbol}/{NO_SECOND_Z}" for symbol in locus.alleles] if locus.z_linked else []
    return (*names, *alone)


def haplotype_pair(loci: Sequence[Locus], haplotypes: Sequence[Sequence[int]]) -> str:
    """Return the name of a bird's haplotypes, e.g. "O P/o+ p+"; one alone is a hen's on the Z.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> haplotype_pair([catalogue()[symbol] for symbol in "OP"], [(0, 0), (1, 1)])
    'O P/o+ p+'
    """
    orders = [precedence(locus) for locus in loci]
    ranked = sorted(
        haplotypes, key=lambda alleles: [order[a] for order, a in zip(orders, alleles, strict=True)]
    )
    names = [
        " ".join(locus.alleles[number] for locus, number in zip(loci, alleles, strict=True))
        for alleles in ranked
    ]
    return "/".join(names if len(names) > 1 else [*names, NO_SECOND_Z])


def precedence(locus: Locus) -> tuple[int, ...]:
    """Return the rank of each allele: the most dominant has 0.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> precedence(catalogue()["O"]), precedence(catalogue()["lav"])
    ((1, 0), (0, 1))
    """
    if locus.series:
        return tuple(range(len(locus.series)))
    return (0, 1) if locus.dominance == "recessive" else (1, 0)


def written_genotype(locus: Locus, words: str) -> Genotype | None:
    """Return the genotype that words like "O/o+" or "S/W" write, ``None`` if they write none.

    Capitals count, since they tell alleles apart; the "+" of the wild type may be left out. At a
    Z-linked locus the symbol alone is a hen's genotype too.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> [written_genotype(catalogue()["S"], words) for words in ("s/S", "S / W", "s+", "x/S")]
    [(0, 1), (1,), (0,), None]
    >>> written_genotype(catalogue()["O"], "O")
    """
    parts = [part.strip() for part in words.split("/")]
    if locus.z_linked and len(parts) == 2 and NO_SECOND_Z in parts:
        parts.remove(NO_SECOND_Z)
    needed = {1, 2} if locus.z_linked else {2}
    if len(parts) not in needed:
        return None
    numbers = [number for part in parts for number in _allele(locus, part)]
    return tuple(sorted(numbers)) if len(numbers) == len(parts) else None


def _allele(locus: Locus, part: str) -> Iterator[int]:
    """The one allele that is written so, if there is one."""
    exact = [number for number, symbol in enumerate(locus.alleles) if symbol == part]
    loose = [
        number
        for number, symbol in enumerate(locus.alleles)
        if part and symbol.endswith("+") and symbol[:-1] == part
    ]
    if exact or len(loose) == 1:
        yield (exact or loose)[0]
