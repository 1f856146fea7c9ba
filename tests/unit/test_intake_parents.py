"""Parents, bands and names as keepers write them."""

from __future__ import annotations

import pytest

from matchmaker.intake.take import take
from tests.intake_books import column, guessed, taken

BIRDS = (
    "C04;cock;2023-04-01;;;Bosun",
    "C07;cock;2023-04-01;;;",
    "H1;hen;2023-04-01;;;Duchess",
    "H2;hen;2023-04-01;;;",
    "H3;hen;2025-04-01;;;",
)
COLUMNS = "Ring=bird,Sex=sex,Hatched=hatched,Father=sire,Mother=dam,Called=notes"
LOG = guessed(
    "moves",
    "Ring=bird,Pen=pen,In=moved_in,Out=moved_out",
    "C04;Pen 3;2025-01-10;2025-03-01",
    "C07;3;2025-03-01;2025-05-20",
    "H1;3;2025-01-10;2025-05-20",
    "H2;pen 4;2025-01-10;2025-05-20",
)


def parents(sire: str, dam: str = "", day: str = "2025-04-20", **answers: str) -> tuple[str, str]:
    birds = guessed("birds", COLUMNS, *BIRDS, f"X1;hen;{day};{sire};{dam};")
    found, _ = take([birds, LOG], answers)
    row = found.tables["birds"][len(BIRDS)]
    return row.get("sire", ""), row.get("dam", "")


@pytest.mark.parametrize(
    ("written", "taken_as"),
    [
        ("C04", "C04"),
        ("c-04", "C04"),
        ("C04/C07", "C04|C07"),
        ("C04 or C07", "C04|C07"),
        ("C04 / 07", "C04|C07"),
        ("CO4", "C04"),  # a letter for a figure: asked, and proposed
        ("Bosun", "C04"),
        ("C04 (the big one)", "C04"),
        ("founder", "founder"),
        ("from Bill", "founder"),
        ("bought", "founder"),
        ("?", "?"),
        ("unknown", "unknown"),
        ("", ""),
        ("one of the brothers", ""),
        ("who knows", ""),
    ],
)
def test_a_sire_however_it_is_written(written: str, taken_as: str) -> None:
    assert parents(written)[0] == taken_as


class TestFromThePenLog:
    """Hatched 2025-04-20: laid 16 to 30 March at the latest, fertile for 32 days before that."""

    def test_two_cocks_in_turn_are_both_possible(self) -> None:
        assert parents("pen 3") == ("C04|C07", "")

    def test_one_cock_alone_is_taken_and_said(self) -> None:
        late = guessed("birds", COLUMNS, *BIRDS, "X1;hen;2025-06-01;pen 3;pen 3 hens;")
        found = taken(late, LOG)
        row = found.tables["birds"][-1]
        assert (row["sire"], row["dam"]) == ("C07", "H1")
        said = [doubt.problem for doubt in found.doubts if doubt.kind == "parent-from-pen"]
        assert any(
            "was taken as C07: in pen 3 between 2025-03-26 and 2025-05-11" in s for s in said
        )

    def test_a_cock_gone_too_long_is_none(self) -> None:
        assert parents("pen 3", day="2026-04-20")[0] == ""
        found = taken(guessed("birds", COLUMNS, *BIRDS, "X1;hen;2026-04-20;pen 3;;"), LOG)
        assert [left.text for left in found.left] == ["pen 3"]

    def test_a_question_mark_adds_who_was_with_the_hen_too(self) -> None:
        assert parents("C04?")[0] == "C04|C07"

    def test_a_parent_too_young_is_not_among_them(self) -> None:
        young = guessed("moves", "Ring=bird,Pen=pen,In=moved_in", "H3;3;2025-04-02")
        birds = guessed("birds", COLUMNS, *BIRDS, "X1;hen;2025-05-01;;pen 3 hens;")
        assert taken(birds, LOG, young).tables["birds"][-1]["dam"] == "H1"


def test_a_parent_without_a_row_is_added_as_gone_if_wanted() -> None:
    found = taken(guessed("birds", COLUMNS, "X1;hen;2025-04-20;K99;;"))
    assert column(found, "birds", "bird") == ["X1", "K99"]
    assert found.tables["birds"][-1]["status"] == "sold"
    left = {"no-row:K99": "leave it out"}
    assert column(
        take([guessed("birds", COLUMNS, "X1;hen;2025-04-20;K99;;")], left)[0], "birds", "sire"
    ) == [""]


class TestBandsUsedAgain:
    ROWS = ("27;hen;2023-04-01;;;", "27;cock;2025-04-01;;;", "X1;hen;2024-04-20;;27;")

    def test_they_are_two_birds_and_parents_follow_the_days(self) -> None:
        scores = guessed("scores", "Ring=bird,On=date,W=weight", "27;2024-06-01;2.1")
        found = taken(guessed("birds", COLUMNS, *self.ROWS), scores)
        assert column(found, "birds", "bird") == ["27-2023", "27-2025", "X1"]
        assert found.tables["birds"][-1]["dam"] == "27-2023"
        assert column(found, "scores", "bird") == ["27-2023"]

    def test_or_one_if_the_keeper_says_so(self) -> None:
        found, _ = take([guessed("birds", COLUMNS, *self.ROWS)], {"band:27": "one bird"})
        assert column(found, "birds", "bird") == ["27", "X1"]
        assert {left.text for left in found.left} >= {"cock", "2025-04-01"}

    def test_two_whole_equal_rows_are_one(self) -> None:
        found = taken(guessed("birds", COLUMNS, "C04;cock;2023-04-01;;;", "C04;cock;2023-04-01;;;"))
        assert column(found, "birds", "bird") == ["C04"]
        assert {left.row for left in found.left} == {3}
        assert found.questions == ()


def test_a_sex_against_several_rows_is_asked_and_they_win() -> None:
    rows = ("H9;cock;2023-04-01;;;", "X1;hen;2025-04-20;;H9;", "X2;hen;2025-04-20;;H9;")
    found = taken(guessed("birds", COLUMNS, *rows))
    assert column(found, "birds", "sex")[0] == "hen"
    assert [question.key for question in found.questions] == ["sex:H9"]


def test_pens_not_listed_are_made_with_the_hens_seen_in_them() -> None:
    found = taken(guessed("birds", COLUMNS, *BIRDS), LOG)
    assert [(row["pen"], row["hens_max"]) for row in found.tables["pens"]] == [
        ("3", "1"),
        ("pen 4", "1"),
    ]
