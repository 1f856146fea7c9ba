"""A small flock with scores in three traits, all invented, for tests of merit and response."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from matchmaker.plan.season.response import plan_response
from matchmaker.plan.season.season_plan import plan_season
from tests.builders import chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.response import TraitResponse
    from matchmaker.plan.season.season_plan import SeasonPlan
    from tests.builders import Row

HALF_BRED = "sussex:0.5|araucana:0.5"

FOUNDERS = (
    *(cock(f"S{at}") for at in range(3)),
    *(hen(f"H{at}") for at in range(6)),
    *(cock(f"A{at}", "Alder", HALF_BRED) for at in range(2)),
    *(hen(f"B{at}", "Alder", HALF_BRED) for at in range(5)),
)

PULLETS = (
    *(chick(f"P{at}", "hen", f"S{at % 2}", f"H{at % 3}", "Pure") for at in range(6)),
    *(chick(f"Q{at}", "hen", f"S{at % 3}", f"B{at % 2}", "Alder") for at in range(6)),
)
"""Out of pure cocks: by pure hens, and by half-bred ones."""

SEEN = tuple(dna(row["bird"], "O", 1) for row in (*FOUNDERS, *PULLETS) if row["line"] == "Alder")

TRAITS = """
[traits.eggs]
direction = "up"
weight = 0.3
h2 = 0.3
repeatability = 0.4
depression = -2
unit = "eggs"
sex = "hen"

[traits.size]
optimum = 58
weight = 0.2
h2 = 0.5
repeatability = 0.5
unit = "g"
sex = "hen"

[traits.temper]
direction = "up"
weight = "ignore"
h2 = 0.2
repeatability = 0.3
"""

FEW_PENS = [{"pen": "Orchard", "hens_max": "3"}, {"pen": "Yard", "hens_max": "3"}]


def scores(seed: int = 5) -> list[Row]:
    """Scores of all birds of the flock: temper of all, eggs and their size of the hens."""
    draw = random.Random(seed)  # noqa: S311
    rows: list[Row] = []
    for row in (*FOUNDERS, *PULLETS):
        told = {"bird": row["bird"], "temper": str(draw.randint(1, 5))}
        if row["sex"] == "hen":
            told |= {"eggs": str(round(draw.gauss(50, 7)))}
            told |= {"size": f"{draw.gauss(56, 3):.1f}"}
        rows.append(told)
    return rows


def scored(
    path: Path,
    settings: str = TRAITS,
    birds: Sequence[Row] = (*FOUNDERS, *PULLETS),
    told: Sequence[Row] | None = None,
) -> PairTable:
    """Return the pair table of the flock with its scores."""
    rows = scores() if told is None else told
    return judged(path, birds, settings, scores=rows, seen=SEEN, pens=FEW_PENS)


def planned(path: Path, settings: str = TRAITS) -> SeasonPlan:
    """Return the plan of the flock."""
    return plan_season(scored(path, settings))


def response_of(plan: SeasonPlan, trait: str) -> TraitResponse:
    """Return what a plan's chicks are expected to be in one trait."""
    return next(one for one in plan_response(plan) if one.aim.trait == trait)
