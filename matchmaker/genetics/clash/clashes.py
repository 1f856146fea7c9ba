"""Faults for the loci of a flock whose records cannot all be true."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.errors import CellMend
from matchmaker.genetics.clash.clash_words import Wording
from matchmaker.genetics.clash.corrections import Clash, find_clash, fits_exchanged
from matchmaker.genetics.clash.exchange import hatchings
from matchmaker.genetics.clash.suppositions import case_of
from matchmaker.genetics.genotypes.observed import birds_of
from matchmaker.tables.parents import parent_text
from matchmaker.tables.stays import stays_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.tables.stays import Stay


def clash_faults(
    flock: Flock,
    loci: Mapping[str, Locus],
    evidence: Mapping[str, Sequence[Evidence]],
    clashing: Sequence[str],
) -> list[Fault]:
    """Return a fault for each of the ``clashing`` loci, in their order.

    What would explain several loci is named first. Bands are not said to be exchanged where that
    would make the records of a locus impossible that are possible as they stand.

    Raises
    ------
    TooTangledError
        If exact work on a clashing locus would need too much memory.
    """
    found = {
        symbol: clash
        for symbol in clashing
        if (clash := _clash(flock, loci, evidence, symbol, clashing)) is not None
    }
    wordings = {
        symbol: Wording(flock.tables, loci[symbol], flock.settings.recurrent) for symbol in clashing
    }
    explains: dict[str, list[str]] = defaultdict(list)
    for symbol, clash in found.items():
        for sentence in wordings[symbol].alone(clash):
            explains[sentence].append(f"{loci[symbol].name} ({symbol})")
    return [
        _fault(flock, loci[symbol], wordings[symbol], found.get(symbol), explains)
        for symbol in clashing
    ]


def _clash(
    flock: Flock,
    loci: Mapping[str, Locus],
    evidence: Mapping[str, Sequence[Evidence]],
    symbol: str,
    clashing: Sequence[str],
) -> Clash | None:
    recurrent = flock.settings.recurrent
    hatched = hatchings(flock.tables.birds)
    together = (*hatched, *_penned(flock))
    clash = find_clash(flock.pedigree, loci[symbol], evidence[symbol], recurrent, together)
    if clash is None or not clash.exchanges:
        return clash
    sound = [
        case_of(flock.pedigree, locus, evidence[other], recurrent)
        for other, locus in loci.items()
        if other not in clashing
    ]
    kept = [pair for pair in clash.exchanges if all(fits_exchanged(case, pair) for case in sound)]
    return replace(clash, exchanges=_at_hatching(kept, hatched) or tuple(kept))


def _penned(flock: Flock) -> Iterator[frozenset[str]]:
    """The birds that were in one pen at a time, where bands can be exchanged as well."""
    pens: dict[str, list[Stay]] = defaultdict(list)
    for stay in stays_of(flock.tables):
        pens[stay.move.pen].append(stay)
    for stays in pens.values():
        for one in stays:
            yield frozenset(other.move.bird for other in stays if one is other or one.meets(other))


def _at_hatching(
    pairs: Sequence[tuple[str, str]], hatched: Sequence[frozenset[str]]
) -> tuple[tuple[str, str], ...]:
    """The pairs that hatched together: chicks are banded in one go, so they are the likelier."""
    return tuple(pair for pair in pairs if any(set(pair) <= group for group in hatched))


def _fault(
    flock: Flock,
    locus: Locus,
    wording: Wording,
    clash: Clash | None,
    explains: Mapping[str, Sequence[str]],
) -> Fault:
    name = f"{locus.name} ({locus.symbol})"
    shared = {
        sentence: [other for other in others if other != name]
        for sentence, others in explains.items()
    }
    if clash is None or not clash.records:
        return flock.tables.setting_fault(
            f"loci.{locus.symbol}",
            kind="impossible-pedigree",
            problem=f"no genotypes at {locus.symbol} fit the pedigree, whatever was seen",
            mend=wording.mend(clash, shared)
            if clash
            else "check the frequencies given for the breeds, and the parents",
        )
    swap = _swap(flock, clash)
    records = sorted(clash.records, key=lambda one: (one.place.file, one.place.row))
    place = clash.records[0].place
    told = "; ".join(wording.told(one) for one in records)
    alone = len(records) == 1
    return flock.tables.fault(
        place.file.removesuffix(".csv"),
        place.row,
        place.column,
        kind="contradiction",
        value=place.words,
        problem=f"this record on {name} cannot be true: {told}"
        if alone
        else f"these records on {name} cannot all be true: {told}",
        mend=wording.mend(clash, shared),
        mends=swap,
        birds=_concerned(clash),
    )


def _concerned(clash: Clash) -> tuple[str, ...]:
    """The birds whose records clash, and those whose bands may have been exchanged."""
    told = [bird for record in clash.records for bird in birds_of(record)]
    swapped = [bird for pair in clash.exchanges for bird in pair]
    return tuple(dict.fromkeys([*told, *swapped]))


def _swap(flock: Flock, clash: Clash) -> tuple[CellMend, ...]:
    """The parents of two birds exchanged, where no other exchange explains the records.

    What is written under a band after hatching stays with it: only the parents change places. It
    is a proposal, and never made without a look at both birds.
    """
    if len(clash.exchanges) != 1:
        return ()
    birds = flock.by_band()
    one, two = (birds[band].record for band in clash.exchanges[0])
    return tuple(
        CellMend(table="birds", row=bird.row, column=side, was=was, becomes=becomes)
        for bird, other in ((one, two), (two, one))
        for side, was, becomes in (
            ("sire", parent_text(bird.sire), parent_text(other.sire)),
            ("dam", parent_text(bird.dam), parent_text(other.dam)),
        )
        if was != becomes
    )
