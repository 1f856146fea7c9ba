"""What a search for plans with kinship in them asks for, and what it finds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.plan.program.program import INFINITE

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What a search maximises, and what it keeps to: kinship at most, value at least."""

    goal: Terms
    kinship_max: float = INFINITE
    value_min: float = -INFINITE

    def at_price(self, kinship: int, price: float) -> Aim:
        """Return the same without its limit, each unit of the ``kinship`` column at a price."""
        asked = self.goal.get(kinship, 0.0) - price
        return replace(self, goal=self.goal | {kinship: asked}, kinship_max=INFINITE)

    def for_least(self, kinship: int) -> Aim:
        """Return one that asks for as little of the ``kinship`` column as can be."""
        return replace(self, goal={kinship: -1.0}, kinship_max=INFINITE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The best plan of an aim, what it comes to, and the bound that was proved on that."""

    values: Amounts
    goal: float
    bound: float

    @property
    def proved(self) -> bool:
        """Whether no plan can be better."""
        return self.bound - self.goal <= tolerance.OBJECTIVE * max(1.0, abs(self.goal))


class NoSuchPlanError(Exception):
    """No plan keeps to what an aim asks: proved."""


def amount(terms: Terms, values: Amounts) -> float:
    """What terms come to at these values by column."""
    return float(sum(weight * values[column] for column, weight in terms.items()))
