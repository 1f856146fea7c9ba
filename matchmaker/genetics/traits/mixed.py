"""Scores of one trait that seem to be written in two units, as grams and kilograms."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.surprise import FEW_VALUES, few_steps

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes

EMPTY_STRETCH: Final = 5.0
"""Between two units no score lies on a stretch whose ends are so many times apart, or more."""

UNIT_RATIOS: Final = (10.0, 100.0, 1000.0)
"""How many times one unit of common use is the other."""

NEAR_RATIO: Final = 2.0
"""The medians of the two sets are apart by such a number, give or take this factor."""

FEWEST_IN_SET: Final = 2
"""A single score of its own kind is a slip, not a unit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedUnits:
    """Two sets of scores that are about 10, 100 or 1000 times apart.

    ``fewer`` (shape (m,)) are the numbers of the scores in the smaller set (of the lower ones if
    both are as large), ``others`` (shape (n,)) of those in the other; the medians are in the
    trait's unit as written.
    """

    fewer: Nodes
    others: Nodes
    fewer_median: float
    others_median: float


def mixed_units(written: Matrix) -> MixedUnits | None:
    """The two sets, ``None`` if the scores seem to be in one unit; ``written`` is (records,).

    Notes
    -----
    The scores above 0 are parted at their widest empty stretch, as a ratio, that leaves two at
    least on either side. Points of few steps are left alone, and so are whole numbers ten times
    apart: counts have no unit, and a poor layer lays a tenth of a good one.

    Examples
    --------
    >>> found = mixed_units(np.array([2.4, 2.6, 2300.0, 2450.0, 2200.0]))
    >>> found.fewer.tolist(), found.fewer_median, found.others_median
    ([0, 1], 2.5, 2300.0)
    >>> mixed_units(np.array([4.0, 5.0, 48.0, 51.0, 55.0])) is None
    True
    >>> mixed_units(np.array([2.4, 2300.0, 2450.0, 2200.0])) is None
    True
    """
    parted = None if _points(written) else _parted(written)
    if parted is None:
        return None
    low, high = parted
    medians = float(np.median(written[low])), float(np.median(written[high]))
    if not _units_apart(medians[1] / medians[0], whole=_whole(written)):
        return None
    if len(low) <= len(high):
        return _mixed(low, high, medians)
    return _mixed(high, low, (medians[1], medians[0]))


def _points(written: Matrix) -> bool:
    return bool(len(written)) and few_steps(written) and bool(written.max() <= FEW_VALUES)


def _parted(written: Matrix) -> tuple[Nodes, Nodes] | None:
    """Lower and higher scores above 0, ``None`` if no stretch between them is wide enough."""
    positive = np.flatnonzero(written > 0)
    order = positive[np.argsort(written[positive], kind="stable")]
    widths = np.diff(np.log(written[order]))[FEWEST_IN_SET - 1 : 1 - FEWEST_IN_SET]
    if not len(widths) or widths.max() < np.log(EMPTY_STRETCH):
        return None
    end = int(widths.argmax()) + FEWEST_IN_SET
    return order[:end], order[end:]


def _whole(written: Matrix) -> bool:
    return bool((written == np.round(written)).all())


def _units_apart(ratio: float, *, whole: bool) -> bool:
    ratios = UNIT_RATIOS[1:] if whole else UNIT_RATIOS
    return any(unit / NEAR_RATIO <= ratio <= unit * NEAR_RATIO for unit in ratios)


def _mixed(fewer: Nodes, others: Nodes, medians: tuple[float, float]) -> MixedUnits:
    return MixedUnits(
        fewer=np.sort(fewer),
        others=np.sort(others),
        fewer_median=medians[0],
        others_median=medians[1],
    )
