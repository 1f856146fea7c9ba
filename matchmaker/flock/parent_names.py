"""Sires and dams that no bird has the band of, or whose sex does not allow it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.tables.ages import wrong_time
from matchmaker.tables.mentions import Mention, can_stand, parents_of_birds
from matchmaker.tables.nearness import NAMES_TOLD, Lexicon
from matchmaker.tables.odd_signs import clear_name, mend_of_unknown
from matchmaker.tables.voices import likelier, outvoted, voices_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, Sex
    from matchmaker.tables.voices import Voices


def parent_name_faults(tables: FolderTables) -> Iterator[Fault]:
    """Return a fault for each parent that is unknown, of the wrong sex or here at another time."""
    records = {record.bird: record for record in tables.birds}
    voices = voices_of(tables)
    known, told_elsewhere = Lexicon(records), outvoted(tables, voices)
    for mention in parents_of_birds(tables):
        found = records.get(mention.band)
        chick, sex = mention.chick, mention.sex
        assert chick is not None  # noqa: S101  parents have chicks
        assert sex is not None  # noqa: S101  and a side
        if found is None:
            yield _unknown_parent(tables, mention, records, known)
        elif found.sex not in {None, sex}:
            if found.bird not in told_elsewhere:
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


def _unknown_parent(
    tables: FolderTables, mention: Mention, records: Mapping[str, BirdRecord], known: Lexicon
) -> Fault:
    band = mention.band

    def fits(other: str) -> bool:
        return can_stand(records[other], mention)

    near = known.near(band, fits)
    others = {other for other in mention.cell.split("|") if other != band}
    only = clear_name(near)
    meant_for = None if only in others else only
    return tables.fault(
        "birds",
        mention.row,
        mention.column,
        kind="unknown-parent",
        value=band,
        problem=f"no bird {band} is in the list",
        mend=mend_of_unknown(
            near,
            {name: records[name].row for name in near.names},
            f"add a row for {band}, write founder, or leave the cell empty if nobody knows",
        ),
        mends=(mention.mended(meant_for),) if meant_for else (),
        safe=meant_for is not None and near.in_writing_only and fits(meant_for),
        birds=(mention.chick.bird if mention.chick else "", *near.names[:NAMES_TOLD]),
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
