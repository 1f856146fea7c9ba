"""A keeper's words for one locus, and how well each genotype fits them."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.genotypes.naming import genotype_names, written_genotype
from matchmaker.genetics.genotypes.series import TopAllele, as_series, series_chance, series_meaning
from matchmaker.genetics.loci.inheritance import Genotype
from matchmaker.genetics.loci.locus import Locus, Look
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.genetics.genotypes.observed import Weights

Meaning: TypeAlias = frozenset[Look] | frozenset[TopAllele] | frozenset[int] | frozenset[Genotype]
"""What words say: the looks they may mean, the numbers of copies, or the genotypes."""

YES = ("yes", "shows", "shown", "+")
NO = ("no", "does not show", "hidden", "-")
COPIES: dict[str, frozenset[int]] = {
    **{f"{copies}{unit}": frozenset({copies}) for copies in range(3) for unit in ("", " copies")},
    "1 copy": frozenset({1}),
    "none": frozenset({0}),
    "one copy": frozenset({1}),
    "two copies": frozenset({2}),
    "carrier": frozenset({1, 2}),
}
CARRIES = frozenset({Look.ONE_COPY, Look.SHOWN})
SHOWN = frozenset({Look.SHOWN})
HIDDEN = frozenset({Look.HIDDEN})


def tidy(words: str) -> str:
    """Return words in small letters with single spaces, as they are compared.

    Examples
    --------
    >>> tidy("  Blue  EGG ")
    'blue egg'
    """
    return " ".join(words.casefold().split())


def meaning(locus: Locus, words: str, *, dna: bool = False) -> Meaning | None:
    """Return what the words mean at this locus, ``None`` if they mean nothing there.

    A number or "carrier" speaks of copies, symbols as in "O/o+" of the genotype; everything else
    of looks. A laboratory's plain yes or no to an allele that others can hide may mean one copy
    or two, so it means nothing.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> meaning(catalogue()["O"], "olive") == {Look.SHOWN}, meaning(catalogue()["O"], "carrier")
    (True, frozenset({1, 2}))
    >>> meaning(catalogue()["O"], "O/o+")
    frozenset({(0, 1)})
    """
    plain = tidy(words)
    looks = series_meaning(locus, plain) if locus.series else _own_words(locus, plain)
    if looks is not None:
        return looks
    if plain in COPIES:
        return COPIES[plain]
    if plain in YES or plain in NO:
        return None if dna and _can_be_hidden(locus) else _answer(locus, yes=plain in YES)
    genotype = written_genotype(locus, words)
    return None if genotype is None else frozenset({genotype})


def _own_words(locus: Locus, plain: str) -> frozenset[Look] | None:
    own = (
        (locus.shown_words, SHOWN),
        (locus.one_copy_words, frozenset({Look.ONE_COPY})),
        (locus.either_words, _any_shown(locus)),
        (locus.hidden_words, HIDDEN),
    )
    for listed, looks in own:
        if plain in (tidy(word) for word in listed):
            return looks
    return None


def _any_shown(locus: Locus) -> frozenset[Look]:
    return CARRIES if locus.dominance == "incomplete" else SHOWN


def _can_be_hidden(locus: Locus) -> bool:
    """Whether a bird can have the named allele and look like another one."""
    if locus.series:
        return locus.series[0].symbol != locus.symbol
    return locus.dominance == "recessive"


def _answer(locus: Locus, *, yes: bool) -> Meaning:
    looks = _any_shown(locus) if yes else HIDDEN
    return as_series(locus, looks) if locus.series else looks


def accepted(locus: Locus) -> str:
    """Return the words understood at a locus, for a message.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> accepted(catalogue()["Cr"]).split(", ")[:3]
    ['crest', 'crested', 'topknot']
    >>> accepted(catalogue()["Cr"]).split(", ")[-2:]
    ['carrier', 'a genotype such as Cr/cr+']
    """
    own = (*locus.shown_words, *locus.one_copy_words, *locus.either_words, *locus.hidden_words)
    others = (word for allele in locus.series for word in (*allele.words, allele.name) if word)
    example = f"a genotype such as {genotype_names(locus)[1]}"
    always = ("yes", "no", "0 copies", "1 copy", "2 copies", "carrier", example)
    return ", ".join(dict.fromkeys((*own, *others, *always)))


def is_certain(meant: Meaning) -> bool:
    """Whether copies or a genotype are written, which no look can be.

    Examples
    --------
    >>> is_certain(frozenset({1, 2})), is_certain(SHOWN)
    (True, False)
    """
    return all(isinstance(one, int | tuple) for one in meant)


def may_be_unripe(meant: Meaning) -> bool:
    """Whether a bird too young to show the locus could look like this.

    In a series any look may be one that age still changes.

    Examples
    --------
    >>> may_be_unripe(SHOWN), may_be_unripe(HIDDEN)
    (False, True)
    """
    return any(one is Look.HIDDEN or isinstance(one, TopAllele) for one in meant)


def weights(locus: Locus, meant: Meaning, *, dna: bool = False) -> Weights:
    """Return the chance of what was seen by genotype, for a cock and for a hen.

    Copies and genotypes are taken as certain. A look is blurred by the penetrance of the locus
    and by its scoring error (the chance that one look is written down as another); a test is not.

    Examples
    --------
    Pea comb is dominant: a bird that shows it has one copy or two.

    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> pea = catalogue()["P"]
    >>> weights(pea, frozenset({Look.SHOWN}))[0]
    (0.0, 1.0, 1.0)
    """
    if locus.series and any(isinstance(one, Look) for one in meant):
        meant = as_series(locus, meant)
    chance = _certain if is_certain(meant) else series_chance if locus.series else _of_look
    cock, hen = (
        tuple(
            chance(locus, meant, genotype, (sex, dna))
            for genotype in locus.inheritance.genotypes(sex)
        )
        for sex in (Sex.COCK, Sex.HEN)
    )
    return (cock, hen)


def weights_by_copies(locus: Locus, looks: frozenset[Look], sex: Sex) -> tuple[float, ...]:
    """Return the chance that a bird of one sex is written down as one of some looks, by copies.

    Of a series only where what a bird has beside the named allele does not matter.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> weights_by_copies(catalogue()["lav"], frozenset({Look.SHOWN}), Sex.HEN)
    (0.0, 0.0, 1.0)
    """
    rows = weights(locus, looks)[0 if sex is Sex.COCK else 1]
    copies = [locus.inheritance.copies(one) for one in locus.inheritance.genotypes(sex)]
    return tuple(rows[copies.index(number)] for number in locus.copy_numbers(sex))


def _certain(locus: Locus, meant: Meaning, genotype: Genotype, _seen: tuple[Sex, bool]) -> float:
    return float(genotype in meant or locus.inheritance.copies(genotype) in meant)


def _of_look(locus: Locus, meant: Meaning, genotype: Genotype, seen: tuple[Sex, bool]) -> float:
    """P(look written | copies): the true look through penetrance, then through the error."""
    sex, dna = seen
    meant = _for_sex(locus, meant, sex)
    copies = locus.inheritance.copies(genotype)
    if dna:
        return float(locus.look_of_dose(locus.dose(copies, sex)) in meant)
    hemizygous = locus.z_linked and sex is Sex.HEN
    kinds = 3 if locus.dominance == "incomplete" and not hemizygous else 2
    look = locus.phenotype(copies, sex)
    true: dict[Look, float] = {look: locus.penetrance, Look.HIDDEN: 1.0 - locus.penetrance}
    if look is Look.HIDDEN:
        true = {Look.HIDDEN: 1.0}
    elsewhere = locus.error / (kinds - 1)
    return sum(
        share * (1.0 - locus.error if seen_as == one else elsewhere)
        for seen_as in meant
        for one, share in true.items()
    )


def _for_sex(locus: Locus, meant: Meaning, sex: Sex) -> Meaning:
    """A hen with her one allele on the Z shows it in full: "one copy" looks are hers too."""
    if locus.z_linked and sex is Sex.HEN and Look.ONE_COPY in meant:
        return SHOWN
    return meant
