"""Tables and sentences on screens of any width: nothing is cut and nothing is read as markup."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from matchmaker.report.screen import Column, console_for, print_rows, say

COLUMNS = [
    Column(heading="Hen"),
    Column(heading="Kinship", number=True),
    Column(heading="Why", sentence=True),
]
ROWS = [["A26-[b]001", "0.125", "too closely related to every cock of the season"]]
WORDS = st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=9)


def _console(width: int) -> tuple[Console, io.StringIO]:
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    return console, stream


def _rows(width: int, rows: list[list[str]]) -> str:
    console, stream = _console(width)
    print_rows(console, COLUMNS, rows)
    return stream.getvalue()


def _said(width: int, text: str, indent: int = 0) -> str:
    console, stream = _console(width)
    say(console, text, indent=indent)
    return stream.getvalue()


def test_a_wide_screen_gets_a_table() -> None:
    lines = [line.rstrip() for line in _rows(80, ROWS).splitlines()]
    assert lines[0] == "Hen         Kinship  Why"
    assert set(lines[1]) == {"─"}
    assert lines[2].startswith("A26-[b]001    0.125  too closely related")


def test_numbers_stand_to_the_right() -> None:
    rows = [["A", "0", "x"], ["B", "0.125", "y"]]
    ends = [line.index(cell) + len(cell) for line, cell in _ends(_rows(80, rows))]
    assert len(set(ends)) == 1


def _ends(text: str) -> list[tuple[str, str]]:
    found = []
    for line in text.splitlines()[2:]:
        number = re.search(r"\d[\d.]*", line)
        assert number is not None
        found.append((line, number.group()))
    return found


def test_a_sentence_is_wrapped_within_its_column() -> None:
    text = _rows(48, ROWS)
    assert max(map(len, (line.rstrip() for line in text.splitlines()))) <= 48
    assert text.splitlines()[3].startswith(" " * 20)


@pytest.mark.parametrize("width", [20, 30, 40])
def test_a_narrow_screen_gets_records(width: int) -> None:
    lines = _rows(width, ROWS).splitlines()
    assert " ".join(" ".join(lines).split()).startswith("Hen: A26-[b]001; Kinship: 0.125 Why: ")
    assert "─" not in "".join(lines)


def test_short_cells_of_a_record_share_lines() -> None:
    columns = [Column(heading=one) for one in ("Bird", "Sex", "Line", "Pen", "Eggs")]
    console, stream = _console(24)
    print_rows(console, columns, [["A26-001", "hen", "Elm", "1", "9"]] * 2)
    record = ["Bird: A26-001; Sex: hen;", "  Line: Elm; Pen: 1;", "  Eggs: 9", ""]
    assert stream.getvalue().splitlines() == record * 2


def test_empty_cells_are_left_out_of_records() -> None:
    assert "Why" not in _rows(20, [["A26-001", "0.125", ""]])


@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=1, max_size=4), st.integers(20, 100))
def test_no_cell_is_ever_cut(rows: list[tuple[str, str, str]], width: int) -> None:
    text = _rows(width, [list(row) for row in rows])
    assert all(cell in text for row in rows for cell in row)


@given(st.lists(WORDS, min_size=1, max_size=30), st.integers(20, 100))
def test_sentences_are_wrapped_at_words_and_stay_whole(words: list[str], width: int) -> None:
    said = _said(width, " ".join(words))
    assert said.split() == words
    assert max(map(len, said.splitlines())) <= max(width, 11)


def test_a_band_longer_than_the_screen_stays_whole() -> None:
    band = "B" * 60
    assert band in _said(30, f"hen {band} is here")


def test_later_lines_are_indented_more() -> None:
    lines = _said(20, "one two three four five six seven", indent=2).splitlines()
    assert lines[0].startswith("  one")
    assert all(line.startswith("    ") for line in lines[1:])


@pytest.mark.parametrize("width", range(20, 40))
def test_a_percent_sign_stays_with_its_number(width: int) -> None:
    said = _said(width, "of the chicks 12.5 % would be wanted and 2 % is the limit here")
    assert not re.search(r"\d\n", said)
    assert "\u00a0" not in said


def test_a_pipe_is_eighty_columns_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    assert console_for(io.StringIO()).width == 80


def test_a_pipe_takes_the_width_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "57")
    assert console_for(io.StringIO()).width == 57


@pytest.mark.parametrize("told", ["", "wide", "0", "-3"])
def test_a_width_without_sense_is_passed_over(monkeypatch: pytest.MonkeyPatch, told: str) -> None:
    monkeypatch.setenv("COLUMNS", told)
    assert console_for(io.StringIO()).width == 80


NAMED = [Column(heading="Trait", name=True), Column(heading="Change", number=True)]


def _named(width: int, name: str) -> list[str]:
    console, stream = _console(width)
    print_rows(console, NAMED, [[name, "+1.5"], ["comb", "0"]])
    return [line.rstrip() for line in stream.getvalue().splitlines()]


def test_a_long_name_stays_on_one_line_where_it_fits() -> None:
    assert _named(24, "Eggs in 12 weeks")[2] == "Eggs in 12 weeks    +1.5"


def test_a_long_name_is_wrapped_where_it_does_not() -> None:
    assert _named(23, "Eggs in 12 weeks")[2:4] == ["Eggs in 12    +1.5", "weeks"]
    assert _named(20, "weight_20wk")[2] == "weight_20wk    +1.5"
    assert _named(18, "weight_20wk")[2:4] == ["weight_    +1.5", "20wk"]


def test_a_name_with_no_place_to_break_makes_records() -> None:
    lines = _named(14, "Eierzahlinsgesamt")
    assert any("Eierzahlinsgesamt" in line for line in lines)
    assert not any("─" in line for line in lines)


@given(st.lists(WORDS, min_size=1, max_size=5).map(" ".join), st.integers(12, 40))
def test_no_part_of_a_name_is_lost(name: str, width: int) -> None:
    console, stream = _console(width)
    print_rows(console, NAMED, [[name, "+1.5"]])
    shown = re.sub(r"\s+", "", stream.getvalue().replace("+1.5", "", 1))
    assert re.sub(r"\s+", "", name).replace("+1.5", "", 1) in shown or "+1.5" in name
