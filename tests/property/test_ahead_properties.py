"""What must hold of every simulated flock, whatever chance brings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.drop.reading import inbreeding
from matchmaker.genetics.kin.kinship import kinship_matrix
from tests.ahead_flocks import BIRDS, PENS, SEEN, SURE, played, watched
from tests.builders import cock, dna, hen, judged
from tests.keepers_flocks import flock_at_random

if TYPE_CHECKING:
    from pathlib import Path

PURE = tuple(row for row in BIRDS if row["line"] == "Pure")
KNOWN = [{**pen, "dam_known": "yes"} for pen in PENS]


@pytest.mark.parametrize("policy", ["plan", "random", "rotation"])
def test_a_pure_flock_stays_pure(tmp_path: Path, policy: str) -> None:
    player = watched(judged(tmp_path / "f", PURE, pens=PENS), (policy,), seasons=4)
    for replicate in range(2):
        tally, _ = played(player, replicate)
        assert tally.share == pytest.approx(1, abs=1e-12)
        assert (tally.carriers == 0).all()
        assert (tally.alive((False,)) == 1).all()


def test_a_target_that_is_fixed_stays_fixed(tmp_path: Path) -> None:
    """A line in which all have both copies is crossed with itself: it breeds true."""
    birds = (
        *PURE[:1],
        *(cock(f"C{at}", "Blue", "araucana") for at in range(3)),
        *(hen(f"H{at}", "Blue", "araucana") for at in range(6)),
    )
    seen = [dna(row["bird"], "O", 2) for row in birds[1:]]
    settings = '[lines.Blue]\nstep = "intercross"\n[limits]\nkinship_max = 0.5\n'
    table = judged(tmp_path / "f", birds, settings, seen=seen, pens=PENS)
    player = watched(table, ("plan",), seasons=3, ready=0.0)
    tally, seasons = played(player)
    np.testing.assert_array_equal(tally.whole[:, 0], tally.birds[:, 0])
    assert (tally.fixed[:, 0] == 1).all()
    assert len(set(seasons[-1].grown.bands) - set(seasons[0].world.bands)) > 4


def test_inbreeding_is_on_the_mean_that_of_the_pedigree(tmp_path: Path) -> None:
    """Of young birds with known parents; the parts of genomes scatter about it."""
    settings = "[limits]\nkinship_max = 0.4\n" + SURE
    player = watched(
        judged(tmp_path / "f", PURE, settings, pens=KNOWN), ("random",), seasons=4, replicates=10
    )
    apart, told = [], []
    for replicate in range(10):
        differences = []
        for season in played(player, replicate)[1]:
            new = [band for band in season.grown.bands if band not in season.world.bands]
            kinship = kinship_matrix(season.spring.study.flock.pedigree, new).values
            expected = 2 * kinship.diagonal() - 1
            birds = season.grown.birds.take(season.grown.at(new))
            true = inbreeding(season.fate.nature.grid, birds.bits)
            differences += (true - expected).tolist()
            told += expected.tolist()
        apart.append(np.mean(differences))
    assert np.mean(told) > 0.03
    assert abs(np.mean(apart)) < 4 * np.std(apart) / len(apart) ** 0.5
    assert np.std(apart) < 0.05


def test_shares_are_on_the_mean_those_of_the_pedigree_where_nobody_asks_for_a_gene(
    tmp_path: Path,
) -> None:
    """Three in four of a written crossing that keeps any chick."""
    rows = """
[[matings]]
name = "any"
hens = "Pure"
cocks = "Alder"
chicks = "Alder"
purpose = "hold"
"""
    table = judged(tmp_path / "f", BIRDS, rows + SURE, seen=SEEN, pens=KNOWN)
    player = watched(table, ("random",), seasons=1, replicates=12)
    found = []
    for replicate in range(12):
        tally, (season,) = played(player, replicate)
        new = [band for band in season.grown.bands if band not in season.world.bands]
        told = season.spring.study.recurrent_share
        assert {round(told[band], 9) for band in new} == {0.75}
        found.append(float(tally.share[0, 0]))
    assert 0.3 < np.mean(found) < 0.7


def test_selection_moves_a_trait_the_way_that_is_wanted(tmp_path: Path) -> None:
    """The plan gains in a trait; matings at random, by the same grading, gain less or as much."""
    gains = {}
    many = (*(cock(f"S{at}") for at in range(6)), *(hen(f"P{at}") for at in range(10)))
    for way in ("up", "down"):
        settings = f'[traits.size]\ndirection = "{way}"\nweight = 1.0\nh2 = 0.5\n' + SURE
        scores = [
            {"bird": row["bird"], "date": "2025-09-01", "size": str(50 + 3 * (at % 4))}
            for at, row in enumerate(many)
        ]
        table = judged(tmp_path / way, many, settings, pens=KNOWN, scores=scores)
        player = watched(table, ("plan",), seasons=3, replicates=6)
        levels = np.array([played(player, at)[0].levels[:, 0, 0] for at in range(6)])
        sd = float(player.past.genetic[0, 0]) ** 0.5
        gains[way] = float((levels[:, -1] - levels[:, 0]).mean() / sd)
    assert 0.3 < gains["up"] < 3.5
    assert -3.5 < gains["down"] < -0.3


def test_no_number_of_any_flock_is_impossible(tmp_path: Path) -> None:
    for seed in range(3):
        player = watched(flock_at_random(tmp_path / str(seed), seed), ("random",), seasons=3)
        tally, _ = played(player)
        here = tally.birds > 0
        for name in ("share", "inbreeding"):
            values = getattr(tally, name)
            assert (np.isnan(values) == ~here).all()
            assert ((values[here] >= 0) & (values[here] <= 1 + 1e-12)).all()
        np.testing.assert_array_equal(tally.whole, tally.whole_cocks + tally.whole_hens)
        assert (tally.whole <= tally.carriers).all()
        assert (tally.carriers <= tally.birds).all()
        assert (tally.chicks <= tally.eggs).all()
        assert (tally.chicks[0], tally.eggs[0]) == (0, 0)
        assert (tally.goal >= 0).all()
