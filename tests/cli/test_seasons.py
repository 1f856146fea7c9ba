"""Plans as seasons use them: on the shipped examples, changed a little as life changes them."""

from __future__ import annotations

import csv
import random
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from tests.builders import bird, chick, cock, dna, hen, write_flock
from tests.cli.run import Cells, Ran, edit_rows, edit_text, example, read_rows, run_here

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

RECURRENT_COCKS = {"H24-001", "H24-006", "H25-001", "H26-002", "H26-004", "H26-007", "H26-008"}
LOW_CAP = 0.017
"""A kinship limit that the example's best plan breaks: with close kin costing eggs it has few."""

CHOCOLATE_HENS = {"OR25-001", "OR25-002", "OR25-003"}


@pytest.fixture(scope="module")
def tarn_pairs(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    folder = example("tarn-croft", tmp_path_factory.mktemp("tarn") / "flock")
    return run_here("pairs", "--in", folder, "--json")


def _keeping_daughters(ran: Ran) -> list[dict[str, Any]]:
    return [
        pair
        for pair in ran.document["pairs"]
        if pair["hen"] in CHOCOLATE_HENS
        and pair["cock"] in RECURRENT_COCKS
        and pair["row"] == "chocolate hens, keep the pullets"
    ]


def test_daughters_of_a_z_linked_donor_hen_are_never_wanted(tarn_pairs: Ran) -> None:
    trapped = _keeping_daughters(tarn_pairs)
    assert {(pair["hen"], pair["cock"]) for pair in trapped} == {
        (hen, cock) for hen in CHOCOLATE_HENS for cock in RECURRENT_COCKS
    }
    for pair in trapped:
        assert not pair["allowed"]
        assert pair["wanted_chance"] == 0
        assert [rule["rule"] for rule in pair["rules"]] == ["no-wanted-chicks"]


def test_the_reason_is_a_sentence_with_the_mechanism(tarn_pairs: Ran) -> None:
    details = {rule["detail"] for pair in _keeping_daughters(tarn_pairs) for rule in pair["rules"]}
    assert len(details) == len(RECURRENT_COCKS)
    for detail in details:
        assert "a hen gives her choc to her sons only" in detail
        assert "her daughters get theirs from the sire" in detail
        assert "this row keeps daughters" in detail


def test_their_sons_are_wanted_in_the_row_that_keeps_sons(tarn_pairs: Ran) -> None:
    """Half the chicks are sons and every son of a chocolate hen carries (common practice)."""
    kept = [
        pair
        for pair in tarn_pairs.document["pairs"]
        if pair["hen"] in CHOCOLATE_HENS
        and pair["cock"] in RECURRENT_COCKS
        and pair["row"] in {"chocolate hens, keep the sons", "cocoa hens, keep the sons"}
    ]
    assert len(kept) == len(CHOCOLATE_HENS) * len(RECURRENT_COCKS)
    assert all(pair["allowed"] and pair["wanted_chance"] == pytest.approx(0.5) for pair in kept)


def test_one_point_more_for_one_hen_changes_nothing_for_nothing(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    assert run_here("plan", "--in", folder, "--write").code == 0

    def one_more(rows: Cells) -> None:
        row = next(row for row in rows if row["bird"] == "A26-013" and row["type"])
        row["type"] = str(int(row["type"]) + 1)

    edit_rows(folder / "scores.csv", one_more)
    changes = run_here("plan", "--in", folder, "--json").document["changes"]
    assert all(change["worth"] is not None and change["worth"] > 0 for change in changes)
    assert len(changes) <= 2


def _shuffle(folder: Path, seed: int) -> None:
    """Shuffle the rows below the header of every table of a folder."""
    chance = random.Random(seed)  # noqa: S311  nothing secret
    for path in sorted(folder.glob("*.csv")):
        head, *rows = path.read_text(encoding="utf-8").splitlines(keepends=True)
        chance.shuffle(rows)
        path.write_text(head + "".join(rows), encoding="utf-8")


def _comparable(document: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in document.items() if key not in {"inputs", "seconds"}}


def test_shuffled_tables_give_the_same_plan(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    first = run_here("plan", "--in", folder, "--json").document
    _shuffle(folder, seed=7)
    second = run_here("plan", "--in", folder, "--json").document
    assert first["inputs"]["birds.csv"] != second["inputs"]["birds.csv"]
    assert _comparable(first) == _comparable(second)


@pytest.fixture(scope="module")
def farm_plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return verbs.plan(example("tarn-croft", tmp_path_factory.mktemp("farm") / "flock"), fresh=True)


def _best(plan: SeasonPlan) -> float:
    return plan.solution.proof.best_value


def _close_pen(folder: Path) -> None:
    edit_rows(folder / "pens.csv", lambda rows: rows[0].update({"remarks": ""}))
    edit_text(folder / "pens.csv", "pen,places,trap nests,remarks", "pen,places,trap nests,open")
    edit_text(folder / "pens.csv", "Top,5,yes,", "Top,5,yes,no")
    edit_text(folder / "pens.csv", '"movable, out of the wind only"', "yes")


def _sell_cock(folder: Path) -> None:
    def sell(rows: Cells) -> None:
        row = next(row for row in rows if row["Band"] == "CH26-006")
        row.update({"Status": "sold", "Left": "2026-12-20"})

    edit_rows(folder / "birds.csv", sell)


def _lower_cap(folder: Path) -> None:
    edit_text(folder / "matchmaker.toml", "kinship_max = 0.125", f"kinship_max = {LOW_CAP}")


def _raise_minimum(folder: Path) -> None:
    edit_text(
        folder / "matchmaker.toml",
        "[lines.Cocoa]\nchicks_wanted = 8",
        "[lines.Cocoa]\nchicks_wanted = 8\nhens_min = 7",
    )


@pytest.fixture(scope="module")
def tightened(tmp_path_factory: pytest.TempPathFactory) -> dict[str, SeasonPlan]:
    """The farm's plan after each of four changes, by the change's name."""
    plans = {}
    for change in (_close_pen, _sell_cock, _lower_cap, _raise_minimum):
        folder = example("tarn-croft", tmp_path_factory.mktemp("tight") / "flock")
        change(folder)
        plans[change.__name__.removeprefix("_")] = verbs.plan(folder, fresh=True)
    return plans


@pytest.mark.parametrize("change", ["close_pen", "raise_minimum", "sell_cock", "lower_cap"])
def test_a_tighter_rule_never_makes_the_best_plan_better(
    farm_plan: SeasonPlan, tightened: Mapping[str, SeasonPlan], change: str
) -> None:
    plan = tightened[change]
    assert _best(plan) < _best(farm_plan)
    assert [pen.pairs for pen in plan.pens] != [pen.pairs for pen in farm_plan.pens]


def test_a_closed_pen_stays_empty(
    farm_plan: SeasonPlan, tightened: Mapping[str, SeasonPlan]
) -> None:
    assert "Top" in {pen.pen for pen in farm_plan.pens}
    assert "Top" not in {pen.pen for pen in tightened["close_pen"].pens}


def test_a_sold_cock_is_in_no_pen(
    farm_plan: SeasonPlan, tightened: Mapping[str, SeasonPlan]
) -> None:
    assert "CH26-006" in {pen.cock for pen in farm_plan.pens}
    plan = tightened["sell_cock"]
    assert "CH26-006" not in {pen.cock for pen in plan.pens}
    assert "CH26-006" not in {unused.bird for unused in plan.unused}


def test_a_lower_cap_holds_pair_by_pair(
    farm_plan: SeasonPlan, tightened: Mapping[str, SeasonPlan]
) -> None:
    plan = tightened["lower_cap"]
    assert max(pair.kinship for pen in farm_plan.pens for pair in pen.pairs) > LOW_CAP
    assert max(pair.kinship for pen in plan.pens for pair in pen.pairs) <= LOW_CAP


def test_a_higher_minimum_is_met(
    farm_plan: SeasonPlan, tightened: Mapping[str, SeasonPlan]
) -> None:
    def hens(plan: SeasonPlan) -> int:
        return next(line.hens for line in plan.solution.lines if line.line == "Cocoa")

    assert hens(farm_plan) < 7 <= hens(tightened["raise_minimum"])


def test_a_pure_line_that_could_fill_every_pen_leaves_room_for_the_gene(tmp_path: Path) -> None:
    """Twelve pure hens for twelve places, each worth four times a carrier by wanted chance."""
    birds = [
        *(cock(f"SC{n}") for n in range(1, 4)),
        *(hen(f"SH{n:02}") for n in range(1, 13)),
        *(hen(f"AH{n}", "Alder", "sussex:0.5|araucana:0.5") for n in range(1, 4)),
    ]
    pens = [{"pen": str(n), "hens_max": "4"} for n in range(1, 4)]
    seen = [dna(f"AH{n}", "O", 1) for n in range(1, 4)]
    plan = verbs.plan(write_flock(tmp_path, birds, seen=seen, pens=pens))
    hens = {total.line: total.hens for total in plan.solution.lines}
    assert hens["Alder"] == 3
    assert hens["Pure"] > 0


def test_the_plan_file_reads_back_as_the_standing_plan(tmp_path: Path) -> None:
    birds = [
        cock("SC"),
        hen("SH"),
        bird("AH", "hen", "Alder", "sussex:0.5|araucana:0.5"),
        chick("AK", "hen", "SC", "AH", "Alder"),
    ]
    folder = write_flock(tmp_path, birds, seen=[dna("AH", "O", 1)])
    assert run_here("plan", "--in", folder, "--write").code == 0
    written = read_rows(folder / "plan.csv")
    assert written
    again = run_here("plan", "--in", folder, "--json").document
    assert again["changes"] == []
    assert {(row["hen"], row["cock"]) for row in written} == {
        (one["hen"], pen["cock"]) for pen in again["pens"] for one in pen["hens"]
    }
    assert csv.Sniffer().has_header((folder / "plan.csv").read_text(encoding="utf-8"))
