"""The squares that a group's kinship is a sum of, as few as tell its birds apart.

Of all forebears many are of no interest: one behind a single bird adds to that bird's own square,
and the two parents of one family have the same part of it.
"""

from __future__ import annotations

import heapq
import math
import zlib
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Final, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.plan.posing.problem import GroupKinship

DENOMINATOR_MAX: Final = 4096
"""Weights that are no fraction of so many parts are taken as of any size."""

DIGITS: Final = 13
"""Decimals of masses and weights: what rounding leaves over must not hang on the books' order."""

NATURE_DIGITS: Final = 9
"""Decimals by which squares are told apart when they are put in order."""

SAME: Final = 1e-11
"""Weights closer than this are the same: what halving again and again may leave over."""

DUST: Final = 1e-12
"""Weights of less than this part of the largest are what rounding left of nothing."""

Part: TypeAlias = "str | int"
"""A bird, by its band, or an earlier square, by its number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """One term ``mass`` · g² of a group's kinship, g the sum of ``parts`` times their weights.

    For whole matings g is a multiple of ``step``; 0 where no step is known.
    """

    mass: float
    parts: Mapping[Part, float]
    step: float


@dataclass(slots=True)
class _Found:
    """Squares in the making, youngest forebears first.

    ``nature`` is a number made of the birds behind a square and their parts, the same whatever the
    order of the books, by which squares are put in order.
    """

    masses: list[list[float]] = field(default_factory=list)
    parts: list[dict[Part, float]] = field(default_factory=list)
    nature: list[float] = field(default_factory=list)
    known: dict[tuple[tuple[Part, float], ...], int] = field(default_factory=dict)

    def add(self, sum_of: dict[Part, float], within: float) -> tuple[int, float]:
        """Count a forebear; say which square it is part of and how many times its g."""
        least = DUST * max(abs(weight) for weight in sum_of.values())
        sum_of = {part: weight for part, weight in sum_of.items() if abs(weight) > least}
        alone = next(iter(sum_of)) if len(sum_of) == 1 else None
        scale = sum_of[alone] if alone is not None else max(sum_of.values(), key=abs)
        at = alone if isinstance(alone, int) else self._square(sum_of, scale)
        self.masses[at].append(within * scale**2)
        return at, scale

    def _square(self, sum_of: dict[Part, float], scale: float) -> int:
        scaled = {part: round(weight / scale, DIGITS) for part, weight in sum_of.items()}
        entries = tuple(sorted(scaled.items(), key=lambda entry: (str(entry[0]), entry[1])))
        at = self.known.setdefault(entries, len(self.masses))
        if at == len(self.masses):
            self.masses.append([])
            self.parts.append(scaled)
            self.nature.append(math.fsum(w * self._number(part) for part, w in scaled.items()))
        return at

    def _number(self, part: Part) -> float:
        if isinstance(part, int):
            return self.nature[part]
        return (zlib.crc32(part.encode()) + 1) / 2**32


def squares_of(group: GroupKinship, birds: Iterable[str]) -> tuple[Square, ...]:
    """Return the squares that vᵀKv is a sum of, where only ``birds`` have matings v.

    A square's parts come before it.

    Raises
    ------
    ValueError
        If a bird is not in the group.

    Examples
    --------
    Full sibs: each has a square of its own, and both parents have that of the family, of which
    each had a quarter before.

    >>> from matchmaker.plan.posing.problem import GroupKinship
    >>> sibs = GroupKinship(
    ...     parents=((), (), ((0, 0.5), (1, 0.5)), ((0, 0.5), (1, 0.5))),
    ...     within=(0.5, 0.5, 0.25, 0.25),
    ...     birds=(("C", 2), ("D", 3)),
    ... )
    >>> [(one.mass, dict(one.parts), one.step) for one in squares_of(sibs, ["C", "D"])]
    [(0.25, {'C': 1.0}, 1.0), (0.25, {'D': 1.0}, 1.0), (0.25, {0: 1.0, 1: 1.0}, 1.0)]
    """
    node_of = dict(group.birds)
    sums: dict[int, dict[Part, float]] = defaultdict(dict)
    for bird in sorted(set(birds)):
        if bird not in node_of:
            raise ValueError(f"{bird} is not in the group whose kinship is asked for")
        sums[node_of[bird]][bird] = 1.0
    found = _Found()
    for node in range(len(group.parents) - 1, -1, -1):
        if node in sums:
            at, scale = found.add(sums.pop(node), group.within[node])
            for parent, weight in group.parents[node]:
                sums[parent][at] = sums[parent].get(at, 0.0) + weight * scale
    return _in_order(found)


def _in_order(found: _Found) -> tuple[Square, ...]:
    """The squares in an order that only birds and their forebears decide, parts before wholes."""
    waiting = [sum(isinstance(part, int) for part in parts) for parts in found.parts]
    wholes: dict[int, list[int]] = defaultdict(list)
    for at, parts in enumerate(found.parts):
        for part in parts:
            if isinstance(part, int):
                wholes[part].append(at)
    ready = [
        (round(found.nature[at], NATURE_DIGITS), at) for at, left in enumerate(waiting) if not left
    ]
    heapq.heapify(ready)
    place: dict[Part, int] = {}
    squares: list[Square] = []
    while ready:
        _, at = heapq.heappop(ready)
        place[at] = len(squares)
        squares.append(_square(found, at, place, squares))
        for whole in wholes[at]:
            waiting[whole] -= 1
            if not waiting[whole]:
                heapq.heappush(ready, (round(found.nature[whole], NATURE_DIGITS), whole))
    return tuple(squares)


def _square(found: _Found, at: int, place: Mapping[Part, int], earlier: Sequence[Square]) -> Square:
    parts: list[tuple[Part, float]] = [
        (place.get(part, part), weight) for part, weight in found.parts[at].items()
    ]
    parts.sort(key=lambda entry: _by_part(entry[0]))
    step = _step((1.0 if isinstance(p, str) else earlier[p].step, w) for p, w in parts)
    return Square(
        mass=round(math.fsum(found.masses[at]), DIGITS),
        parts=dict(parts),
        step=step,
    )


def _by_part(part: Part) -> tuple[bool, int, str]:
    """Birds by band, then squares by number."""
    return (True, part, "") if isinstance(part, int) else (False, 0, part)


def _step(parts: Iterable[tuple[float, float]]) -> float:
    """The largest step that every part's step times its weight is a multiple of; 0 if unknown."""
    total = Fraction(0)
    for step, weight in parts:
        close = Fraction(weight).limit_denominator(DENOMINATOR_MAX)
        if not step or abs(float(close) - weight) > SAME * abs(weight):
            return 0.0
        total = _common(total, close * Fraction(step).limit_denominator(DENOMINATOR_MAX))
        if total.denominator > DENOMINATOR_MAX:
            return 0.0
    return float(total)


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The largest fraction that both are multiples of."""
    while other:
        one, other = other, one % other
    return one
