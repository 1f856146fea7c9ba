"""Sires and dams that no bird has the band of, or whose sex does not allow it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from matchmaker.errors import CellMend
from matchmaker.flock.penned_then import Stood, pen_as_parent
from matchmaker.tables.ages import wrong_time
from matchmaker.tables.mentions import Mention, can_stand, parents_of_birds
from matchmaker.tables.nearness import NAMES_TOLD, Lexicon
from matchmaker.tables.odd_signs import clear_name, mend_of_unknown
from matchmaker.tables.records import Sex
from matchmaker.tables.unknown_bands import often_named
from matchmaker.tables.voices import likelier, outvoted, voices_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord
    from matchmaker.tables.voices import Voices


def parent_name_faults(tables: FolderTables) -> Iterator[Fault]:
    """Return a fault for each parent that is unknown, of the wrong sex or here at another time."""
    records = {record.bird: record for record in tables.birds}
    voices = voices_of(tables)
    known, told_elsewhere = Lexicon(records), outvoted(tables, voices)
    stood = Stood.of(tables)
    told_once = _told_once(tables, records)
    for mention in parents_of_birds(tables):
        found = records.get(mention.band)
        chick, sex = mention.chick, mention.sex
        assert chick is not None  # noqa: S101  parents have chicks
        assert sex is not None  # noqa: S101  and a side
        if found is None:
            cell = (mention.column, sex, mention.cell)
            pen = pen_as_parent(tables, stood, chick, cell) if mention.alone else None
            if pen or mention.band not in told_once:
                yield pen or _unknown_parent(tables, mention, records, known)
        elif found.sex not in {None, sex}:
            if _exchanged(chick, records) and not told_elsewhere & _single_parents(chick):
                yield from _sire_for_dam(tables, chick) if mention.column == "sire" else ()
            elif found.bird not in told_elsewhere:
                yield _wrong_sex(tables, mention, found, voices.get(found.bird))
        elif (problem := wrong_time(chick, found, sex)) is not None:
            kind, text, mend = problem
            yield tables.fault(
                "birds",
                mention.row,
                mention.column,
                kind=kind,
                value=mention.band,
                problem=text,
                mend=mend,
                birds=(chick.bird, mention.band),
            )


def _told_once(tables: FolderTables, records: Mapping[str, BirdRecord]) -> set[str]:
    """The bands that no bird has and that are told once for all rows, with the tables."""
    if all(one.band in records for one in parents_of_birds(tables)):
        return set()
    return {band for band in often_named(tables) if not several_meant(band, records)}


def _unknown_parent(
    tables: FolderTables, mention: Mention, records: Mapping[str, BirdRecord], known: Lexicon
) -> Fault:
    band = mention.band

    def fits(other: str) -> bool:
        return can_stand(records[other], mention)

    near = known.near(band, fits)
    others = {other for other in mention.cell.split("|") if other != band}
    only = clear_name(near)
    meant_for = several_meant(band, records) or (None if only in others else only)
    return tables.fault(
        "birds",
        mention.row,
        mention.column,
        kind="unknown-parent",
        value=band,
        problem=f"no bird {band} is in the list",
        mend=f"write {meant_for} if each of them may be it"
        if meant_for and "|" in meant_for
        else mend_of_unknown(
            near, {name: records[name].row for name in near.names}, _otherwise(band)
        ),
        mends=(mention.mended(meant_for),) if meant_for else (),
        safe=only is not None and meant_for == only and near.in_writing_only and fits(only),
        birds=(mention.chick.bird if mention.chick else "", *near.names[:NAMES_TOLD]),
    )


def several_meant(cell: str, records: Mapping[str, BirdRecord]) -> str:
    """Return a cell such as A/B as the tables write it, if each part is the band of a bird.

    Examples
    --------
    >>> several_meant("A/B", {"A": None, "B": None}), several_meant("A/7", {"A": None})
    ('A|B', '')
    """
    parts = [part.strip() for part in re.split(r"[/,;+&]", cell)]
    several = len(set(parts)) == len(parts) > 1
    return "|".join(parts) if several and all(part in records for part in parts) else ""


def _otherwise(band: str) -> str:
    """What to do where no bird is meant that has a row: words without a figure name none."""
    if " " in band and not any(letter.isdigit() for letter in band):
        return (
            "write the bands that are possible, as in C04|C07, founder if the bird was bought "
            "(from whom stands under source), or leave the cell empty if nobody knows"
        )
    return f"add a row for {band}, write founder, or leave the cell empty if nobody knows"


def _single_parents(chick: BirdRecord) -> set[str]:
    """The sire and the dam of a chick where each is one bird, else nothing."""
    sides = (chick.sire.candidates, chick.dam.candidates)
    return {side[0][0] for side in sides} if all(len(side) == 1 for side in sides) else set()


def _exchanged(chick: BirdRecord, records: Mapping[str, BirdRecord]) -> bool:
    """Whether a hen stands as the only sire of a chick and a cock as its only dam."""
    if len(_single_parents(chick)) < 2:
        return False
    sire, dam = (records.get(side.candidates[0][0]) for side in (chick.sire, chick.dam))
    return sire is not None and dam is not None and (sire.sex, dam.sex) == (Sex.HEN, Sex.COCK)


def _sire_for_dam(tables: FolderTables, chick: BirdRecord) -> Iterator[Fault]:
    sire, dam = chick.sire.candidates[0][0], chick.dam.candidates[0][0]
    yield tables.fault(
        "birds",
        chick.row,
        "sire",
        kind="parent-sex",
        value=sire,
        problem=f"{sire} is a hen and {dam} a cock: the sire and the dam of {chick.bird} stand in "
        "each other's place",
        mend="write each in the place of the other, if both sexes are right",
        mends=(
            CellMend(table="birds", row=chick.row, column="sire", was=sire, becomes=dam),
            CellMend(table="birds", row=chick.row, column="dam", was=dam, becomes=sire),
        ),
        birds=(chick.bird,),
    )


def _wrong_sex(
    tables: FolderTables, mention: Mention, parent: BirdRecord, voices: Voices | None
) -> Fault:
    sex: Sex | None = parent.sex
    assert sex is not None  # noqa: S101  the caller has looked
    return tables.fault(
        "birds",
        mention.row,
        mention.column,
        kind="parent-sex",
        value=parent.bird,
        problem=f"{parent.bird} is a {sex} (row {parent.row}) and cannot be a {mention.column}",
        mend="mend the sex of the parent or put the right band here" + likelier(voices, sex),
        birds=(mention.chick.bird if mention.chick else "", parent.bird),
    )
