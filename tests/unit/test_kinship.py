"""Kinship where founders are not all unrelated: bases of breeds and of sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.kin.kinship import KinshipMatrix, kinship_matrix
from tests.builders import Row, chick, cock, flock_of, hen

if TYPE_CHECKING:
    from pathlib import Path

OLD = (cock("SC"), hen("SH"))


def kinship(path: Path, *rows: Row, settings: str = "") -> KinshipMatrix:
    return kinship_matrix(flock_of(path, [*OLD, *rows], settings).pedigree)


def test_founders_are_unrelated_unless_told(tmp_path: Path) -> None:
    assert kinship(tmp_path).between("SC", "SH") == 0.0


def test_founders_of_one_breed_have_its_base(tmp_path: Path) -> None:
    """Self-kinship (1 + base) / 2: a founder's own two gametes come from the same pool."""
    found = kinship(tmp_path, settings="[breeds.sussex]\nbase = 0.1\n")
    assert found.between("SC", "SH") == 0.1
    assert found.between("SC", "SC") == 0.55
    assert found.inbreeding()["SC"] == pytest.approx(0.1, abs=1e-15)


def test_founders_of_two_breeds_are_unrelated(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.1\n[breeds.araucana]\nbase = 0.2\n"
    found = kinship(tmp_path, hen("D", breed="araucana"), settings=settings)
    assert found.between("SC", "D") == 0.0
    assert found.between("D", "D") == 0.6


def test_crossbred_founders_share_by_their_breeds(tmp_path: Path) -> None:
    """Both are sussex in half their genes: ½ · ½ · 0.1; with a pure bird ½ · 0.1."""
    cross = "sussex:0.5|araucana:0.5"
    rows = [hen("X", breed=cross), hen("Y", breed=cross)]
    found = kinship(tmp_path, *rows, settings="[breeds.sussex]\nbase = 0.1\n")
    assert found.between("X", "Y") == 0.025
    assert found.between("SC", "X") == 0.05


def test_birds_of_one_source_are_taken_as_first_cousins(tmp_path: Path) -> None:
    found = kinship(tmp_path, hen("X", source="Hill"), hen("Y", source="Hill"))
    assert found.between("X", "Y") == 1 / 16
    assert found.between("X", "SH") == 0.0


def test_a_sources_own_base_goes_before(tmp_path: Path) -> None:
    rows = [hen("X", source="Hill"), hen("Y", source="Hill")]
    found = kinship(tmp_path, *rows, settings="[sources.Hill]\nbase = 0.25\n")
    assert found.between("X", "Y") == 0.25


def test_a_base_passes_on_to_chicks(tmp_path: Path) -> None:
    """Half sibs in a breed of base 0.1: ¼ · 0.55 + ¾ · 0.1."""
    rows = [
        hen("SH2"),
        chick("Y1", "hen", "SC", "SH", "Pure"),
        chick("Y2", "hen", "SC", "SH2", "Pure"),
    ]
    found = kinship(tmp_path, *rows, settings="[breeds.sussex]\nbase = 0.1\n")
    assert found.between("Y1", "Y2") == pytest.approx(0.2125, abs=1e-15)


def test_an_unknown_sire_makes_half_sibs_of_the_chance_sort(tmp_path: Path) -> None:
    """Two unknown sires out of two cocks, dams unrelated: same sire half the time, 1/8 then."""
    rows = [
        cock("SC2"),
        hen("SH2"),
        chick("Y1", "hen", "", "SH", "Pure"),
        chick("Y2", "hen", "", "SH2", "Pure"),
    ]
    assert kinship(tmp_path, *rows).between("Y1", "Y2") == 1 / 16


def test_mean_with_a_group_counts_the_bird_itself(tmp_path: Path) -> None:
    found = kinship(tmp_path, chick("Y", "hen", "SC", "SH", "Pure"))
    assert found.mean_with(["Y", "SC"])["Y"] == (0.5 + 0.25) / 2
    assert found.mean_with([])["Y"] == 0.0


def test_a_band_that_is_not_there_is_refused(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, OLD)
    with pytest.raises(KeyError):
        kinship_matrix(flock.pedigree, ["X9"])
    with pytest.raises(ValueError, match="not in"):
        kinship_matrix(flock.pedigree).between("SC", "X9")
