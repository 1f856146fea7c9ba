"""Rows in = rows kept + rows named; and so for every filled cell of a row that is kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.tables.reading import BLANK_WORDS, is_blank
from matchmaker.tables.records import Origin, Parentage
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.header import Sheet

WHOLE_FILE: Final = frozenset({"unreadable-file", "no-header", "missing-column"})
"""Faults that say that nothing of the file was read."""

SAYS_NOTHING: Final = {
    Kind.SEX: {"u", "unsexed", "not sexed"},
    Kind.DEFECTS: {"no", "0"},
    Kind.PARENT: BLANK_WORDS,
}
"""Words that are taken for an empty cell in one kind of column only."""


class BrokenLawError(AssertionError):
    """What an input brought about that may never be."""


@dataclass(slots=True)
class Read:
    """What became of a table: its columns, its records and what was said."""

    sheet: Sheet | None
    records: Sequence[object]
    findings: Findings
    _named: set[int | None] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._named = {found.row for found in self.said}

    @property
    def said(self) -> list[Fault]:
        """Every fault and doubt."""
        return [*self.findings.faults, *self.findings.doubts]

    def names(self, row: int) -> bool:
        """Whether a row is named, alone or among those that a finding speaks of."""
        return row in self._named or any(_covers(found, row) for found in self.said)

    def whole_file_refused(self) -> bool:
        """Whether a fault says that nothing of the file was read."""
        return any(fault.kind in WHOLE_FILE for fault in self.findings.faults)


def _covers(found: Fault, row: int) -> bool:
    """Whether a finding speaks of all rows above its own, or of all below."""
    if found.row is None:
        return False
    if found.kind in {"broken-row", "second-table"}:
        return row >= found.row
    return found.kind == "header-row" and row < found.row


def settle(
    rows: Mapping[int, Sequence[str]], read: Read, perhaps: frozenset[int] = frozenset()
) -> None:
    """Refuse a reading that lost a row or a cell of those that went in, by their numbers.

    ``rows`` are the filled rows of the file, counted independently of the reader; ``perhaps`` are
    those that are filled or not, as separators are understood.
    """
    if read.sheet is None:
        _law(read.whole_file_refused(), "nothing was read and no fault of the whole file says so")
        return
    kept: dict[int, object] = {}
    for record in read.records:
        row = getattr(record, "row")  # noqa: B009  records of many types
        _law(row not in kept, f"two records of row {row}")
        kept[row] = record
    for row in kept.keys() - rows.keys() - perhaps:
        _law(False, f"a record of row {row}, where nothing stands")  # noqa: FBT003
    for row in sorted(rows.keys() - kept.keys() - {read.sheet.header_row}):
        _law(read.names(row), f"row {row} is neither kept nor named: {list(rows[row])!r:.200}")
    if read.sheet.header_row not in rows or not rows[read.sheet.header_row]:
        return
    for row, record in kept.items():
        for lost in _lost_cells(row, rows[row], record, read, rows[read.sheet.header_row]):
            _law(False, lost)  # noqa: FBT003


def _law(holds: bool, otherwise: str) -> None:  # noqa: FBT001
    if not holds:
        raise BrokenLawError(otherwise)


def _lost_cells(
    row: int, cells: Sequence[str], record: object, read: Read, header: Sequence[str]
) -> Iterator[str]:
    """Say which filled cells of a kept row are neither in its record nor spoken of."""
    assert read.sheet is not None
    by_place = {place: name for name, place in read.sheet.at.items()}
    extra = {place: name for name, place in {**read.sheet.loci, **read.sheet.traits}.items()}
    said = {(found.row, found.column) for found in read.said}
    for place, text in enumerate(cells):
        if not text:
            continue
        written = header[place] if place < len(header) else ""
        if place in by_place:
            column = read.sheet.table.column(by_place[place])
            kept = _is_kept(record, column, text)
        elif place in extra:
            kept = is_blank(text) or extra[place] in _extras(record)
        elif place >= read.sheet.width:
            kept = any(found.kind == "stray-cell" and found.row == row for found in read.said)
        else:
            kept = _set_aside(read, written, place)
        header_of = read.sheet.headers.get(by_place.get(place, extra.get(place, "")), written)
        if not kept and (row, header_of) not in said:
            yield f"the cell {text!r:.80} of row {row} under {written!r:.40} is lost"


def _is_kept(record: object, column: Column, text: str) -> bool:
    if column.name == "count":
        return True  # joined with what was seen, or refused
    value = getattr(record, column.attribute)
    if isinstance(value, Parentage):
        silent = value.origin is Origin.UNKNOWN
    else:
        silent = value in (None, "", (), {})
    if column.kind is Kind.DEFECTS and not text.strip(",;| "):
        return True  # a list of nothing
    nothing = is_blank(text) or text.casefold() in SAYS_NOTHING.get(column.kind, set())
    return not silent or nothing


def _extras(record: object) -> Mapping[str, object]:
    found: Mapping[str, object] = getattr(record, "traits", None) or getattr(record, "seen", {})
    return found


def _set_aside(read: Read, written: str, place: int) -> bool:
    """Whether a column is declared as the keeper's own, or named where it has no header."""
    assert read.sheet is not None
    as_written = {read.sheet.headers.get(name, name) for name in read.sheet.aside}
    if written and written in {*read.sheet.aside, *as_written}:
        return True
    kinds = {"duplicate-column"} if written else {"column-without-header"}
    return any(
        found.kind in kinds
        and found.row == read.sheet.header_row
        and (not written or found.column == written)
        and (written or found.value == _letters(place))
        for found in read.said
    )


def _letters(place: int) -> str:
    from tests.fuzz.books import column_letters

    return column_letters(place)
