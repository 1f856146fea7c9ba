"""What a solve returns: a plan, how good it is, and how that was proved."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate

Stopped: TypeAlias = Literal["", "time", "interrupt", "size"]
"""What ended a search before its proof; "" where it was proved.

"size" is a search that ended by itself, too much being left open.
"""


class Outcome(StrEnum):
    """How a solve ended."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPen:
    """One pen of the plan: its cock and his pairs, hens in order of their bands.

    ``turn`` is the part of the season for which it stands so ("" where there is only one).
    """

    pen: str
    cock: str
    pairs: tuple[Candidate, ...]
    turn: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineTotal:
    """What the plan gives one line: ``worth`` sums pair values, ``counted`` is after saturation."""

    line: str
    cocks: int
    hens: int
    worth: float
    counted: float
    wanted: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """``best_value``, ``bound`` and ``gap`` of the first stage, and what solved it, in how long.

    ``stopped`` says what ended the search before the proof.
    """

    best_value: float
    bound: float
    gap: float
    solver: str
    solver_version: str
    build_seconds: float
    solve_seconds: float
    stopped: Stopped = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """The answer to a ``PlanProblem``: pens in order of their labels, and the proof.

    ``value`` is the value of the pens printed, without the bonus for pairs kept.
    """

    outcome: Outcome
    pens: tuple[PlannedPen, ...]
    lines: tuple[LineTotal, ...]
    value: float
    proof: Proof
