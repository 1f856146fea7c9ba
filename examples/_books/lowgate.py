"""Lowgate: silver, dominant on the Z, into gold Welsummers; two springs, kept in another country.

The farm, its names and its numbers are invented; the breeds are only labels.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from _generator.book import COCK, HEN, Bird, Book, Inheritance, dice_of
from _generator.mating import Pen, Season, Setting
from _generator.measure import Sheet as ScoreSheet
from _generator.traits import Trait

if TYPE_CHECKING:
    from _books.paper import Clean

TODAY = dt.date(2026, 12, 28)
SEED = 4
TRAITS = (
    Trait(name="weight", mean=2.0, spread=0.18, h2=0.45, cock=0.5, donor=-0.4, step=0.05),
    Trait(name="type", mean=3.4, spread=0.9, h2=0.3, donor=-1.8, low=1, high=5),
)
STALLS = (
    ("Åkra", "5", "yes", ""),
    ("Brønn", "5", "yes", "by the well"),
    ("Grüne Hütte", "4", "no", "new roof in 2025"),
    ("Dypdal", "6", "no", ""),
)
FIRST, LAST = (1, 31), (5, 12)


def silver(bird: Bird) -> bool:
    """Show silver."""
    return bird.copies(0) > 0


def breed_lowgate() -> tuple[Book, Season, list[tuple[str, Bird, int]]]:
    """Buy the founders and breed the springs of 2025 and 2026."""
    book = Book(
        dice=dice_of(SEED),
        recurrent="welsummer",
        inheritance=Inheritance(z_linked=True),
        traits=TRAITS,
        letters={"Gold": "W", "leghorn": "L", "North": "N", "South": "S"},
    )
    for source, hens in (("Müller", 3), ("Ødegård", 4)):
        for sex in (COCK, *(HEN,) * hens):
            book.founder(sex, dt.date(2024, 4, 16), "Gold", breed="welsummer", source=source)
    book.founder(COCK, dt.date(2024, 3, 25), "North", breed="leghorn", source="Françoise")
    season, stays = Season(book=book), list[tuple[str, Bird, int]]()
    for year, pens, chicks in ((2025, _pens_2025, (6, 3)), (2026, _pens_2026, (6, 5, 4))):
        for pen, count in zip(pens(book), chicks, strict=True):
            stays += [(pen.pen, bird, year) for bird in (pen.cock, *pen.hens)]
            _hatch(season, pen, dt.date(year, 3, 10), count)
    for bird in book.birds:
        if bird.line != "Gold" and bird.hatched.year == 2026 and not silver(bird):
            bird.status, bird.left_on = "sold", dt.date(2026, 10, 24)
    return book, season, stays


def _pens_2025(book: Book) -> list[Pen]:
    gold = book.of("Gold", 2024, HEN)
    leghorn = book.of("North", 2024, COCK)[0]
    return [
        Pen(pen="Åkra", line="North", cock=leghorn, hens=tuple(gold[:3])),
        Pen(pen="Dypdal", line="Gold", cock=book.of("Gold", 2024, COCK)[1], hens=(gold[3],)),
    ]


def _pens_2026(book: Book) -> list[Pen]:
    gold, cocks = book.of("Gold", 2024, HEN), book.of("Gold", 2024, COCK)
    crossed = book.of("North", 2025, COCK)
    return [
        Pen(pen="Åkra", line="North", cock=crossed[0], hens=tuple(gold[4:6])),
        Pen(pen="Brønn", line="South", cock=cocks[1], hens=tuple(book.of("North", 2025, HEN)[:2])),
        Pen(pen="Grüne Hütte", line="Gold", cock=cocks[0], hens=(gold[3], gold[6])),
    ]


def _hatch(season: Season, pen: Pen, set_on: dt.date, chicks: int) -> None:
    """Hatch a set, the first hens with one chick more where it does not go up evenly."""
    each, more = divmod(chicks, len(pen.hens))
    setting = Setting(set_on=set_on, banded=each)
    if more:
        plenty = replace(setting, banded=each + 1)
        season.breed(replace(pen, hens=pen.hens[:more]), plenty)
        setting = replace(setting, set_on=set_on + dt.timedelta(days=1))
    season.breed(replace(pen, hens=pen.hens[more:]), setting)


def clean_tables() -> dict[str, list[Clean]]:
    """The tables as they would be if the keeper wrote everything once, and rightly."""
    book, season, stays = breed_lowgate()
    return {
        "birds": [_bird(bird) for bird in book.birds],
        "pens": [
            dict(zip(("pen", "hens_max", "dam_known", "+notes"), row, strict=True))
            for row in STALLS
        ],
        "moves": [_stay(*stay) for stay in stays],
        "eggs": [_eggs(row) for row in season.eggs],
        "scores": _scores(book),
    }


def _bird(bird: Bird) -> Clean:
    return {
        "bird": bird.band,
        "sex": bird.sex,
        "hatched": bird.hatched.isoformat(),
        "sire": bird.sire.band if bird.sire else "",
        "dam": bird.dam.band if bird.dam else "",
        "line": bird.line,
        "breed": bird.breed,
        "source": bird.source,
        "status": bird.status,
        "left_on": bird.left_on.isoformat() if bird.left_on else "",
        "S": "silver" if silver(bird) else "gold",
    }


def _stay(pen: str, bird: Bird, year: int) -> Clean:
    days = [dt.date(year, *day).isoformat() for day in (FIRST, LAST)]
    return dict(zip(("bird", "pen", "moved_in", "moved_out"), (bird.band, pen, *days), strict=True))


def _eggs(row: tuple[object, ...]) -> Clean:
    names = ("pen", "hen", "cock", "collected_from", "collected_to", "set_on")
    counts = ("eggs", "fertile", "hatched", "raised", "first_band", "last_band")
    return {name: str(cell) for name, cell in zip((*names, *counts), row, strict=True)}


def _scores(book: Book) -> list[Clean]:
    sheet = ScoreSheet(book=book, today=TODAY, dice=dice_of(SEED))
    sheet.grade(bird for bird in book.birds if bird.sire)
    return [
        {
            "bird": band,
            "date": on.isoformat(),
            "weight": f"{got['weight']:.2f}" if "weight" in got else "",
            "type": f"{got['type']:.0f}" if "type" in got else "",
        }
        for band, on, _group, got in sorted(sheet.rows, key=lambda row: (row[1], row[0]))
    ]
