"""The loci command: the catalogue, a part of it, or one locus in full.

It asks ``genetics.known`` and not ``verbs``, which would load all that plans pens.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.options import refuse_beside
from matchmaker.errors import UsageError
from matchmaker.genetics.loci.known import known_loci
from matchmaker.genetics.loci.selection import Selection, selected
from matchmaker.report.loci import (
    asked_traits,
    loci_document,
    loci_sheet,
    print_links,
    print_loci,
    print_locus,
    print_not_one_gene,
)
from matchmaker.start import find_loci
from matchmaker.tables.nearness import close_matches

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from rich.console import Console

    from matchmaker.cli.output import Output
    from matchmaker.genetics.loci.catalogue import NotOneGene
    from matchmaker.genetics.loci.known import KnownLoci
    from matchmaker.genetics.loci.locus import Locus


def run_loci(
    folder: Path | None,
    symbol: str | None,
    words: str,
    wanted: Selection,
    output: Output,
) -> None:
    """Print the loci asked for."""
    known = known_loci(folder)
    if symbol is not None:
        _refuse_filters(words, wanted)
    shown = _asked(known, symbol, words, wanted)
    traits = asked_traits(words)
    if not shown and not traits:
        raise UsageError(f"no locus fits{f' {words!r}' if words else ''}; try other words")
    output.show(
        lambda console: _print(console, shown, known, wanted, traits, whole=symbol is not None),
        lambda: loci_document(shown, known, traits),
        lambda: loci_sheet(shown, known),
    )


def _refuse_filters(words: str, wanted: Selection) -> None:
    given = {
        "--find": words,
        "--z-linked": wanted.z_linked,
        "--day-old": wanted.day_old,
        "--caution": wanted.caution,
        "--linked": wanted.linked,
    }
    refuse_beside("a symbol", given)


def _asked(
    known: KnownLoci, symbol: str | None, words: str, wanted: Selection
) -> Mapping[str, Locus]:
    if symbol is not None:
        return {symbol: _named(symbol, known.loci)}
    loci = known.loci
    if words:
        loci = {locus.symbol: locus for locus in find_loci(words, loci)}
    return selected(loci, wanted)


def _named(symbol: str, loci: Mapping[str, Locus]) -> Locus:
    if symbol in loci:
        return loci[symbol]
    near = [known for known in loci if known.casefold() == symbol.casefold()]
    near += [locus.symbol for locus in find_loci(symbol, loci)]
    small = {known.casefold(): known for known in loci}
    near += [small[one] for one in close_matches(symbol.casefold(), small, most=3)]
    guesses = [f"{one} ({loci[one].name})" for one in dict.fromkeys(near)][:3]
    hint = f" Did you mean {' or '.join(guesses)}?" if guesses else ""
    words = symbol.strip() or "WORDS"
    raise UsageError(
        f"no locus has the symbol {symbol}.{hint} By words: matchmaker loci --find {words}. "
        "All of them: matchmaker loci"
    )


def _print(
    console: Console,
    shown: Mapping[str, Locus],
    known: KnownLoci,
    wanted: Selection,
    traits: tuple[NotOneGene, ...],
    *,
    whole: bool,
) -> None:
    if whole:
        for locus in shown.values():
            print_locus(console, locus, known)
    elif shown:
        table = print_links if wanted.linked else print_loci
        table(console, shown, known)
    print_not_one_gene(console, traits)
