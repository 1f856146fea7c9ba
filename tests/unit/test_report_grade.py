"""What ``grade`` says: the screen, each reason in words, the document and its rows."""

from __future__ import annotations

import datetime as dt
import io
import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.grade.unseen import Kind, Unseen
from matchmaker.grade.worth import NEEDED, Worth
from matchmaker.report.documents import as_json
from matchmaker.report.grade import print_grading
from matchmaker.report.grade_document import HEADER, grading_document, grading_sheet
from matchmaker.report.grade_words import reason_text, unseen_sentence
from tests.builders import chick, cock, hen, judged
from tests.grade_flocks import DAY, OLD, SEEN, YOUNG, grade_of, graded
from tests.screens import plain
from tests.unit.test_grading import (
    FAMILIES,
    FEW,
    KIN,
    LETHAL,
    ONE_PEN,
    ROW,
    TARN,
    TOP,
    TRIALS,
    chocolate,
    crowded,
    grading,
    surplus,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.grade.grading import Grading

__all__ = ["chocolate", "crowded", "grading"]


def shown(found: Grading, width: int = 80) -> str:
    stream = io.StringIO()
    print_grading(Console(file=stream, width=width, highlight=False, markup=False), found)
    return stream.getvalue()


def reason(found: Grading, band: str) -> str:
    return reason_text(found, [grade_of(found, band)])


def test_the_screen_says_day_spring_and_counts(grading: Grading) -> None:
    text = shown(grading)
    assert text.startswith("Young birds on 1 November 2026, for the pens to be made up on 1 Febr")
    assert "9 birds never old enough for a pen so far: keep 4, 3 wait, let 2 go." in plain(text)
    assert max(map(len, text.splitlines())) <= 80


def test_each_line_has_its_numbers(grading: Grading) -> None:
    lines = [line.split() for line in shown(grading).splitlines()]
    alder = lines.index(["Alder"])
    assert lines[alder + 1] == ["Young", "Keep", "Wait", "Let", "go", "Penned", "Needed", "Older"]
    assert lines[alder + 3] == ["Cocks", "1", "1", "0", "0", "0", "2", "1"]
    assert lines[alder + 4] == ["Hens", "5", "1", "2", "2", "3", "8", "1"]
    assert lines[alder + 5] == ["Sex", "not", "told", "1", "0", "1", "0"]


def test_reasons_in_words(grading: Grading) -> None:
    found = {grade.bird.band: reason_text(grading, [grade]) for grade in grading.grades}
    assert found["A0"].startswith(
        "first choice for next spring's pens; without her the plan loses 1.0 to 1.1 wanted chicks"
    )
    assert found["A1"] == "does not carry Blue eggshell (O), which its line wants"
    assert found["A2"] == "a defect that culls: wry tail"
    assert found["A3"] == "makes up the number: the best pair counts 3.2 wanted chicks"
    assert found["A4"].startswith("first choice for next spring's pens; without her the plan loses")
    assert found["A4"].endswith(
        "; waits for what is not seen yet: Blue eggshell (O; chance 50 %) is seen from about "
        "28 December 2026, when she lays"
    )
    assert found["A5"] == (
        "would have a place if it turns out well: its sex is not written down; if a cock, Blue "
        "eggshell (O; chance 50 %) is told by a DNA test or test chicks only; if a hen, Blue "
        "eggshell (O; chance 50 %) is seen from about 28 December 2026, when she lays"
    )
    assert found["A6"] == (
        "134 days old on 1 February 2027, and 180 are asked: counts for the spring after"
    )


def test_what_is_not_seen_of_a_bird_that_is_kept_stands_apart(grading: Grading) -> None:
    text = plain(shown(grading))
    assert "Kept, but not seen yet A3: Blue eggshell (O; chance 50 %) is told by a DNA test" in text


def test_the_caution_stands_where_birds_go(grading: Grading, tmp_path: Path) -> None:
    text = plain(shown(grading))
    assert "To let go: 2 hens. Know where they go before you part with them." in text
    assert "ask a veterinarian" in text
    nobody = shown(graded(tmp_path, (*OLD, YOUNG[0])))
    assert "let 0 go" in nobody
    assert "veterinarian" not in nobody


def test_no_young_birds(tmp_path: Path) -> None:
    text = shown(graded(tmp_path, OLD))
    assert "No young birds are here" in text
    assert len(text.splitlines()) <= 3


def test_birds_alike_stand_together(crowded: Grading) -> None:
    text = plain(shown(crowded))
    assert "Alder is full: " in text
    assert "needed; others add more" in text
    assert "A0, A10 (hens, 30 weeks): makes up the number" in text


def test_of_several_birds_with_one_worth_it_is_said_of_each(grading: Grading) -> None:
    worth = Worth(at_least=2.0, at_most=2.0, line="")
    same = [replace(grade_of(grading, band), worth=worth) for band in ("A0", "S3")]
    assert reason_text(grading, same) == (
        "first choice for next spring's pens; without one of them the plan loses 2.0 wanted chicks"
    )


def test_the_only_one_of_its_line_and_sex_is_said_to_be(tmp_path: Path) -> None:
    hens = tuple(row for row in OLD if row["bird"] != "AH")
    found = graded(tmp_path, (*hens, YOUNG[0], YOUNG[1]), seen=SEEN[:1])
    assert reason(found, "A0").startswith(
        "the only Alder hen fit to breed; first choice for next spring's pens"
    )
    assert not found.alone(grade_of(found, "A1"))


def test_of_birds_told_together_the_range_is_told(crowded: Grading) -> None:
    text = plain(shown(crowded))
    assert "makes up the number: the best pair counts" in text


@pytest.mark.parametrize(
    ("worth", "words"),
    [
        (NEEDED, "; without her the plan cannot give the lines what they ask for at least"),
        (Worth(at_least=0.0, at_most=0.09, line=""), "; another would do nearly as well"),
        (
            Worth(at_least=3.1, at_most=3.14, line="Alder"),
            "; without her the plan loses 3.1 wanted chicks, most of it in Alder",
        ),
        (None, ""),
    ],
)
def test_what_is_lost_without_a_bird(grading: Grading, worth: Worth | None, words: str) -> None:
    grade = replace(grade_of(grading, "A0"), worth=worth)
    assert reason_text(grading, [grade]) == f"first choice for next spring's pens{words}"


def test_later_choices(grading: Grading) -> None:
    for choice, words in (
        (2, "second choice, in the pens if first choices fail"),
        (3, "third choice, in the pens if those before fail"),
        (7, "7th choice, in the pens if those before fail"),
    ):
        grade = replace(grade_of(grading, "A0"), choice=choice, worth=None)
        assert reason_text(grading, [grade]) == words


def test_a_worth_that_was_not_worked_out_is_said(grading: Grading) -> None:
    hurried = tuple(replace(grade, worth=None) for grade in grading.grades)
    text = plain(shown(replace(grading, grades=hurried)))
    assert "was not worked out in the time: --thorough does it" in text
    assert "A0, A4 and S3" in text
    many = replace(
        grading, grades=tuple(replace(hurried[0], bird=hurried[0].bird) for _ in range(9))
    )
    assert "without 9 of these birds" in plain(shown(many))


def test_wishes_family_rest_and_spares_in_words(tmp_path: Path, crowded: Grading) -> None:
    birds = (*OLD, *YOUNG, chick("S4", "cock", "S1", "P1", "Pure", status="young"))
    wishes = [
        {"bird": "S4", "with": "", "wish": "rest", "why": "lame"},
        {"bird": "S2", "with": "P1", "wish": "together"},
    ]
    found = graded(tmp_path, birds, wishes=wishes)
    assert reason(found, "S2").startswith("by your wish in wishes.csv")
    assert reason(found, "S4") == "rests by your wish, and stays"
    grounds = {reason_text(crowded, [grade]) for grade in crowded.grades}
    assert any(
        text.startswith("else no bird would be left of its family (AC × P") for text in grounds
    )


def test_a_spare_cock_in_words(tmp_path: Path) -> None:
    few = (cock("S0"), *(hen(f"P{at}") for at in range(4)))
    sons = tuple(chick(f"S{at}", "cock", "S0", "P0", "Pure") for at in range(1, 5))
    pens = [{"pen": "Yard", "hens_max": "4"}, {"pen": "Barn", "hens_max": "4"}]
    limits = "[limits]\nkinship_max = 0.5\n[lines.Pure]\nfamilies = 1\nchicks_wanted = 90\n"
    found = graded(tmp_path, (*few, *sons), limits, seen=(), pens=pens, factor=1.0)
    texts = {band: reason(found, band) for band in ("S1", "S2", "S3", "S4")}
    assert "spare cock: 2 are kept beside 1 in the pens" in texts.values()


def test_closed_crossings_and_close_kin_in_words(tmp_path: Path) -> None:
    found = graded(tmp_path / "a", settings=ROW % 2027)
    assert reason(found, "A3") == "no crossing of your scheme takes Alder cocks"
    found = graded(tmp_path / "b", settings=ROW % 2026)
    assert reason(found, "A0") == "its line's crossings are closed next spring, and open in another"
    found = graded(tmp_path / "c", KIN, "[lines.Pure]\nfamilies = 1\n", seen=())
    close = "every possible mate here is too closely related (least kinship 0.250): "
    assert reason(found, "S2") == close + "it lacks another mate"
    assert reason(found, "S8") == close + "of use to another flock"


def test_test_matings_and_lethal_chicks_in_words(tmp_path: Path) -> None:
    birds = (*OLD, *YOUNG, chick("A7", "hen", "S0", "AH", "Alder", status="young"))
    found = graded(tmp_path / "a", birds, TRIALS)
    assert reason(found, "A7").startswith("no pair for it next spring but in a test mating")
    assert reason(found, "A1") == "no crossing of your scheme takes Alder hens"
    found = graded(tmp_path / "b", OLD[:4] + YOUNG[-2:], LETHAL, seen=())
    assert "double dose of Cp" in reason(found, "S2")


def test_quarantine_no_mate_and_floors_in_words(tmp_path: Path) -> None:
    new = cock("S9", hatched="2026-05-01", status="quarantine", release_on="2027-03-01")
    found = graded(tmp_path / "a", (*OLD, *YOUNG, new))
    assert reason(found, "S9") == "in quarantine when the pens are made up (until 1 March 2027)"
    alone = (hen("P0"), cock("S0", status="dead", left_on="2026-10-01"))
    birds = (*alone, chick("S3", "hen", "S0", "P0", "Pure"))
    found = graded(tmp_path / "b", birds, seen=())
    assert reason(found, "S3") == "no mate for it is here for the pens of 1 February 2027"
    settings = '[traits.weight]\ndirection = "up"\nfloor = 2000\n'
    scores = [{"bird": "S3", "date": "2026-08-01", "weight": "1500"}]
    found = graded(tmp_path / "c", settings=settings, scores=scores)
    assert reason(found, "S3") == "S3 scored 1500 for weight on average; the floor is 2000"


def test_the_mechanism_of_the_sex_chromosome(chocolate: Grading) -> None:
    assert reason(chocolate, "C2") == (
        "does not carry Chocolate (choc), which its line wants: a hen has her only Z from her "
        "sire, and H1 has none to give"
    )


def test_a_chick_that_is_of_use_as_a_cock_only(tmp_path: Path) -> None:
    unsexed = chick("C4", "", "H1", "D0", "Choc", hatched="2026-08-01")
    found = verbs.grade(judged(tmp_path, (*TARN, unsexed), top=TOP), DAY)
    assert reason(found, "C4") == "would have a place if it is a cock: its sex is not written down"


def test_one_that_may_not_be_pure(tmp_path: Path) -> None:
    settings = "[loci.O]\nfrequency = {sussex = 0.6}\n[limits]\nproof_min = 0.9\n"
    pure = (*OLD[:4], chick("S2", "cock", "S1", "P0", "Pure"))
    found = graded(tmp_path, pure, settings, seen=())
    assert reason(found, "S2") == (
        "is free of Blue eggshell (O) with a chance of 16 % only; at least 90 % is asked"
    )


def test_scores_to_come_in_words(tmp_path: Path) -> None:
    found = surplus(tmp_path)
    waiting = [one for one in found.grades if one.ruling.why == "scores"]
    assert reason_text(found, waiting[:1]) == (
        "no place yet, but not scored yet: scores of weight to come from about 27 July 2026"
    )
    text = plain(shown(found))
    assert "Scores to come of weight: from about 27 July 2026 (hatched 1 April 2026)." in text


def test_things_unseen_in_words(grading: Grading) -> None:
    told = [
        (
            Unseen(kind=Kind.SEX, since=dt.date(2026, 12, 1)),
            "its sex is told from about 1 December",
        ),
        (Unseen(kind=Kind.SCORES, names=("comb", "type")), "scores of comb and type are due"),
        (
            Unseen(kind=Kind.LOOK_NOW, names=("O",), chance=0.5, at_lay=True),
            "can be seen now if she lays: look, and write it down",
        ),
        (Unseen(kind=Kind.LOOK_NOW, names=("O",), chance=0.5), "can be seen now: look, and"),
        (
            Unseen(kind=Kind.LOOK, names=("O",), tells="O", since=dt.date(2026, 12, 2)),
            "a sign of Blue eggshell (O), is seen from about 2 December 2026",
        ),
    ]
    for one, words in told:
        assert words in unseen_sentence(grading, [one])


def test_looking_back_says_what_is_left_out(tmp_path: Path) -> None:
    gone = chick("A9", "hen", "AC", "P0", "Alder", O="blue", status="sold", left_on="2026-11-20")
    found = graded(tmp_path, (*OLD, *YOUNG, gone))
    text = plain(shown(found))
    assert "what is dated after 1 November 2026 is left out" in text
    assert "A9 (gone since)" in text
    assert grade_of(found, "A9").gone_since


def test_another_spring_says_what_it_takes_for_granted(tmp_path: Path) -> None:
    found = graded(tmp_path, day=dt.date(2027, 3, 10))
    text = plain(shown(found))
    assert "for the pens to be made up on 1 February 2028" in text
    assert "next spring taken as this season's is set in matchmaker.toml" in text


def test_minimums_left_out_and_birds_without_a_date_are_said(tmp_path: Path) -> None:
    odd = chick("A8", "hen", "AC", "P0", "Alder", hatched="", status="young")
    found = graded(tmp_path, (*OLD, *YOUNG, odd), "[lines.Alder]\nhens_min = 30\n")
    text = plain(shown(found))
    assert "No plan of next spring gives the lines what they ask for at least" in text
    assert "Not graded, their hatching not being written down: A8." in text


def test_the_document(grading: Grading) -> None:
    document = json.loads(as_json(grading_document(grading)))
    assert document["schema"] == "matchmaker/grade/1"
    assert {"version", "inputs", "defaults"} <= set(document)
    assert (document["day"], document["pen_up"]) == ("2026-11-01", "2027-02-01")
    birds = {entry["bird"]: entry for entry in document["birds"]}
    assert birds["A0"]["choice"] == 1
    assert birds["A0"]["lost_without_at_least"] <= birds["A0"]["lost_without_at_most"]
    assert birds["A4"]["not_seen_yet"][0]["since"] == "2026-12-28"
    assert birds["A1"]["rules"] == ["unproven", "no-wanted-chicks"]
    assert birds["A5"]["sex"] is None
    places = {(one["line"], one["sex"]): one for one in document["places"]}
    assert places["Alder", "hen"]["wanted"] == 8
    assert document["plans"][0]["value"] == document["plans"][0]["bound"]


def test_a_needed_bird_has_no_number_in_the_document(grading: Grading) -> None:
    one = replace(grade_of(grading, "A0"), worth=NEEDED)
    document = json.loads(as_json(grading_document(replace(grading, grades=(one,)))))
    (entry,) = document["birds"]
    assert (entry["needed"], entry["lost_without_at_least"]) == (True, None)


def test_the_rows(grading: Grading) -> None:
    sheet = grading_sheet(grading)
    assert sheet.header == HEADER
    rows = {row[0]: dict(zip(sheet.header, row, strict=True)) for row in sheet.rows}
    assert [row[0] for row in sheet.rows] == sorted(map(str, rows))
    assert (rows["A4"]["verdict"], rows["A4"]["age_days"]) == ("wait", 123)
    assert "when she lays" in str(rows["A4"]["not_seen_yet"])
    assert rows["A1"]["best_mate"] is None
    assert rows["A0"]["best_mate"] in {"S0", "S1"}


def test_a_flock_of_families_is_the_same_in_any_order(tmp_path: Path, crowded: Grading) -> None:
    again = graded(tmp_path, FAMILIES[::-1], FEW, seen=SEEN[:1], pens=ONE_PEN[::-1])
    assert grading_sheet(again).rows == grading_sheet(crowded).rows
