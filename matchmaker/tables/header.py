"""Which row is the header of a table and what each of its columns is."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.errors import Fault
from matchmaker.tables.column_names import column_letters
from matchmaker.tables.delimited import HEADER_WITHIN
from matchmaker.tables.header_again import rows_under
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.schema import Table, is_note, known_headers, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.raw import RawRow, RawTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A table with its columns told apart; all positions count from 0.

    ``at`` places the declared columns, ``loci`` the locus columns of birds, ``traits`` the trait
    columns of scores and ``aside`` what nobody reads. ``headers`` gives each column's header as
    the keeper wrote it.
    """

    table: Table
    file: str
    header_row: int
    width: int
    rows: tuple[RawRow, ...]
    at: Mapping[str, int]
    loci: Mapping[str, int]
    traits: Mapping[str, int]
    aside: tuple[str, ...]
    headers: Mapping[str, str]


@dataclass(slots=True)
class _Sorting:
    """The columns found so far."""

    table: Table
    hints: Hints
    at: dict[str, int] = field(default_factory=dict)
    loci: dict[str, int] = field(default_factory=dict)
    traits: dict[str, int] = field(default_factory=dict)
    aside: dict[str, int] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    twice: list[tuple[str, str]] = field(default_factory=list)

    def place(self, header: str, index: int) -> None:
        """Put one column where it belongs; a second column of one name is noted as such."""
        group, name = self._what(header)
        if name in group:
            self.twice.append((name, header))
            return
        group[name] = index
        self.headers.setdefault(name, header)

    def _what(self, header: str) -> tuple[dict[str, int], str]:
        with_loci = self.table.name == "birds"
        if with_loci and header in self.hints.loci:
            return self.loci, header
        name = self.table.spellings().get(plain(header))
        known_locus = with_loci and header in self.hints.known_loci
        if name is not None and not (known_locus and name in self.at):
            return self.at, name
        if known_locus:
            return self.loci, header
        if self.table.name == "scores" and not is_note(header):
            return self.traits, trait_name(header, self.hints)
        return self.aside, header


def read_header(raw: RawTable, table: Table, hints: Hints, findings: Findings) -> Sheet | None:
    """Return the table with its columns told apart, or ``None`` with a fault if that fails."""
    at = _header_at(raw, table)
    if at is None:
        findings.faults.append(_no_header(raw, table))
        return None
    header = raw.rows[at]
    sorting = _Sorting(table, hints)
    for index, cell in enumerate(header.cells):
        if cell:
            sorting.place(cell, index)
    if header.row != 1:
        findings.doubts.append(_header_not_first(raw.file, header))
    findings.faults.extend(_twice(raw.file, header, name, h) for name, h in sorting.twice)
    findings.faults.extend(_missing(raw.file, header, sorting))
    if any(table.column(name).required for name in table.needed if name not in sorting.at):
        return None
    rows = rows_under(raw, at, table, findings)
    findings.doubts.extend(_without_header(raw.file, header, rows))
    findings.doubts.extend(_words_put_aside(raw.file, header, sorting, rows))
    findings.doubts.extend(_doubtful(raw.file, header, sorting))
    return _sheet(raw, at, sorting, rows)


def _without_header(file: str, header: RawRow, rows: tuple[RawRow, ...]) -> Iterator[Fault]:
    """Name the columns between others that hold cells and have no header, so that nobody reads."""
    for index, written in enumerate(header.cells[: _width(header)]):
        filled = [row.row for row in rows if row.cells[index : index + 1] not in ((), ("",))]
        if filled and not written:
            letters = column_letters(index)
            yield Fault(
                kind="column-without-header",
                file=file,
                row=header.row,
                value=letters,
                problem=f"column {letters} has no header, so what stands in it is not read "
                f"({len(filled)} cells, the first in row {filled[0]})",
                mend="write a header over it; head it notes to keep it for yourself",
            )


def _width(header: RawRow) -> int:
    return max(index + 1 for index, cell in enumerate(header.cells) if cell)


def _words_put_aside(
    file: str, header: RawRow, sorting: _Sorting, rows: tuple[RawRow, ...]
) -> list[Fault]:
    """Take a column of scores without one digit in it for no trait; say so if it holds words."""
    doubts = []
    for name, index in list(sorting.traits.items()):
        cells = [row.cells[index] for row in rows if index < len(row.cells)]
        words = [cell for cell in cells if not is_blank(cell)]
        if not words:
            sorting.aside[name] = sorting.traits.pop(name)
        elif name not in sorting.hints.units and not re.search(r"\d", "".join(words)):
            written = sorting.headers[name]
            sorting.aside[written] = sorting.traits.pop(name)
            doubts.append(_no_trait(file, header, written))
    return doubts


def _no_trait(file: str, header: RawRow, written: str) -> Fault:
    return Fault(
        kind="column-not-read",
        file=file,
        row=header.row,
        column=written,
        value=written,
        problem=f"the column {written} holds words, so it is kept but is no trait",
        mend="write numbers if it is a trait to be improved",
    )


def trait_name(header: str, hints: Hints) -> str:
    """Return the trait that a header means: the configured name where only its writing differs.

    Examples
    --------
    >>> trait_name("Weight (kg)", Hints(units={"weight": "kg"}))
    'weight'
    """
    bare = re.sub(r"(?<!\s)\s*[(\[][^()\[\]]*[)\]]\s*$", "", header)
    same = [name for name in hints.units if plain(name) in {plain(bare), plain(header)}]
    return same[0] if same else header


def _sheet(raw: RawTable, at: int, sorting: _Sorting, rows: tuple[RawRow, ...]) -> Sheet:
    return Sheet(
        table=sorting.table,
        file=raw.file,
        header_row=raw.rows[at].row,
        width=_width(raw.rows[at]),
        rows=rows,
        at=sorting.at,
        loci=sorting.loci,
        traits=sorting.traits,
        aside=tuple(sorting.aside),
        headers=sorting.headers,
    )


def _header_at(raw: RawTable, table: Table) -> int | None:
    """Find the first row naming two known columns, else the first naming one that is needed."""
    spelled = table.spellings()
    head = raw.rows[:HEADER_WITHIN]
    for at, row in enumerate(head):
        if known_headers(table, row.cells) >= 2:
            return at
    for at, row in enumerate(head):
        if any(spelled.get(plain(cell)) in table.needed for cell in row.cells):
            return at
    return None


def _no_header(raw: RawTable, table: Table) -> Fault:
    needed = ", ".join(table.needed)
    first = raw.rows[0] if raw.rows else None
    return Fault(
        kind="no-header",
        file=raw.file,
        row=first.row if first else None,
        value=", ".join(cell for cell in first.cells if cell)[:80] if first else "",
        problem="no row names the columns of this table" if first else "the table is empty",
        mend=f"write a first row that names the columns, {needed} among them",
    )


def _header_not_first(file: str, header: RawRow) -> Fault:
    return Fault(
        kind="header-row",
        file=file,
        row=header.row,
        problem=f"row {header.row} was taken as the header; what stands above it is not read",
        mend="delete the rows above the header if they are not needed",
    )


def _twice(file: str, header: RawRow, name: str, written: str) -> Fault:
    return Fault(
        kind="duplicate-column",
        file=file,
        row=header.row,
        column=written,
        value=written,
        problem=f"two columns of this table are read as {name}; only the first was used",
        mend="delete one of them or give it another name",
    )


def _missing(file: str, header: RawRow, sorting: _Sorting) -> list[Fault]:
    return [
        Fault(
            kind="missing-column",
            file=file,
            row=header.row,
            value=name,
            problem=f"there is no column {name} ({sorting.table.column(name).meaning})",
            mend=_rename_hint(name, sorting),
        )
        for name in sorting.table.needed
        if name not in sorting.at
    ]


def _rename_hint(name: str, sorting: _Sorting) -> str:
    others = {plain(header): header for header in (*sorting.aside, *sorting.traits)}
    column = sorting.table.column(name)
    spelled = (plain(word) for word in (name, *column.synonyms))
    near = [match for word in spelled for match in close_matches(word, others)]
    return f"rename {others[near[0]]} to {name}" if near else f"add a column {name}"


def _doubtful(file: str, header: RawRow, sorting: _Sorting) -> list[Fault]:
    missing = [name for name in sorting.table.expected if name not in sorting.at]
    doubts = [
        Fault(
            kind="column-not-given",
            file=file,
            row=header.row,
            value=name,
            problem=f"there is no column {name}, so it counts as unknown for every row",
            mend=_rename_hint(name, sorting),
        )
        for name in missing
    ]
    return doubts + [
        Fault(
            kind="column-not-read",
            file=file,
            row=header.row,
            column=written,
            value=written,
            problem=f"the column {written} is kept but not read",
            mend=f"did you mean {meant}?",
        )
        for written in sorting.aside
        if not is_note(written) and (meant := _meant(written, sorting))
    ]


def _meant(written: str, sorting: _Sorting) -> str | None:
    """Return the column or locus that an unread header is close to, if there is one."""
    for locus in sorted(sorting.hints.loci | sorting.hints.known_loci):
        if sorting.table.name == "birds" and locus.casefold() == written.casefold():
            return locus
    spelled = {s: n for s, n in sorting.table.spellings().items() if n not in sorting.at}
    near = close_matches(plain(written), spelled, like=0.75)
    return spelled[near[0]] if near else None
