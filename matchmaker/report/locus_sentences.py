"""What is known of a locus, in sentences a keeper can act on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.chicks import lethal_fraction
from matchmaker.report.numbers import percent, share_text
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.genetics.loci.locus import Linkage, Locus

LOCAL_RULES: Final = (
    "Where birds may suffer local rules apply: look at yours, and ask a veterinarian before you "
    "breed for it."
)
SURE: Final[Mapping[str, str]] = {
    "high": "well founded",
    "medium": "partly founded",
    "low": "unconfirmed",
    "": "not said",
}
GENE_STATUS: Final[Mapping[str, str]] = {
    "causal": "the change that causes it is known",
    "candidate": "likely, not proved",
    "mapped": "the place is known, the gene is not",
    "unknown": "the gene is not known",
}
SHOWN_BY: Final[Mapping[str, str]] = {"both": "both sexes", "hen": "hens", "cock": "cocks"}


MATINGS: Final = (
    ("hen without it × cock with one copy", 0, 1),
    ("hen × cock, one copy each", 1, 1),
)
"""In words and in copies of hen and cock; a hen with her one copy on the Z has it in full."""


def plain_name(locus: Locus) -> str:
    """A locus as it is called in a sentence.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> plain_name(catalogue()["O"]), plain_name(catalogue()["F"])
    ('blue eggshell', 'frizzle (KRT75)')
    """
    return f"{locus.name[:1].lower()}{locus.name[1:]}"


def age_text(days: int) -> str:
    """An age as keepers say it.

    Examples
    --------
    >>> [age_text(days) for days in (0, 1, 42, 180)]
    ['at hatch', 'day-old', '6 weeks', '6 months']
    """
    if days < 1:
        return "at hatch"
    if days < 7:
        return "day-old"
    return f"{round(days / 7)} weeks" if days < 112 else f"{round(days / 30.4)} months"


def inherited(locus: Locus) -> str:
    """How it passes on, in two or three words for a table."""
    way = f"series of {len(locus.series)}" if locus.series else locus.dominance
    return f"Z, {way}" if locus.z_linked else way


def shows(locus: Locus) -> str:
    """Who shows it and when, in two or three words for a table."""
    return f"{SHOWN_BY[locus.shown_by]}, {age_text(locus.shows_at_days)}"


def inheritance_sentence(locus: Locus) -> str:
    """Where it sits and what that means for sons and daughters."""
    if not locus.z_linked:
        return "Not on a sex chromosome: cocks and hens carry two alleles and pass on either."
    return (
        "On the Z chromosome: a cock carries two alleles. A hen carries one, has it from her sire, "
        "and passes it to her sons only."
    )


def dominance_sentence(locus: Locus) -> str:
    """How many copies it takes to show."""
    hen = " A hen shows the one she has." if locus.z_linked and locus.can_show(Sex.HEN) else ""
    if locus.series:
        order = " > ".join(allele.symbol for allele in locus.series)
        return f"A bird looks like the first of its alleles in this order: {order}.{hen}"
    ways = {
        "dominant": "Dominant: one copy is enough to show.",
        "recessive": "Recessive: it shows only where no other allele is present.",
        "incomplete": "Incompletely dominant: one copy and two look different.",
    }
    return ways[locus.dominance] + hen


def shown_sentence(locus: Locus) -> str:
    """Who shows it, from what age, and how often."""
    who = SHOWN_BY[locus.shown_by].capitalize()
    when = age_text(locus.shows_at_days)
    start = when if when == "at hatch" else "from day-old" if when == "day-old" else f"from {when}"
    silent = {"hen": " Cocks carry it unseen.", "cock": " Hens carry it unseen.", "both": ""}
    often = (
        f" About {percent(1 - locus.penetrance)} of birds that should show it do not."
        if locus.penetrance < 1
        else ""
    )
    return f"{who}, {start}.{silent[locus.shown_by]}{often}"


def one_copy_sentence(locus: Locus) -> str:
    """Whether one copy can be told by eye, and what breeds true."""
    bird = "cock" if locus.z_linked else "bird"
    if 2 in locus.dies:
        return "Two copies do not live, so a living bird that shows it has one."
    if locus.dominance == "recessive" and not locus.series:
        return f"A {bird} with one copy looks like one with none; one that shows it breeds true."
    ways = {
        "yes": f"A {bird} with one copy can be told by eye from one with two.",
        "sometimes": f"A {bird} with one copy can sometimes be told by eye from one with two; a "
        "DNA test or test chicks are sure.",
        "no": f"A {bird} with one copy cannot be told by eye from one with two; a DNA test or test "
        "chicks can tell.",
    }
    return ways[locus.one_copy_told]


def copies_sentence(locus: Locus) -> str:
    """Most copies a bird should have."""
    if locus.safe_copies_max == 0:
        return "No bird should be bred to have it."
    if locus.safe_copies_max == 1:
        return (
            "At most one: a bird that has it is mated to one that has not, for ever, and it never "
            "breeds true."
        )
    return (
        "Two are safe as far as is known."
        if not locus.z_linked
        else ("Two in a cock and one in a hen are safe as far as is known.")
    )


def lethal_fractions(locus: Locus) -> dict[str, float]:
    """Shares of chicks that would die or suffer of it, by mating, only where there are any."""
    found = {}
    for words, hen, cock in MATINGS:
        if hen == 0 or not locus.z_linked:
            joint = np.zeros((3, 3))
            joint[hen, cock] = 1.0
            found[words] = float(lethal_fraction(joint, locus))
    return {words: fraction for words, fraction in found.items() if fraction > 0}


def lethal_sentences(locus: Locus) -> list[str]:
    """Chicks that would die or suffer, of the matings that give them."""
    fate = "die" if set(locus.lethal) <= set(locus.dies) else "suffer from it"
    return [
        f"{words}: {share_text(fraction)} of the chicks {fate}; such a pair is "
        "refused unless your limits say otherwise."
        for words, fraction in lethal_fractions(locus).items()
    ]


def word_lines(locus: Locus) -> Iterator[str]:
    """Words that the tables understand, by what they mean."""
    told = [(meaning, words) for meaning, words in _word_groups(locus) if words]
    for meaning, words in told:
        yield f"{meaning}: {', '.join(words)}"
    first, second = locus.alleles[0], locus.alleles[1]
    genotype = f"{second}/{first}" if not locus.series else f"{first}/{second}"
    either = "or: " if told else ""
    yield f"{either}yes, no, 0 copies, 1 copy, 2 copies, carrier, a genotype such as {genotype}"


def _word_groups(locus: Locus) -> list[tuple[str, tuple[str, ...]]]:
    """Words with what they mean; of a series, the words of each allele."""
    if locus.series:
        return [(allele.symbol, tuple(allele.words)) for allele in locus.series]
    return [
        ("it shows", locus.shown_words),
        ("one copy shows", locus.one_copy_words),
        ("one copy or two", locus.either_words),
        ("it does not show", locus.hidden_words),
    ]


def linkage_sentence(linkage: Linkage, loci: Mapping[str, Locus]) -> str:
    """How often a neighbour is parted from the locus, and who says so."""
    other = loci[linkage.symbol]
    share = linkage.recombination
    parted = "no figure" if share is None else f"parted in {share_text(share)} of gametes"
    sure = f" ({SURE[linkage.confidence]})" if linkage.confidence else ""
    return f"{other.symbol} ({other.name}), {parted}. Source: {linkage.source}{sure}."


def gene_sentence(locus: Locus) -> str:
    """Chromosome and gene, as far as known."""
    where = f"Chromosome {locus.chromosome}" if locus.chromosome else "Chromosome not known"
    return f"{where}; {locus.gene + ': ' if locus.gene else ''}{GENE_STATUS[locus.gene_status]}."


def founders_sentence(locus: Locus) -> str:
    """What is assumed of founders where the settings are silent."""
    symbol = locus.symbol if locus.symbol.isalnum() else f'"{locus.symbol}"'
    donors = (
        "pure for it in other breeds"
        if locus.donor_frequency == 1
        else f"to have it in {share_text(locus.donor_frequency)} of their alleles in other breeds"
    )
    rest = f" The rest {_rest_of_series(locus)}." if locus.series else ""
    start = "Breeds your settings leave out: taken" if locus.frequency else "Taken"
    return (
        f"{start} to be free of it in your recurrent breed, {donors}, and half and half where no "
        f"breed is known.{rest} What you know better goes under [loci.{symbol}.frequency]."
    )


def _rest_of_series(locus: Locus) -> str:
    if locus.symbol == locus.wild_type:
        return "is shared out evenly among the other alleles"
    return f"counts as {locus.wild_type}"


def stated_frequencies(locus: Locus) -> Iterator[str]:
    """What the settings say of breeds."""
    for breed, stated in locus.frequency.items():
        if isinstance(stated, float | int):
            yield f"In {breed}, by your settings: {share_text(stated)} of the alleles."
        else:
            shares = ", ".join(f"{allele} {share_text(share)}" for allele, share in stated.items())
            yield f"In {breed}, by your settings: {shares}."
