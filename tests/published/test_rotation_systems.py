"""Rotations of cocks as the keepers' way of filling pens plays them, season after season.

The cock moved one pen to the right, hens stay: K. Christensen, Population Genetics (course notes,
KVL Copenhagen), 9.3, scheme read. Cyclical mating, cock r to family r + g in generation g of a
cycle of n - 1: Farid et al. 1987 (TAG 73:506), abstract read. The inbreeding of each generation is
own exact arithmetic from the system, worked out apart from this project.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.ahead.rotation import rotation_of_lines
from matchmaker.plan.posing.pose import pose_problem
from tests.builders import bird, chick, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

FIRST = 2004
"""A season in which a cycle of three begins."""

ONE_PEN_ON = {3: "0 0 1/16 7/64 39/256", 4: "0 0 1/16 3/32 1/8"}
CYCLE = "0 0 0 3/32 5/64 1/8"
"""Of four families: the decimals 0.0938, 0.0781 and 0.125."""


def seasons(path: Path, lines: list[str], generations: int, settings: str) -> list[list[float]]:
    """Inbreeding of the chicks of each pen: founders first, then a son and a daughter of each."""
    birds: list[Row] = [
        bird(f"{sex[0]}0.{at}", sex, line, "sussex", hatched=f"{FIRST - 1}-04-01")
        for sex in ("cock", "hen")
        for at, line in enumerate(lines)
    ]
    places = [{"pen": f"Pen {at}", "hens_max": "1"} for at in range(len(lines))]
    found = []
    for born in range(1, generations + 1):
        season = FIRST + born - 1
        top = f'season = {season}\nrecurrent = "sussex"\ntarget = {{O = 2}}\n'
        table = verbs.pairs(write_flock(path / str(born), birds, settings, top, pens=places))
        pens = rotation_of_lines(table, pose_problem(table), np.random.default_rng(0))
        pairs = sorted((pair for pen in pens for pair in pen.pairs), key=lambda pair: pair.cock)
        assert len({pair.hen for pair in pairs}) == len(lines)
        found.append([pair.kinship for pair in pairs])
        gone = {"status": "dead", "left_on": f"{season}-12-01"}
        birds = [{**row, **gone} if not row.get("left_on") else row for row in birds]
        birds += [
            chick(
                f"{sex[0]}{born}.{at}", sex, one.cock, one.hen, one.line, hatched=f"{season}-04-01"
            )
            for sex in ("cock", "hen")
            for at, one in enumerate(pairs)
        ]
    return found


@pytest.mark.parametrize("lines", [3, 4])
def test_a_rotation_of_lines_is_the_cock_moved_one_pen_on(tmp_path: Path, lines: int) -> None:
    names = [f"Line {at}" for at in range(lines)]
    order = ", ".join(f'"{name}"' for name in names)
    inbred = seasons(
        tmp_path, names, 5, f"[limits]\nkinship_max = 0.01\n[rotation]\norder = [{order}]\n"
    )
    for found, expected in zip(inbred, ONE_PEN_ON[lines].split(), strict=True):
        assert found == [float(Fraction(expected))] * lines


def test_families_of_one_line_are_in_cyclical_mating(tmp_path: Path) -> None:
    inbred = seasons(tmp_path, ["Pure"] * 4, 6, "")
    means = [sum(found) / 4 for found in inbred]
    assert means == [float(Fraction(one)) for one in CYCLE.split()]
