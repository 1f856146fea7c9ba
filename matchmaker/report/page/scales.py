"""Axes with round numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from matchmaker.report.page.drawing import Axis

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

ROUND: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
"""A step between two numbers of an axis is one of these times a power of ten."""


def round_step(length: float, steps: int) -> float:
    """The least round step of which no more than ``steps`` span a length.

    Examples
    --------
    >>> round_step(0.113, 4), round_step(40.0, 5), round_step(0.0, 4)
    (0.05, 10.0, 1.0)
    """
    if not length > 0:
        return 1.0
    rough = length / steps
    power = 10.0 ** math.floor(math.log10(rough))
    return next(one * power for one in ROUND if one * power >= rough * (1 - 1e-9))


def axis(
    title: str, values: Iterable[float], text: Callable[[float], str], *, zero: bool = False
) -> Axis:
    """An axis that holds all values; from 0 where ``zero`` says so.

    Examples
    --------
    >>> found = axis("eggs", [3.0, 11.0], "{:g}".format, zero=True)
    >>> found.low, found.high, [word for _, word in found.ticks]
    (0.0, 15.0, ['0', '5', '10', '15'])
    """
    known = [*values, *([0.0] if zero else [])] or [0.0]
    low, high = min(known), max(known)
    step = round_step(high - low or abs(high) or 1.0, 4)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    last += first == last
    ticks = tuple((at * step, text(round(at * step, 9))) for at in range(first, last + 1))
    return Axis(title=title, low=first * step, high=last * step, ticks=ticks)


def whole_axis(title: str, numbers: Iterable[int], *, room: float = 0.35) -> Axis:
    """An axis of years or of other whole numbers, every one written while there is room.

    Examples
    --------
    >>> whole_axis("season", [2026, 2028]).ticks
    ((2026, '2026'), (2027, '2027'), (2028, '2028'))
    """
    known = sorted(numbers) or [0]
    low, high = known[0], known[-1]
    each = max(1, math.ceil((high - low) / 5))
    ticks = tuple((at, str(at)) for at in range(low, high + 1, each))
    return Axis(title=title, low=low - room, high=high + room, ticks=ticks)
