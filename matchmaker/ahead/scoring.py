"""Scores that simulated birds would get, as the keeper has scored so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.birds import Birds, Matrix, Nature
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast

GRADES_MAX: Final = 12
"""A trait scored in whole numbers, not more of them than this, is one of grades: no score is
outside of those seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """How one trait is scored in this flock.

    ``sex`` is the only one scored (``None``: both), ``age_days`` the median age when first scored
    (``None``: no day was written), ``part`` of the birds that were old enough and of that sex the
    share (0 to 1) that were, ``scores_a_bird`` the mean number of scores of those, ``repeated``
    whether any had more than one. Scores are written in steps of ``step``; ``lowest`` and
    ``highest`` are those of a trait of grades, else ``None``.
    """

    trait: str
    sex: Sex | None
    age_days: int | None
    part: float
    scores_a_bird: float
    repeated: bool
    decimals: int
    lowest: float | None = None
    highest: float | None = None
    group_sd: float = 0.0
