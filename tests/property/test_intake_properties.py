"""Laws of taking in a book: nothing raises, nothing is lost, the same book is guessed alike."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.intake.blocks import cut
from matchmaker.intake.grid import make_grid
from matchmaker.intake.guess import guess
from matchmaker.intake.remembered import Remembered, RememberedSheet, column_keys
from matchmaker.intake.remembered_text import read_remembered, remembered_text
from matchmaker.tables.columns import TABLES
from matchmaker.tables.findings import Findings

if TYPE_CHECKING:
    from matchmaker.intake.grid import Grid
    from matchmaker.intake.model import Block

LOCI = {"O": ("blue", "white"), "P": ("pea", "single", "pea comb"), "lav": ("lavender", "black")}
HEADERS = ["Ring no.", "Sex", "hatched", "Father", "Mother", "Weight (kg)", "Pen", "In", "Out"]
HEADERS += ["Notes", "lav", "Comb", "eggs", "set", "Called", "Room for (hens)"]
DATA = ["A1", "A2", "B7", "12", "2,1 kg", "17/3/24", "2025", "m", "hen", "pea", "sold", "Pen 3"]
DATA += [
    "A1|A2",
    "one of the brothers",
    "a long remark about a bird in the rain",
    "Total",
    "?",
    "x",
]
CELLS = st.sampled_from(["", "", "", *HEADERS, *DATA]) | st.text(max_size=4)
CORNERS = st.tuples(st.integers(0, 12), st.integers(0, 7))
MERGED = st.lists(st.tuples(CORNERS, CORNERS), max_size=3)


@st.composite
def grids(draw: st.DrawFn) -> Grid:
    width = draw(st.integers(1, 7))
    rows = draw(st.lists(st.lists(CELLS, min_size=width, max_size=width), max_size=12))
    if draw(st.booleans()):
        rows.insert(draw(st.integers(0, 2)), draw(st.permutations(HEADERS))[:width])
    return make_grid("book.xlsx", "Sheet1", list(enumerate(rows, 1)), draw(MERGED))


def cells_told(blocks: tuple[Block, ...]) -> Counter[tuple[int, str]]:
    """Every cell that a block has in its rows, by row; of headers and rows outside their texts."""
    told: Counter[tuple[int, str]] = Counter()
    for block in blocks:
        told.update((row.row, cell) for row in block.rows for cell in row.cells if cell)
    return told


@settings(max_examples=60, deadline=None)
@given(grids())
def test_each_filled_row_is_a_header_a_row_or_outside_and_no_cell_is_lost(grid: Grid) -> None:
    blocks = cut(grid)
    told = cells_told(blocks)
    outside = {(one.row, one.text) for block in blocks for one in block.outside}
    headers = {(block.header_row, block.headers) for block in blocks}
    for row in grid.rows:
        texts = " ".join(text for number, text in sorted(outside) if number == row.row)
        heads = " ".join(" ".join(cells) for number, cells in headers if number == row.row)
        for cell in filter(None, row.cells):
            found = told[row.row, cell] + texts.count(cell) + heads.count(cell)
            assert found >= row.cells.count(cell)
    numbers = {row.row for row in grid.rows}
    assert {number for number, _ in told} | {number for number, _ in outside} <= numbers
    for (number, cell), count in told.items():
        assert next(row for row in grid.rows if row.row == number).cells.count(cell) >= count


@settings(max_examples=40, deadline=None)
@given(grids())
def test_every_column_is_told_once_and_no_declared_column_twice(grid: Grid) -> None:
    blocks = cut(grid, LOCI)
    guesses = guess(blocks, LOCI)
    assert guesses == guess(blocks, LOCI)
    assert [one.block for one in guesses] == list(blocks)
    for one in guesses:
        assert [column.at for column in one.columns] == list(range(len(one.block.headers)))
        assert one.table in {"", *TABLES}
        taken = [(c.table, c.column) for c in one.columns if c.table and c.column != "notes"]
        assert len(taken) == len(set(taken))
        assert all(column.why for column in one.columns)
        assert all(bool(column.table) == bool(column.column) for column in one.columns)


@settings(max_examples=30, deadline=None)
@given(grids(), st.sampled_from(sorted(TABLES)))
def test_what_is_remembered_goes_before_every_guess(grid: Grid, table: str) -> None:
    blocks = cut(grid)
    columns = {name: "aside" for block in blocks[:1] for name in column_keys(block)}
    sheet = RememberedSheet(table=table, columns=columns)
    remembered = Remembered(sheets={("book", "Sheet1"): sheet})
    for one in guess(blocks, LOCI, remembered)[:1]:
        assert one.table == (table if one.block.headers else "")
        assert all(not column.table and column.sure for column in one.columns)


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=6)
TEXTS = st.dictionaries(NAMES, NAMES, max_size=3)
MEANT = st.sampled_from(["aside", "birds.sire", "birds.lav", "scores.egg weight", "moves.pen"])
REMEMBERED = st.builds(
    Remembered,
    sheets=st.dictionaries(
        st.tuples(NAMES, NAMES),
        st.builds(
            RememberedSheet,
            table=st.none() | st.sampled_from(["", *TABLES]),
            columns=st.dictionaries(NAMES, MEANT, max_size=3),
        ),
        max_size=3,
    ),
    answers=TEXTS,
    written=TEXTS,
)


@settings(max_examples=50, deadline=None)
@given(REMEMBERED)
def test_what_is_remembered_reads_back_as_it_was_written(remembered: Remembered) -> None:
    findings = Findings()
    assert read_remembered(remembered_text(remembered), findings) == remembered
    assert not findings.faults


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=60))
def test_no_text_of_a_remembered_mapping_breaks_the_reading(text: str) -> None:
    findings = Findings()
    for written in (text, f"[books.a.b]\n{text}", f"[answers]\na = {text}"):
        read_remembered(written, findings)
