"""What ``tests`` prints: gains, answers in words, and why test chicks do not help."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.genotypes.progeny import Obstacle, Question, progeny_tests
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.plan.bird_tests.answers import Answer
from matchmaker.plan.bird_tests.testing import rank_tests
from matchmaker.plan.bird_tests.weighing import AnswerWorth, Move
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.report.testing import CAUTION, HARM, LEGEND, LOOK, print_tests
from matchmaker.report.testing_document import HEADER, ranking_document, ranking_sheet
from matchmaker.report.testing_words import OBSTACLES, answer_text, change_text, look_text
from matchmaker.tables.records import Sex
from tests.builders import HOME, HOME_SEEN, dna, judged
from tests.testing_flocks import SCARCE, SEEN, doubtful

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.bird_tests.testing import Ranking

EARLY = 'season = 2027\ntoday = 2026-11-20\nrecurrent = "sussex"\ntarget = {P = 2}\n'


def screen(ranking: Ranking, width: int = 80) -> str:
    """Return what is printed, without line breaks."""
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    print_tests(console, ranking)
    return re.sub(r"\s+", " ", stream.getvalue())


def worth(gain: float, *moves: Move) -> AnswerWorth:
    """Return an answer that adds so much by these moves."""
    place = Place(file="", row=0, column="", words="")
    evidence = Sighting(bird="A1", weights=((1.0,), (1.0,)), place=place)
    answer = Answer(copies=0, chance=0.5, evidence=evidence)
    return AnswerWorth(answer=answer, best=gain, unchanged=0.0, moves=moves)


@pytest.fixture(scope="module")
def ranking(tmp_path_factory: pytest.TempPathFactory) -> Ranking:
    return rank_tests(doubtful(tmp_path_factory.mktemp("doubtful")), birds=9)


@pytest.fixture(scope="module")
def printed(ranking: Ranking) -> str:
    return screen(ranking)


def test_the_day_and_the_plan_without_tests_stand_first(printed: str, ranking: Ranking) -> None:
    assert printed.startswith("Which birds to test before the pens are made up on 1 February 2027")
    assert f"worth {ranking.value:.0f} wanted chicks" in printed


@pytest.mark.parametrize("asked", ["group_kinship_max = 0.01", "kinship_price = 2"])
def test_what_is_asked_of_the_group_is_left_out_and_that_is_said(
    ranking: Ranking, printed: str, tmp_path: Path, asked: str
) -> None:
    table = doubtful(tmp_path, f"[limits]\n{asked}\n{SCARCE}")
    assert pose_problem(table, fresh=True).group is not None
    with_group = rank_tests(table, birds=9)
    assert [one.gain for one in with_group.tests] == [one.gain for one in ranking.tests]
    assert "kinship of the parents as a group (group_kinship_max" in screen(with_group)
    assert "kinship of the parents as a group" not in printed
    assert ranking_document(with_group)["group_kinship_left_out"]
    assert not ranking_document(ranking)["group_kinship_left_out"]


def test_the_table_has_chance_and_both_gains(printed: str) -> None:
    assert "Carries DNA test adds Test chicks add" in printed
    assert "A1 cock Alder O 50 % 7.5 too late" in printed


def test_each_answer_says_what_it_changes(printed: str) -> None:
    assert (
        "no copy (50 %): 3 hens move, 15 wanted chicks more than without the test; "
        "A1 loses SH, SI and SJ" in printed
    )
    assert "one copy (50 %): the pens stay the same" in printed


def test_the_test_chicks_are_told_whole(printed: str) -> None:
    assert (
        "Test chicks: 5 daughters by a hen with no copy, none showing blue eggshell, prove with "
        "95 % that he carries none (7 for 99 %); one daughter that shows it proves that he carries "
        "it. Mates here: SH, SI and SJ. About 28 eggs; it shows at 180 days: known on 14 July "
        "2027 at the earliest: too late for this spring's pens." in printed
    )


def test_the_legend_and_the_caution_are_there(printed: str) -> None:
    assert LEGEND in printed
    assert CAUTION in printed


def test_birds_that_change_nothing_stand_in_one_sentence(tmp_path: Path) -> None:
    found = screen(rank_tests(doubtful(tmp_path, "[lines.Alder]\nimportance = 0.001\n"), birds=9))
    assert "Whatever the answer, the pens stay the same: A1 (O), A2 (O), A3 (O)" in found
    assert "DNA test adds" not in found


def test_how_many_more_were_weighed(ranking: Ranking) -> None:
    few = rank_tests(ranking.table, birds=1)
    assert "3 tests were weighed; no other adds more." in screen(few)


def test_a_flock_without_questions_says_so(tmp_path: Path) -> None:
    found = screen(rank_tests(judged(tmp_path, HOME, seen=HOME_SEEN)))
    assert "Nothing to test" in found
    assert LEGEND not in found
    assert CAUTION in found


def test_that_no_plan_is_possible_is_said(tmp_path: Path) -> None:
    settings = "[limits]\nproof_min = 0.6\n[lines.Alder]\nhens_min = 1\n"
    found = screen(rank_tests(doubtful(tmp_path, settings), birds=9))
    assert "With what is known now no plan is possible" in found


def test_test_chicks_in_time_show_their_gain_and_answers(tmp_path: Path) -> None:
    seen = (dna("AC", "P", 1), dna("S0", "P", 0), dna("S1", "P", 0))
    found = screen(rank_tests(doubtful(tmp_path, seen=seen, top=EARLY), birds=9))
    assert re.search(r"Such test chicks add \d", found)
    assert re.search(r"all as expected \(52 %\): 3 hens move", found)
    assert "one that is not (48 %): the pens stay the same" in found
    assert "too late" not in found
    assert LOOK in found


def test_the_caution_against_harmful_test_matings(tmp_path: Path) -> None:
    """A hidden crippling recessive that a row keeps out of the line."""
    settings = SCARCE + (
        '[[matings]]\nhens = "Pure"\ncocks = "Alder"\nchicks = "Alder"\npurpose = "backcross"\n'
        "keep = {O = [1, 2], psp = [0]}\n"
    )
    seen = (*SEEN, dna("AC", "psp", 1), *(dna(f"S{n}", "psp", 0) for n in "01HIJCD"))
    found = screen(rank_tests(doubtful(tmp_path, settings, seen=seen), birds=9))
    assert f"Test chicks can prove nothing here: {OBSTACLES[Obstacle.HARMFUL]}." in found
    assert HARM in found


@pytest.mark.parametrize(
    ("sex", "moves", "said"),
    [
        (Sex.COCK, (Move(hen="H", before="A1", after=None),), "1 hen moves, 3.0 .*; A1 loses H"),
        (Sex.COCK, (Move(hen="H", before=None, after="A1"),), "; A1 gets H"),
        (Sex.COCK, (Move(hen="H", before="B", after="C"),), "without the test$"),
        (Sex.HEN, (Move(hen="A1", before="B", after=None),), "; A1 goes from B to no pen"),
        (Sex.HEN, (Move(hen="H", before="B", after="C"),), "without the test$"),
        (None, (), "too little to move a hen for"),
    ],
)
def test_changes_name_the_bird_first(sex: Sex | None, moves: tuple[Move, ...], said: str) -> None:
    assert re.search(said, change_text("A1", sex, worth(3.0, *moves)))


def test_no_gain_no_change() -> None:
    assert change_text("A1", Sex.COCK, worth(0.0)) == "the pens stay the same"


def test_an_answer_has_its_chance() -> None:
    assert answer_text(worth(0.0).answer) == "no copy (50 %)"


@pytest.mark.parametrize(
    ("symbol", "prior", "question", "said"),
    [
        ("O", (0.5, 0.5, 0), Question.FREE, "none showing blue eggshell"),
        ("P", (0, 0.5, 0.5), Question.BREEDS_TRUE, "all showing pea comb"),
        ("Na", (0, 0.5, 0.5), Question.BREEDS_TRUE, "all showing naked neck"),
        ("lav", (0.5, 0.5, 0), Question.FREE, "none showing lavender"),
    ],
)
def test_how_the_chicks_must_look(
    symbol: str, prior: tuple[float, ...], question: Question, said: str
) -> None:
    locus = catalogue()[symbol]
    assert look_text(progeny_tests(prior, locus, Sex.COCK, question)[0], locus) == said


def test_strong_looks_are_told_from_weak_ones() -> None:
    """By a mate with two copies every chick shows it: of a bird with two, all as two copies do."""
    locus = catalogue()["Na"]
    tests = progeny_tests((0.3, 0.4, 0.3), locus, Sex.COCK, Question.BREEDS_TRUE)
    by_two = next(one for one in tests if one.mate_copies == 2)
    assert look_text(by_two, locus) == "all showing naked neck as of two copies"
    free = progeny_tests((0.3, 0.4, 0.3), locus, Sex.COCK, Question.FREE)
    by_one = next(one for one in free if one.mate_copies == 1)
    assert look_text(by_one, locus) == "none showing naked neck as of two copies"


def test_the_document_has_every_figure_of_the_screen(ranking: Ranking) -> None:
    document = ranking_document(ranking)
    assert (document["schema"], document["considered"]) == ("matchmaker/tests/1", 3)
    first = document["tests"][0]
    assert (first["bird"], first["locus"], first["chances"]["1"]) == ("A1", "O", 0.5)
    assert first["dna"]["gain"] == pytest.approx(7.5, abs=0.01)
    assert first["dna"]["answers"][0]["moves"][0] == {
        "hen": "SH",
        "cock_before": "A1",
        "cock_after": "A3",
    }
    assert (first["chicks"]["chicks_95"], first["chicks"]["chicks_99"]) == (5, 7)
    assert (first["chicks"]["judged"], first["chicks"]["in_time"]) == ("hen", False)
    assert [test["changes_nothing"] for test in document["tests"]] == [False] * 3


def test_the_sheet_has_one_row_a_test(ranking: Ranking) -> None:
    sheet = ranking_sheet(ranking)
    assert sheet.header == HEADER
    first = dict(zip(sheet.header, sheet.rows[0], strict=True))
    assert (first["bird"], first["carries"]) == ("A1", 0.5)
    assert first["dna_gain"] == pytest.approx(7.5, abs=0.01)
    assert (first["mates"], first["seen_on"], first["in_time"]) == ("SH SI SJ", "2027-07-14", "no")
    assert len(sheet.rows) == 3
