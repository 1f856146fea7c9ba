"""The screen of the whole flock: every bird, the lines, the founders, and what is doubtful."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.census import DoubtKind, census
from matchmaker.genetics.shares.spread import share_ranges
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.numbers import kinship_text, percent, share_text, signed
from matchmaker.report.odd_scores import odd_sentences, uncounted_sentences
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.traits import print_traits
from matchmaker.report.wording import breed_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import Console

    from matchmaker.genetics.census import FlockDoubt, LineCensus, Rates
    from matchmaker.genetics.kin.founders import Founder, FounderGenes, FounderPart
    from matchmaker.genetics.shares.spread import ShareRange
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable

NO_SPREAD: Final = 0.0005
"""Half a range of shares below this is no range worth showing."""

LISTED: Final = 6
"""More birds than this are counted, not listed."""


def print_flock(console: Console, table: PairTable) -> None:
    """Every living bird, then the lines, the founders and what is doubtful."""
    study = table.study
    found = census(study)
    _print_birds(console, study)
    _print_lines(console, study, found.lines)
    print_traits(console, study)
    if found.founders is not None:
        _print_founders(console, found.founders)
    _print_rates(console, found.rates)
    _print_doubts(console, study, found.doubts)


def _print_birds(console: Console, study: Study) -> None:
    """One living bird a row, lines apart."""
    living = study.flock.living
    mean = study.kinship.mean_with([bird.band for bird in study.flock.breeders])
    inbreeding = study.kinship.inbreeding()
    symbols = list(study.loci)
    recurrent = breed_name(study.flock.settings.recurrent)
    bands = [bird.band for bird in living]
    shares = share_ranges(study.flock.pedigree, study.flock.settings.recurrent, bands)
    columns = [
        *(Column(heading=heading) for heading in ("Bird", "Sex", "Line")),
        *(Column(heading=heading, number=True) for heading in ("Inbr.", "Kin.", recurrent)),
        *(Column(heading=symbol, number=True) for symbol in symbols),
        *(Column(heading=heading, number=True) for heading in ("Merit", "Trust")),
    ]
    rows = [
        [
            bird.band,
            str(bird.sex or "?"),
            bird.line,
            kinship_text(inbreeding[bird.band]),
            kinship_text(mean[bird.band]),
            range_text(study.recurrent_share[bird.band], shares[bird.band]),
            *(percent(study.genotypes[s].carrier_probability(bird.band)) for s in symbols),
            signed(study.merit(bird.band)),
            percent(study.reliability(bird.band)),
        ]
        for bird in sorted(living, key=lambda bird: (bird.line, str(bird.sex), bird.band))
    ]
    print_rows(console, columns, rows)
    say(
        console,
        "Inbr.: inbreeding (0 to 1). Kin.: mean kinship to the living breeders (0 to 1). "
        f"{recurrent}: expected share of that breed; 19 of 20 such birds lie within ±. "
        + "".join(f"{s}: chance of carrying {plain_name(study.loci[s])}. " for s in symbols)
        + "Merit: how much more a wanted chick like it counts, by the scores of the bird and its "
        "kin. Trust: how far to trust that; 100 % would be certain, 0 % nothing known.",
    )


def range_text(share: float, spread: ShareRange) -> str:
    """An expected share with the range that 19 of 20 such birds lie in, if there is one.

    Examples
    --------
    >>> from matchmaker.genetics.shares.spread import ShareRange
    >>> range_text(0.875, ShareRange(0.875, 0.0297)), range_text(1.0, ShareRange(1.0, 0.0))
    ('87.5 ±6 %', '100 %')
    """
    half = (spread.high - spread.low) / 2
    if half < NO_SPREAD:
        return share_text(share)
    return share_text(share).replace(" %", f" ±{max(100 * half, 1):.0f} %")


def _print_lines(console: Console, study: Study, lines: Sequence[LineCensus]) -> None:
    console.print()
    say(console, "Lines", style="bold")
    recurrent = breed_name(study.flock.settings.recurrent)
    headings = ("Cocks", "Hens", "Not sexed", "Kin. within", "Kin. to others", recurrent)
    columns = [Column(heading="Line"), *(Column(heading=h, number=True) for h in headings)]
    print_rows(console, columns, [_line_row(line) for line in lines])
    say(
        console,
        "Kin. within: mean kinship of the line's breeders with each other, each with itself "
        "included. Kin. to others: with the breeders of the other lines.",
    )


def _line_row(line: LineCensus) -> list[str]:
    return [
        line.line,
        str(line.cocks),
        str(line.hens),
        str(line.unsexed or "–"),
        *("–" if mean is None else kinship_text(mean) for mean in (line.within, line.to_others)),
        share_text(line.recurrent_share),
    ]


def _print_founders(console: Console, found: FounderGenes) -> None:
    """How much of the founders is left, and who gave most."""
    console.print()
    say(console, "Founders", style="bold")
    left = left_text(found.genomes_left, len(found.parts))
    say(
        console,
        f"Genes of {left} founders are left in the living breeders. By how unequally they are "
        f"spread, they are worth {found.genome_equivalents:.1f} founders that gave alike and lost "
        "nothing (founder genome equivalents).",
    )
    print_rows(console, _FOUNDER_COLUMNS, _founder_rows(found.parts))
    say(
        console,
        "Gave: part of the breeders' genes that came from it. Left: part of its own genes that at "
        "least one breeder still has.",
    )


def left_text(left: float, founders: int) -> str:
    """How many founders' genes are left of how many; never "all" while something is lost.

    Examples
    --------
    >>> left_text(3.21, 11), left_text(13.97, 14), left_text(14.0, 14)
    ('3.2 of 11', 'over 13.9 of 14', '14 of 14')
    """
    if left >= founders:
        return f"{founders} of {founders}"
    if left > founders - 0.05:
        return f"over {founders - 0.1:.1f} of {founders}"
    return f"{left:.1f} of {founders}"


_FOUNDER_COLUMNS: Final = (
    Column(heading="Founder"),
    Column(heading="Gave", number=True),
    Column(heading="Left", number=True),
)


def _founder_rows(parts: Sequence[FounderPart]) -> list[list[str]]:
    """The founders that gave most, and all others in one row."""
    ranked = sorted(parts, key=lambda part: (-part.contribution, part.founder.bird))
    shown, rest = ranked[:LISTED], ranked[LISTED:]
    rows = [
        [founder_text(part.founder), percent(part.contribution), percent(part.retention)]
        for part in shown
    ]
    if rest:
        gave, left = (sum(one.contribution for one in rest), sum(one.retention for one in rest))
        rows.append([f"{len(rest)} others", percent(gave), percent(left / len(rest))])
    return rows


def founder_text(founder: Founder) -> str:
    """A founder by its band, or as the unwritten parent of a bird.

    Examples
    --------
    >>> from matchmaker.genetics.kin.founders import Founder
    >>> founder_text(Founder("A7")), founder_text(Founder("A7", "sire"))
    ('A7', 'unwritten sire of A7')
    """
    return f"unwritten {founder.unwritten} of {founder.bird}" if founder.unwritten else founder.bird


def _print_rates(console: Console, rates: Rates) -> None:
    console.print()
    say(console, "Inbreeding and effective size", style="bold")
    for sentence in rate_sentences(rates):
        say(console, sentence, indent=2)


def rate_sentences(rates: Rates) -> Iterator[str]:
    """How fast inbreeding rises, and how many birds the breeders are worth."""
    rate, size = rates.inbreeding.per_generation, rates.inbreeding.effective_size
    if rate is None:
        yield "no breeder has forebears enough in the tables to tell how fast inbreeding rises"
    elif size is None:
        yield "no breeder is inbred by the tables yet"
    else:
        yield (
            f"inbreeding rose by {percent(rate, 1)} a generation behind the living breeders, as in "
            f"a flock of {size:.0f} birds, half of them cocks, mated at random (effective size; "
            "common practice aims at 50 or more, which is 1 % or less)"
        )
    yield (
        f"by the numbers of cocks and hens alone, the effective size is {rates.size_by_sexes:.0f}"
    )
    if rates.diversity is not None:
        yield (
            f"mean kinship of the breeders, each with itself included: "
            f"{kinship_text(rates.diversity.mean_kinship)}"
        )
    if rates.interval.years is not None:
        yield f"a generation takes {rates.interval.years:.1f} years (age of parents at hatch)"


def _print_doubts(console: Console, study: Study, doubts: Sequence[FlockDoubt]) -> None:
    odd, uncounted = odd_sentences(study), uncounted_sentences(study)
    if not doubts and not odd and not uncounted:
        return
    console.print()
    say(console, "What is doubtful", style="bold")
    for sentence in uncounted:
        say(console, sentence, indent=2)
    for sentence in odd:
        say(console, f"odd score: {sentence}", indent=2)
    for doubt in doubts:
        say(console, doubt_text(doubt, study), indent=2)


DOUBTS: Final[Mapping[DoubtKind, str]] = {
    DoubtKind.SEX: "sex not known",
    DoubtKind.SEVERAL_PARENTS: "one of several possible sires or dams",
    DoubtKind.PARENT_UNKNOWN: "a parent not written, taken as any bird of the line then alive",
    DoubtKind.COPIES: "may or may not carry {locus} (10 to 90 %)",
    DoubtKind.CHANCES: "chances for {locus} drawn by lot, the parentage being too tangled to sum",
    DoubtKind.FOUNDER_ASSUMED: "no parents written, taken as founders (gone birds included)",
}


def doubt_text(doubt: FlockDoubt, study: Study) -> str:
    """One kind of doubt with its birds, counted where they are many."""
    locus = plain_name(study.loci[doubt.locus]) if doubt.locus else ""
    return f"{DOUBTS[doubt.kind].format(locus=locus)}: {bands_text(doubt.birds)}"


def bands_text(bands: Sequence[str]) -> str:
    """Bands in a sentence; beyond the first few only their number.

    Examples
    --------
    >>> bands_text(["A1", "A2"]), bands_text([f"A{number}" for number in range(9)])
    ('A1, A2', '9 birds: A0, A1, A2, A3, A4, A5 and 3 more')
    """
    if len(bands) <= LISTED:
        return ", ".join(bands)
    shown = ", ".join(bands[:LISTED])
    return f"{len(bands)} birds: {shown} and {len(bands) - LISTED} more"
