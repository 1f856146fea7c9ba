"""Whatever stands in a book, each filled cell of it ends somewhere that can be named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.intake.model import Block, BlockGuess, ColumnGuess, Outside
from matchmaker.intake.take import take
from matchmaker.tables.columns import TABLES
from matchmaker.tables.raw import RawRow

if TYPE_CHECKING:
    from matchmaker.intake.model import Taken

BANDS = st.sampled_from(["C1", "C2", "H1", "H2", "27", "c-1", "CI", "Bosun"])
WILD = st.text(alphabet="aÅé0129;|:?/#=+-'\" .,", max_size=8)
CELLS = st.one_of(
    st.just(""),
    BANDS,
    st.sampled_from(["m", "hen", "pullet?", "?", "founder", "from Bill", "one of the brothers"]),
    st.sampled_from(
        ["3/4/2024", "13/4/24", "2024", "45385", "spring 2023", "2025-04-01", "31/31/31"]
    ),
    st.sampled_from(["2,1 kg", "2100", "2.400 g", "-", "do.", '"', "here", "eaten by fox", "5-6"]),
    st.sampled_from(
        [
            "1e300",
            "1e-300",
            "0",
            "-0,0",
            "\u0663/\u0664/\u0662\u0660\u0662\u0664",
            "²",
            "\uff12\uff10\uff12\uff14",
            "99999",
            "0/0 x",
        ]
    ),
    st.sampled_from(["pen 3", "3", "pen 3 hens", "C1/C2", "C1 or H9?", "7/8 Sussex", "Sussex"]),
    WILD.map(str.strip),
)


@st.composite
def guesses(draw: st.DrawFn) -> BlockGuess:
    """A block of any cells, its columns taken for anything, rightly or not."""
    table = draw(st.sampled_from(["", *TABLES]))
    width = draw(st.integers(1, 6))
    declared = [(name, column.name) for name, one in TABLES.items() for column in one.columns] + [
        ("birds", "P"),
        ("scores", "weight"),
        ("birds", "notes"),
        ("", ""),
    ]
    first = (
        [(table, column.name) for column in TABLES[table].columns if column.required]
        if table
        else []
    )
    drawn = draw(st.lists(st.sampled_from(declared), min_size=width, max_size=width, unique=True))
    targets = list(dict.fromkeys([*first, *drawn]))
    headers = [f"head {at}" for at in range(len(targets))]
    rows = draw(st.lists(st.lists(CELLS, min_size=len(targets), max_size=len(targets)), max_size=6))
    block = Block(
        file="book.xlsx",
        sheet=draw(st.sampled_from(["", "Hens"])),
        header_row=1,
        headers=tuple(headers),
        rows=tuple(
            RawRow(row=number, cells=tuple(cells))
            for number, cells in enumerate(rows, start=2)
            if any(cells)
        ),
        outside=(Outside(row=99, text="sum", why="a total"),),
    )
    columns = tuple(
        ColumnGuess(at=at, header=headers[at], table=of, column=column, why="drawn", sure=True)
        for at, (of, column) in enumerate(targets)
    )
    return BlockGuess(block=block, table=table, why="drawn", sure=True, columns=columns)


def lost(taken: Taken, guess: BlockGuess) -> list[tuple[int, str]]:
    """The filled cells of a block that no table has, nor the lists of what was left or changed."""
    block = guess.block
    here = (block.file, block.sheet)
    kept: dict[int, str] = {}
    for (table, at), (*place, row) in taken.sources.items():
        if tuple(place) == here:
            kept[row] = kept.get(row, "") + "\n".join(["", *taken.tables[table][at].values()])
    told = {(one.row, one.text) for one in taken.left if (one.file, one.sheet) == here}
    told |= {
        (cell.row, cell.text) for cell, _ in taken.otherwise if (cell.file, cell.sheet) == here
    }
    told |= {  # of rows that were joined: the same bird's row has it
        (cell.row, cell.text)
        for (table, at, column), cell in taken.cells.items()
        if taken.tables[table][at].get(column)
    }
    notes = "; ".join(row.get("notes", "") for rows in taken.tables.values() for row in rows)
    return [
        (row.row, cell)
        for row in block.rows
        for at, cell in enumerate(row.cells)
        if cell
        and cell not in kept.get(row.row, "")
        and (row.row, cell) not in told
        and f"head {at}: {cell}" not in notes
    ]


@settings(max_examples=60)
@given(guesses())
def test_no_filled_cell_is_lost(guess: BlockGuess) -> None:
    taken, _ = take([guess], {})
    assert lost(taken, guess) == []
    assert any(one.row == 99 and one.text == "sum" for one in taken.left)


@settings(max_examples=20)
@given(guesses())
def test_every_row_is_kept_or_named(guess: BlockGuess) -> None:
    taken, _ = take([guess], {})
    named = {row for *_, row in taken.sources.values()} | {one.row for one in taken.left}
    assert {row.row for row in guess.block.rows} <= named


@settings(max_examples=20)
@given(guesses())
def test_the_same_book_is_taken_alike_and_its_answers_once_given_change_nothing(
    guess: BlockGuess,
) -> None:
    first, _ = take([guess], {})
    answers = {one.key: one.proposed for one in first.questions if one.proposed is not None}
    second, _ = take([guess], answers)
    assert second.tables == first.tables
    assert second.left == first.left
