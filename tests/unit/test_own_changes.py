"""Pens that a keeper filled otherwise than the best plan: what that costs and what it breaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.report.own_changes_words import beside_best_sentence, fault_sentences
from matchmaker.report.page.doors import doors_view
from matchmaker.report.page.glance import glance_view
from matchmaker.reporting import season_report
from matchmaker.season.own_changes import own_changes
from matchmaker.season.standing import Source, season_pens
from tests.builders import table as csv
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.own_changes import OwnChanges
    from tests.builders import Row


def stay(bird: str, pen: str, since: str = "2027-02-01", until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


def row(pen: str, line: str, cock: str, hen: str) -> Row:
    return {"pen": pen, "line": line, "cock": cock, "hen": hen}


def changed(folder: Path) -> OwnChanges | None:
    table = verbs.pairs(folder)
    return own_changes(season_pens(table), verbs.plan(table))


def names(found: OwnChanges) -> tuple[list[str], list[str]]:
    """The pairs of the keeper's alone, and of the plan's alone, hen first."""
    return tuple(
        [f"{pair.hen} {pair.cock}" for pair in pairs]
        for pairs in (found.only_standing, found.only_best)
    )  # type: ignore[return-value]


def as_planned(folder: Path) -> list[Row]:
    """The best plan of a flock as rows, as it would be written."""
    plan = verbs.plan(folder)
    return [
        row(pen.pen, pair.line or "", pen.cock, pair.hen) for pen in plan.pens for pair in pen.pairs
    ]


def test_where_nothing_stands_nothing_is_changed(tmp_path: Path) -> None:
    assert changed(small_flock(tmp_path, plan=[])) is None


def test_the_best_plan_written_down_is_no_change(tmp_path: Path) -> None:
    folder = small_flock(tmp_path / "one", plan=[])
    (folder / "plan.csv").write_text(csv(as_planned(folder)), encoding="utf-8")
    assert changed(folder) is None


def test_a_hen_left_out_by_hand_is_told_with_what_she_is_worth(tmp_path: Path) -> None:
    folder = small_flock(tmp_path / "one", plan=[])
    rows = as_planned(folder)
    out = next(one for one in rows if one["hen"] == "S1")
    (folder / "plan.csv").write_text(csv([one for one in rows if one is not out]), encoding="utf-8")
    found = changed(folder)
    assert found is not None
    assert found.source is Source.PLAN
    assert names(found) == ([], [f"S1 {out['cock']}"])
    assert (found.rejected, found.broken) == ((), ())
    assert found.value == pytest.approx(verbs.score(folder, folder / "plan.csv").value)
    assert found.best_value == pytest.approx(verbs.plan(folder, fresh=True).solution.value)
    assert found.given_up == pytest.approx(found.best_value - found.value)
    assert found.given_up > 0
    assert beside_best_sentence(found) == (
        "The numbers here are those of the best plan. In the pens of plan.csv 1 hen stands "
        f"otherwise, and {found.given_up:.2f} wanted chicks are given up: see “Your own changes”, "
        "at the end of the page."
    )


def test_the_season_at_a_glance_owns_that_its_numbers_are_not_those_of_the_pens(
    tmp_path: Path,
) -> None:
    """The figures are of the best plan; what the keeper's pens break is said above them all."""
    pens: list[Row] = [
        {"pen": "Orchard", "hens_max": "4", "dam_known": "yes"},
        {"pen": "Yard", "hens_max": "2", "dam_known": "no"},
    ]
    report = season_report(verbs.pairs(small_flock(tmp_path / "one", pens=pens)))
    assert report.changed is not None
    glance = glance_view(report).values
    assert glance["differs"] == beside_best_sentence(report.changed)
    faults = list(fault_sentences(report.changed))
    assert any("Yard" in sentence for sentence in faults)
    assert glance["warnings"][: len(faults)] == faults
    assert doors_view(report).values["faults"] == faults


def test_rules_that_the_keepers_pens_break_are_named(tmp_path: Path) -> None:
    """Three hens in a pen for two."""
    pens: list[Row] = [
        {"pen": "Orchard", "hens_max": "4", "dam_known": "yes"},
        {"pen": "Yard", "hens_max": "2", "dam_known": "no"},
    ]
    folder = small_flock(tmp_path / "one", pens=pens)
    found = changed(folder)
    assert found is not None
    assert any("Yard" in words for words in found.broken)
    assert found.source is Source.PLAN


def test_a_pair_that_rules_reject_is_named(tmp_path: Path) -> None:
    folder = small_flock(tmp_path / "one", settings="[limits]\nage_min_days = 2000\n")
    table = verbs.pairs(folder)
    sure = verbs.plan(small_flock(tmp_path / "two"))
    found = own_changes(season_pens(table), sure)
    assert found is not None
    assert {pair.hen for pair in found.rejected} == {"A1", "A2", "S1", "S2", "S3"}


class TestMoves:
    """What the moves say goes before what is written in the plan."""

    def test_a_hen_put_elsewhere_than_planned(self, tmp_path: Path) -> None:
        folder = small_flock(tmp_path / "one", plan=[])
        rows = as_planned(folder)
        pens = {one["hen"]: one["pen"] for one in rows} | {one["cock"]: one["pen"] for one in rows}
        other = next(pen for pen in pens.values() if pen != pens["S1"])
        moved = pens | {"S1": other}
        moves = [stay(bird, pen) for bird, pen in moved.items()]
        (folder / "moves.csv").write_text(csv(moves), encoding="utf-8")
        found = changed(folder)
        assert found is not None
        cocks = {one["pen"]: one["cock"] for one in rows}
        assert found.source is Source.MOVES
        assert names(found) == ([f"S1 {cocks[other]}"], [f"S1 {cocks[pens['S1']]}"])
        assert found.value <= found.best_value

    def test_birds_moved_in_as_planned_are_no_change(self, tmp_path: Path) -> None:
        folder = small_flock(tmp_path / "one", plan=[])
        rows = as_planned(folder)
        pens = {one["hen"]: one["pen"] for one in rows} | {one["cock"]: one["pen"] for one in rows}
        moves = [stay(bird, pen) for bird, pen in pens.items()]
        (folder / "moves.csv").write_text(csv(moves), encoding="utf-8")
        assert changed(folder) is None

    def test_of_a_pen_changed_in_the_season_the_last_birds_count(self, tmp_path: Path) -> None:
        """SC stood in the Yard until 1 March, SD does since; A1 came with him, A2 left before."""
        moves = [
            stay("SC", "Yard", "2027-02-01", "2027-03-01"),
            stay("SD", "Yard", "2027-03-01"),
            stay("S1", "Yard", "2027-02-01"),
            stay("A2", "Yard", "2027-02-01", "2027-02-20"),
            stay("A1", "Yard", "2027-03-01"),
        ]
        found = changed(small_flock(tmp_path, today="2027-03-05", moves=moves))
        assert found is not None
        standing = {(pair.hen, pair.cock) for pair in found.only_standing}
        assert standing <= {("S1", "SD"), ("A1", "SD")}
        planned = {(pair.hen, pair.cock) for pair in found.only_best}
        assert not any(hen == "A2" and (hen, cock) in standing for hen, cock in planned)

    def test_when_all_have_left_the_last_day_counts(self, tmp_path: Path) -> None:
        moves = [stay(bird, "Yard", "2027-02-01", "2027-04-01") for bird in ("SC", "A1")]
        moves += [stay("SD", "Orchard", "2027-02-01", "2027-05-01")]
        moves += [stay("S1", "Orchard", "2027-02-01", "2027-05-01")]
        found = changed(small_flock(tmp_path, today="2027-05-20", moves=moves))
        assert found is not None
        assert {pair.hen for pair in found.only_standing} <= {"S1"}

    def test_with_turns_those_of_the_whole_season_count(self, tmp_path: Path) -> None:
        pens: list[Row] = [
            {"pen": "Yard", "hens_max": "4", "until": "2027-03-14"},
            {"pen": "Yard", "hens_max": "4", "from": "2027-03-15"},
        ]
        moves = [
            *(stay(bird, "Yard", "2027-02-01", "2027-03-14") for bird in ("SC", "A1")),
            *(stay(bird, "Yard", "2027-03-15") for bird in ("SD", "S1")),
        ]
        folder = small_flock(tmp_path, pens=pens, moves=moves, plan=[])
        found = changed(folder)
        assert found is not None
        planned = {(one.hen, one.cock) for pen in verbs.plan(folder).pens for one in pen.pairs}
        told = {(pair.hen, pair.cock) for pair in found.only_standing}
        assert told == {("A1", "SC"), ("S1", "SD")} - planned
