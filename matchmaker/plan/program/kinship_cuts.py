"""A group's kinship in the integer program: a column for each square, held up by lines below it.

A square s = g² is bounded from below by straight lines. Where g can only be a multiple of a step δ,
the chords of the parabola between neighbouring multiples, s ≥ (2k + 1) δ g − k (k + 1) δ², hold for
every whole plan and are exact there; else the tangents are. They are added where a solution needs
them and stay for every later solve of the same program.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.program.squares import squares_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import GroupKinship
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Terms
    from matchmaker.plan.program.squares import Part, Square

NEAR: Final = 1e-6
"""How near its grid the g of a whole plan is, in steps."""

SLACK: Final = 1e-7
"""A square held up closer to its true size than this needs no further line."""

NONE: Final = -1
"""In place of a column that is not needed."""


class Line(NamedTuple):
    """A row s >= slope · g + start, over the columns of s and g."""

    s: int
    g: int
    slope: float
    start: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One square in the program: g is a column, or one that a row makes of ``sum_of``.

    ``s`` is ``NONE`` where the square has no mass and is only part of others.
    """

    g: int
    s: int
    mass: float
    step: float
    sum_of: Terms


@dataclass(slots=True, kw_only=True)
class KinshipCuts:
    """The squares of a model's program: vᵀKv as its lines hold it up, in column ``kinship``.

    ``counts`` are the columns of birds' matings that were added, with what they count; ``total``
    is what ``kinship`` adds up.
    """

    model: Model
    kinship: int = NONE
    counts: dict[int, Terms] = field(default_factory=dict)
    held: list[Held] = field(default_factory=list)
    total: Terms = field(default_factory=dict)
    lines: set[Line] = field(default_factory=set)

    def completed(self, values: Amounts) -> Amounts:
        """Return a plan's values with all columns that were added as its pairs make them."""
        program = self.model.program
        full = np.zeros(program.width)
        full[: len(values)] = values
        whole = np.array(program.whole, dtype=bool)
        full[whole] = np.round(full[whole])
        for column, terms in self.counts.items():
            full[column] = _amount(terms, full)
        for one in self.held:
            if one.sum_of:
                full[one.g] = _amount(one.sum_of, full)
            if one.s != NONE:
                full[one.s] = full[one.g] ** 2
        full[self.kinship] = _amount(self.total, full)
        return full

    def cut(self, values: Amounts) -> list[Line]:
        """Add the lines that these values fall below, whole or not, to the program; return them."""
        found = []
        for one in self.held:
            if one.s == NONE:
                continue
            g, s = float(values[one.g]), float(values[one.s])
            for slope, start in lines_at(g, one.step):
                line = Line(one.s, one.g, slope, start)
                if one.mass * (slope * g + start - s) > SLACK and line not in self.lines:
                    found.append(line)
        for line in found:
            self.lines.add(line)
            self.model.program.row({line.s: 1.0, line.g: -line.slope}, line.start, INFINITE)
        return found


def add_kinship(model: Model, group: GroupKinship) -> KinshipCuts:
    """Add columns for the kinship of the birds that a model may pair.

    Raises
    ------
    ValueError
        If a bird of the model is not in the group.
    """
    cuts = KinshipCuts(model=model)
    birds = [*model.by_hen, *model.by_cock]
    squares = squares_of(group, birds)
    matings = {bird: _matings(cuts, bird) for bird in birds}
    sums: list[Terms] = []
    for square in squares:
        sum_of = _sum_of(square.parts, matings, sums)
        sums.append(_hold(cuts, square, sum_of))
    cuts.kinship = model.column(0, INFINITE, whole=False)
    model.exactly(cuts.total | {cuts.kinship: -1.0}, 0)
    return cuts


def lines_at(g: float, step: float) -> list[tuple[float, float]]:
    """Return the lines below g² that are highest at g: (slope, value at 0).

    Without a step the tangent; at a multiple of the step the chords to either side of it.

    >>> lines_at(1.5, 1.0), lines_at(2.0, 1.0), lines_at(1.5, 0.0)
    ([(3.0, -2.0)], [(3.0, -2.0), (5.0, -6.0)], [(3.0, -2.25)])
    """
    if not step:
        return [(2 * g, -g * g)]
    near = round(g / step)
    at_one = abs(g / step - near) < NEAR
    chosen = (near - 1, near) if at_one else (math.floor(g / step),)
    return [((2 * at + 1) * step, -at * (at + 1) * step * step) for at in chosen]


def _matings(cuts: KinshipCuts, bird: str) -> Terms:
    """The matings of a bird as terms: those that may be several in one column of their own."""
    model = cuts.model
    places = model.by_hen.get(bird) or model.by_cock[bird]
    taken = model.taken(places)
    if bird in model.by_hen and len({model.layout.candidates[at].turn for at in places}) == 1:
        return taken
    count = model.count(taken, len(places))
    cuts.counts[count] = taken
    return {count: 1.0}


def _sum_of(parts: Mapping[Part, float], matings: Mapping[str, Terms], sums: list[Terms]) -> Terms:
    terms: Terms = {}
    for part, weight in parts.items():
        for column, amount in (matings[part] if isinstance(part, str) else sums[part]).items():
            terms[column] = terms.get(column, 0.0) + weight * amount
    return terms


def _hold(cuts: KinshipCuts, square: Square, sum_of: Terms) -> Terms:
    """Put a square into the program; return its g in terms.

    The square of a hen that has one place is what it is without its root.
    """
    model = cuts.model
    own = len(square.parts) == 1
    if own and set(sum_of) <= set(model.x):
        cuts.total.update(dict.fromkeys(sum_of, square.mass))
        return sum_of
    g, s = next(iter(sum_of)), NONE
    if not own:
        g = model.column(-INFINITE, INFINITE, whole=False)
        model.exactly(sum_of | {g: -1.0}, 0)
    if square.mass > 0:
        s = model.column(0, INFINITE, whole=False)
        cuts.total[s] = square.mass
    cuts.held.append(
        Held(g=g, s=s, mass=square.mass, step=square.step, sum_of={} if own else sum_of)
    )
    return {g: 1.0}


def _amount(terms: Terms, values: Amounts) -> float:
    return float(sum(weight * values[column] for column, weight in terms.items()))
