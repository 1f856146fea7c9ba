from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.intake.blocks import cut, read_blocks
from matchmaker.intake.grid import make_grid
from matchmaker.intake.guess import guess
from matchmaker.intake.remembered import Remembered, RememberedSheet
from matchmaker.tables.columns import TABLES
from matchmaker.tables.findings import Findings
from tests.unit.intake_helpers import LOCI, column, guesses, sheet, taken

if TYPE_CHECKING:
    from matchmaker.intake.model import Block

EXAMPLES = Path(__file__).parents[2] / "examples"

HENS = sheet(
    "Hens",
    "Leg no.;hatch yr;out of (hen);by (cock);shell;pen;kg",
    "12;2023;;;blue;Top;2,1",
    "13;2023;;;white;Top;1,9",
    "27;2024;12;3;blue;Low;2.3 kg",
    "28;2024;13;3;tinted;Low;2.0",
    "31;2025;27 or 28;5;green;;",
)
COCKS = sheet(
    "Cocks",
    "Leg no.;hatch yr;out of (hen);by (cock);comb type;Bought off",
    "3;2022;;;pea;Bill",
    "5;2024;13;3;single;",
    "7;2025;27;pen Top;pea;",
)


@pytest.mark.parametrize("flock", ["holm-fen", "skarn-farm", "tarn-croft"])
def test_every_declared_column_of_the_examples_is_told(flock: str) -> None:
    names = [name for name in TABLES if (EXAMPLES / flock / f"{name}.csv").exists()]
    findings = Findings()
    blocks = [
        block
        for name in names
        for block in read_blocks(EXAMPLES / flock / f"{name}.csv", LOCI, findings)
    ]
    found = guess(blocks, LOCI)
    assert [one.table for one in found] == names
    assert all(one.sure for one in found)
    for one in found:
        spelled = TABLES[one.table].spellings()
        for each in one.columns:
            name = spelled.get(each.header.casefold().replace(" ", "").replace("_", ""))
            if name is not None:
                assert (each.table, each.column, each.sure) == (one.table, name, True)


ODD = {
    "birds": {
        "bird": "Ring no. (left leg)",
        "sex": "cock or hen",
        "hatched": "hatched / born",
        "sire": "Father (cock)",
        "dam": "Mother's ring",
        "line": "Blood line",
        "breed": "Brede",
        "source": "Came from",
        "status": "Still here?",
        "left_on": "sold/died",
    },
    "pens": {"pen": "Which pen", "hens_max": "How many hens", "dam_known": "Trap nests?"},
    "moves": {"bird": "Who", "pen": "Went to", "moved_in": "put in", "moved_out": "taken out"},
    "plan": {"pen": "Pen no.", "cock": "Cock bird", "hen": "Hens in it"},
}


def test_the_example_in_one_book_under_odd_headers() -> None:
    blocks: list[Block] = []
    for name, odd in ODD.items():
        with (EXAMPLES / "holm-fen" / f"{name}.csv").open(newline="") as file:
            rows = list(csv.reader(file))
        rows[0] = [odd.get(header, header) for header in rows[0]]
        numbered = list(enumerate([["Holm Fen"], *rows], 1))
        blocks += cut(make_grid("all.xlsx", f"Sheet{len(blocks)}", numbered), LOCI)
    found = guess(blocks, LOCI)
    assert [one.table for one in found] == list(ODD)
    for one in found:
        for name, header in ODD[one.table].items():
            told = column(one, header)
            assert (told.table, told.column, told.sure) == (one.table, name, True), told


def test_hens_and_cocks_on_sheets_of_their_own() -> None:
    hens, cocks = guesses(HENS, COCKS)
    assert (hens.table, cocks.table) == ("birds", "birds")
    assert hens.said == (("birds", "sex", "hen"),)
    assert cocks.said == (("birds", "sex", "cock"),)
    assert taken(hens) == {
        "Leg no.": "birds.bird",
        "hatch yr": "birds.hatched",
        "out of (hen)": "birds.dam",
        "by (cock)": "birds.sire",
        "shell": "birds.O",
        "pen": "moves.pen",
        "kg": "scores.kg",
    }
    assert taken(cocks)["comb type"] == "birds.P"
    assert taken(cocks)["Bought off"] == "birds.source"


def test_a_sheet_of_weights_without_a_word_for_them() -> None:
    *_, weights = guesses(
        HENS, sheet("Sheet3", "Leg;12 wks;20 wks", "27;1200;2300", "28;1100;2200")
    )
    assert weights.table == "scores"
    assert taken(weights) == {
        "Leg": "scores.bird",
        "12 wks": "scores.12 wks",
        "20 wks": "scores.20 wks",
    }


def test_a_list_of_birds_told_elsewhere_with_weights_is_scores() -> None:
    _, again = guesses(
        sheet("Flock", "Ring;Sex;Hatched", "A1;m;2024", "A2;f;2024", "A3;f;2025"),
        sheet("Summer", "Ring;Sex;Weight", "A1;m;3,1", "A2;f;2,2"),
    )
    assert again.table == "scores"


def test_bands_of_cocks_and_hens_tell_columns_whose_headers_do_not() -> None:
    birds = sheet(
        "Flock",
        "Ring;Sex;x;y",
        "A1;m;;",
        "A2;f;;",
        "A3;m;;",
        "A4;f;;",
        "A5;f;A1;A2",
        "A6;f;A1;A2",
        "A7;m;A3;A4",
        "A8;m;A3;A4",
    )
    (found,) = guesses(birds)
    assert taken(found) == {"Ring": "birds.bird", "Sex": "birds.sex"} | {
        "x": "birds.sire?",
        "y": "birds.dam?",
    }


def test_words_for_sex_and_fate_tell_a_column_but_the_keeper_is_asked() -> None:
    (found,) = guesses(
        sheet("Flock", "Ring;a;b", "A1;m;sold to Ann", "A2;f;here", "A3;f;fox", "A4;m;dead")
    )
    assert taken(found) == {"Ring": "birds.bird", "a": "birds.sex?", "b": "birds.status?"}


def test_header_and_cells_that_disagree_are_asked() -> None:
    (found,) = guesses(
        sheet("Flock", "Ring;Sex;Hatched", "A1;m;good", "A2;f;bad", "A3;f;good", "A4;f;2024")
    )
    told = column(found, "Hatched")
    assert not told.sure
    assert "1 of 4" in told.why


def test_a_header_that_all_cells_contradict_is_only_offered() -> None:
    (found,) = guesses(
        sheet("Flock", "Ring;Sex;Hatched", "A1;m;good", "A2;f;bad", "A3;f;good", "A4;f;fair")
    )
    told = column(found, "Hatched")
    assert (told.table, told.column, told.sure) == ("", "", False)
    assert ("birds", "hatched") in told.others


def test_two_columns_for_one_thing_are_asked_and_only_one_is_given() -> None:
    (found,) = guesses(sheet("Flock", "Ring;Band;Sex", "A1;B1;m", "A2;B2;f", "A3;B3;f"))
    first, second = found.columns[:2]
    assert (first.table, first.column, first.sure) == ("birds", "bird", False)
    assert (second.table, second.sure) == ("", False)
    assert ("birds", "bird") in second.others


def test_two_weights_are_two_traits() -> None:
    (found,) = guesses(sheet("Weights", "Ring;Weight;Weight", "A1;2,1;2,4", "A2;1,9;2,0"))
    assert [one.column for one in found.columns] == ["bird", "weight", "weight 2"]


def test_a_gene_is_told_by_the_words_that_only_it_has() -> None:
    lines = ("Ring;Sex;Comb", "A1;m;pea", "A2;f;single", "A3;f;single")
    (found,) = guesses(sheet("Flock", *lines))
    told = column(found, "Comb")
    assert (told.table, told.column, told.sure) == ("birds", "P", True)
    (found,) = guesses(sheet("Flock", "Ring;Sex;Comb", "A1;m;single", "A2;f;single"))
    told = column(found, "Comb")
    assert not told.sure
    assert {told.column, *(name for _, name in told.others)} == {"P", "R"}


def test_points_for_the_comb_are_a_trait_and_no_gene() -> None:
    (found,) = guesses(sheet("Flock", "Ring;Sex;Comb", "A1;m;3", "A2;f;4", "A3;f;4"))
    assert taken(found)["Comb"] == "scores.comb"


def test_looks_that_no_header_names_are_offered_only() -> None:
    (found,) = guesses(sheet("Flock", "Ring;Sex;Claws", "A1;m;white", "A2;f;white"))
    told = column(found, "Claws")
    assert (told.table, told.sure) == ("", False)
    assert told.others == (("birds", "O"),)


def test_figures_nobody_can_name_are_no_trait_beside_birds() -> None:
    (found,) = guesses(sheet("Flock", "Ring;Sex;Price", "A1;m;20", "A2;f;20", "A3;f;25"))
    told = column(found, "Price")
    assert (told.table, told.sure) == ("", False)


def test_names_stand_for_bands_only_where_there_are_none() -> None:
    (found,) = guesses(
        sheet("x", "Name;Sex;Hatched;Mum", "Bess;f;2022;", "Tom;m;2022;", "Ivy;f;2023;Bess")
    )
    assert taken(found)["Name"] == "birds.bird?"
    (found,) = guesses(sheet("x", "Ring;Called;Sex", "A1;Bess;f", "A2;;m", "A3;Ivy;f"))
    assert taken(found) == {"Ring": "birds.bird", "Called": "birds.notes", "Sex": "birds.sex"}


def test_remarks_are_notes_by_header_or_by_length() -> None:
    (found,) = guesses(
        sheet(
            "Flock",
            "Ring;Sex;Remarks;zz",
            "A1;m;;she tore her comb on the wire",
            "A2;f;ok;sits too early in the year",
        )
    )
    assert taken(found)["Remarks"] == "birds.notes"
    assert taken(found)["zz"] == "birds.notes?"


def test_a_sheet_for_each_pen() -> None:
    third, fourth = guesses(
        sheet("Pen 3", "Ring;In;Out", "A1;1/2/25;", "A2;1/2/25;1/5/25"),
        sheet("Pen 4", "Ring;In;Out", "A3;1/2/25;"),
    )
    assert (third.table, third.said) == ("moves", (("moves", "pen", "3"),))
    assert (fourth.table, fourth.said) == ("moves", (("moves", "pen", "4"),))


def test_a_log_from_pen_to_pen() -> None:
    _, log = guesses(
        sheet("Coops", "Coop;Hens max;Trap nests", "A;6;yes", "B;5;no"),
        sheet("Log", "Date;Bird;From;To", "1/2/25;K1;A;B", "3/2/25;K2;B;A", "3/2/25;K3;B;A"),
    )
    assert taken(log) == {
        "Date": "moves.moved_in",
        "Bird": "moves.bird",
        "From": "aside",
        "To": "moves.pen",
    }


def test_what_is_no_part_of_the_flock_is_aside_and_asked() -> None:
    *_, feed = guesses(HENS, sheet("Feed", "Bought;What;Bags", "4/1/26;pellets;3", "4/2/26;grit;1"))
    assert (feed.table, feed.sure) == ("", False)
    assert {one.table for one in feed.columns} == {""}


def test_rows_without_a_header_are_never_sure() -> None:
    (found,) = guesses(sheet("x", "A1;m;2024-03-01", "A2;f;2024-03-02", "A3;f;2024-03-02"))
    assert not found.sure
    assert all(not one.sure for one in found.columns if one.table)


def test_a_typing_error_in_a_header_is_no_matter() -> None:
    (found,) = guesses(sheet("x", "Rign;Sex;Hathced;Fahter", "A1;m;2024;", "A2;f;2025;A1"))
    assert taken(found)["Hathced"].startswith("birds.hatched")
    assert taken(found)["Fahter"].startswith("birds.sire")


def test_what_is_remembered_goes_before_the_guess_and_the_rest_is_guessed() -> None:
    kept = RememberedSheet(columns={"Sex": "aside", "Eye": "scores.eye", "Gone": "birds.line"})
    remembered = Remembered(sheets={("flock", "x"): kept})
    (found,) = guesses(
        sheet("x", "Ring;Sex;Eye;Strain", "A1;m;3;Old", "A2;f;4;New"), remembered=remembered
    )
    assert taken(found)["Ring"] == "birds.bird"
    assert (taken(found)["Sex"], taken(found)["Eye"]) == ("aside", "scores.eye")
    assert column(found, "Eye").why == "decided before, see intake.toml"
    assert column(found, "Sex").sure


def test_a_remembered_column_is_not_given_a_second_time() -> None:
    kept = RememberedSheet(table="birds", columns={"Code": "birds.bird"})
    remembered = Remembered(sheets={("flock", "x"): kept})
    (found,) = guesses(sheet("x", "Ring;Code;Sex", "A1;B1;m", "A2;B2;f"), remembered=remembered)
    assert taken(found)["Code"] == "birds.bird"
    assert taken(found)["Ring"] == "aside"


def test_a_sheet_remembered_as_aside_stays_aside() -> None:
    remembered = Remembered(sheets={("flock", "Old"): RememberedSheet(table="")})
    (found,) = guesses(sheet("Old", "Ring;Sex", "A1;m", "A2;f"), remembered=remembered)
    assert (found.table, found.sure) == ("", True)


def test_percentages_of_a_breed_are_taken_under_a_word_for_blood_and_offered_under_a_name() -> None:
    (found,) = guesses(
        sheet("x", "Ring;Sex;Blood %;% Marans", "A1;m;87,5;12,5", "A2;f;50;50", "A3;f;75 %;25")
    )
    assert taken(found)["Blood %"] == "birds.breed"
    assert not column(found, "% Marans").table
    (found,) = guesses(sheet("x", "Ring;Sex;% Marans", "A1;m;12,5", "A2;f;50", "A3;f;25"))
    told = column(found, "% Marans")
    assert (told.table, told.sure, told.others[0]) == ("", False, ("birds", "breed"))


def test_a_gene_whose_words_all_cells_suit_is_sure_though_others_share_most() -> None:
    lines = ["Ring;Sex;Comb", *(f"A{at};f;single" for at in range(9)), "B1;m;pea"]
    (found,) = guesses(sheet("Flock", *lines))
    told = column(found, "Comb")
    assert (told.column, told.sure) == ("P", True)


def test_a_hen_on_a_sheet_of_hens_is_a_bird_and_beside_a_ring_a_dam() -> None:
    (found,) = guesses(sheet("Hens", "Hen;Hatched;Pen", "H1;2024;1", "H2;2024;1", "H3;2025;2"))
    assert column(found, "Hen").column == "bird"
    lines = ("Ring;Sex;Cock;Hen", "A1;m;;", "A2;f;;", "A3;f;A1;A2", "A4;m;A1;A2")
    (found,) = guesses(sheet("Flock", *lines))
    assert taken(found)["Cock"] == "birds.sire"
    assert taken(found)["Hen"] == "birds.dam"


def test_colours_that_several_genes_have_are_taken_for_none() -> None:
    (found,) = guesses(sheet("x", "Ring;Sex;Coat", "A1;m;black", "A2;f;black", "A3;f;white"))
    told = column(found, "Coat")
    assert (told.table, told.sure) == ("", True)
    (found,) = guesses(sheet("x", "Ring;Sex;Coat", "A1;m;silver", "A2;f;gold", "A3;f;gold"))
    assert taken(found)["Coat"] == "birds.S?"
