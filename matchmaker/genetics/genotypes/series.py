"""Loci with more than two alleles: what a look says of the alleles, and how well each fits it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.locus import Look

if TYPE_CHECKING:
    from collections.abc import Collection
    from collections.abc import Set as AbstractSet

    from matchmaker.genetics.loci.inheritance import Genotype
    from matchmaker.genetics.loci.locus import Allele, Locus
    from matchmaker.tables.records import Sex


@dataclass(frozen=True, slots=True, order=True)
class TopAllele:
    """A look in a series: that of birds whose most dominant allele has this number."""

    number: int


def series_meaning(locus: Locus, plain: str) -> frozenset[TopAllele] | None:
    """Return the looks that words (in small letters) may mean, ``None`` if they mean none.

    Examples
    --------
    >>> from matchmaker.genetics.loci.locus import Allele, Locus
    >>> downs = Locus(
    ...     symbol="eWh",
    ...     name="Wheaten",
    ...     wild_type="e+",
    ...     series=(
    ...         Allele(symbol="eWh", words=("cream down",)),
    ...         Allele(symbol="e+", words=("striped down", "wild type")),
    ...         Allele(symbol="eb", words=("brown down",)),
    ...     ),
    ... )
    >>> series_meaning(downs, "brown down"), series_meaning(downs, "spotted")
    (frozenset({TopAllele(number=2)}), None)
    """
    meant = {number for number, allele in enumerate(locus.series) if plain in _words(allele)}
    named = {locus.alleles.index(locus.symbol)}
    if plain in _tidied((*locus.shown_words, *locus.one_copy_words, *locus.either_words)):
        meant |= named
    if not meant and plain in _tidied(locus.hidden_words):
        meant = set(range(len(locus.series))) - named
    return frozenset(map(TopAllele, meant)) or None


def _words(allele: Allele) -> set[str]:
    return _tidied((*allele.words, allele.name)) - {""}


def _tidied(words: Collection[str]) -> set[str]:
    return {" ".join(word.casefold().split()) for word in words}


def as_series(locus: Locus, looks: AbstractSet[object]) -> frozenset[TopAllele]:
    """Return what looks of the named allele (it shows, it does not) mean in its series.

    Examples
    --------
    >>> from matchmaker.genetics.loci.locus import Allele, Locus
    >>> three = tuple(Allele(symbol=symbol) for symbol in ("A", "B", "a"))
    >>> sorted(as_series(Locus(symbol="B", name="B", series=three), {Look.HIDDEN}))
    [TopAllele(number=0), TopAllele(number=2)]
    """
    named = {locus.alleles.index(locus.symbol)}
    found: set[int] = set() if looks <= {Look.HIDDEN} else set(named)
    if Look.HIDDEN in looks:
        found |= set(range(len(locus.series))) - named
    return frozenset(map(TopAllele, found))


def series_chance(
    locus: Locus, meant: AbstractSet[object], genotype: Genotype, seen: tuple[Sex, bool]
) -> float:
    """P(look written | genotype): the true look through penetrance, then through the error.

    ``seen`` is the bird's sex and whether a laboratory says so, which then is exact. Where the
    named allele fails to show, the bird looks like its other allele, or like the wild type.

    Examples
    --------
    >>> from matchmaker.genetics.loci.locus import Allele, Locus
    >>> from matchmaker.tables.records import Sex
    >>> three = tuple(Allele(symbol=symbol) for symbol in ("A", "B", "a"))
    >>> locus = Locus(symbol="A", name="A", wild_type="a", series=three, penetrance=0.75)
    >>> [series_chance(locus, {TopAllele(n)}, (0, 1), (Sex.COCK, False)) for n in range(3)]
    [0.75, 0.25, 0.0]
    """
    sex, dna = seen
    if dna:
        return float(TopAllele(genotype[0]) in meant)
    elsewhere = locus.error / (len(locus.series) - 1)
    return sum(
        share * ((1.0 - locus.error) if TopAllele(number) == one else elsewhere)
        for one in meant
        for number, share in _true_looks(locus, genotype, sex)
    )


def _true_looks(locus: Locus, genotype: Genotype, sex: Sex) -> list[tuple[int, float]]:
    """(Allele that the bird looks like, chance)."""
    alleles = locus.alleles
    plain = alleles.index(locus.wild_type) if locus.wild_type in alleles else len(alleles) - 1
    if not locus.can_show(sex):
        return [(plain, 1.0)]
    if alleles[genotype[0]] != locus.symbol:
        return [(genotype[0], 1.0)]
    other = genotype[-1] if genotype[-1] != genotype[0] else plain
    return [(genotype[0], locus.penetrance), (other, 1.0 - locus.penetrance)]
