"""Expected share of the recurrent breed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.shares.share import breed_shares, recurrent_shares
from tests.builders import Row, bird, chick, cock, flock_of, hen
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from pathlib import Path


def share(path: Path, band: str, *rows: Row) -> float:
    flock = flock_of(path, [cock("SC"), hen("SH"), *rows])
    return recurrent_shares(flock.pedigree, "sussex")[band]


def test_backcrossing_halves_the_donors_share() -> None:
    """50, 75, 87.5 ... per cent (common practice, no source)."""
    crosses = [f"X{at} hen R {'D' if at == 1 else f'X{at - 1}'}" for at in range(1, 8)]
    flock = pedigree("R cock recurrent recurrent", "D hen donor donor", *crosses)
    found = recurrent_shares(flock, "recurrent")
    assert [found[f"X{at}"] for at in range(1, 8)] == [
        0.5,
        0.75,
        0.875,
        0.9375,
        0.96875,
        0.984375,
        0.9921875,
    ]


def test_carriers_crossed_among_themselves_keep_their_share() -> None:
    flock = pedigree(
        "R cock recurrent recurrent",
        "D hen donor donor",
        "F cock R D",
        "G hen R D",
        "I hen F G",
    )
    assert recurrent_shares(flock, "recurrent")["I"] == 0.5


def test_a_crossbred_founder_has_the_share_written(tmp_path: Path) -> None:
    assert share(tmp_path, "X", hen("X", breed="sussex:0.75|araucana:0.25")) == 0.75


def test_uncertain_parents_count_by_their_probabilities(tmp_path: Path) -> None:
    """Dam 0.7 pure and 0.3 donor, sire pure: ½ + ½ · 0.7."""
    rows = [hen("D", breed="araucana"), chick("Y", "hen", "SC", "SH:0.7|D:0.3", "Pure")]
    assert share(tmp_path, "Y", *rows) == pytest.approx(0.85)


def test_an_unknown_parent_brings_the_mean_of_its_line(tmp_path: Path) -> None:
    rows = [
        hen("A1", "Alder", "araucana"),
        hen("A2", "Alder", "sussex:0.5|araucana:0.5"),
        bird("Y", "hen", "Alder", sire="SC", dam="", hatched="2026-04-01"),
    ]
    assert share(tmp_path, "Y", *rows) == 0.625


def test_a_breed_of_two_sources_is_one_breed(tmp_path: Path) -> None:
    rows = [hen("X", source="Hill"), chick("Y", "hen", "SC", "X", "Pure")]
    assert share(tmp_path, "Y", *rows) == 1.0


def test_shares_of_all_breeds_stand_in_one_row() -> None:
    flock = pedigree("X hen donor:0.25|recurrent:0.75 recurrent")
    breeds, shares = breed_shares(flock)
    assert breeds == ("donor", "recurrent")
    assert shares.tolist() == [[0.125, 0.875]]


def test_nobody_has_a_share_of_a_breed_that_is_not_there() -> None:
    assert recurrent_shares(pedigree("X hen donor donor"), "sussex") == {"X": 0.0}
