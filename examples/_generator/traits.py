"""Scored traits: how birds come by their breeding values and what the keeper measures."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random


@dataclass(frozen=True, slots=True, kw_only=True)
class Trait:
    """A scored quality of the recurrent breed, and what a donor, a cross or a cock adds to it.

    ``at_lay`` traits are measured on hens only; the others on both sexes at grading.
    """

    name: str
    mean: float
    spread: float
    h2: float
    donor: float = 0.0
    vigour: float = 0.0
    cock: float = 0.0
    low: float = 0.0
    high: float = math.inf
    step: float = 1.0
    at_lay: bool = False

    @property
    def additive_spread(self) -> float:
        """Standard deviation of breeding values, in the unit of the trait."""
        return self.spread * math.sqrt(self.h2)

    def founder_value(self, dice: random.Random) -> float:
        """Draw the breeding value of an unrelated bird."""
        return dice.gauss(0.0, self.additive_spread)

    def chick_value(self, sire: float, dam: float, dice: random.Random) -> float:
        """Draw a chick's breeding value around the mean of its parents."""
        return (sire + dam) / 2 + dice.gauss(0.0, self.additive_spread * math.sqrt(0.5))

    def measure(self, expected: float, dice: random.Random) -> float:
        """Return what is written down for a bird: chance added, rounded, within the scale."""
        value = expected + dice.gauss(0.0, self.spread * math.sqrt(1 - self.h2))
        return min(self.high, max(self.low, round(value / self.step) * self.step))
