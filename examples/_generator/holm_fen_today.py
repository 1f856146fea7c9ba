"""Holm Fen today: which birds are left, and what the keeper never wrote down or wrote badly."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from _generator.book import COCK, HEN, Bird, Book
from _generator.fate import Fate
from _generator.holm_fen import (
    TODAY,
    Farm,
    blue,
    blue_and_pea,
    bought,
    not_blue,
    pea,
    single,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


def decide(farm: Farm) -> Fate:
    """Choose the 73 birds still on the farm, and let the others go."""
    fate = Fate(farm.book, TODAY)
    fate.stay([*_old_cocks(farm), *farm.late[:5], *farm.pens[0].hens[:2]])
    fate.stay(bought(farm.book, "Withybank", COCK)[1:])
    _backcross_birds(farm, fate)
    fate.choose(("Sussex", 2023, HEN), 2)
    fate.choose(("Sussex", 2024, HEN), 6)
    fate.choose(("Sussex", 2025, HEN), 6)
    fate.choose(("Sussex", 2026, HEN), 7)
    fate.choose(("Sussex", 2025, COCK), 2)
    fate.choose(("Sussex", 2026, COCK), 3)
    _late_death(farm)
    fate.settle()
    _test_cock_stays(farm)
    _quarantine(farm.book)
    _lapses(farm)
    return fate


def _old_cocks(farm: Farm) -> list[Bird]:
    moor = bought(farm.book, "Moorside", COCK)
    withy = bought(farm.book, "Withybank", COCK)[0]
    withy.hens_max, withy.fertility = "4", "0.70"
    withy.note = "slowing down, lame in frost"
    successor = [farm.successor] if farm.successor else []
    return [withy, moor[1], moor[2], farm.pens[0].cock, *successor]


def _backcross_birds(farm: Farm, fate: Fate) -> None:
    fate.choose(("Alder", 2024, HEN), 1)
    fate.choose(("Alder", 2026, HEN), 6, blue)
    fate.choose(("Alder", 2026, HEN), 2, not_blue)
    fate.stay(farm.pens[1].hens[:2])
    fate.choose(("Birch", 2026, HEN), 5, blue)
    fate.choose(("Birch", 2026, HEN), 2, not_blue)
    fate.choose(("Cedar", 2026, HEN), 1, blue)
    fate.choose(("Cedar", 2026, HEN), 4, not_blue)
    fate.choose(("Alder", 2026, COCK), 3, blue_and_pea)
    fate.choose(("Birch", 2026, COCK), 1, lambda bird: blue(bird) and single(bird))
    fate.choose(("Birch", 2026, COCK), 1, pea)
    fate.choose(("Birch", 2026, COCK), 1, not_blue)
    fate.choose(("Cedar", 2026, COCK), 1, blue_and_pea)
    fate.choose(("Cedar", 2026, COCK), 1, not_blue)


def living(farm: Farm, line: str, year: int, sex: str) -> list[Bird]:
    """Grown living birds of a line, hatching year and sex, in band order."""
    return farm.book.of(line, year, sex, lambda bird: bird.alive and bird.status != "young")


def tested_cocks(farm: Farm) -> tuple[Bird, Bird]:
    """The two young cocks whose feathers went to the laboratory: a pea comb, a single one."""
    return (
        living(farm, "Alder", 2026, COCK)[0],
        next(bird for bird in living(farm, "Birch", 2026, COCK) if blue(bird) and single(bird)),
    )


def comb_unwritten(farm: Farm) -> Bird:
    """The young cock whose comb nobody wrote down."""
    return living(farm, "Alder", 2026, COCK)[2]


def comb_only(farm: Farm) -> Bird:
    """Cedar's young cock that is taken for a carrier because of his comb alone."""
    return next(bird for bird in living(farm, "Cedar", 2026, COCK) if pea(bird))


def last_carrier(farm: Farm) -> Bird:
    """Cedar's only hen that lays blue."""
    return next(bird for bird in living(farm, "Cedar", 2026, HEN) if blue(bird))


def not_laying_yet(farm: Farm) -> Bird:
    """A pullet of Birch whose first egg is still awaited."""
    return living(farm, "Birch", 2026, HEN)[-1]


def _late_death(farm: Farm) -> None:
    dead = farm.late[5]
    dead.status, dead.left_on = "dead", dt.date(2026, 12, 19)
    for bird in farm.late:
        bird.sex_cell = ""
        bird.note = "broody hen's late hatch"
        if bird.alive:
            bird.status = "young"


def _test_cock_stays(farm: Farm) -> None:
    """Cedar's cock of the test pen, whose first band broke, is kept until his genes are plain."""
    cock = farm.pens[-1].cock
    broken, cock.band = cock.band, "C12"
    cock.status, cock.left_on = "breeder", None
    cock.note = f"band {broken} broke, wears C12 now; test pen: does he carry blue?"
    farm.season.eggs = [
        tuple(cock.band if cell == broken else cell for cell in row) for row in farm.season.eggs
    ]


def _quarantine(book: Book) -> None:
    released, waiting = bought(book, "Withybank", COCK)[-2:]
    for bird, until in ((released, dt.date(2027, 1, 29)), (waiting, dt.date(2027, 2, 20))):
        bird.status, bird.release_on = "quarantine", until
        bird.note = "came from Withybank at the turn of the year"


def _lapses(farm: Farm) -> None:
    book = farm.book
    founders = [bird for bird in book.birds if bird.source]
    founders[3].date_cell, founders[8].date_cell, founders[11].date_cell = "", "2022", ""
    for bird in founders[:6]:
        bird.sire_cell = bird.dam_cell = "founder"
    gone = book.of("Sussex", 2026, HEN, lambda bird: not bird.alive)
    for bird in (living(farm, "Sussex", 2026, HEN)[0], *gone[:1]):
        bird.sire_cell, bird.note = "", "sire not written down"
    for bird in book.birds:
        if bird.status == "dead" and bird.left_on and (bird.left_on - bird.hatched).days < 80:
            bird.sex_cell = ""
    _defects(farm)
    _roles(farm)


def _defects(farm: Farm) -> None:
    living(farm, "Alder", 2026, HEN)[-2].defects = "crooked toes"
    living(farm, "Sussex", 2026, COCK)[0].defects = "side sprig"
    gone = [bird for bird in farm.book.birds if bird.status == "culled"]
    gone[4].defects, gone[9].defects = "wry tail", "split wing"


def _roles(farm: Farm) -> None:
    for bird in (*living(farm, "Sussex", 2026, COCK)[1:2], _single_birch_cock(farm)):
        bird.status = "spare"
    for bird, rate in zip(_old_hens(farm), ("3.5", "3", "4.5", "3.5"), strict=False):
        bird.lay_per_week = rate
    comb_only(farm).note = "carrier by comb only, no test yet"
    comb_unwritten(farm).note = "comb not written down at hatch, dubbed since"
    not_laying_yet(farm).note = "moulted in autumn, not laying yet"
    last_carrier(farm).note = "only blue layer left in Cedar"


def _single_birch_cock(farm: Farm) -> Bird:
    return next(bird for bird in living(farm, "Birch", 2026, COCK) if not_blue(bird))


def _old_hens(farm: Farm) -> Iterator[Bird]:
    yield from living(farm, "Sussex", 2023, HEN)
    yield from living(farm, "Sussex", 2024, HEN)
