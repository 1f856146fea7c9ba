"""The planning problem as plain sets and numbers, before any solver sees it.

The program itself is written out in DEVELOPERS.md, "The integer program".

Everything is ordered by id, so the same tables in any row order give the same problem.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

PAIR_COST = 0.05
"""Wanted chicks that one more pair must bring to be worth the work."""

KEEP_BONUS = 0.02
"""Wanted chicks by which a pair of the standing plan is preferred to its equal."""

SECOND_HELPING = 0.25
"""What a wanted chick beyond ``chicks_wanted`` counts, up to twice that number; then nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One allowed pair in one row of crossings.

    ``value`` is in wanted chicks, weighted by worth, on the grid of ``tolerance.VALUE_STEP``;
    ``wanted`` is the plain expected number of wanted chicks; ``kept`` says that hen and cock
    already stand together in the standing plan.
    """

    hen: str
    cock: str
    row: str
    line: str
    value: float
    wanted: float
    kept: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PenKind:
    """Pens that are alike in all that matters here; ``pens`` are their labels.

    ``line`` is the only line whose chicks may be bred here, or "" for any. In a pen whose dams
    are told apart (``dam_known``) hens of several rows may live; otherwise a pen holds one row.
    """

    pens: tuple[str, ...]
    hens_max: int
    hens_min: int
    line: str
    dam_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CockLimit:
    """How many hens and pens one cock may serve."""

    cock: str
    hens_max: int
    pens_max: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LineGoal:
    """What a line needs: chicks wanted, its importance, and its minimums (0 = none)."""

    line: str
    importance: float
    chicks_wanted: float
    cocks_min: int = 0
    hens_min: int = 0
    wanted_min: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PairTogether:
    """Hen and cock must be paired (in any row)."""

    name: str
    hen: str
    cock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdInPen:
    """A hen or a cock must be in this pen."""

    name: str
    bird: str
    pen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdNotInPen:
    """A hen or a cock must not be in this pen."""

    name: str
    bird: str
    pen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HensTogether:
    """Two hens must share a cock's pen, or both stay unused."""

    name: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HensApart:
    """Two hens must not be with the same cock."""

    name: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdUsed:
    """A hen or a cock must be in the plan."""

    name: str
    bird: str


Demand: TypeAlias = PairTogether | BirdInPen | BirdNotInPen | HensTogether | HensApart | BirdUsed


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanProblem:
    """All sets, coefficients and bounds of one planning problem.

    ``names`` of demands are the words the keeper sees when they clash.
    """

    candidates: tuple[Candidate, ...]
    kinds: tuple[PenKind, ...]
    cocks: tuple[CockLimit, ...]
    lines: tuple[LineGoal, ...]
    demands: tuple[Demand, ...] = ()
    standing_pens: tuple[tuple[str, str], ...] = ()
    """(pen, cock) of the standing plan: only used to keep labels where nothing else decides."""
