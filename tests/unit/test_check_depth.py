"""How far a check goes: large flocks are not waited for, and what was not looked at is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import checking
from matchmaker.checking import NO_FORECAST, NOT_LOOKED_AT, Check, Depth, check
from matchmaker.genetics.genotypes import network
from tests.builders import HOME, HOME_SEEN, chick, of_kind, write_flock
from tests.cli.run import run_here

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

BIRDS = (*HOME, chick("K", "hen", "AC", "AH", "Alder"))
SCORES = [{"bird": "AH", "date": "2026-09-01", "eggs": "40"}] * 2
TRAIT = '[traits.eggs]\ndirection = "up"\nweight = 0.3\nsex = "hen"\n'


@pytest.fixture
def too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any cells are too many to sum, and any number of variables too many to sample."""
    monkeypatch.setattr(network, "CELLS_MAX", -1)
    monkeypatch.setattr(checking, "LEFT_MAX", -1)


def found(path: Path, depth: Depth, birds: tuple[Row, ...] = BIRDS) -> Check:
    return check(write_flock(path / "fen", birds, TRAIT, seen=HOME_SEEN, scores=SCORES), depth)


def test_small_flocks_are_looked_at_whole(tmp_path: Path) -> None:
    quick, whole = (found(tmp_path, depth) for depth in (Depth.QUICK, Depth.WHOLE))
    assert quick.table is not None
    assert (quick.faults, quick.doubts) == (whole.faults, whole.doubts)
    assert quick.not_looked_at == ()


@pytest.mark.usefixtures("too_large")
def test_a_large_flock_is_told_what_was_not_looked_at(tmp_path: Path) -> None:
    quick = found(tmp_path, Depth.QUICK)
    (doubt,) = of_kind(quick.doubts, "not-looked-at")
    assert quick.table is None
    assert quick.not_looked_at == NOT_LOOKED_AT
    assert all(part in doubt.problem for part in NOT_LOOKED_AT)


@pytest.mark.usefixtures("too_large")
def test_doubts_that_need_no_genes_are_still_found(tmp_path: Path) -> None:
    typed = chick("T", "hen", "AC", "AH", "Alder", breed="araucana")
    quick = found(tmp_path, Depth.QUICK, (*BIRDS, typed))
    kinds = {one.kind for one in quick.doubts}
    assert {"score-twice", "breed-against-pedigree"} <= kinds


@pytest.mark.usefixtures("too_large")
def test_scores_are_not_forecast_where_that_takes_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, "LINKS_MAX", 1)
    quick = found(tmp_path, Depth.QUICK)
    assert quick.not_looked_at == (*NOT_LOOKED_AT, NO_FORECAST)
    assert of_kind(quick.doubts, "score-twice")


@pytest.mark.usefixtures("too_large")
@pytest.mark.parametrize("depth", [Depth.QUICK, Depth.FAULTS])
def test_a_family_that_cannot_be_is_a_fault_all_the_same(tmp_path: Path, depth: Depth) -> None:
    """Two parents without the gene, by a laboratory, and a chick that lays blue eggs."""
    tested = [
        {"bird": bird, "locus": "O", "what": "0 copies", "how": "dna", "date": "2026-03-01"}
        for bird in ("AC", "AH")
    ]
    blue = {"bird": "K", "locus": "O", "what": "blue", "how": "adult", "date": "2026-09-01"}
    folder = write_flock(tmp_path / "fen", BIRDS, seen=[*tested, blue])
    assert of_kind(check(folder, depth).faults, "contradiction")


def test_faults_alone_take_no_pairs(tmp_path: Path) -> None:
    brief, whole = (found(tmp_path, depth) for depth in (Depth.FAULTS, Depth.WHOLE))
    assert brief.table is None
    assert brief.faults == whole.faults == ()
    assert set(brief.doubts) < set(whole.doubts)


@pytest.mark.usefixtures("too_large")
def test_screen_and_document_say_what_was_not_looked_at(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "fen", BIRDS, seen=HOME_SEEN)
    shown = " ".join(run_here("check", "--in", folder).out.split())
    assert "No faults in what was looked at; a doubt above says what was not." in shown
    document = run_here("check", "--in", folder, "--json").document
    assert document["not_looked_at"] == list(NOT_LOOKED_AT)
    assert document["crossings"] == []


def test_less_is_sampled_of_many_birds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing hangs together here, so that sampling is quick; none is allowed of many birds."""
    monkeypatch.setattr(network, "CELLS_MAX", -1)
    assert found(tmp_path / "few", Depth.QUICK).table is not None
    monkeypatch.setattr(checking, "MANY_BIRDS", 1)
    monkeypatch.setattr(checking, "LEFT_OF_MANY", -1)
    assert found(tmp_path / "many", Depth.QUICK).not_looked_at == NOT_LOOKED_AT
    assert found(tmp_path / "whole", Depth.WHOLE).table is not None
