from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.scoring import Pattern, patterns, scores_of
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.study import study_flock
from matchmaker.tables.read import read_folder
from matchmaker.tables.records import Sex
from tests.ahead_birds import nature, unrelated
from tests.builders import chick, cock, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tests.builders import Row

MANY = 20_000
PLAIN = Pattern(
    trait="t0",
    sex=None,
    age_days=140,
    part=1.0,
    repeated=False,
    decimals=3,
)

SETTINGS = """
[traits.eggs]
direction = "up"
sex = "hen"
h2 = 0.3

[traits.weight]
direction = "up"
h2 = 0.4

[traits.type]
direction = "up"
h2 = 0.3
"""


def told(path: Path, scores: Sequence[Row]) -> dict[str, Pattern]:
    """The patterns of a flock of four founders and twelve chicks, one of which left early."""
    young = [
        chick(f"{sex[0].upper()}{at}", sex, "SC", ("SH", "TH")[at % 2], "Pure")
        for sex in ("hen", "cock")
        for at in range(6)
    ]
    early = {**young[0], "status": "died", "left_on": "2026-05-01"}
    birds = [cock("SC"), cock("TC"), hen("SH"), hen("TH"), early, *young[1:]]
    folder = write_flock(path, birds, SETTINGS, scores=scores)
    return {
        one.trait: one
        for one in patterns(
            study_flock(build_flock(read_folder(folder, known_loci=frozenset(catalogue()))))
        )
    }


def rows() -> list[Row]:
    """Young birds scored at 140 days: the hens 1 to 4 and the cocks; hen 1 twice."""
    bands = [f"H{at}" for at in range(1, 5)] + [f"C{at}" for at in range(6)]
    found: list[Row] = []
    for at, band in enumerate(bands):
        heavy = 3000 if band.startswith("C") else 2400
        found.append(
            {
                "bird": band,
                "date": "2026-08-19",
                "weight": str(heavy + 10 * (at % 4)),
                "type": str(2 + at % 3),
                **({"eggs": str(40 + 3 * at % 7)} if band.startswith("H") else {}),
            }
        )
    return [*found, {"bird": "H1", "date": "2026-11-20", "type": "4"}]


def test_patterns_are_read_off_the_scores(tmp_path: Path) -> None:
    found = told(tmp_path, rows())
    eggs, weight, kind = found["eggs"], found["weight"], found["type"]
    assert (eggs.sex, weight.sex) == (Sex.HEN, None)
    assert (eggs.age_days, weight.age_days, kind.age_days) == (140, 140, 140)
    # five pullets and two old hens were old enough, the one that died was not
    assert eggs.part == pytest.approx(4 / 7)
    assert weight.part == pytest.approx(10 / 15)
    assert (weight.decimals, weight.is_grade) == (-1, False)
    assert (kind.decimals, kind.lowest, kind.highest) == (0, 2.0, 4.0)
    assert (kind.repeated, weight.repeated) == (True, False)


def test_cocks_are_as_far_above_hens_as_they_are_scored(tmp_path: Path) -> None:
    found = told(tmp_path, rows())
    assert found["weight"].cocks_above == pytest.approx(600, abs=30)
    assert found["eggs"].cocks_above == 0.0


def test_without_days_no_age_is_known(tmp_path: Path) -> None:
    bare = [{key: value for key, value in row.items() if key != "date"} for row in rows()[:-1]]
    assert told(tmp_path, bare)["type"].age_days is None


def test_groups_that_differ_by_more_than_chance_have_a_spread(tmp_path: Path) -> None:
    """Two years of pullets, the second twenty eggs better."""
    birds = [cock("SC"), hen("SH")]
    scores: list[Row] = []
    for year in (2024, 2025, 2026):
        for at in range(5):
            band = f"P{year}{at}"
            birds.append(chick(band, "hen", "SC", "SH", "Pure", hatched=f"{year}-04-01"))
            eggs = 40 + 20 * (year - 2024) + at
            scores.append({"bird": band, "date": f"{year}-12-20", "eggs": str(eggs)})
    old = [{**birds[0], "hatched": "2022-04-01"}, {**birds[1], "hatched": "2022-04-01"}]
    folder = write_flock(tmp_path, [*old, *birds[2:]], SETTINGS, scores=scores)
    study = study_flock(build_flock(read_folder(folder, known_loci=frozenset(catalogue()))))
    (pattern,) = patterns(study)
    assert pattern.group_sd == pytest.approx(20, rel=0.05)


def test_scores_vary_by_genes_surroundings_and_chance() -> None:
    of, rng = nature(lasting=1.0, residual=2.0), np.random.default_rng(1)
    scores = scores_of(unrelated(MANY, of, rng), of, [PLAIN], rng)[:, 0]
    assert abs(scores.mean() - 50) < 5 * 3 / MANY**0.5
    assert scores.std() == pytest.approx(3.0, rel=5 * (0.5 / MANY) ** 0.5)


@pytest.mark.parametrize("decimals", [0, -1])
def test_rounding_adds_nothing_to_the_spread(decimals: int) -> None:
    """The residual variance was found from rounded scores (Sheppard 1898, from memory)."""
    step = 10.0**-decimals
    of, rng = nature(lasting=1.0 * step, residual=2.0 * step), np.random.default_rng(2)
    birds = unrelated(MANY, of, rng)
    scores = scores_of(birds, of, [replace(PLAIN, decimals=decimals)], rng)[:, 0]
    assert (scores % step == 0).all()
    expected = (4.0 + 5.0 * step**2) ** 0.5
    assert scores.std() == pytest.approx(expected, rel=5 * (0.5 / MANY) ** 0.5)


def test_grades_stay_within_those_seen() -> None:
    of, rng = nature(level=3.0), np.random.default_rng(3)
    graded = replace(PLAIN, decimals=0, lowest=1.0, highest=5.0)
    scores = scores_of(unrelated(500, of, rng), of, [graded], rng)
    assert np.unique(scores).tolist() == [1.0, 2.0, 3.0, 4.0, 5.0]


def test_only_the_sex_that_is_scored_gets_scores() -> None:
    of, rng = nature(), np.random.default_rng(4)
    birds = unrelated(100, of, rng)
    for sex, who in ((Sex.HEN, birds.hens), (Sex.COCK, ~birds.hens)):
        scores = scores_of(birds, of, [replace(PLAIN, sex=sex)], rng)[:, 0]
        assert np.array_equal(~np.isnan(scores), who)


def test_a_part_of_the_birds_is_left_out_by_chance() -> None:
    of, rng = nature(), np.random.default_rng(5)
    scores = scores_of(unrelated(MANY, of, rng), of, [replace(PLAIN, part=0.3)], rng)
    assert abs((~np.isnan(scores)).mean() - 0.3) < 5 * (0.21 / MANY) ** 0.5


def test_contemporaries_have_their_surroundings_in_common() -> None:
    of, rng = nature(lasting=0.0, residual=0.0), np.random.default_rng(6)
    birds = replace(unrelated(8, of, rng), values=np.zeros((8, 1)))
    grouped = replace(PLAIN, group_sd=5.0, cocks_above=100.0)
    scores = scores_of(birds, of, [grouped], rng, groups=np.array([0, 0, 0, 0, 1, 1, 1, 1]))[:, 0]
    # even numbers are cocks: two groups of either sex
    levels = [set(np.round(scores[at], 3)) for at in ([0, 2], [1, 3], [4, 6], [5, 7])]
    assert [len(level) for level in levels] == [1, 1, 1, 1]
    assert len(set.union(*levels)) == 4
    assert scores[[0, 2, 4, 6]].mean() - scores[[1, 3, 5, 7]].mean() == pytest.approx(100, abs=25)
