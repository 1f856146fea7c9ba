"""What each command prints for people: tables and sentences, nothing else."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.pairs.rules import Rule
from matchmaker.report.defaults import defaults_of
from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text, signed
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import crossing_sentence, reasons, rule_sentence, rule_state

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from matchmaker.errors import Fault
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.verbs import Check


def print_check(console: Console, found: Check) -> None:
    """Faults, doubts, then the open crossings in sentences."""
    print_faults(console, found.faults, "fault", "must be mended")
    print_faults(console, found.doubts, "doubt", "worth a look")
    if found.table is None:
        return
    say(console, "Crossings open this season:", style="bold")
    for crossing in found.crossings:
        say(console, crossing_sentence(crossing), indent=2)
    if not found.crossings:
        say(console, "none: no plan can be made before a row is open", indent=2)
    print_defaults(console, found.table)
    console.print()
    say(console, "No faults." if not found.doubts else "No faults; the doubts stop nothing.")


def print_faults(console: Console, faults: Iterable[Fault], kind: str, what: str) -> None:
    """Each fault: where, what, and how to mend it."""
    faults = list(faults)
    if not faults:
        return
    many = "" if len(faults) == 1 else "s"
    say(console, f"{len(faults)} {kind}{many} ({what}):", style="bold")
    for fault in faults:
        say(console, f"{place_text(fault)}: {fault.problem}", indent=2)
        _print_mend(console, fault.mend)
    console.print()


def _print_mend(console: Console, mend: str) -> None:
    """What to do; lines to be copied stay lines."""
    first, *more = mend.splitlines() or [""]
    say(console, f"→ {first}", indent=6)
    for line in more:
        say(console, line, indent=8)


def place_text(fault: Fault) -> str:
    """File, row and column of a fault, with the value that stands there."""
    parts = [fault.file]
    if fault.row is not None:
        parts.append(f"row {fault.row}")
    if fault.column:
        parts.append(f"column {fault.column}")
    value = f' "{fault.value}"' if fault.value else ""
    return ", ".join(parts) + value


def print_defaults(console: Console, table: PairTable) -> None:
    """What was assumed because the tables do not say."""
    defaults = defaults_of(table)
    if defaults:
        console.print()
        say(console, "Taken for granted, the tables not saying otherwise:", style="bold")
        for sentence in defaults:
            say(console, sentence, indent=2)


def print_flock(console: Console, table: PairTable) -> None:
    """Every living bird in one table, lines apart."""
    study = table.study
    living = study.flock.living
    mean = study.kinship.mean_with([bird.band for bird in study.flock.breeders])
    inbreeding = study.kinship.inbreeding()
    symbols = list(study.loci)
    recurrent = study.flock.settings.recurrent
    columns = [
        Column(heading="Bird"),
        Column(heading="Sex"),
        Column(heading="Line"),
        Column(heading="Inbr.", number=True),
        Column(heading="Kin.", number=True),
        Column(heading=recurrent.capitalize(), number=True),
        *(Column(heading=symbol, number=True) for symbol in symbols),
        Column(heading="Merit", number=True),
        Column(heading="Trust", number=True),
    ]
    rows = [
        [
            bird.band,
            str(bird.sex or "?"),
            bird.line,
            kinship_text(inbreeding[bird.band]),
            kinship_text(mean[bird.band]),
            share_text(study.recurrent_share[bird.band]),
            *(percent(study.genotypes[s].carrier_probability(bird.band)) for s in symbols),
            signed(study.merit(bird.band)),
            percent(study.reliability(bird.band)),
        ]
        for bird in sorted(living, key=lambda bird: (bird.line, str(bird.sex), bird.band))
    ]
    print_rows(console, columns, rows)
    say(
        console,
        "Inbr.: inbreeding (0 to 1). Kin.: mean kinship to the living breeders. "
        f"{recurrent.capitalize()}: expected share of that breed. "
        + "".join(f"{s}: chance of carrying {study.loci[s].name.lower()}. " for s in symbols)
        + "Merit: how much more a chick counts by its scores. Trust: how far to trust the merit.",
    )


def print_bird(console: Console, table: PairTable, band: str) -> None:
    """One bird: who it is, its parents, genotypes and traits."""
    study = table.study
    bird = study.flock.by_band()[band]
    record = bird.record
    hatched = "hatch date unknown" if bird.hatched is None else f"hatched {bird.hatched}"
    say(
        console, f"{band}: {bird.sex or 'sex unknown'} of line {bird.line}, {hatched}", style="bold"
    )
    facts = [
        f"status: {record.status}",
        f"sire: {_parents(record.sire.candidates) or record.sire.origin}",
        f"dam: {_parents(record.dam.candidates) or record.dam.origin}",
        f"{study.flock.settings.recurrent.capitalize()}: {share_text(study.recurrent_share[band])}",
    ]
    kinship = study.kinship_with([band])
    breeders = [other.band for other in study.flock.breeders]
    facts += [
        f"inbreeding: {kinship_text(kinship.inbreeding()[band])}",
        f"mean kinship to the living breeders: {kinship_text(kinship.mean_with(breeders)[band])}",
    ]
    for symbol, locus in study.loci.items():
        possible = locus.copy_numbers(bird.sex) if bird.sex else range(3)
        chances = study.genotypes[symbol].of(band)
        words = ", ".join(
            f"{c} {'copy' if c == 1 else 'copies'} {percent(chances[c])}"
            for c in possible
            if chances[c] > 0
        )
        facts.append(f"{locus.name} ({symbol}): {words}")
    for trait, found in sorted(study.predictions.items()):
        facts.append(
            f"{trait}: {signed(found.standardised[band])} genetic standard deviations; how far to "
            f"trust it: {percent(found.reliability[band])}"
        )
    facts.append(
        f"merit: {signed(study.merit(band))} (so much more, or less, a wanted chick like it counts)"
    )
    facts += [f"rejected: {rule_sentence(broken)}" for broken in table.of_birds.get(band, ())]
    for fact in facts:
        say(console, fact, indent=2)


def _parents(candidates: tuple[tuple[str, float], ...]) -> str:
    if len(candidates) == 1:
        return candidates[0][0]
    return " or ".join(f"{band} ({percent(chance)})" for band, chance in candidates)


def print_pairs(console: Console, table: PairTable) -> None:
    """Each hen: the cocks she could go with and what that is worth, then why not the others."""
    by_hen: dict[str, list[Pair]] = defaultdict(list)
    for pair in table.pairs:
        if not table.of_birds[pair.hen] and not table.of_birds[pair.cock]:
            by_hen[pair.hen].append(pair)
    birds = table.study.flock.by_band()
    columns = _pair_columns(table.study.flock.settings.recurrent.capitalize())
    for hen, pairs in by_hen.items():
        say(console, f"Hen {hen} ({birds[hen].line}) could go with", style="bold")
        allowed = sorted((p for p in pairs if p.allowed), key=lambda p: (-(p.value or 0.0), p.key))
        if allowed:
            print_rows(console, columns, [_pair_row(pair) for pair in allowed])
        else:
            say(console, "nobody", indent=2)
        rejected = [pair for pair in pairs if not pair.allowed]
        _print_rejected(console, rejected, {pair.cock for pair in allowed})
        console.print()
    _print_left_out(console, table)


def _pair_columns(recurrent: str) -> list[Column]:
    return [
        Column(heading="Cock"),
        Column(heading="Chicks join"),
        Column(heading="Kinship", number=True),
        Column(heading="Wanted", number=True),
        Column(heading=f"Chicks {recurrent}", number=True),
        Column(heading="Raised", number=True),
        Column(heading="Value", number=True),
    ]


def _pair_row(pair: Pair) -> list[str]:
    return [
        pair.cock + (" (by your wish)" if pair.waived else ""),
        pair.line or "–",
        kinship_text(pair.kinship),
        percent(pair.wanted_chance or 0.0),
        share_text(pair.recurrent_share),
        chicks_text(pair.chicks),
        chicks_text(pair.value or 0.0),
    ]


def _print_rejected(console: Console, pairs: Iterable[Pair], elsewhere: set[str]) -> None:
    """Rejected cocks, those with the same reasons together; kinship stands beside the band.

    The row is named for a cock who is allowed ``elsewhere``, in another row.
    """
    by_state: dict[str, dict[str, None]] = defaultdict(dict)
    for pair in pairs:
        state = "; ".join(dict.fromkeys(map(rule_state, pair.broken)))
        if pair.cock in elsewhere and pair.crossing:
            state += f' in the row "{pair.crossing.name}"'
        related = any(broken.rule is Rule.TOO_RELATED for broken in pair.broken)
        shown = f"{pair.cock}\u00a0({kinship_text(pair.kinship)})" if related else pair.cock
        by_state[state][shown] = None
    for state, cocks in by_state.items():
        say(console, f"{state}: {', '.join(cocks)}", indent=2)


def _print_left_out(console: Console, table: PairTable) -> None:
    """Birds that no pair of theirs can save, with the reason once instead of in every row."""
    left_out = [(band, broken) for band, broken in sorted(table.of_birds.items()) if broken]
    if not left_out:
        return
    say(console, "Left out of the tables above, whatever the mate:", style="bold")
    for _, broken in left_out:
        say(console, reasons(broken), indent=2)
