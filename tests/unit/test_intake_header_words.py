from __future__ import annotations

import pytest

from matchmaker.intake.header_words import header_scores, heads_trait, is_header_word, sheet_votes
from matchmaker.intake.vocabulary import LOOSE, SHEETS
from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import plain

TWO_MEANINGS = {("moves", "to")}
"""Words declared for one column that keepers also use for another; the cells decide."""


def test_the_further_words_are_of_declared_columns_and_say_something_new() -> None:
    assert set(LOOSE) == set(SHEETS) == set(TABLES)
    for table, columns in LOOSE.items():
        declared = TABLES[table].spellings()
        for name, words in columns.items():
            TABLES[table].column(name)
            listed = words.split(", ")
            assert len(listed) == len(set(listed)), (table, name)
            known = {word for word in listed if plain(word) in declared}
            assert {(table, word) for word in known} <= TWO_MEANINGS, (table, name)


@pytest.mark.parametrize(
    ("header", "table", "column"),
    [
        ("Ring no. (left leg)", "birds", "bird"),
        ("hatched / born", "birds", "hatched"),
        ("Father (cock)", "birds", "sire"),
        ("Mother's ring", "birds", "dam"),
        ("FATHERS RING NO", "birds", "sire"),
        ("Hathced", "birds", "hatched"),
        ("Brede", "birds", "breed"),
        ("date  of birth", "birds", "hatched"),
        ("Parents - Cock", "birds", "sire"),
        ("Into the machine", "eggs", "set_on"),
        ("Date set", "eggs", "set_on"),
        ("Hens (at most)", "pens", "hens_max"),
        ("taken out on", "moves", "moved_out"),
    ],
)
def test_a_header_names_its_column(header: str, table: str, column: str) -> None:
    assert header_scores(header, table)[0][0] == column


@pytest.mark.parametrize("header", ["", "---", "Price", "Eggs sold to Ann", "Ring colour"])
def test_other_headers_name_no_column_of_birds_well(header: str) -> None:
    assert all(score < 0.65 for _, score in header_scores(header, "birds"))


def test_values_are_no_header_words() -> None:
    assert not any(map(is_header_word, ["cock", "Hen", "dead", "C04", "", "17/3/2025"]))


def test_traits_are_told_by_word_by_scale_and_by_age() -> None:
    assert heads_trait("Weight (kg)") == 1.0
    assert heads_trait("Shape 1-5") >= 0.7
    assert heads_trait("20 wks") >= 0.7
    assert heads_trait("Ring") == heads_trait("Mother") == 0.0


def test_names_of_sheets_and_files_speak_for_tables() -> None:
    assert sheet_votes("Hens 2026", "marsh") == {"birds": 1.0}
    assert sheet_votes("", "stall_log") == {"pens": 0.5, "moves": 0.5}
    assert sheet_votes("Sheet1", "book") == {"birds": 0.5}
    assert sheet_votes("Tabelle2", "marsh") == {}
