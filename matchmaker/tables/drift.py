"""One name written in several ways: lines, breeds, sources and traits that drift apart."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.nearness import one_apart, without_spaces
from matchmaker.tables.odd_signs import seen_text
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

FILLERS: Final = frozenset({"line", "lines", "family", "strain", "breed", "the", "of", "no"})
"""Words without which a name is still the same name: "Line A" is "A"."""

LETTERS_MIN: Final = 5
"""Shorter names that differ by one letter are two names (common practice, no source)."""

SELDOM: Final = 4
"""A name one letter off is doubted where the other stands in at least so many times its rows."""

ROWS_MAX: Final = 3
"""A name in more rows than these is hardly a slip of the pen."""

NAMES_MAX: Final = 300
"""Among more names than these only so many are compared letter by letter."""

_Cell = tuple[str, int, str]
"""Table, row, text of the cell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spellings:
    """The names of one column, each with its cells; ``settled`` are those the settings write."""

    column: str
    cells: Mapping[str, Sequence[_Cell]]
    settled: frozenset[str]

    def weight(self, name: str) -> tuple[bool, int]:
        """What makes one spelling the likelier: that of the settings, else that of more rows."""
        return (name in self.settled, self.rows(name))

    def rows(self, name: str) -> int:
        """In how many rows a name stands."""
        return len(self.cells[name])


def drifted_names(tables: FolderTables) -> Iterator[Fault]:
    """Doubt lines, breeds, sources and traits that seem to be one name written in several ways."""
    for column in ("line", "breed", "source"):
        found = _Spellings(
            column=column,
            cells=_cells(tables, column),
            settled=_of_settings(tables.settings, column),
        )
        told = set[str]()
        for one, other in (*_same_letters(found), *_same_words(found), *_letter_off(found)):
            if one not in told:
                told.add(one)
                yield _doubt(tables, found, one, other)
    yield from _pens(tables)
    yield from _traits(tables)


def _pens(tables: FolderTables) -> Iterator[Fault]:
    """Doubt two pens whose names differ in writing only."""
    cells: dict[str, list[_Cell]] = {}
    for pen in tables.pens:
        cells.setdefault(pen.pen, []).append(("pens", pen.row, pen.pen))
    found = _Spellings(column="pen", cells=cells, settled=frozenset(cells))
    for one, other in _same_letters(found):
        yield replace(
            _doubt(tables, found, one, other),
            mend="write the name alike everywhere and keep one row, if one pen is meant",
            mends=(),
        )


def _cells(tables: FolderTables, column: str) -> dict[str, list[_Cell]]:
    cells: dict[str, list[_Cell]] = {}
    for bird in tables.birds:
        names = list(bird.breed) if column == "breed" else [getattr(bird, column)]
        text = "" if len(names) > 1 else names[0] if names else ""
        for name in filter(None, names):
            cells.setdefault(name, []).append(("birds", bird.row, text))
    if column == "line":
        elsewhere = [("pens", pen.row, pen.line) for pen in tables.pens]
        elsewhere += [("plan", row.row, row.line) for row in tables.plan]
        for table, row, name in elsewhere:
            if name in cells:
                cells[name].append((table, row, name))
    return cells


def _of_settings(settings: Settings | None, column: str) -> frozenset[str]:
    """The names that the settings write: a mend of the tables alone would part with them."""
    if settings is None:
        return frozenset()
    if column == "source":
        return frozenset(settings.sources)
    if column == "breed":
        of_loci = {name for locus in settings.loci.values() for name in locus.frequency}
        return frozenset({settings.recurrent, *settings.breeds, *of_loci})
    rows = settings.matings
    named = {name for row in rows for name in (*row.hens, *row.cocks, row.chicks)}
    order = settings.rotation.order if settings.rotation is not None else ()
    return frozenset({*settings.lines, *named, *order})


def _pairs(found: _Spellings, groups: Mapping[str, list[str]]) -> Iterator[tuple[str, str]]:
    """Each name of a group but its likeliest, with that one; of even ones the first is taken."""
    for names in groups.values():
        main = max(names, key=found.weight)
        yield from ((name, main) for name in names if name != main)


def _same_letters(found: _Spellings) -> Iterator[tuple[str, str]]:
    groups: dict[str, list[str]] = {}
    for name in found.cells:
        groups.setdefault(plain(name), []).append(name)
    return _pairs(found, groups)


def _same_words(found: _Spellings) -> Iterator[tuple[str, str]]:
    groups: dict[str, list[str]] = {}
    for name in found.cells:
        groups.setdefault(without_fillers(name), []).append(name)
    return _pairs(found, groups)


def without_fillers(name: str) -> str:
    """Return a name without words such as line and family.

    Examples
    --------
    >>> (
    ...     without_fillers("Line A"),
    ...     without_fillers("A-line"),
    ...     without_fillers("a"),
    ...     without_fillers("Line"),
    ... )
    ('a', 'a', 'a', 'line')
    """
    words = re.findall(r"[^\W_]+", name.casefold())
    return "".join(word for word in words if word not in FILLERS) or "".join(words)


def _letter_off(found: _Spellings) -> Iterator[tuple[str, str]]:
    """Seldom names that are one letter off a frequent one, and so likelier a slip."""
    frequent = [name for name in found.cells if found.rows(name) >= SELDOM][:NAMES_MAX]
    for name in list(found.cells)[:NAMES_MAX]:
        if found.rows(name) > ROWS_MAX or name in found.settled:
            continue
        near = [
            other
            for other in frequent
            if found.rows(other) >= SELDOM * found.rows(name)
            and len(plain(other)) >= LETTERS_MIN
            and letter_off(plain(name), plain(other))
        ]
        if len(near) == 1:
            yield name, near[0]


def letter_off(one: str, two: str) -> bool:
    """Whether two names differ by one letter that is no figure: Birch 1 and Birch 2 are two.

    Examples
    --------
    >>> letter_off("sussex", "susex"), letter_off("birch1", "birch2"), letter_off("lineb", "linea")
    (True, False, False)
    """
    figures = [[letter for letter in name if letter.isdigit()] for name in (one, two)]
    last = one[:-1] == two[:-1]
    return figures[0] == figures[1] and one_apart(one, two) and not last


def _doubt(tables: FolderTables, found: _Spellings, name: str, other: str) -> Fault:
    cells = found.cells[name]
    whole = all(text == name for _, _, text in cells)
    writing = plain(name) == plain(other)
    same = without_spaces(name) == without_spaces(other)  # 1-2 and 12, A+ and A may well be two
    sure = same and name not in found.settled and found.weight(other) > found.weight(name)
    differ = "written differently" if writing else "not written alike"
    return tables.fault(
        cells[0][0],
        cells[0][1],
        found.column,
        kind="similar-names",
        value=name,
        problem=f"{name} and {other} are taken for two, as they are {differ} "
        f"({_rows(found.rows(name))} and {_rows(found.rows(other))})",
        mend=f"write {other} everywhere if one is meant",
        mends=tuple(
            CellMend(table=table, row=row, column=found.column, was=name, becomes=other)
            for table, row, _ in cells
        )
        if whole
        else (),
        safe=sure and whole and seen_text(other) == other,
    )


def _rows(count: int) -> str:
    return f"{count} row{'' if count == 1 else 's'}"


def _traits(tables: FolderTables) -> Iterator[Fault]:
    """Doubt two columns of scores whose names are nearly one."""
    for at, one in enumerate(tables.traits):
        for other in tables.traits[:at]:
            spelled = plain(one), plain(other)
            near = min(map(len, spelled)) >= LETTERS_MIN and letter_off(*spelled)
            if spelled[0] == spelled[1] or near:
                yield tables.fault(
                    "scores",
                    None,
                    one,
                    kind="similar-names",
                    value=one,
                    problem=f"the scores have a column {one} and a column {other}, which are taken "
                    "for two traits",
                    mend="put them into one column if one trait is meant",
                )
