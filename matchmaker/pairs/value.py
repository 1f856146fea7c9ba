"""What an allowed pair is worth to the plan, its terms kept apart until they are summed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from matchmaker.pairs.grids import Grid
from matchmaker.tolerance import VALUE_STEP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.settings import Settings

Number = TypeVar("Number", float, Grid)
"""Of one pair, or of many at once."""

DEFAULT_SHARE_WEIGHT: Final = 0.25
"""How much more a wanted chick with a recurrent share higher by a tenth counts, unless set."""

LEAST_WORTH: Final = 0.05
"""A wanted chick never counts less than this, however poor its merit."""

DAYS_TO_FERTILE: Final = 7
"""Eggs are kept from a week after the cock went in: the whole pen is fertile by 6–7 days
(Hutt 1949, Genetics of the Fowl, as quoted in a forum post)."""

BREEDERS_TO_CHICKS: Final = 2.5
"""Chicks wanted per living breeder of a line, unless set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Centre:
    """Means over the pairs that the rows of one line could have: what worth is measured against."""

    merit: float
    recurrent_share: float


def chicks_raised(
    hens: Sequence[Bird], cocks: Sequence[Bird], settings: Settings, kinship: Grid
) -> Grid:
    """Chicks that each hen is expected to raise this season with each cock, shape (hens, cocks).

    Credited days × lay × fertility × hatch of fertile × rearing × (1 − depression × F), F being
    their ``kinship``. Of two written fertilities the lower counts. The default depression is that
    of hatchability, 6 to 7 % per 10 % inbreeding of the embryo (Flock et al. 1991, Br Poult Sci
    32:451).
    """
    days, year = credited_days(settings), settings.year
    eggs = np.array([days * eggs_a_week(hen, settings) / 7 for hen in hens], dtype=np.float64)
    lower = np.minimum(_fertilities(hens)[:, None], _fertilities(cocks)[None, :])
    fertility = np.where(np.isinf(lower), year.fertility, lower)
    survival = np.maximum(1 - year.depression * kinship, 0.0)
    raised = eggs[:, None] * fertility * year.hatch_of_fertile * year.rearing * survival
    return np.asarray(raised, dtype=np.float64)


def _fertilities(birds: Sequence[Bird]) -> Grid:
    """Written fertilities, shape (birds,); infinite where none is written."""
    written = (bird.record.fertility for bird in birds)
    return np.array([np.inf if one is None else one for one in written], dtype=np.float64)


def eggs_a_week(hen: Bird, settings: Settings) -> float:
    """Eggs a hen lays in a week: what is written of her, else of hens in general."""
    own = hen.record.lay_per_week
    return settings.year.lay_per_week if own is None else own


def credited_days(settings: Settings) -> int:
    """Days on which eggs of a whole season in one pen are kept."""
    start = max(settings.collect_from, settings.pen_up + dt.timedelta(days=DAYS_TO_FERTILE))
    return max((settings.collect_until - start).days + 1, 0)


def chicks_to_raise(chicks: float, wanted_chance: float, most: float) -> float:
    """Chicks a pair must raise for all that it counts.

    A pair counts for ``most`` wanted chicks at most: once as many are raised as give that number,
    no more eggs of it need be set. Where no chick is wanted, or nothing caps it, all are raised.

    Examples
    --------
    >>> chicks_to_raise(17.0, 0.5, 5.0), chicks_to_raise(8.0, 0.5, 5.0)
    (10.0, 8.0)
    >>> chicks_to_raise(8.0, 0.0, 5.0)
    8.0
    """
    return min(chicks, most / wanted_chance) if wanted_chance > 0 else chicks


def share_weight(settings: Settings) -> float:
    """The weight of recurrent share: by how much a tenth more raises a chick's worth."""
    given = settings.weights.recurrent_share
    return DEFAULT_SHARE_WEIGHT if given is None else given


def worth_of(merit: float, recurrent_share: float, centre: Centre, weight: float) -> float:
    """What one wanted chick of a pair counts, one being the mean of its line."""
    return max(LEAST_WORTH, 1 + _gained(merit, recurrent_share, centre, weight))


def worths_of(merit: Grid, recurrent_share: Grid, centre: Centre, weight: float) -> Grid:
    """The same of many pairs at once."""
    gained = _gained(merit, recurrent_share, centre, weight)
    return np.asarray(np.maximum(LEAST_WORTH, 1 + gained), dtype=np.float64)


def _gained(merit: Number, recurrent_share: Number, centre: Centre, weight: float) -> Number:
    return merit - centre.merit + weight * (recurrent_share - centre.recurrent_share) / 0.1


def value_of(wanted: float, worth: float, most: float) -> float:
    """Wanted chicks of a pair, at most ``most``, times their worth, on the grid of the program.

    Examples
    --------
    >>> value_of(12.34567, 1.1, most=9.5)
    10.45
    """
    return round(round(min(wanted, most) * worth / VALUE_STEP) * VALUE_STEP, 6)


def values_of(wanted: Grid, worth: Grid, most: float) -> Grid:
    """The same of many pairs at once.

    Examples
    --------
    >>> values_of(np.array([12.34567, 3.0]), np.array([1.1, 1.0]), most=9.5).tolist()
    [10.45, 3.0]
    """
    steps = np.rint(np.minimum(wanted, most) * worth / VALUE_STEP)
    return np.asarray((steps * VALUE_STEP).round(6), dtype=np.float64)
