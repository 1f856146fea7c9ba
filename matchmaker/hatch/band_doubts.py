"""Where the bands of a row of eggs and the table of birds do not say the same of the chicks."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from matchmaker.hatch.bands import BandError, read_bands
from matchmaker.tables.findings import summed_up
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from collections.abc import Set as AbstractSet

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, EggRecord

_Side = tuple[str, str, "Sequence[BirdRecord]"]


def band_doubts(tables: FolderTables) -> Iterator[Fault]:
    """Doubt more bands than chicks hatched, and chicks of other parents than their eggs.

    A row whose bands make no one run says nothing here: they may be of several kinds.
    """
    birds = {bird.bird: bird for bird in tables.birds}
    sexes = {sex: {bird.bird for bird in tables.birds if bird.sex is sex} for sex in Sex}
    rows = [(egg, bands) for egg in tables.eggs if (bands := _bands(egg))]
    for egg, bands in rows:
        if len(bands) > _hatched(egg):
            yield _too_many(tables, egg, len(bands))
    sound = [
        (egg, [birds[band] for band in bands if band in birds])
        for egg, bands in rows
        if len(bands) <= _hatched(egg)
    ]
    yield from summed_up(
        (one for egg, chicks in sound for one in _other_parents(tables, egg, chicks, sexes)),
        "rows of eggs have chicks with another parent in the table of birds",
        "mend the parents of the chicks, or the cock, hen or bands of these rows",
    )


def _bands(egg: EggRecord) -> tuple[str, ...]:
    """The bands from the first to the last, if they make one run."""
    if not egg.first_band or not egg.last_band:
        return ()
    try:
        return read_bands(f"{egg.first_band}..{egg.last_band}")
    except BandError:
        return ()


def _hatched(egg: EggRecord) -> float:
    """How many chicks hatched at most; no end where nothing is written."""
    return inf if egg.hatched is None else egg.hatched


def _too_many(tables: FolderTables, egg: EggRecord, count: int) -> Fault:
    return tables.fault(
        "eggs",
        egg.row,
        "last_band",
        kind="more-bands-than-chicks",
        value=egg.last_band,
        problem=f"from {egg.first_band} to {egg.last_band} are {count} bands, but {egg.hatched} "
        "chicks hatched",
        mend="mend one of the two bands, or the number hatched",
    )


def _other_parents(
    tables: FolderTables,
    egg: EggRecord,
    chicks: Sequence[BirdRecord],
    sexes: Mapping[Sex, AbstractSet[str]],
) -> Iterator[Fault]:
    hens, cocks = sexes[Sex.HEN], sexes[Sex.COCK]
    sires = [one for one in chicks if _clashes(egg.cock, dict(one.sire.candidates).keys() - hens)]
    dams = [one for one in chicks if _clashes(egg.hen, dict(one.dam.candidates).keys() - cocks)]
    if sires:
        yield _not_of(tables, egg, ("cock", egg.cock, sires))
    if dams:
        yield _not_of(tables, egg, ("hen", egg.hen, dams))


def _clashes(written: str, parents: AbstractSet[str]) -> bool:
    """Whether eggs of one bird, or of one of several, have a chick of none of these.

    Parents of the wrong sex are left out before, being told as that.
    """
    possible = {part.rpartition(":")[0] or part for part in written.split("|")}
    return bool(written and parents) and not possible & parents


def _not_of(tables: FolderTables, egg: EggRecord, side: _Side) -> Fault:
    column, parent, chicks = side
    first, more = chicks[0], len(chicks) - 1
    named = first.bird + (f" and {more} more" if more else "")
    role = "sire" if column == "cock" else "dam"
    return tables.fault(
        "eggs",
        egg.row,
        column,
        kind="parent-against-eggs",
        value=parent,
        problem=f"these eggs are of the {column} {parent}, but {named} of their chicks (row "
        f"{first.row} of the birds) {'have' if more else 'has'} another {role}",
        mend=f"mend the {role} in the table of birds, or this {column}, or the bands of this row",
        birds=tuple(chick.bird for chick in chicks),
    )
