"""What each command prints for people: tables and sentences, nothing else."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.locus import cautions
from matchmaker.pairs.risk import lines_at_risk
from matchmaker.pairs.rules import Rule
from matchmaker.report.defaults import defaults_of
from matchmaker.report.finding_words import place_text
from matchmaker.report.findings import print_findings
from matchmaker.report.line_sentences import risk_sentence, rotation_sentence
from matchmaker.report.locus_sentences import LOCAL_RULES
from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.why.costs import cost_legend, cost_text
from matchmaker.report.wording import breed_name, crossing_sentence, reasons, rule_state
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from rich.console import Console

    from matchmaker.errors import Fault
    from matchmaker.explain.prices import Cost
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.report.findings import Shown
    from matchmaker.tables.folder import FolderTables
    from matchmaker.verbs import Check


def print_check(console: Console, found: Check, shown: Shown) -> None:
    """Faults and doubts in one list, then the open crossings in sentences."""
    print_findings(console, shown)
    if found.not_looked_at or found.table is None:
        print_columns_not_read(console, found.tables)
    if found.not_looked_at:
        print_cautions(console, found.loci)
        say(console, "No faults in what was looked at; a doubt above says what was not.")
    if found.table is None:
        return
    say(console, "Crossings open this season:", style="bold")
    for crossing in found.crossings:
        say(console, crossing_sentence(crossing), indent=2)
    if not found.crossings:
        say(console, "none: no plan can be made before a row is open", indent=2)
    rotation = rotation_sentence(found.table.study.flock.settings)
    if rotation:
        say(console, rotation)
    print_risks(console, found.table)
    print_cautions(console, found.table.study.loci)
    print_defaults(console, found.table)
    console.print()
    print_columns_not_read(console, found.tables)
    say(console, "No faults." if not found.doubts else "No faults; the doubts stop nothing.")


def print_columns_not_read(console: Console, tables: FolderTables) -> None:
    """Name the keeper's own columns, so that none is thought to count that does not."""
    unread = [
        f"{tables.files[name]} ({', '.join(columns)})"
        for name, columns in tables.extras.items()
        if columns
    ]
    if unread:
        say(console, f"Columns that are kept but not read: {', '.join(unread)}.")


def print_risks(console: Console, table: PairTable) -> None:
    """Lines that are about to die out, before they do."""
    risks = lines_at_risk(table)
    if risks:
        console.print()
        say(console, "Lines at risk of dying out", style="bold")
    for risk in risks:
        say(console, risk_sentence(risk), indent=2)


def print_cautions(console: Console, loci: Mapping[str, Locus]) -> None:
    """Which loci of the flock can hurt their bearers, and whom to ask."""
    found = cautions(loci)
    if not found:
        return
    console.print()
    say(console, "Cautions:", style="bold")
    for symbol, caution in found.items():
        say(console, f"{symbol} ({loci[symbol].name}): {caution}.", indent=2)
    say(console, LOCAL_RULES, indent=2)


def print_faults(console: Console, faults: Iterable[Fault], kind: str, what: str) -> None:
    """Each fault: where, what, and how to mend it."""
    faults = list(faults)
    if not faults:
        return
    many = "" if len(faults) == 1 else "s"
    say(console, f"{len(faults)} {kind}{many} ({what}):", style="bold")
    for alike in _together(faults):
        say(console, f"{place_text(*alike)}: {alike[0].problem}", indent=2)
        _print_mend(console, alike[0].mend)
    console.print()


def _together(faults: Iterable[Fault]) -> list[list[Fault]]:
    """The faults that differ by their row alone, together; those of the settings come first.

    One wrong key of the settings makes many cells of the tables look wrong.
    """
    alike: dict[tuple[str, ...], list[Fault]] = defaultdict(list)
    for fault in faults:
        alike[fault.file, fault.column or "", fault.value or "", fault.problem, fault.mend].append(
            fault
        )
    return sorted(alike.values(), key=lambda group: not _in_settings(group[0]))


def _in_settings(fault: Fault) -> bool:
    return fault.file == SETTINGS_FILE


def _print_mend(console: Console, mend: str) -> None:
    """What to do; lines to be copied stay lines."""
    first, *more = mend.splitlines() or [""]
    say(console, f"→ {first}", indent=6)
    for line in more:
        say(console, line, indent=8)


def print_defaults(console: Console, table: PairTable) -> None:
    """What was assumed because the tables do not say."""
    defaults = defaults_of(table)
    if defaults:
        console.print()
        say(console, "Taken for granted, the tables not saying otherwise:", style="bold")
        for sentence in defaults:
            say(console, sentence, indent=2)


def print_pairs(
    console: Console, table: PairTable, costs: Mapping[Key, Cost] | None = None
) -> None:
    """Each hen: the cocks she could go with and what that is worth, then why not the others.

    With ``costs`` also what each pair would cost the plan.
    """
    by_hen: dict[str, list[Pair]] = defaultdict(list)
    for pair in table.pairs:
        if not table.of_birds[pair.hen] and not table.of_birds[pair.cock]:
            by_hen[pair.hen].append(pair)
    birds = table.study.flock.by_band()
    recurrent = breed_name(table.study.flock.settings.recurrent)
    columns = _pair_columns(recurrent, costs=costs is not None)
    for hen, pairs in by_hen.items():
        say(console, f"Hen {hen} ({birds[hen].line}) could go with", style="bold")
        allowed = sorted((p for p in pairs if p.allowed), key=lambda p: (-(p.value or 0.0), p.key))
        if allowed:
            print_rows(console, columns, [_pair_row(pair, costs) for pair in allowed])
        else:
            say(console, "nobody", indent=2)
        rejected = [pair for pair in pairs if not pair.allowed]
        _print_rejected(console, rejected, {pair.cock for pair in allowed})
        console.print()
    _print_left_out(console, table)
    if costs is not None:
        say(console, cost_legend(costs.values()))


def _pair_columns(recurrent: str, *, costs: bool) -> list[Column]:
    found = [
        Column(heading="Cock"),
        Column(heading="Chicks join"),
        Column(heading="Kinship", number=True),
        Column(heading="Wanted", number=True),
        Column(heading=f"Chicks {recurrent}", number=True),
        Column(heading="Raised", number=True),
        Column(heading="Value", number=True),
    ]
    return [*found[:4], found[-1], Column(heading="Would cost", number=True)] if costs else found


def _pair_row(pair: Pair, costs: Mapping[Key, Cost] | None) -> list[str]:
    cells = [
        pair.cock + (" (by your wish)" if pair.waived else ""),
        pair.line or "–",
        kinship_text(pair.kinship),
        percent(pair.wanted_chance or 0.0),
        share_text(pair.recurrent_share),
        chicks_text(pair.chicks),
        chicks_text(pair.value or 0.0),
    ]
    if costs is None:
        return cells
    return [*cells[:4], f"{pair.value or 0.0:.2f}", cost_text(costs.get(pair.key))]


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
