"""What was decided about a book, kept in ``intake.toml`` so that it is decided once."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.tables.column_names import column_letters
from matchmaker.tables.nearness import close_matches

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.intake.model import Block

FILE: Final = "intake.toml"
ASIDE: Final = "aside"

SheetKey = tuple[str, str]
"""The file without its ending, and the sheet; the second table of a sheet has `` #2`` behind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RememberedSheet:
    """What one table of a book is: ``columns`` maps headers to ``table.column`` or ``aside``.

    ``table`` is "" where the whole of it is kept aside, ``None`` where nothing is said.
    """

    table: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """All that was decided: the sheets, and answers by the key of their question.

    ``written`` holds, for each table, short digests of the rows that were written of it.
    """

    sheets: Mapping[SheetKey, RememberedSheet] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    written: Mapping[str, str] = field(default_factory=dict)


def block_keys(blocks: Sequence[Block]) -> tuple[SheetKey, ...]:
    """Return the key of each block, in their order."""
    counts: dict[SheetKey, int] = {}
    keys = []
    for block in blocks:
        key = (PurePath(block.file).stem, block.sheet)
        counts[key] = counts.get(key, 0) + 1
        more = f" #{counts[key]}" if counts[key] > 1 else ""
        keys.append((key[0], key[1] + more))
    return tuple(keys)


def column_keys(block: Block) -> tuple[str, ...]:
    """Return the name of each column: its header, numbered where it stands twice, else its letter.

    Examples
    --------
    >>> from matchmaker.intake.model import Block
    >>> column_keys(Block(file="a", sheet="", header_row=1, headers=("Ring", "", "Ring"), rows=()))
    ('Ring', '(column B)', 'Ring #2')
    """
    counts: dict[str, int] = {}
    keys = []
    for at, header in enumerate(block.headers):
        name = header or f"(column {column_letters(block.first_column + at)})"
        counts[name] = counts.get(name, 0) + 1
        keys.append(f"{name} #{counts[name]}" if counts[name] > 1 else name)
    return tuple(keys)


def missing_from_book(remembered: Remembered, blocks: Sequence[Block]) -> tuple[Fault, ...]:
    """Return a doubt for each remembered sheet and column that the book does not have any more."""
    here = dict(zip(block_keys(blocks), blocks, strict=True))
    found: list[Fault] = []
    for key, sheet in remembered.sheets.items():
        block = here.get(key)
        if block is None:
            found.append(_no_sheet(key, here))
            continue
        names = column_keys(block)
        found += [_no_column(block, name, names) for name in sheet.columns if name not in names]
    return tuple(found)


def _no_sheet(key: SheetKey, here: Mapping[SheetKey, Block]) -> Fault:
    stem, sheet = key
    what = f"the sheet {sheet} of {stem}" if sheet else f"the table {stem}"
    near = close_matches(sheet or stem, [s or f for f, s in here])
    hint = f"it may be called {near[0]} now; " if near else ""
    return Fault(
        kind="remembered-missing",
        file=FILE,
        value=sheet or stem,
        problem=f"{what} was taken in before and is not in the book any more",
        mend=f"{hint}give the book that holds it, or delete its part of {FILE}",
    )


def _no_column(block: Block, name: str, names: tuple[str, ...]) -> Fault:
    near = close_matches(name, names)
    hint = f"it may be called {near[0]} now; " if near else ""
    return Fault(
        kind="remembered-missing",
        file=block.file,
        row=block.header_row or None,
        value=name,
        problem=f"the column {name} was taken in before and is not in the book any more",
        mend=f"{hint}look whether its cells are still there",
    )
