"""The screen of one bird in depth: who it is, its kin, and how its chances came about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.relatives import Kin
from matchmaker.genetics.kin.forebears import relation
from matchmaker.genetics.portrait import portrait
from matchmaker.report.bird_traits import print_bird_traits
from matchmaker.report.days import whole_day
from matchmaker.report.evidence import Names, progeny_sentences, step_text
from matchmaker.report.flock import NO_SPREAD
from matchmaker.report.lineage import (
    before_text,
    kin_text,
    parent_lines,
    possessive,
    pronoun,
    through_text,
)
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.numbers import kinship_text, percent, share_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import breed_name, rule_sentence
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.genotypes.account import Account, Chances
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.portrait import LocusPortrait, Portrait
    from matchmaker.genetics.shares.segment import DonorSegment
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable

FOREBEARS: Final = 4
"""Shared forebears named; the rest is one sum."""

ROUNDING: Final = 1e-9
"""A rest of inbreeding below this is what sums leave over."""


def print_bird(console: Console, table: PairTable, band: str) -> None:
    """One bird: who it is, its forebears, kin, genotypes with their evidence, and traits."""
    study = table.study
    facts = portrait(study, band)
    _print_who(console, study, facts)
    _print_kin(console, study, facts)
    for locus in facts.loci:
        _print_locus(console, study, facts, locus)
    print_bird_traits(console, study, band)
    for broken in table.of_birds.get(band, ()):
        say(console, f"rejected, whatever the mate: {rule_sentence(broken)}", indent=2)


def _print_who(console: Console, study: Study, facts: Portrait) -> None:
    bird = facts.bird
    hatched = "hatch date unknown" if bird.hatched is None else f"hatched {whole_day(bird.hatched)}"
    who = f"{bird.band}: {bird.sex or 'sex not known,'} of line {bird.line}, {hatched}"
    say(console, f"{who}; {_status(facts)}", style="bold")
    for depth, words in parent_lines(facts.parents, study.flock.by_band()):
        say(console, words, indent=2 + 2 * depth)


def _status(facts: Portrait) -> str:
    record = facts.bird.record
    left = f" {whole_day(record.left_on)}" if record.left_on else ""
    until = f" until {whole_day(record.release_on)}" if record.release_on else ""
    return f"{record.status}{left}{until}"


def _print_kin(console: Console, study: Study, facts: Portrait) -> None:
    recurrent = breed_name(study.flock.settings.recurrent)
    say(console, f"{recurrent}: {_share(facts)}", indent=2)
    _print_inbreeding(console, facts)
    say(
        console,
        f"mean kinship to the living breeders: {kinship_text(facts.mean_kinship)}",
        indent=2,
    )
    if facts.nearest:
        listed = ", ".join(map(kin_text, facts.nearest))
        say(console, f"nearest kin among {_mates(facts.bird)}: {listed}", indent=2)


def _mates(bird: Bird) -> str:
    """Whom the nearest kin are looked for among: a bird that has gone has no mates to come."""
    if bird.sex is None:
        return "living breeders"
    if bird.alive_here:
        return "possible mates"
    return "living hens" if bird.sex is Sex.COCK else "living cocks"


def _print_inbreeding(console: Console, facts: Portrait) -> None:
    """How inbred it is, and through which forebears."""
    total, through = facts.inbreeding, facts.inbred_through
    if not total:
        say(console, "inbreeding: 0", indent=2)
        return
    birds = [one for one in through if one.band]
    if not through:
        say(console, f"inbreeding: {kinship_text(total)}, {_source(facts)}", indent=2)
        return
    say(console, f"inbreeding: {kinship_text(total)}, of which", indent=2)
    owner = possessive(facts.bird.sex)
    before = [one for one in through if not one.band]
    for one in birds[:FOREBEARS]:
        say(console, f"{kinship_text(one.inbreeding)} {through_text(one, owner)}", indent=4)
    named = sum(one.inbreeding for one in birds[:FOREBEARS])
    if before:
        earlier = sum(one.inbreeding for one in before)
        named += earlier
        say(console, f"{kinship_text(earlier)} {before_text(before)}", indent=4)
    if total - named > ROUNDING:
        say(console, f"{kinship_text(total - named)} through other forebears", indent=4)


def _source(facts: Portrait) -> str:
    """Where inbreeding comes from that no forebear on record accounts for."""
    if all(parent.candidates for parent in facts.parents):
        return "through parents that are not certain"
    return "all of it from before the records"


def _share(facts: Portrait) -> str:
    """The expected share, with its range where birds of such a pedigree differ."""
    share, spread = share_text(facts.recurrent_share), facts.share_range
    if spread.high - spread.low < 2 * NO_SPREAD:
        return share
    return f"{share}; 19 of 20 such birds have {percent(spread.low)} to {percent(spread.high)}"


def _print_locus(console: Console, study: Study, facts: Portrait, of: LocusPortrait) -> None:
    found, locus = of.account, of.locus
    console.print()
    say(console, f"{locus.name} ({locus.symbol}): {copies_text(found.end)}", style="bold")
    if len(set(_shown(found))) > 1:
        _print_account(console, _names(study, facts), found)
    elif found.quiet_records:
        say(console, f"{found.quiet_records} records change nothing of that", indent=2)
    for doubt in _doubts(study.genotypes[locus.symbol], facts.bird.band, weighed=found.weighed):
        say(console, doubt, indent=2)
    if locus.caution and found.end[0] < 1:
        say(console, f"Caution: {locus.caution}.", indent=2)
    if of.segment is not None and of.segment.mean_meioses and found.end[0] < 1:
        say(console, segment_sentence(of.segment, facts.bird.sex, found.end), indent=2)
    for test in of.tests:
        assert facts.bird.sex is not None  # noqa: S101  tests are asked of a known sex only
        counted = any(step.kin is Kin.CHICK for step in found.telling)
        for sentence in progeny_sentences(test, locus, facts.bird.sex, more=counted):
            say(console, sentence, indent=2)


def _doubts(genotypes: Genotypes, band: str, *, weighed: bool) -> Iterator[str]:
    """What is less than exact about a bird's probabilities."""
    if genotypes.method == "sampled":
        error = percent(genotypes.standard_error(band))
        yield f"Sampled, the parentage being too tangled for exact figures; standard error {error}."
    if not weighed:
        yield "The parentage is too tangled to say what each record moved it by."


def segment_sentence(segment: DonorSegment, sex: Sex | None, chances: Chances) -> str:
    """How much of the donor's chromosome is expected to have come along with its allele."""
    place = segment.place
    where = (
        f"the middle of chromosome {place.chromosome}"
        if place.chromosome
        else ("the middle of a chromosome of usual length")
    )
    carries = "" if chances[0] == 0 else f" if {pronoun(sex)} carries it"
    cuts = f"{segment.mean_meioses:.1f}".removesuffix(".0")
    whole = sum(place.arms)
    return (
        f"Donor's piece around it{carries}: about {percent(segment.length / whole)} of the "
        f"chromosome ({segment.length:.0f} of {whole:.0f} centimorgans), "
        f"{cuts} {'cross' if cuts == '1' else 'crosses'} having had the chance to "
        f"cut it (the gene taken as in {where})."
    )


def _names(study: Study, facts: Portrait) -> Names:
    birds, pedigree, own = study.flock.by_band(), study.flock.pedigree, facts.bird
    return Names(
        own=possessive(own.sex),
        relation=lambda band: relation(pedigree, own.band, band, birds[band].sex),
        loci={symbol: plain_name(locus) for symbol, locus in study.loci.items()},
        files={f"{table}.csv": file for table, file in study.flock.tables.files.items()},
    )


def copies_text(chances: Chances) -> str:
    """The chances of each number of copies the bird can have.

    Examples
    --------
    >>> copies_text((0.0, 1.0, 0.0)), copies_text((0.25, 0.75, 0.0))
    ('1 copy', '0 copies 25 %, 1 copy 75 %')
    """
    possible = [(count, chance) for count, chance in enumerate(chances) if chance > 0]
    named = [f"{count} {'copy' if count == 1 else 'copies'}" for count, _ in possible]
    if len(named) == 1:
        return named[0]
    return ", ".join(
        f"{name} {percent(chance)}" for name, (_, chance) in zip(named, possible, strict=True)
    )


def _shown(found: Account) -> list[Chances]:
    return [found.start, *(step.after for step in found.telling)]


def _print_account(console: Console, names: Names, found: Account) -> None:
    """A row for each step that tells: what it adds, and the chances after it."""
    double = any(chances[2] > 0 for chances in _shown(found))
    rows = [_row("parents and the founders' breeds alone", found.start, double=double)]
    rows += [
        _row(step_text(step, found, names), step.after, double=double) for step in found.telling
    ]
    if found.quiet_records:
        quiet = f"{found.quiet_records} other records"
        rows.append([quiet, "no change", *([""] if double else [])])
    columns = [
        Column(heading="What is known", sentence=True),
        Column(heading="Carries", number=True),
        *([Column(heading="2 copies", number=True)] if double else []),
    ]
    print_rows(console, columns, rows)


def _row(words: str, chances: Sequence[float], *, double: bool) -> list[str]:
    cells = [words, percent(min(1.0, chances[1] + chances[2]))]
    return [*cells, percent(chances[2])] if double else cells
