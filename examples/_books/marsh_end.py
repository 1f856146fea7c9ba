"""Marsh End: a pea comb into Dorkings, whose single combs freeze; five springs, by one keeper.

The farm, its names and its numbers are invented; the breeds are only labels.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from _generator.book import COCK, HEN, Bird, Book, Inheritance, bands, dice_of
from _generator.mating import Pen, Season, Setting
from _generator.measure import Sheet as ScoreSheet
from _generator.plain_tables import parent
from _generator.traits import Trait

if TYPE_CHECKING:
    from _books.paper import Clean

TODAY = dt.date(2027, 1, 9)
SEED = 285
TRAITS = (
    Trait(name="weight", mean=2.4, spread=0.22, h2=0.45, cock=0.6, vigour=0.2, step=0.01),
    Trait(name="shape", mean=3.4, spread=0.9, h2=0.3, donor=-1.8, low=1, high=5),
)
HOUSES = (
    ("1", "6", "yes", ""),
    ("2", "6", "yes", "draughty in an east wind"),
    ("3", "7", "yes", ""),
    ("4", "4", "yes", ""),
    ("5", "5", "no", "roof mended"),
    ("Ark", "3", "yes", "only when it is dry"),
    ("Old stable", "8", "no", ""),
)
REUSED = {"D24-002": "402-2024", "D26-002": "402-2026"}
"""Two hens that wear the same ring, 402, and the bands that tell them apart."""
WISHES = (
    ("D23-004", "D23-001", "apart", "she eats his tail"),
    ("S26-003", "", "use", "the best toes we ever had"),
    ("D22-003", "", "rest", "five years old"),
)
STAND = {"pen_in": (2, 2), "change": (3, 15), "pen_out": (5, 30)}


def pea(bird: Bird) -> bool:
    """Show a pea comb."""
    return bird.copies(0) > 0


def single(bird: Bird) -> bool:
    """Show a single comb."""
    return not pea(bird)


@dataclass(slots=True)
class Marsh:
    """What happened at Marsh End; ``stays`` are the moves into pens and out again."""

    book: Book
    season: Season
    stays: list[tuple[str, Bird, dt.date, dt.date]] = field(default_factory=list)

    def spring(self, year: int, pens: list[Pen], chicks: dict[str, int]) -> None:
        """Pen the birds of a spring, hatch two sets of each pen, and part them again."""
        first, last = _day(year, "pen_in"), _day(year, "pen_out")
        for pen in pens:
            later = any(other.pen == pen.pen for other in pens[: pens.index(pen)])
            sooner = any(other.pen == pen.pen for other in pens[pens.index(pen) + 1 :])
            came = _day(year, "change") if later else first
            went = _day(year, "change") if sooner else last
            self.stays.append((pen.pen, pen.cock, came, went))
            if not later:
                self.stays.extend((pen.pen, hen, first, last) for hen in pen.hens)
            self._hatch(pen, dt.date(year, 3, 30 if later else 9), chicks[pen.line])

    def _hatch(self, pen: Pen, set_on: dt.date, chicks: int) -> None:
        each, more = divmod(chicks, len(pen.hens))
        lots = ((pen.hens[:more], each + 1), (pen.hens[more:], each))
        born = []
        for hens, banded in lots:
            if hens and banded:
                part = replace(pen, hens=hens)
                born += self.season.breed(part, Setting(set_on=set_on, banded=banded))
        for chick in born if not pen.dam_known else ():
            chick.dam_cell = bands(pen.hens)
        if all(hens and banded for hens, banded in lots):
            self._one_set(pen)

    def _one_set(self, pen: Pen) -> None:
        """Write the two halves of a set as one row of the incubator."""
        second, first = self.season.eggs.pop(), self.season.eggs.pop()
        pairs = zip(first[6:10], second[6:10], strict=True)
        sums = tuple(int(str(a)) + int(str(b)) for a, b in pairs)
        hen = pen.hens[0].band if len(pen.hens) == 1 else ""
        row = (first[0], hen, *first[2:6], *sums, first[10], second[11])
        self.season.eggs.append(row)


def _day(year: int, what: str) -> dt.date:
    return dt.date(year, *STAND[what])


def breed_marsh() -> Marsh:
    """Buy the founders and breed from 2023 to 2026."""
    book = Book(
        dice=dice_of(SEED),
        recurrent="dorking",
        inheritance=Inheritance(),
        traits=TRAITS,
        letters={"Dorking": "D", "brahma": "B", "Reed": "R", "Sedge": "S"},
    )
    lots = (("Bill", 2022, 4), ("Ashby", 2022, 3), ("Fenwick", 2023, 4))
    for source, year, hens in lots:
        for sex in (COCK, *(HEN,) * hens):
            book.founder(sex, dt.date(year, 4, 12), "Dorking", breed="dorking", source=source)
    for sex, line in ((COCK, "Reed"), (HEN, "Sedge"), (HEN, "Sedge")):
        born = dt.date(2022, 4, 3)
        book.founder(sex, born, line, breed="brahma", source="Coldharbour")
    marsh = Marsh(book, Season(book=book))
    for spring in (_spring_2023, _spring_2024, _spring_2025, _spring_2026):
        spring(marsh)
    _fates(book)
    return marsh


def _spring_2023(marsh: Marsh) -> None:
    book = marsh.book
    cocks = book.of("Dorking", 2022, COCK)
    hens = book.of("Dorking", 2022, HEN)
    brahma = book.of("Reed", 2022, COCK)[0]
    brahmas = tuple(book.of("Sedge", 2022, HEN))
    pens = [
        Pen(pen="1", line="Reed", cock=brahma, hens=tuple(hens[:2])),
        Pen(pen="2", line="Sedge", cock=cocks[0], hens=brahmas),
        Pen(pen="5", line="Dorking", cock=cocks[1], hens=tuple(hens[2:4]), dam_known=False),
    ]
    marsh.spring(2023, pens, {"Reed": 4, "Sedge": 4, "Dorking": 2})


def _spring_2024(marsh: Marsh) -> None:
    book = marsh.book
    dorkings = book.of("Dorking", 2022, HEN)
    fenwick = book.of("Dorking", 2023, COCK)[0]
    pens = [
        Pen(
            pen="1", line="Reed", cock=book.of("Reed", 2023, COCK, pea)[0], hens=tuple(dorkings[4:])
        ),
        Pen(pen="3", line="Sedge", cock=fenwick, hens=tuple(book.of("Sedge", 2023, HEN, pea)[:2])),
        Pen(
            pen="4",
            line="Dorking",
            cock=book.of("Dorking", 2022, COCK)[1],
            hens=tuple(dorkings[:2]),
        ),
    ]
    marsh.spring(2024, pens, {"Reed": 6, "Sedge": 6, "Dorking": 2})


def _spring_2025(marsh: Marsh) -> None:
    book = marsh.book
    fenwicks = book.of("Dorking", 2023, HEN)
    reed = book.of("Reed", 2024, COCK, pea)
    bill = book.of("Dorking", 2022, COCK)[0]
    pens = [
        Pen(pen="3", line="Reed", cock=reed[0], hens=tuple(fenwicks[:3])),
        Pen(pen="3", line="Reed", cock=reed[1], hens=tuple(fenwicks[:3])),
        Pen(pen="2", line="Sedge", cock=bill, hens=tuple(book.of("Sedge", 2024, HEN, pea)[:3])),
        Pen(
            pen="Old stable",
            line="Dorking",
            cock=book.of("Dorking", 2023, COCK)[0],
            hens=tuple(book.of("Dorking", 2022, HEN)[2:5]),
            dam_known=False,
        ),
    ]
    marsh.spring(2025, pens, {"Reed": 4, "Sedge": 6, "Dorking": 3})


def _spring_2026(marsh: Marsh) -> None:
    book = marsh.book
    young = book.of("Dorking", 2024, HEN) + book.of("Dorking", 2025, HEN)
    ashby = book.of("Dorking", 2022, COCK)[1]
    pens = [
        Pen(pen="3", line="Reed", cock=ashby, hens=tuple(book.of("Reed", 2025, HEN, pea)[:3])),
        Pen(
            pen="2",
            line="Sedge",
            cock=book.of("Sedge", 2025, COCK, pea)[0],
            hens=tuple(book.of("Dorking", 2023, HEN)[1:]),
        ),
        Pen(pen="4", line="Dorking", cock=book.of("Dorking", 2023, COCK)[0], hens=tuple(young[:2])),
    ]
    marsh.spring(2026, pens, {"Reed": 9, "Sedge": 9, "Dorking": 4})


def _fates(book: Book) -> None:
    for bird in book.birds:
        if bird.hatched.year <= 2023 and bird.line != "Dorking":
            _gone(bird, "dead", dt.date(2025, 11, 2))
        elif single(bird) and bird.line != "Dorking":
            _gone(bird, "culled", bird.hatched + dt.timedelta(days=154))
        elif bird.hatched.year == 2024 and bird.sex == COCK:
            _gone(bird, "sold", dt.date(2025, 9, 13))
    lame = book.of("Dorking", 2022, HEN)[0]
    _gone(lame, "dead", dt.date(2024, 12, 20))


def _gone(bird: Bird, how: str, on: dt.date) -> None:
    bird.status, bird.left_on = how, on


def clean_tables() -> dict[str, list[Clean]]:
    """The tables as they would be if the keeper wrote everything once, and rightly."""
    marsh = breed_marsh()
    for bird in marsh.book.birds:
        bird.band = REUSED.get(bird.band, bird.band)
    return {
        "birds": [_bird(bird) for bird in marsh.book.birds],
        "wishes": [dict(zip(("bird", "with", "wish", "why"), row, strict=True)) for row in WISHES],
        "pens": [_house(row) for row in HOUSES],
        "moves": [_stay(stay) for stay in sorted(marsh.stays, key=lambda stay: (stay[2], stay[0]))],
        "eggs": [_eggs(row) for row in marsh.season.eggs],
        "scores": _scores(marsh.book),
    }


def _bird(bird: Bird) -> Clean:
    return {
        "bird": bird.band,
        "sex": bird.sex,
        "hatched": bird.hatched.isoformat(),
        "sire": bird.sire.band if bird.sire else "",
        "dam": parent(bird.dam, bird.dam_cell),
        "line": bird.line,
        "breed": bird.breed,
        "source": bird.source,
        "status": bird.status,
        "left_on": bird.left_on.isoformat() if bird.left_on else "",
        "P": "pea" if pea(bird) else "single",
    }


def _house(row: tuple[str, str, str, str]) -> Clean:
    return dict(zip(("pen", "hens_max", "dam_known", "+notes"), row, strict=True))


def _stay(stay: tuple[str, Bird, dt.date, dt.date]) -> Clean:
    pen, bird, first, last = stay
    cells = (bird.band, pen, first.isoformat(), last.isoformat())
    return dict(zip(("bird", "pen", "moved_in", "moved_out"), cells, strict=True))


def _eggs(row: tuple[object, ...]) -> Clean:
    names = ("pen", "hen", "cock", "collected_from", "collected_to", "set_on")
    counts = ("eggs", "fertile", "hatched", "raised", "first_band", "last_band")
    return {
        name: REUSED.get(str(cell), str(cell))
        for name, cell in zip((*names, *counts), row, strict=True)
    }


def _scores(book: Book) -> list[Clean]:
    sheet = ScoreSheet(book=book, today=TODAY, dice=dice_of(SEED))
    sheet.grade(bird for bird in book.birds if bird.sire)
    return [
        {
            "bird": REUSED.get(band, band),
            "date": on.isoformat(),
            "weight": f"{got['weight']:.2f}" if "weight" in got else "",
            "shape": f"{got['shape']:.0f}" if "shape" in got else "",
        }
        for band, on, _group, got in sorted(sheet.rows, key=lambda row: (row[1], row[0]))
    ]
