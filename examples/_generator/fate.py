"""What became of the birds: who stays, and when and how the others left."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from _generator.book import Bird, Book, Test, anything

if TYPE_CHECKING:
    from collections.abc import Iterable


class Fate:
    """Chooses the birds that are still on the farm; all others get a day and a way of leaving."""

    def __init__(self, book: Book, today: dt.date) -> None:
        self._book, self._today = book, today
        self._staying: set[str] = set()

    def stay(self, birds: Iterable[Bird]) -> list[Bird]:
        """Keep these birds."""
        kept = list(birds)
        self._staying.update(bird.band for bird in kept)
        return kept

    def choose(self, kind: tuple[str, int, str], count: int, test: Test = anything) -> list[Bird]:
        """Keep that many birds of a line, year and sex that pass the test, first bands first."""
        line, year, sex = kind
        free = [
            bird
            for bird in self._book.of(line, year, sex, test)
            if bird.band not in self._staying and not bird.left_on
        ]
        if len(free) < count:
            msg = f"only {len(free)} of {count} birds of {kind}"
            raise ValueError(msg)
        return self.stay(free[:count])

    def settle(self) -> None:
        """Let every bird that was not kept leave, after its last season as a parent."""
        for bird in self._book.birds:
            if bird.band not in self._staying and bird.alive:
                self._leave(bird)

    def _leave(self, bird: Bird) -> None:
        dice = self._book.dice
        if bird.last_bred:
            bird.left_on = dt.date(bird.last_bred, 7, 1) + dt.timedelta(dice.randrange(90))
            bird.status = "dead" if dice.random() < 0.3 else "sold"
        elif dice.random() < 0.15:
            bird.left_on = bird.hatched + dt.timedelta(dice.randrange(4, 80))
            bird.status = "dead"
        else:
            bird.left_on = bird.hatched + dt.timedelta(dice.randrange(145, 265))
            bird.status = "culled" if dice.random() < 0.6 else "sold"
        bird.left_on = min(bird.left_on, self._today)
