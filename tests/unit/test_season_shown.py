"""What the season says: on the screen, in the document, in rows."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.report.documents import as_json
from matchmaker.report.season import print_season
from matchmaker.report.season_dates import due_reason, due_words
from matchmaker.report.season_document import HEADER, eggs_sheet, season_document
from matchmaker.report.season_words import source_sentence
from matchmaker.season.dates import Task
from matchmaker.season.standing import Source
from tests.screens import plain
from tests.season_flocks import guide_of, small_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.guide import SeasonGuide
    from tests.builders import Row


def screen(guide: SeasonGuide, width: int = 80) -> str:
    """What is printed."""
    stream = io.StringIO()
    print_season(Console(file=stream, width=width, highlight=False, markup=False), guide)
    return stream.getvalue()


def stay(bird: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


@pytest.fixture(scope="module")
def guide(tmp_path_factory: pytest.TempPathFactory) -> SeasonGuide:
    return guide_of(small_flock(tmp_path_factory.mktemp("shown")))


def test_the_screen_says_all_that_is_asked(guide: SeasonGuide) -> None:
    text = screen(guide)
    assert max(map(len, text.splitlines())) <= 80
    words = plain(text)
    assert "For the written plan, plan.csv." in words
    assert "Mon 1 February Make up the pens (pens Orchard, Yard)" in words
    assert "Mon 15 February Set 1: 20 eggs" in words
    assert "Set 4: 8 eggs; candle set 3; set 1 hatches: count, band" in words
    assert "Take samples for tests: O in cocks" in words
    assert "Sat 1 January 2028 Plan the season 2028" in words
    assert "Of 100 eggs 61 chicks are raised: 85 % fertile, 80 % of those hatch, 90 %" in words
    assert "What was taken counts like 18 eggs" in words
    assert "least of all how many fertile ones hatch." in words
    assert "missed in about one season of two" in words
    assert "cockerels hatch." in words
    assert "as your local rules allow, and ask a veterinarian when birds are ill" in words
    assert "Alder, chicks raised: O (blue eggshell)" in words
    assert "85 % 70 % to 96 % the usual figure; nothing was counted" in words


def test_a_plan_that_is_not_proved_says_so(guide: SeasonGuide) -> None:
    pens = replace(guide.pens, source=Source.BEST, proved=False)
    assert source_sentence(replace(guide, pens=pens)) == (
        "For the best plan found (not proved: the search ended): none is written yet (matchmaker "
        "plan --write)."
    )


def test_a_narrow_screen_cuts_nothing(guide: SeasonGuide) -> None:
    words = plain(screen(guide, width=40))
    assert "Make up the pens (pens Orchard, Yard)" in words
    assert "Chicks join: Pure" in words.replace("\u00a0", " ")


def test_early_dates_are_left_out_of_the_screen(tmp_path: Path) -> None:
    assert "Mon 28 December 2026 Condition" in plain(screen(guide_of(small_flock(tmp_path / "a"))))
    guide = guide_of(small_flock(tmp_path, today="2027-03-01"))
    words = plain(screen(guide))
    assert "Make up the pens" not in words
    assert "Dates before 1 March are left out here; --calendar has them." in words


def test_a_line_that_falls_short_says_by_how_much_and_why(tmp_path: Path) -> None:
    year = "incubator_per_week = 2\n"
    words = plain(screen(guide_of(small_flock(tmp_path / "a", year=year))))
    assert "Alder falls short:" in words
    assert "The incubator takes 2 eggs a week: a second one, or more weeks, make room." in words
    assert "The incubator takes 2 eggs a week; the fullest set has 2." in words
    year = "rearing_room = 4\n"
    words = plain(screen(guide_of(small_flock(tmp_path / "b", year=year))))
    assert "The rearing room holds 4 chicks, wanted or not" in words
    assert "there is room for 4." in words
    year = "collect_until = 2027-02-14\n"
    words = plain(screen(guide_of(small_flock(tmp_path / "c", year=year), 0.985)))
    assert "For 98.5 % about" in words
    assert "Its hens lay no more in these weeks" in words


def test_a_line_without_eggs_gets_no_chicks(tmp_path: Path) -> None:
    moves = [stay(bird, "Yard", "2027-02-01") for bird in ("SD", "S1", "S2")]
    words = plain(screen(guide_of(small_flock(tmp_path, moves=moves))))
    assert "For the pens as moves.csv tells them." in words
    assert "Alder gets no chicks: from 8 February to 19 April, while eggs are kept, no pen" in words
    words = plain(screen(guide_of(small_flock(tmp_path / "a", year="lay_per_week = 0\n"))))
    assert "Alder gets no chicks: by your rates no chick is raised." in words
    words = plain(screen(guide_of(small_flock(tmp_path / "b", year="incubator_per_week = 0\n"))))
    assert "Alder gets no chicks: no eggs can be set for it. The incubator takes 0 eggs" in words


def test_nothing_set_is_said(tmp_path: Path) -> None:
    moves = [stay(bird, "Yard", "2027-02-01") for bird in ("SC", "SD", "A1")]
    words = plain(screen(guide_of(small_flock(tmp_path, moves=moves))))
    assert "No eggs are set, so nothing hatches" in words
    assert "Pen Yard: no egg of A1 is surely SC's: another cock is with them all season." in words


def test_a_hen_that_waits_is_told_why(tmp_path: Path) -> None:
    moves = [stay(bird, "Orchard", "2027-01-01", "2027-01-29") for bird in ("SD", "A1")]
    guide = guide_of(small_flock(tmp_path, moves=moves))
    words = plain(screen(guide))
    assert (
        "Pen Orchard: eggs of A1 are surely SC's from 19 February on: A1 was with SD until 29 "
        "January, and 21 days must pass."
    ) in words
    (due,) = [one for one in guide.dates if "hens" in one.about]
    assert due_words(due, guide.table) == "First eggs of A1 that are surely SC's"
    assert "Eat the eggs before that, or mark them." in due_reason(due, guide.table)


def test_numbers_by_sex_are_told(tmp_path: Path) -> None:
    settings = "[lines.Alder]\nwanted_hens_min = 3\ncertainty = 0.9\nchicks_wanted = 8\n"
    folder = small_flock(tmp_path)
    toml = (folder / "matchmaker.toml").read_text(encoding="utf-8")
    toml = toml.replace("[lines.Alder]\nchicks_wanted = 8\n", settings)
    (folder / "matchmaker.toml").write_text(toml, encoding="utf-8")
    words = plain(screen(guide_of(folder)))
    assert "Alder: 3 or more wanted pullets with a chance of" in words
    assert "(asked for: 90.0 %)" in words


def test_assumed_numbers_and_one_hen_are_told(tmp_path: Path) -> None:
    folder = small_flock(
        tmp_path, plan=[{"pen": "Orchard", "line": "Alder", "cock": "SC", "hen": "A1"}]
    )
    toml = (folder / "matchmaker.toml").read_text(encoding="utf-8")
    (folder / "matchmaker.toml").write_text(
        toml.replace("[lines.Pure]\nchicks_wanted = 6\n", ""), encoding="utf-8"
    )
    words = plain(screen(guide_of(folder)))
    assert "Nobody set it for Pure: 2.5 for each breeder are taken." in words
    assert "100 % of its wanted chicks would come from A1 alone." in words


def test_late_sets_are_told(tmp_path: Path) -> None:
    folder = small_flock(tmp_path, pen_up="2027-06-10", today="2027-06-01")
    words = plain(screen(guide_of(folder)))
    assert "hatch late: their pullets show O (blue eggshell) only after the next plan" in words


def test_pairs_against_a_rule_and_without_a_row_are_told(tmp_path: Path) -> None:
    moves = [stay(bird, "Yard", "2027-02-01") for bird in ("SD", "A1", "S1")]
    settings = (
        '[[matings]]\nname = "pure"\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\n'
        'purpose = "hold"\n[limits]\nage_min_days = 2000\n'
    )
    words = plain(screen(guide_of(small_flock(tmp_path, settings=settings, moves=moves))))
    assert "No row of matings that is open this season takes A1 with SD" in words
    assert "S1 with SD, pen Yard, against a rule:" in words


def test_what_the_books_tell_of_rates_is_said(tmp_path: Path) -> None:
    eggs: list[Row] = [
        {"pen": "Orchard", "cock": "SC", "set_on": f"2026-03-{number:02}", "eggs": "40",
         "fertile": "36", "hatched": "12", "raised": "3"}
        for number in range(10, 22)
    ]  # fmt: skip
    eggs += [{"pen": "Orchard", "set_on": "2026-04-01", "eggs": "10"}]
    eggs += [{"pen": "Yard", "set_on": "2027-02-05", "eggs": "10"}]
    guide = guide_of(small_flock(tmp_path, today="2027-02-10", eggs=eggs))
    words = plain(screen(guide))
    assert "Write under [year] in matchmaker.toml: hatch_of_fertile = 0." in words
    assert "raised in eggs.csv is not read as survival" in words
    assert "By cock: SC 89 % fertile (12 sets, 480 eggs)." in words
    assert "2 of the sets tell no fertility" in words
    assert "eggs.csv, row 15: set this season, but whose they are is not certain" in words
    moves = [stay(bird, "Orchard", "2026-02-01", "2026-06-01") for bird in ("SC", "A1")]
    row: Row = {
        "pen": "Orchard", "collected_from": "2026-03-01", "collected_to": "2026-03-07",
        "eggs": "12", "fertile": "10",
    }  # fmt: skip
    words = plain(screen(guide_of(small_flock(tmp_path / "x", moves=moves, eggs=[row]))))
    assert "more eggs than their hens can lay in those days" in words
    row = {**row, "eggs": "6", "fertile": "5"}
    words = plain(screen(guide_of(small_flock(tmp_path / "y", moves=moves, eggs=[row]))))
    assert "eggs.csv, row 2: 6.0 eggs a hen and week were set" in words


def test_the_document_holds_the_same(guide: SeasonGuide) -> None:
    found = season_document(guide)
    assert found["schema"] == "matchmaker/season/1"
    assert found["pens_from"] == "plan"
    assert len(found["dates"]) == len(guide.dates)
    assert {one["line"]: one["eggs_to_set"] for one in found["lines"]} == {
        one.goal.line: one.eggs for one in guide.lines
    }
    assert sum(one["eggs"] for one in found["eggs_to_set"]) == sum(n for _, n in guide.rows)
    assert found["rates"]["fertility"]["words"] == "0.85, the usual figure; nothing was counted"
    assert as_json(found).endswith("}\n")
    for one in found["chicks"]:
        assert one["hatched_cockerels"] == one["hatched"] / 2


def test_rows_are_eggs_with_their_dates(guide: SeasonGuide) -> None:
    sheet = eggs_sheet(guide)
    first = dict(zip(HEADER, sheet.rows[0], strict=True))
    assert first["pen"] == "Orchard"
    assert (first["set"], first["set_on"], first["hatch_on"]) == ("1", "2027-02-15", "2027-03-08")
    assert len(sheet.rows) == len(guide.rows)


def test_every_task_has_its_words(guide: SeasonGuide) -> None:
    assert {due.task for due in guide.dates} == set(Task)
    for due in guide.dates:
        assert due_words(due, guide.table)
        assert len(due_words(due, guide.table)) < 90


def test_the_age_of_the_next_pens_is_told(guide: SeasonGuide) -> None:
    (due,) = [one for one in guide.dates if one.key == "last-set-age"]
    assert due_words(due, guide.table) == (
        "Last day to set for birds old enough (180 days) by the next pens"
    )
    assert due_reason(due, guide.table) == "The next pens are made up on 1 February 2028."
