"""The loci of a flock: the catalogue's, and what the settings change or describe themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import Fault
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus, recombination_between
from matchmaker.genetics.loci.own_locus import changed_locus, own_faults
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.settings import Settings


def resolve_loci(
    settings: Settings, symbols: Iterable[str]
) -> tuple[dict[str, Locus], list[Fault]]:
    """Return the loci that ``symbols`` name and the faults met on the way.

    ``[loci.X]`` changes what the catalogue says of X, or describes a locus of the keeper's own,
    which needs at least its inheritance and its dominance or its alleles.

    Examples
    --------
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2})
    >>> loci, faults = resolve_loci(settings, ["O"])
    >>> loci["O"].name, faults
    ('Blue eggshell', [])
    """
    loci: dict[str, Locus] = {}
    faults: list[Fault] = []
    for symbol in dict.fromkeys(symbols):
        found = _resolve(settings, symbol)
        if isinstance(found, Locus):
            loci[symbol] = found
            faults += _stated_faults(settings, found)
        else:
            faults.append(found)
    return loci, [*faults, *_one_locus_twice(loci)]


def _resolve(settings: Settings, symbol: str) -> Locus | Fault:
    known = catalogue().get(symbol)
    stated = settings.loci.get(symbol)
    if known is not None:
        return known if stated is None else changed_locus(known, stated)
    if stated is None:
        return _unknown_locus(settings, symbol)
    missing = ["inheritance"] if stated.inheritance is None else []
    if stated.dominance is None and stated.alleles is None:
        missing.append("dominance")
    if missing:
        return _incomplete_locus(symbol, missing)
    return changed_locus(Locus(symbol=symbol, name=symbol, source="your settings"), stated)


def _stated_faults(settings: Settings, locus: Locus) -> list[Fault]:
    stated = settings.loci.get(locus.symbol)
    if stated is None:
        return []
    return [*own_faults(locus, stated), *_link_faults(settings, locus)]


def _unknown_locus(settings: Settings, symbol: str) -> Fault:
    guess = _nearest(symbol, [*catalogue(), *settings.loci])
    mend = f"did you mean {guess}? Otherwise" if guess else "Correct the symbol or"
    return Fault(
        kind="unknown-locus",
        file=SETTINGS_FILE,
        column=f"loci.{symbol}",
        value=symbol,
        problem=f"there is no locus {symbol} in the catalogue or in the settings",
        mend=f"{mend} describe it under {section('loci', symbol)} with inheritance and dominance",
    )


def _incomplete_locus(symbol: str, missing: list[str]) -> Fault:
    return Fault(
        kind="incomplete-locus",
        file=SETTINGS_FILE,
        column=f"loci.{symbol}",
        value=symbol,
        problem=f"{symbol} is not in the catalogue and its {' and '.join(missing)} is not given",
        mend=f"add {' and '.join(missing)} under {section('loci', symbol)}, or use a catalogue "
        "symbol",
    )


def _link_faults(settings: Settings, locus: Locus) -> Iterator[Fault]:
    if locus.linked_to is None:
        return
    other = _resolve(settings, locus.linked_to)
    if not isinstance(other, Locus):
        guess = _nearest(locus.linked_to, [*catalogue(), *settings.loci])
        yield _link_fault(
            locus,
            "unknown-locus",
            f"{locus.symbol} is said to be linked to {locus.linked_to}, which is no known locus",
            f"did you mean {guess}?" if guess else "name a catalogue locus or describe it",
        )
    elif other.symbol == locus.symbol:
        yield _link_fault(
            locus,
            "bad-setting",
            f"{locus.symbol} is said to be linked to itself",
            "name the other locus",
        )
    else:
        yield from _distance_faults(locus, other)


def _distance_faults(locus: Locus, other: Locus) -> Iterator[Fault]:
    """No figure at all, or two that differ."""
    if recombination_between(locus, other) is None:
        yield _link_fault(
            locus,
            "incomplete-locus",
            f"nothing says how tightly {locus.symbol} is linked to {other.symbol}",
            "add recombination: the share of gametes that part them, 0 to 0.5",
        )
    figures = {locus.recombination, other.recombination} - {None}
    if other.linked_to == locus.symbol and len(figures) > 1:
        yield _link_fault(
            locus,
            "bad-setting",
            f"the recombination of {locus.symbol} and {other.symbol} is given twice, differently",
            "give it under one of the two",
        )


def _link_fault(locus: Locus, kind: str, problem: str, mend: str) -> Fault:
    return Fault(
        kind=kind,
        file=SETTINGS_FILE,
        column=f"loci.{locus.symbol}.linked_to",
        value=locus.linked_to or "",
        problem=problem,
        mend=mend,
    )


def _one_locus_twice(loci: Mapping[str, Locus]) -> Iterator[Fault]:
    """Alleles of one locus exclude each other: they cannot be followed as two loci."""
    first: dict[str, str] = {}
    for symbol, locus in loci.items():
        if not locus.shared_name:
            continue
        kept = first.setdefault(locus.shared_name, symbol)
        if kept != symbol:
            yield Fault(
                kind="one-locus-twice",
                file=SETTINGS_FILE,
                column=f"loci.{symbol}",
                value=symbol,
                problem=f"{kept} and {symbol} are alleles of one locus, so no bird can be followed "
                "at them as at two",
                mend=_keep_one(loci[kept], symbol),
            )


def _keep_one(kept: Locus, dropped: str) -> str:
    if not kept.series:
        return f"keep {kept.symbol} or {dropped}, not both"
    looks = ", ".join(allele.words[0] for allele in kept.series if allele.words)
    return f"keep {kept.symbol} alone: what was seen of {dropped} can be written there ({looks})"


def _nearest(word: str, known: list[str]) -> str | None:
    for symbol in known:
        if symbol.casefold() == word.casefold():
            return symbol
    close = close_matches(word, known)
    return close[0] if close else None
