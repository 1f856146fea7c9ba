"""Names in one table that another table does not know, and wishes that cannot be meant."""

from __future__ import annotations

import difflib
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from matchmaker.tables.parents import read_parent
from matchmaker.tables.records import Parentage, Sex, WishRecord

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables

NAMES_COMPARED: Final = 2000
"""Among more names than these a mistyped one is not searched for: it would take minutes."""

Mention = tuple[str, int, str, str]
"""A name where it is written: table, row, column, the name."""

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
    if birds:
        found.faults += (_unknown_band(tables, m, birds) for m in _bands(tables, birds))
    if pens:
        found.doubts += (_unknown_pen(tables, m, pens) for m in _pens(tables, pens))
    found.faults += _wrong_sexes(tables, birds)
    for wish in tables.wishes:
        found.faults += _wish_faults(tables, wish, birds, pens)
    found.faults += _clashing_wishes(tables)


def near(name: str, names: Collection[str]) -> str | None:
    """Return the name most like a mistyped one, if any is close."""
    return _near(name, tuple(names))


@lru_cache(maxsize=1024)  # one wrong band often stands in many rows
def _near(name: str, names: tuple[str, ...]) -> str | None:
    same_letters = next((n for n in names if n.casefold() == name.casefold()), None)
    if same_letters is not None or len(names) > NAMES_COMPARED:
        return same_letters
    return next(iter(difflib.get_close_matches(name, names, n=1)), None)


def sharing_words(name: str, names: Collection[str]) -> str | None:
    """Return the name that has most words in common with another one, if any has.

    Figures count for no word, and an s at the end for nothing.

    Examples
    --------
    >>> sharing_words("eggs", ["Weight at 20 weeks", "Eggs in 12 weeks"])
    'Eggs in 12 weeks'
    """
    wanted = _words_of(name)
    shared = {other: len(wanted & _words_of(other)) for other in names}
    best = max(shared, key=lambda other: shared[other], default=None)
    return best if best is not None and shared[best] else None


def _words_of(name: str) -> set[str]:
    return {word.removesuffix("s") for word in re.findall(r"[^\W\d_]{3,}", name.casefold())}


def did_you_mean(name: str, names: Collection[str], otherwise: str) -> str:
    """Return the mend of an unknown name."""
    close = near(name, names)
    return f"did you mean {close}? Otherwise {otherwise}" if close else otherwise


def _bands(tables: FolderTables, known: Collection[str]) -> Iterator[Mention]:
    mentions = [*_single_bands(tables), *_parents_named(tables)]
    mentions += [("wishes", wish.row, "bird", wish.bird) for wish in tables.wishes]
    return (mention for mention in mentions if mention[3] and mention[3] not in known)


def _single_bands(tables: FolderTables) -> Iterator[Mention]:
    yield from (("seen", seen.row, "bird", seen.bird) for seen in tables.seen)
    yield from (("scores", score.row, "bird", score.bird) for score in tables.scores)
    yield from (("moves", move.row, "bird", move.bird) for move in tables.moves)


def _parents_named(tables: FolderTables) -> Iterator[Mention]:
    """Every hen and cock named in a column of its own."""
    for seen in tables.seen:
        yield from (("seen", seen.row, "hen", band) for band in _possible(seen.hen))
        yield from (("seen", seen.row, "cock", band) for band in _possible(seen.cock))
    for egg in tables.eggs:
        yield from (("eggs", egg.row, "hen", egg.hen), ("eggs", egg.row, "cock", egg.cock))
    for plan in tables.plan:
        yield from (("plan", plan.row, "hen", plan.hen), ("plan", plan.row, "cock", plan.cock))


def _possible(cell: str) -> list[str]:
    """The bands in a cell that may name several possible parents of counted chicks (H1|H2)."""
    read = read_parent(cell).value
    named = read.candidates if isinstance(read, Parentage) else ()
    return [band for band, _ in named] or [cell]


def _pens(tables: FolderTables, known: Collection[str]) -> Iterator[Mention]:
    mentions = [("seen", seen.row, "pen", seen.pen) for seen in tables.seen]
    mentions += [("moves", move.row, "pen", move.pen) for move in tables.moves]
    mentions += [("eggs", egg.row, "pen", egg.pen) for egg in tables.eggs]
    mentions += [("plan", plan.row, "pen", plan.pen) for plan in tables.plan]
    return (mention for mention in mentions if mention[3] and mention[3] not in known)


def _unknown_band(tables: FolderTables, mention: Mention, birds: Collection[str]) -> Fault:
    table, row, column, band = mention
    return tables.fault(
        table,
        row,
        column,
        kind="unknown-bird",
        value=band,
        problem=f"no bird {band} is in the table of birds",
        mend=did_you_mean(band, birds, f"add a row for {band} to the birds"),
    )


def _unknown_pen(tables: FolderTables, mention: Mention, pens: Collection[str]) -> Fault:
    table, row, column, pen = mention
    return tables.fault(
        table,
        row,
        column,
        kind="unknown-pen",
        value=pen,
        problem=f"no pen {pen} is in the table of pens",
        mend=did_you_mean(pen, pens, "leave it if the pen is no longer there"),
    )


def _wrong_sexes(tables: FolderTables, birds: dict[str, Sex | None]) -> Iterator[Fault]:
    for table, row, column, band in _parents_named(tables):
        sex = birds.get(band)
        if sex is not None and sex.value != column:
            yield tables.fault(
                table,
                row,
                column,
                kind="wrong-sex",
                value=band,
                problem=f"{band} is a {sex} in the table of birds",
                mend=f"write a {column} here or mend the sex of {band}",
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
        mend = did_you_mean(wish.partner, [*birds, *pens], "write a band or a pen of the tables")
        yield _wish_fault(tables, wish, "unknown-partner", "neither a bird nor a pen", mend)
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
