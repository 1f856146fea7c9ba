"""What is different between two plans, in data and in words. Data are invented."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.nearly_best.alternatives import Alternative, alternatives
from matchmaker.plan.nearly_best.differences import differences
from matchmaker.plan.nearly_best.near import NearEquals, near_equals
from matchmaker.plan.nearly_best.near_keep import plan_near
from matchmaker.plan.posing.problem import Candidate
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.report.alternatives import (
    alternative_entries,
    difference_sentences,
    kept_entry,
    kept_sentence,
    near_entry,
    near_sentence,
    print_alternatives,
)
from matchmaker.tables.records import PlanRecord
from tests.builders import cock, dna, hen, judged
from tests.screens import plain

if TYPE_CHECKING:
    from matchmaker.plan.season.season_plan import SeasonPlan

HALF = "sussex:0.5|araucana:0.5"
BIRDS = (
    cock("SC"),
    cock("SD"),
    *(hen(f"S{number}") for number in range(1, 6)),
    cock("AC", "Alder", HALF),
    *(hen(f"A{number}", "Alder", HALF) for number in range(1, 4)),
)
SEEN = tuple(dna(band, "O", 2) for band in ("AC", "A1", "A2", "A3"))
PENS = [{"pen": "1", "hens_max": "3"}, {"pen": "2", "hens_max": "2"}]


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    folder = tmp_path_factory.mktemp("other")
    return plan_season(judged(folder, BIRDS, seen=SEEN, pens=PENS))


def pen(label: str, cock_band: str, *hens: str, row: str = "r", turn: str = "") -> PlannedPen:
    """Return a pen of a plan; values do not matter here."""
    pairs = (
        Candidate(hen=one, cock=cock_band, row=row, line="L", value=1.0, wanted=1.0, turn=turn)
        for one in hens
    )
    return PlannedPen(pen=label, cock=cock_band, pairs=tuple(pairs), turn=turn)


def told(plan: SeasonPlan, *pens: PlannedPen) -> list[str]:
    """Return the sentences about a plan beside the one of the fixture."""
    other = Alternative(pens=pens, value=1.0, loss=0.0, moved=1, apart=1, proved=True)
    return list(difference_sentences(plan, other.pens))


def near(count: int, *, exact: bool, within: float = 0.01, proved: bool = True) -> NearEquals:
    """Return a number of near-equal plans."""
    return NearEquals(count=count, exact=exact, proved=proved, within=within)


def test_hens_that_go_together_are_one_shift() -> None:
    before = (pen("1", "C1", "H1", "H2", "H3"), pen("2", "C2", "H4"))
    after = (pen("1", "C1", "H3"), pen("2", "C2", "H1", "H2", "H5"))
    found = differences(before, after)
    assert [(one.hens, one.before, one.after, one.all_his) for one in found.shifts] == [
        (("H1", "H2"), "C1", "C2", False),
        (("H4",), "C2", None, True),
        (("H5",), None, "C2", False),
    ]
    assert (found.cocks_in, found.cocks_out, found.pens) == ((), (), ())


def test_cocks_rows_turns_and_pens_are_told_apart() -> None:
    before = (pen("1", "C1", "H1"), pen("2", "C2", "H2", turn="March"))
    after = (pen("2", "C1", "H1", row="s"), pen("3", "C3", "H2", turn="March"))
    found = differences(before, after)
    assert {(one.before, one.after, one.turn) for one in found.shifts} == {
        ("C1", "C1", ""),
        ("C2", "C3", "March"),
    }
    assert (found.cocks_in, found.cocks_out) == (("C3",), ("C2",))
    assert found.pens == (("C1", ("1",), ("2",)),)


def test_a_plan_is_not_different_from_itself(plan: SeasonPlan) -> None:
    assert told(plan, *plan.solution.pens) == []


def test_two_cocks_that_change_all_hens_are_told_once(plan: SeasonPlan) -> None:
    first, second = plan.solution.pens
    hens, others = ([one.hen for one in each.pairs] for each in (first, second))
    rows = [each.pairs[0].row for each in (first, second)]
    swapped = (
        pen(first.pen, first.cock, *others, row=rows[1]),
        pen(second.pen, second.cock, *hens, row=rows[0]),
    )
    (sentence,) = told(plan, *swapped)
    one, other = sorted((first.cock, second.cock))
    assert sentence == f"{one} and {other} change hens with each other, all of them."


def test_two_cocks_that_change_pens_are_told_once(plan: SeasonPlan) -> None:
    first, second = plan.solution.pens
    swapped = [
        PlannedPen(pen=to.pen, cock=each.cock, pairs=each.pairs)
        for each, to in ((first, second), (second, first))
    ]
    (sentence,) = told(plan, *swapped)
    assert sentence == f"{first.cock} and {second.cock} change pens (1 and 2)."


def test_a_line_that_moves_whole_is_called_by_its_name(plan: SeasonPlan) -> None:
    """All hens of a line that have a place go to a cock who is used instead of theirs."""
    birds = plan.table.study.flock.by_band()
    whole = max(plan.solution.pens, key=lambda each: len(each.pairs))
    (line,) = {birds[one.hen].line for one in whole.pairs}
    rest = [each for each in plan.solution.pens if each is not whole]
    moved = pen(whole.pen, "New", *(one.hen for one in whole.pairs), row=whole.pairs[0].row)
    sentences = told(plan, moved, *rest)
    assert sentences[0] == f"New used instead of {whole.cock}."
    alone = all(birds[one.hen].line != line for each in rest for one in each.pairs)
    who = f"{line}'s hens" if alone else f"All {len(whole.pairs)} hens of {whole.cock}"
    assert sentences[1] == f"{who} go to New instead of {whole.cock}."


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (near(1, exact=True), "No other plan comes within 1 % of it: this is the only one."),
        (near(12, exact=True), "12 plans come within 1 % of the best, this one among them."),
        (near(3456, exact=False), "At least 3,400 plans come within 1 % of the best."),
        (near(7, exact=True, within=0.0), "7 plans are worth as much as the best, this one"),
        (near(7, exact=True, within=0.005), "7 plans come within 0.5 % of the best, this one"),
        (near(7, exact=True, proved=False), "7 plans come within 1 % of the best one found"),
    ],
)
def test_the_number_is_told_with_what_is_known_of_it(found: NearEquals, words: str) -> None:
    assert near_sentence(found).startswith(words)
    assert near_entry(found)["count"] == found.count


def test_the_screen_shows_each_plan_with_its_pens(plan: SeasonPlan) -> None:
    others = alternatives(plan.problem, plan.solution, 2, within=0.3)
    assert others
    number = near_equals(plan.problem, plan.solution, within=0.3)
    stream = io.StringIO()
    console = Console(file=stream, width=100, highlight=False, markup=False, emoji=False)
    print_alternatives(console, plan, number, others)
    text = plain(stream.getvalue())
    assert near_sentence(number) in text
    for place, (one, entry) in enumerate(
        zip(others, alternative_entries(plan, others), strict=True), start=1
    ):
        assert f"Plan {place}: worth {one.value:.2f}" in text
        assert all(sentence in text for sentence in entry["sentences"])
        assert entry["sentences"]
        for each in one.pens:
            hens = ", ".join(pair.hen for pair in each.pairs)
            assert f"Pen {each.pen}: {each.cock} with {hens}" in text


def test_a_plan_without_others_says_so(plan: SeasonPlan) -> None:
    stream = io.StringIO()
    print_alternatives(Console(file=stream, width=100), plan, near(1, exact=True), ())
    assert plain(stream.getvalue()).strip() == near_sentence(near(1, exact=True))


def test_what_a_plan_near_another_keeps_is_told(plan: SeasonPlan) -> None:
    rows = [
        PlanRecord(row=2, pen=each.pen, line=one.line, cock=each.cock, hen=one.hen, why="")
        for each in plan.solution.pens
        for one in each.pairs
    ]
    gone = PlanRecord(row=9, pen="1", line="", cock="SC", hen="Gone", why="")
    kept = plan_near(plan.problem, [*rows, gone])
    text = kept_sentence(kept, "old.csv")
    assert text.startswith(
        f"Of the {len(rows) + 1} pairs of old.csv (1 of them no longer allowed) {len(rows)} stay, "
        "and 2 cocks keep their pens. That gives up nothing of the best value"
    )
    assert text.endswith("proved.")
    assert kept_entry(kept, "old.csv")["pairs_kept"] == len(rows)
