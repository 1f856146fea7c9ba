"""A breeding season: pens, weekly sets, the chicks banded out of them and the eggs counted."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from _generator.book import Bird, Book, bands

HATCHING_DAYS = 21


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """One cock and his hens for a season; ``line`` is the line that the chicks join."""

    pen: str
    line: str
    cock: Bird
    hens: tuple[Bird, ...]
    dam_known: bool = True
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Eggs set on one day: chicks banded of each hen, and how many more were sold unbanded."""

    set_on: dt.date
    banded: int
    unbanded: int = 0

    @property
    def hatched(self) -> dt.date:
        """The day the chicks hatch."""
        return self.set_on + dt.timedelta(days=HATCHING_DAYS)


@dataclass(slots=True, kw_only=True)
class Season:
    """Breeds the pens of one spring and remembers the eggs and the chicks not banded."""

    book: Book
    place: int = 0
    eggs: list[tuple[object, ...]] = field(default_factory=list)
    counts: list[tuple[dt.date, Bird, Bird, int, int]] = field(default_factory=list)

    def breed(self, pen: Pen, setting: Setting) -> list[Bird]:
        """Hatch one set of a pen."""
        chicks = [
            self.book.chick(pen.cock, hen, setting.hatched, pen.line)
            for hen in pen.hens
            for _ in range(setting.banded)
        ]
        for bird in (pen.cock, *pen.hens):
            bird.last_bred = max(bird.last_bred, setting.hatched.year)
        if not pen.dam_known:
            for chick in chicks:
                chick.dam_cell = bands(pen.hens)
        for hen in pen.hens if setting.unbanded and pen.dam_known else ():
            self._count(pen.cock, hen, setting)
        self._write_eggs(pen, setting, chicks)
        return chicks

    def _count(self, cock: Bird, hen: Bird, setting: Setting) -> None:
        number = setting.unbanded + self.book.dice.randrange(5)
        shown = self.book.unbanded(cock, hen, number, self.place)
        self.counts.append((setting.hatched, hen, cock, shown, number - shown))

    def _write_eggs(self, pen: Pen, setting: Setting, chicks: list[Bird]) -> None:
        dice = self.book.dice
        hatched = len(chicks) + sum(
            shown + hidden
            for on, hen, cock, shown, hidden in self.counts
            if on == setting.hatched and cock is pen.cock and hen in pen.hens
        )
        fertile = hatched + dice.randrange(1, 2 + hatched // 3)
        eggs = fertile + dice.randrange(1, 2 + fertile // 4)
        week = dt.timedelta(days=7)
        self.eggs.append(
            (pen.pen, pen.hens[0].band if len(pen.hens) == 1 else "", pen.cock.band)
            + (setting.set_on - week, setting.set_on - dt.timedelta(days=1), setting.set_on)
            + (eggs, fertile, hatched, len(chicks))
            + ((chicks[0].band, chicks[-1].band) if chicks else ("", ""))
        )
