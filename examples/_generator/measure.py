"""The score sheets: which birds were measured when, with the luck of their hatch in it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from _generator.book import COCK, HEN, Bird, Book

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable

    from _generator.traits import Trait

GRADING_DAYS = 140
LAY_DAYS = 275


@dataclass(slots=True, kw_only=True)
class Sheet:
    """Rows of ``scores.csv``: band, date, group and the measures by trait."""

    book: Book
    today: dt.date
    dice: random.Random
    rows: list[tuple[str, dt.date, str, dict[str, float]]] = field(default_factory=list)
    luck: dict[tuple[str, str], float] = field(default_factory=dict)

    def grade(self, birds: Iterable[Bird]) -> None:
        """Weigh and judge at twenty weeks every bird that lived so long."""
        for bird in birds:
            self._score(bird, GRADING_DAYS, at_lay=False)

    def record_lay(self, birds: Iterable[Bird], days: int = LAY_DAYS) -> None:
        """Write down the laying record of the hens among the birds."""
        for bird in birds:
            if bird.sex == HEN:
                self._score(bird, days, at_lay=True)

    def _score(self, bird: Bird, days: int, *, at_lay: bool) -> None:
        on = bird.hatched + dt.timedelta(days=days)
        if on > (bird.left_on or self.today):
            return
        group = f"{bird.hatched:%Y-%m}"
        measures = {
            trait.name: trait.measure(self._expected(bird, trait, group), self.dice)
            for trait in self.book.traits
            if trait.at_lay == at_lay and self.dice.random() < 0.96
        }
        if measures:
            self.rows.append((bird.band, on, group, measures))

    def _expected(self, bird: Bird, trait: Trait, group: str) -> float:
        return (
            trait.mean
            + trait.donor * (1 - bird.recurrent_share)
            + trait.vigour * bird.crossed_share
            + trait.cock * (bird.sex == COCK)
            + bird.breeding_values[trait.name]
            + self._hatch_luck(group, trait)
        )

    def _hatch_luck(self, group: str, trait: Trait) -> float:
        key = (group, trait.name)
        if key not in self.luck:
            self.luck[key] = self.dice.gauss(0.0, 0.35 * trait.spread)
        return self.luck[key]
