"""``matchmaker.toml`` for a flock whose books are taken in, as far as these show what to write."""

from __future__ import annotations

from collections import defaultdict
from math import sqrt
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.start import configuration_text
from matchmaker.tables.toml_names import section, toml_key, toml_text
from matchmaker.taking_in.settings_proposed import shows

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.intake.model import Taken
    from matchmaker.intake.take import Facts
    from matchmaker.taking_in.settings_proposed import Given, Settled


def settings_text(settled: Settled, given: Given, taken: Taken, facts: Facts) -> str:
    """Return ``matchmaker.toml``: the answers, and sections for the loci and traits of the book.

    No trait counts yet: which way of it is better is the keeper's to say.
    """
    if given.settings:
        return given.settings
    answers = settled.answers
    assert answers is not None  # noqa: S101  the caller has refused a book without them
    found = {symbol: _frequencies(symbol, taken) for symbol in facts.loci if symbol in catalogue()}
    loci = "".join(
        _locus_section(symbol, frequencies, answers.breed)
        for symbol, frequencies in found.items()
        if symbol != answers.locus
    )
    traits = "".join(_trait_section(trait, facts.units.get(trait, "")) for trait in facts.traits)
    return configuration_text(
        answers,
        season=settled.season,
        frequencies=found.get(answers.locus),
        after=loci + traits if traits else None,
    )


def _frequencies(symbol: str, taken: Taken) -> dict[str, float]:
    """How frequent the allele is in each breed, by its pure birds; breeds all alike are 0 or 1.

    Where some show it and some do not: the frequency p at which so many would, with p² pure birds
    (Hardy-Weinberg proportions), or, of hens at a locus on the Z, p; of both the mean by birds.
    It is rough for a few birds, and never 0 or 1, at which one of them could not be.
    """
    locus = catalogue()[symbol]
    seen: dict[str, dict[int, list[bool]]] = defaultdict(lambda: defaultdict(list))
    for row in taken.tables.get("birds", ()):
        breed, text, sex = (row.get(name, "") for name in ("breed", symbol, "sex"))
        if text and breed and ":" not in breed and locus.shown_by in {"both", sex}:
            alleles = 1 if locus.z_linked and sex == "hen" else 2
            seen[breed][alleles].append(shows(locus, text))
    return {breed: _frequency(locus, looks) for breed, looks in seen.items()}


def _frequency(locus: Locus, looks: Mapping[int, Sequence[bool]]) -> float:
    """The frequency of an allele by the looks of birds with one allele and of those with two."""
    every = [shown for group in looks.values() for shown in group]
    if len(set(every)) == 1:
        return float(every[0])
    of_groups = (
        len(group) * _frequency_of(sum(group) / len(group), alleles, locus)
        for alleles, group in looks.items()
    )
    return min(max(round(sum(of_groups) / len(every), 2), 0.01), 0.99)


def _frequency_of(share: float, alleles: int, locus: Locus) -> float:
    """The frequency at which this share of birds shows an allele of which each has so many."""
    if alleles == 1:
        return share
    return sqrt(share) if locus.dominance == "recessive" else 1 - sqrt(1 - share)


def _locus_section(symbol: str, frequencies: Mapping[str, float], breed: str) -> str:
    """What the book's pure birds show of another locus than the target's, where it is not plain."""
    told = {name: share for name, share in frequencies.items() if share != float(name != breed)}
    if not told:
        return ""
    lines = [f"{toml_key(name)} = {share:g}" for name, share in told.items()]
    return (
        "\n".join(
            [
                "",
                "# By what the pure birds of the book show.",
                section("loci", symbol, "frequency"),
                *lines,
            ]
        )
        + "\n"
    )


def _trait_section(trait: str, unit: str) -> str:
    lines = [
        "",
        section("traits", trait),
        *([f"unit = {toml_text(unit)}"] if unit else []),
        'weight = "ignore"   # found in the book; to let it count, write the two lines below',
        '# direction = "up"  # or "down"; where the middle is best, optimum = 58 in its place',
        '# weight = 0.3      # in the place of "ignore"; 1 is as much as a wanted chick',
    ]
    return "\n".join(lines) + "\n"
