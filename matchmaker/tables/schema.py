"""What a declared column and a declared table are, and how headers are compared."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


class Kind(StrEnum):
    """What a cell holds, and so which parser of ``cells`` reads it."""

    BAND = "band"
    BAND_RANGE = "band in a range"
    NAME = "name"
    TEXT = "text"
    SEX = "sex"
    DATE = "date"
    HATCHED = "date or year"
    PARENT = "parent"
    BREED = "breed shares"
    STATUS = "status"
    DEFECTS = "list of defects"
    NUMBER = "number"
    PROBABILITY = "probability"
    COUNT = "count"
    YES_NO = "yes or no"
    WISH = "wish"
    PURPOSE = "purpose of matings"
    CLASSES = "classes seen"
    HOW = "kind of evidence"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: ``field`` is the record's attribute, ``low`` and ``high`` include their ends."""

    name: str
    kind: Kind
    meaning: str
    field: str = ""
    synonyms: tuple[str, ...] = ()
    unit: str = ""
    low: float | None = None
    high: float | None = None
    required: bool = False

    @property
    def attribute(self) -> str:
        """The attribute of the record that this column fills."""
        return self.field or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: its record type, its columns and the columns without which it says nothing.

    ``expected`` columns may be missing, but then the keeper is asked whether that is meant;
    ``extras`` says what a column of another name is.
    """

    name: str
    record: type
    columns: tuple[Column, ...]
    needed: tuple[str, ...]
    expected: tuple[str, ...] = ()
    extras: str = "kept aside"
    required: bool = False

    def column(self, name: str) -> Column:
        """Return the column of that name."""
        return next(column for column in self.columns if column.name == name)

    def spellings(self) -> Mapping[str, str]:
        """Map every accepted spelling, stripped to its letters and digits, to its column."""
        return {plain(s): c.name for c in self.columns for s in (*c.synonyms, c.name)}


@lru_cache(maxsize=4096)
def plain(header: str) -> str:
    """Return a header without case, spaces and punctuation.

    Examples
    --------
    >>> plain(" Hens max. ")
    'hensmax'
    """
    return "".join(letter for letter in header.casefold() if letter.isalnum())


def is_note(header: str) -> bool:
    """Whether a column is the keeper's own remarks, which no table reads."""
    return plain(header) in NOTES


NOTES: Final = frozenset(
    {"note", "notes", "remark", "remarks", "comment", "comments", "memo", "name", "nickname"}
)


def known_headers(table: Table, cells: Iterable[str]) -> int:
    """Return how many different columns of a table are named in a row of cells."""
    spelled = table.spellings()
    return len({spelled[plain(cell)] for cell in cells if plain(cell) in spelled})
