"""Words, weights and layouts that a keeper's own books brought up; invented."""

from __future__ import annotations

import pytest

from matchmaker.intake.pens import hens_of_pens
from tests.intake_books import column, guessed, taken
from tests.unit.intake_helpers import guesses, sheet
from tests.unit.intake_helpers import taken as taken_for

BIRDS = ("1;boy;2024-04-02", "2;girl;2024-04-02", "3;girl;2024-04-02", "4;boy;2024-04-02")


def test_boys_and_girls_are_cocks_and_hens() -> None:
    (found,) = guesses(sheet("Birds", "No;Boy or girl;Born", *BIRDS))
    assert taken_for(found)["Boy or girl"] == "birds.sex"
    birds = taken(guessed("birds", "No=bird,Boy or girl=sex,Born=hatched", *BIRDS))
    assert column(birds, "birds", "sex") == ["cock", "hen", "hen", "cock"]


def test_words_for_the_sex_that_nobody_knows_are_asked_for_under_a_sure_header() -> None:
    rows = [row.replace("boy", "k").replace("girl", "p") for row in BIRDS]
    (found,) = guesses(sheet("Birds", "No;Sex;Born", *rows))
    assert taken_for(found)["Sex"].startswith("birds.sex")
    asked = taken(guessed("birds", "No=bird,Sex=sex,Born=hatched", *rows)).questions
    assert [one.proposed for one in asked if one.key.startswith("word:birds.sex")] == [None, None]


@pytest.mark.parametrize(
    ("word", "proposed"),
    [
        ("no", "dead"),
        ("no - fox 12.3.25", "dead"),
        ("no, sold to Bill", "sold"),
        ("no longer (eaten)", "culled"),
        ("nobody knows", None),
    ],
)
def test_who_is_no_longer_there_is_proposed_by_the_reason(word: str, proposed: str | None) -> None:
    book = taken(guessed("birds", "Ring=bird,Alive?=status", f"C1;{word}"))
    assert [one.proposed for one in book.questions] == [proposed]


def test_shares_of_breeds_side_by_side() -> None:
    rows = (
        "C1;Sussex",
        "C2;Araucana",
        "X1;1/2 Sussex 1/2 Araucana",
        "X2;3/4 Sussex / 1/4 Araucana",
    )
    book = taken(guessed("birds", "Ring=bird,Breed=breed", *rows))
    assert column(book, "birds", "breed")[2:] == [
        "Sussex:0.5|Araucana:0.5",
        "Sussex:0.75|Araucana:0.25",
    ]


def test_pounds_with_ounces() -> None:
    rows = ("C1;8 lb 4 oz", "C2;7 lb", "C3;7lbs 12ozs")
    birds = guessed("birds", "Ring=bird", "C1", "C2", "C3")
    book = taken(birds, guessed("scores", "Ring=bird,Weight=weight", *rows))
    assert column(book, "scores", "weight") == ["8.25", "7", "7.75"]


def test_a_column_of_pounds_with_ounces_is_a_weight() -> None:
    rows = [f"C{at};2024-10-05;8 lb {at} oz" for at in range(1, 6)]
    (found,) = guesses(sheet("Show", "Ring;Day;Weight", *rows))
    assert taken_for(found)["Weight"] == "scores.weight"


def test_who_is_in_a_pen_may_stand_in_the_list_of_pens() -> None:
    columns = "Run=pen,Room=hens_max,Cock in it=moves.bird,since=moves.moved_in"
    rows = ("Run 1;6;C1;2025-01-10", "Run 2;5;;")
    birds = guessed("birds", "Ring=bird,Sex=sex", "C1;cock")
    book = taken(birds, guessed("pens", columns, *rows))
    assert book.tables["moves"] == ({"bird": "C1", "pen": "Run 1", "moved_in": "2025-01-10"},)
    assert column(book, "pens", "hens_max") == ["6", "5"]


def test_a_bird_in_the_list_of_pens_is_offered_as_a_move_and_not_taken_by_itself() -> None:
    pens = ("Run;Space for;In it;since", "Run 1;6;SU1;2025-01-10", "Run 2;5;SU2;2025-01-10")
    birds = ("Ring;Sex;Hatched", "SU1;cock;2024-04-02", "SU2;cock;2024-04-02", "SU3;hen;2024-04-02")
    _, found = guesses(sheet("Birds", *birds), sheet("Runs", *pens))
    told = {one.header: (one.column, one.others[:1]) for one in found.columns}
    assert told["Space for"][0] == "hens_max"
    assert told["In it"] == ("", (("moves", "bird"),))


@pytest.mark.parametrize("text", ["", "6, x", "0", "6.5", "1000", "-3"])
def test_what_is_no_row_of_numbers_makes_no_pens(text: str) -> None:
    assert hens_of_pens(text) == []
