"""The loci a folder names and what was seen at each, with every fault and doubt on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.evidence import read_evidence, unknown_loci
from matchmaker.genetics.loci.linkage import link_faults
from matchmaker.genetics.loci.settled import resolve_loci

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.errors import Fault
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class LocusReading:
    """The loci of a folder and what was seen at each, with every fault and doubt on the way."""

    loci: Mapping[str, Locus]
    evidence: Mapping[str, tuple[Evidence, ...]]
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]


def read_loci(tables: FolderTables) -> LocusReading:
    """All loci the folder names and the evidence on them; needs no sound pedigree."""
    settings = tables.settings
    if settings is None:
        return LocusReading(loci={}, evidence={}, faults=(), doubts=())
    loci, faults = resolve_loci(settings, _symbols(settings, tables))
    faults += link_faults(loci)
    faults = [
        replace(fault, row=tables.setting_place(fault.column or "")["row"]) for fault in faults
    ]
    readings = {
        symbol: read_evidence(tables.birds, tables.seen, locus, settings.today)
        for symbol, locus in loci.items()
    }
    found = [] if faults else unknown_loci(tables.birds, tables.seen, loci)
    found += [fault for reading in readings.values() for fault in reading.faults]
    faults += _harmful_targets(settings, tables, loci)
    doubts = [doubt for reading in readings.values() for doubt in reading.doubts]
    doubts += _unread_columns(settings, tables, loci)
    return LocusReading(
        loci=loci,
        evidence={symbol: reading.evidence for symbol, reading in readings.items()},
        faults=(*faults, *_placed(found, tables)),
        doubts=tuple(_placed(doubts, tables)),
    )


def _symbols(settings: Settings, tables: FolderTables) -> list[str]:
    """Loci of the target, the configuration, the rows of matings and the birds' columns."""
    kept = (
        locus for row in settings.matings for sex in ("cock", "hen") for locus in row.keep_for(sex)
    )
    return list(dict.fromkeys([*settings.target, *settings.loci, *kept, *tables.loci_columns]))


def _harmful_targets(
    settings: Settings, tables: FolderTables, loci: Mapping[str, Locus]
) -> list[Fault]:
    """Targets that would make every bird of the breed one that dies or suffers of it."""
    return [
        tables.setting_fault(
            f"target.{symbol}",
            kind="harmful-target",
            value=str(copies),
            problem=f"birds with {copies} {'copy' if copies == 1 else 'copies'} of {symbol} "
            f"({loci[symbol].name}) die or are crippled: no breed can be pure for it"
            f"{f' ({loci[symbol].caution})' if loci[symbol].caution else ''}",
            mend=f"aim for {_harmless(loci[symbol])}; look at your local rules and ask a "
            "veterinarian first",
        )
        for symbol, copies in settings.target.items()
        if symbol in loci and copies and copies in loci[symbol].lethal
    ]


def _harmless(locus: Locus) -> str:
    one = 1 not in locus.lethal
    return "1 copy (carrier × non-carrier, for ever) or 0" if one else "0"


def _unread_columns(
    settings: Settings, tables: FolderTables, loci: Mapping[str, Locus]
) -> list[Fault]:
    """Columns of the birds that seem to speak of a target locus under another heading."""
    found = [
        (header, symbol)
        for header in tables.extras.get("birds", ())
        for symbol in settings.target
        if symbol in loci
        and _words(header) & _words(" ".join((loci[symbol].name, *loci[symbol].shown_words)))
    ]
    return [
        tables.fault(
            "birds",
            None,
            header,
            kind="column-not-read",
            value=header,
            problem="this column is kept but not read",
            mend=f"if it says what you saw of {loci[symbol].name}, call it {symbol}",
        )
        for header, symbol in found
    ]


def _words(text: str) -> set[str]:
    plain = "".join(letter if letter.isalnum() else " " for letter in text.casefold())
    return {word.removesuffix("s") for word in plain.split()}


def _placed(faults: Iterable[Fault], tables: FolderTables) -> list[Fault]:
    """Put the files and headers as the keeper has them in place of the tables' usual names."""
    placed = []
    for fault in faults:
        table = fault.file.removesuffix(".csv")
        placed.append(replace(fault, **tables.place(table, fault.row, fault.column)))
    return placed
