"""What ``rebalance`` says on a small flock: who goes where, whose the eggs are, what to mind."""

from __future__ import annotations

import datetime as dt
import io
from typing import TYPE_CHECKING, Any

import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.report.days import day_text, span_text
from matchmaker.report.precautions import loss_box
from matchmaker.report.rebalance import print_rebalance
from matchmaker.report.rebalance_document import rebalance_document
from tests.builders import Row, chick, cock, hen, judged
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.rebalance.rebalancing import Rebalance

HALF = "sussex:0.5|araucana:0.5"
DAY = dt.date(2027, 3, 20)
BIRDS = (
    cock("SF"),
    hen("SM"),
    chick("SC", "cock", "SF", "SM", "Pure"),
    chick("SD", "cock", "SF", "SM", "Pure"),
    cock("SE", status="quarantine", release_on="2027-05-01"),
    hen("A1", "Alder", HALF, O="blue"),
    hen("A2", "Alder", HALF, O="blue"),
    hen("A3", "Alder", HALF, O="blue"),
)
SETTINGS = "[lines.Alder]\nchicks_wanted = 40\nfamilies = 2\n"
PENS: list[Row] = [
    {"pen": "Orchard", "hens_max": "4", "dam_known": "yes"},
    {"pen": "Yard", "hens_max": "4", "dam_known": "no"},
]


def stay(bird: str, pen: str = "Orchard", since: str = "2027-02-01", until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


STAND = [stay("SC"), stay("A1"), stay("A2")]


def answered(path: Path, moves: list[Row] | None = None, **loss: Any) -> Rebalance:
    """The answer to a loss in the flock of these birds."""
    tables: dict[str, Any] = {"moves": STAND if moves is None else moves, "pens": PENS}
    if "eggs" in loss:
        tables["eggs"] = loss.pop("eggs")
    settings = SETTINGS + loss.pop("limits", "")
    table = judged(path, BIRDS, settings, **tables)
    return verbs.rebalance(table, verbs.Loss(day=loss.pop("day", DAY), **loss))


def shown(answer: Rebalance) -> str:
    """What is printed, its lines joined."""
    stream = io.StringIO()
    print_rebalance(Console(file=stream, width=80, highlight=False, markup=False), answer)
    return plain(stream.getvalue())


def test_a_full_brother_keeps_the_grandparents_certain(tmp_path: Path) -> None:
    answer = answered(tmp_path, lost=("SC", "SF"), most=1)
    (order,) = [one for one in answer.orders if one.is_cock]
    text = shown(answer)
    assert (order.bird, order.in_on) == ("SD", dt.date(2027, 4, 3))
    assert "SC or SD may be the sire (full brothers: the grandparents are certain)" in text


def test_a_hen_that_joins_waits_for_nobody_if_she_met_nobody(tmp_path: Path) -> None:
    answer = answered(tmp_path, lost=("A1", "SM"), most=1)
    (order,) = answer.orders
    assert (order.bird, order.leaves, order.enters, order.mate) == ("A3", None, "Orchard", "SC")
    assert (order.in_on, order.eggs_from) == (DAY, dt.date(2027, 3, 27))
    text = shown(answer)
    assert "20 March 2027: hen A1 of pen Orchard is lost and SM, in no pen, is lost" in text
    assert "Today: Put hen A3 into pen Orchard, to SC." in text
    assert "21 to 26 March do not set: few are fertile yet (only by SC)" in text
    assert "from 27 March SC's: set them" in text


def test_a_hen_from_another_cock_is_told_where_to_wait(tmp_path: Path) -> None:
    moves = [stay("SC"), stay("SD", "Yard"), stay("A1"), stay("A2", "Yard"), stay("A3", "Yard")]
    answer = answered(tmp_path, moves, closed=("Yard",))
    text = shown(answer)
    assert "pen Yard is closed" in text
    assert "Today: Take hens A2 and A3 out of pen Yard and keep them without a cock until" in text
    assert "3 April: Put hens A2 and A3 into pen Orchard, to SC." in text
    assert "until 3 April SD's: set them" in text
    assert "4 to 9 April do not set: SC or SD may be the sire" in text


def test_quarantine_is_a_matter_for_a_veterinarian(tmp_path: Path) -> None:
    assert "SE" not in {one.bird for one in answered(tmp_path, lost=("SC", "SD", "SF")).orders}
    answer = answered(tmp_path / "b", lost=("SC", "SD", "SF"), added=("SE",))
    assert "SE" in {one.bird for one in answer.orders}
    assert "SE is in quarantine until 1 May: ask a veterinarian" in shown(answer)


def test_a_line_without_any_cock_is_named(tmp_path: Path) -> None:
    answer = answered(tmp_path, lost=("SC", "SD", "SF"))
    assert [line.ended for line in answer.lines if line.line == "Alder"] == [True]
    text = shown(answer)
    assert "no hen with a cock any more" in text
    assert "until 3 April SC's: set them" in text


def test_eggs_in_the_incubator_may_be_of_two_cocks(tmp_path: Path) -> None:
    moves = [stay("SC", until="2027-02-28"), stay("SD", since="2027-02-28"), stay("A1")]
    eggs: list[Row] = [
        {"pen": "Orchard", "collected_from": "2027-02-20", "collected_to": "2027-02-26",
         "set_on": "2027-02-27", "eggs": "5"},
        {"pen": "Orchard", "collected_from": "2027-03-05", "collected_to": "2027-03-11",
         "set_on": "2027-03-12", "eggs": "6"},
        {"pen": "Orchard", "hen": "A1", "set_on": "2027-02-01", "eggs": "7", "hatched": "3"},
    ]  # fmt: skip
    answer = answered(tmp_path, moves, lost=("SD",), eggs=eggs)
    assert [(one.eggs, one.sires) for one in answer.incubator] == [
        (5, ("SC",)),
        (6, ("SC", "SD")),
    ]
    assert "6 eggs of pen Orchard set on 12 March: SC or SD's" in shown(answer)


@pytest.mark.parametrize(
    ("written", "sires"),
    [
        ({"set_on": "2027-03-14"}, ("SD",)),
        ({"set_on": "2027-03-13"}, ("SC", "SD")),
        ({"collected_from": "2027-03-07"}, ("SD",)),
        ({"collected_from": "2027-03-14", "set_on": "2027-03-14"}, ("SD",)),
    ],
)
def test_days_of_collecting_that_nobody_wrote_are_a_week(
    tmp_path: Path, written: Row, sires: tuple[str, ...]
) -> None:
    """From 7 March on no egg can be SC's any more."""
    moves = [stay("SC", until="2027-02-14"), stay("SD", since="2027-02-14"), stay("A1")]
    eggs: list[Row] = [{"pen": "Orchard", "eggs": "5", **written}]
    answer = answered(tmp_path, moves, lost=("SD",), eggs=eggs)
    assert [one.sires for one in answer.incubator] == [sires]


def test_a_bird_taken_out_is_not_used_unless_it_is_at_hand(tmp_path: Path) -> None:
    moves = [*STAND, stay("SD", "Yard", until="2027-03-10")]
    answer = answered(tmp_path, moves, lost=("SC",))
    assert "SD" not in {one.bird for one in answer.orders}
    assert "Taken out of the pens before, and not used: SD. If at hand: --add BAND." in shown(
        answer
    )
    there = answered(tmp_path / "b", moves, lost=("SC",), added=("SD",))
    assert "SD" in {one.bird for one in there.orders}


def test_moves_written_for_later_are_planned_anew(tmp_path: Path) -> None:
    moves = [*STAND, stay("SD", "Yard", since="2027-03-25")]
    text = shown(answered(tmp_path, moves, lost=("SC",)))
    assert "Written for today or later, and planned anew:" in text
    assert "SD" in text.split("planned anew:")[1].splitlines()[0]


def test_the_document_adds_up(tmp_path: Path) -> None:
    answer = answered(tmp_path, lost=("SC", "SF"), most=1)
    found = rebalance_document(answer)
    pairs = [one for pen in found["pens"] for one in pen["hens"]]
    assert len(pairs) == sum(line["hens"] for line in found["lines"])
    assert {one["hen"] for one in found["changes"]} == {"A1", "A2"}
    assert all(one["cock_before"] == "SC" for one in found["changes"])
    assert "SC" not in {one["bird"] for one in found["unused"]}
    assert found["steps"][-1]["value"] == pytest.approx(found["best_value"])
    assert [step["proposed"] for step in found["steps"]].count(True) == 1


def test_a_plan_without_time_for_losses_says_so(tmp_path: Path) -> None:
    plan = verbs.plan(judged(tmp_path, BIRDS, SETTINGS, pens=PENS))
    care = verbs.precautions(plan)
    assert {one.cock for one in care.losses} == {pen.cock for pen in plan.pens}
    cocks = [pen.cock for pen in plan.pens]
    text = loss_box(plan.table.study.flock, care, cocks[0])
    assert text.startswith(f"If {cocks[0]} dies: his hens' eggs stay his for 14 days")
    assert loss_box(plan.table.study.flock, care, "SM") == ""


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ((2027, 4, 4), (2027, 4, 4), "4 April"),
        ((2027, 4, 4), (2027, 4, 9), "4 to 9 April"),
        ((2027, 4, 4), (2028, 4, 9), "4 April to 9 April"),
    ],
)
def test_days_in_words(first: tuple[int, int, int], last: tuple[int, int, int], words: str) -> None:
    assert span_text(dt.date(*first), dt.date(*last)) == words
    assert day_text(dt.date(*first)) == "4 April"


def test_what_is_asked_of_the_group_is_left_out_and_that_is_said(tmp_path: Path) -> None:
    for limits, said in (("", False), ("[limits]\ngroup_kinship_max = 0.3\n", True)):
        folder = tmp_path / str(said)
        folder.mkdir()
        answer = answered(folder, lost=("SC",), limits=limits)
        assert ("Left out of account here: what you ask of the kinship" in shown(answer)) is said
