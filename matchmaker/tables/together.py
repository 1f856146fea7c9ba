"""Names in one table that another table does not know, and wishes that cannot be meant."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.mentions import named_elsewhere
from matchmaker.tables.nearness import NAMES_TOLD, Lexicon, meant
from matchmaker.tables.odd_signs import clear_name
from matchmaker.tables.records import Sex, WishRecord
from matchmaker.tables.unknown_bands import unknown_band_faults
from matchmaker.tables.voices import (
    likelier,
    outvoted,
    outvoted_sexes,
    sexes_not_written,
    voices_of,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.voices import Voices

PenMention = tuple[str, int, str]
"""A pen where it is named: table, row, the name."""

_PARTNERS: Final = {
    "together": {"bird", "pen"},
    "apart": {"bird", "pen"},
    "allow": {"bird"},
    "use": {"", "pen"},
    "rest": {""},
}
"""What may stand in ``with``, for each wish; "" is an empty cell."""


def between_tables(tables: FolderTables, found: Findings) -> None:
    """Find unknown bands and pens, parents of the wrong sex and impossible wishes."""
    birds = {bird.bird: bird.sex for bird in tables.birds}
    pens = {pen.pen for pen in tables.pens}
    if not birds:  # that fault is told; whatever names a bird would be another one
        return
    found.faults += unknown_band_faults(tables)
    if pens:
        found.doubts += _unknown_pens(tables, pens)
    voices = voices_of(tables)
    found.faults += outvoted_sexes(tables, voices)
    found.faults += _wrong_sexes(tables, birds, voices)
    found.doubts += sexes_not_written(tables, voices)
    for wish in tables.wishes if pens else ():
        found.faults += _wish_faults(tables, wish, birds, pens)
    found.faults += _clashing_wishes(tables)


def _unknown_pens(tables: FolderTables, pens: Collection[str]) -> Iterator[Fault]:
    known = Lexicon(sorted(pens))
    rows = [("seen", seen.row, seen.pen) for seen in tables.seen]
    rows += [("moves", move.row, move.pen) for move in tables.moves]
    rows += [("eggs", egg.row, egg.pen) for egg in tables.eggs]
    rows += [("plan", plan.row, plan.pen) for plan in tables.plan]
    for table, row, pen in rows:
        if pen and pen not in pens:
            yield _unknown_pen(tables, (table, row, pen), known)


def _unknown_pen(tables: FolderTables, mention: PenMention, known: Lexicon) -> Fault:
    table, row, pen = mention
    found = known.near(pen)
    only = clear_name(found)
    mend = CellMend(table=table, row=row, column="pen", was=pen, becomes=only)
    return tables.fault(
        table,
        row,
        "pen",
        kind="unknown-pen",
        value=pen,
        problem=f"no pen {pen} is in the table of pens",
        mend=meant(found, "leave it if the pen is no longer there"),
        mends=(mend,) if only else (),
        safe=found.in_writing_only and only is not None,
    )


def _wrong_sexes(
    tables: FolderTables, birds: dict[str, Sex | None], voices: Mapping[str, Voices]
) -> Iterator[Fault]:
    told_already = outvoted(tables, voices)
    for one in named_elsewhere(tables):
        sex = birds.get(one.band)
        if sex is None or one.sex in {None, sex} or one.band in told_already:
            continue
        yield tables.fault(
            one.table,
            one.row,
            one.column,
            kind="wrong-sex",
            value=one.band,
            problem=f"{one.band} is a {sex} in the table of birds",
            mend=f"write a {one.column} here or mend the sex of {one.band}"
            + likelier(voices.get(one.band), sex),
            birds=(one.band,),
        )


def _wish_faults(
    tables: FolderTables,
    wish: WishRecord,
    birds: dict[str, Sex | None],
    pens: Collection[str],
) -> Iterator[Fault]:
    kinds = _kinds_of(wish.partner, birds, pens)
    allowed = _PARTNERS[wish.wish]
    if not kinds:
        yield _unknown_partner(tables, wish, Lexicon([*birds, *pens]))
    elif not kinds & allowed:
        words = " or ".join(sorted(f"a {kind}" if kind else "nothing" for kind in allowed))
        problem = f"{wish.wish} needs {words} in this column"
        yield _wish_fault(tables, wish, "wish-partner", problem, f"write {words} here")
    elif len(kinds & allowed) > 1:
        problem = f"{wish.partner} is a bird and a pen"
        yield _wish_fault(tables, wish, "wish-partner", problem, "give the pen another name")
    elif "bird" in kinds and _no_pair(wish, birds):
        problem = f"{wish.bird} and {wish.partner} are not a hen and a cock"
        yield _wish_fault(tables, wish, "wish-partner", problem, "write a bird of the other sex")


def _unknown_partner(tables: FolderTables, wish: WishRecord, known: Lexicon) -> Fault:
    near = known.near(wish.partner)
    only = clear_name(near)
    was = wish.partner
    mends = (CellMend(table="wishes", row=wish.row, column="with", was=was, becomes=only),)
    mend = meant(near, "write a band or a pen of the tables")
    found = _wish_fault(tables, wish, "unknown-partner", "neither a bird nor a pen", mend)
    return replace(found, mends=mends if only else (), birds=(wish.bird, *near.names[:NAMES_TOLD]))


def _kinds_of(partner: str, birds: Collection[str], pens: Collection[str]) -> set[str]:
    if not partner:
        return {""}
    return {kind for kind, names in (("bird", birds), ("pen", pens)) if partner in names}


def _no_pair(wish: WishRecord, birds: dict[str, Sex | None]) -> bool:
    """Whether the two birds cannot share the wish: one bird twice, two cocks, two hens to allow."""
    sexes = {birds.get(wish.bird), birds[wish.partner]}
    hens_may = wish.wish in {"together", "apart"} and sexes == {Sex.HEN}
    return wish.bird == wish.partner or (None not in sexes and len(sexes) == 1 and not hens_may)


def _wish_fault(
    tables: FolderTables, wish: WishRecord, kind: str, problem: str, mend: str
) -> Fault:
    return tables.fault(
        "wishes", wish.row, "with", kind=kind, value=wish.partner, problem=problem, mend=mend
    )


def _clashing_wishes(tables: FolderTables) -> Iterator[Fault]:
    """A later wish that takes back an earlier one: both cannot be honoured."""
    first: dict[tuple[frozenset[str], str], WishRecord] = {}
    opposite = {"together": "apart", "apart": "together", "use": "rest", "rest": "use"}
    for wish in tables.wishes:
        whom = frozenset(
            {wish.bird, wish.partner} if wish.wish in {"together", "apart"} else {wish.bird}
        )
        first.setdefault((whom, wish.wish), wish)
        other = first.get((whom, opposite.get(wish.wish, "")))
        if other is not None:
            yield tables.fault(
                "wishes",
                wish.row,
                "wish",
                kind="wishes-clash",
                value=wish.wish,
                problem=f"row {other.row} wishes {other.wish} for the same",
                mend="delete one of the two rows",
            )
