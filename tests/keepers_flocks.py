"""Random flocks for the ways in which keepers fill pens, and what of a plan is merely physical."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.pose import cock_limit
from matchmaker.plan.posing.problem import PlanLimits
from tests.builders import chick, cock, hen, judged

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem
    from tests.builders import Row

LINES = ("Alder", "Birch")
HALF = "sussex:0.5|araucana:0.5"
SETTINGS = """
[traits.eggs]
direction = "up"
weight = 0.3
sex = "hen"
[traits.weight]
optimum = 2.5
weight = 0.2
"""
TURNS: tuple[dict[str, str], ...] = (
    {},
    {"from": "2027-02-01", "until": "2027-03-08"},
    {"from": "2027-03-15", "until": ""},
)


def flock_at_random(path: Path, seed: int) -> PairTable:
    """Two lines that carry, a pure one, and pens of all kinds, some for a part of the season."""
    rng = random.Random(seed)  # noqa: S311
    old = [
        *_founders("Pure", "sussex", rng),
        *(b for line in LINES for b in _founders(line, HALF, rng)),
    ]
    young = [row for at in range(rng.randint(4, 14)) for row in _chick(old, at, rng)]
    birds = [*old, *young]
    scores = [
        {
            "bird": row["bird"],
            "date": "2026-11-01",
            "eggs": str(rng.randint(30, 60)) if row["sex"] == "hen" else "",
            "weight": f"{rng.uniform(2, 3):.2f}",
        }
        for row in birds
        if rng.random() < 0.7
    ]
    tables: dict[str, Any] = {"scores": scores, "pens": list(_pens(rng))}
    if birds[0]["sex"] != birds[-1]["sex"]:
        tables["wishes"] = [
            {"bird": birds[0]["bird"], "with": birds[-1]["bird"], "wish": "apart", "why": "fights"}
        ]
    return judged(path, birds, SETTINGS, **tables)


def _founders(line: str, breed: str, rng: random.Random) -> Iterable[Row]:
    letter = line[0]
    for at in range(rng.randint(1, 3)):
        yield cock(f"{letter}C{at}", line, breed)
    for at in range(rng.randint(1, 5)):
        shown = rng.choice(("blue", "blue", "")) if breed == HALF else ""
        yield hen(f"{letter}H{at}", line, breed, O=shown)


def _chick(old: list[Row], at: int, rng: random.Random) -> Iterable[Row]:
    """A bird out of two old ones that may lay or cover for one line; now and then sire unsure."""
    dam = rng.choice([row for row in old if row["sex"] == "hen"])
    sires = [row["bird"] for row in old if row["sex"] == "cock" and row["line"] == dam["line"]]
    sire = rng.choice(sires)
    if len(sires) > 1 and rng.random() < 0.3:
        sire = f"{sires[0]}:0.5|{sires[1]}:0.5"
    cells = {"defects": "wry tail"} if rng.random() < 0.1 else {}
    yield chick(f"Y{at:02}", rng.choice(("cock", "hen")), sire, dam["bird"], dam["line"], **cells)


def _pens(rng: random.Random) -> Iterable[Row]:
    turns = TURNS if rng.random() < 0.5 else TURNS[:1]
    for at in range(rng.randint(2, 6)):
        places = rng.randint(1, 6)
        cells = {
            "pen": f"Pen {at}",
            "hens_max": str(places),
            "hens_min": str(min(places, rng.randint(0, 3))),
            "dam_known": rng.choice(("yes", "no")),
            "line": rng.choice(("", "", "Pure", *LINES)),
        }
        yield {**cells, "from": "", "until": "", **rng.choice(turns)}


def physical(problem: PlanProblem) -> PlanProblem:
    """The problem with nothing left of its limits, minimums and wishes but birds, places, pens."""
    return replace(
        problem,
        lines=tuple(
            replace(goal.without_minimums(), sire_share_max=None) for goal in problem.lines
        ),
        demands=(),
        limits=PlanLimits(),
        carriers=(),
        group=None,
        moves=None,
    )


def breaches(
    problem: PlanProblem, pens: tuple[PlannedPen, ...], table: PairTable | None = None
) -> tuple[str, ...]:
    """What pens break of the physical; with a table, pairs that the rules reject are no breach."""
    bare = physical(problem)
    if table is not None:
        birds, known = table.study.flock.by_band(), {limit.cock for limit in problem.cocks}
        used = tuple({pair.key: pair for pen in pens for pair in pen.pairs}.values())
        more = sorted({pair.cock for pair in used} - known)
        bare = replace(
            bare,
            candidates=(*bare.candidates, *used),
            cocks=(
                *bare.cocks,
                *(cock_limit(birds[band], table.study.flock.settings) for band in more),
            ),
        )
    return evaluate(bare, pens).broken
