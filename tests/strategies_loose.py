"""Random small problems with rejected pairs and spare pens, and rules loosened all the way."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.plan.no_plan.loosened import (
    KINSHIP_MOST,
    Extra,
    Kind,
    Loosenable,
    Loosening,
    Need,
)
from matchmaker.plan.posing.problem import PenKind
from tests.strategies_plan import problem_by_seed

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate

CAP = 0.125
PROOF = Loosening(kind=Kind.PROOF, now=0.5, most=0.0)
EVERYWHERE = Loosening(kind=Kind.KINSHIP, now=CAP, most=KINSHIP_MOST)


def loosenable_by_seed(seed: int) -> Loosenable:
    """Return a random problem some of whose pairs are rejected, and with a spare pen or none."""
    rng = random.Random(f"loose {seed}")  # noqa: S311
    problem = problem_by_seed(seed)
    rejected = [one for one in problem.candidates if not one.tested and rng.random() < 0.35]
    spare = PenKind(
        pens=("spare",), hens_max=2, hens_min=1, line="", dam_known=False, turn=problem.turns[0][0]
    )
    return Loosenable(
        problem=replace(
            problem, candidates=tuple(one for one in problem.candidates if one not in rejected)
        ),
        extras=tuple(_extra(rng, one) for one in rejected),
        pens=(spare,) if rng.random() < 0.5 else (),
    )


def _extra(rng: random.Random, one: Candidate) -> Extra:
    kinship = rng.choice((0.13, 0.14, 0.2, 0.25))
    own = Loosening(kind=Kind.KINSHIP, subject=one.line, now=CAP, most=KINSHIP_MOST)
    related = (Need(rule=own, to=kinship), Need(rule=EVERYWHERE, to=kinship))
    unproven = (Need(rule=PROOF, to=rng.choice((0.2, 0.4))),)
    row = Loosening(kind=Kind.ROW, subject=f"{one.row} {one.line}")
    reason = rng.choice(
        ((related,), (related,), (unproven,), (related, unproven), ((Need(rule=row),),))
    )
    return Extra(candidate=one, needs=reason, allowable=rng.random() < 0.7)
