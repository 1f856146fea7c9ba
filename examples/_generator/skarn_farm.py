"""Skarn Farm: lavender, an autosomal recessive, into black Croad Langshans; third year."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from _generator.book import COCK, HEN, Bird, Book, Inheritance, dice_of
from _generator.files import write_table
from _generator.mating import Pen, Season, Setting
from _generator.measure import Sheet
from _generator.plain_tables import parent, plan_rows, score_rows, trait_names
from _generator.traits import Trait

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from _generator.files import Row

TODAY = dt.date(2027, 1, 20)
SEED = 168
SCORING_SEED = 7
TRAITS = (
    Trait(name="weight_kg", mean=2.7, spread=0.22, h2=0.45, donor=-0.2, cock=0.7, step=0.05),
    Trait(name="feather", mean=3.8, spread=0.8, h2=0.3, donor=-1.2, low=1, high=5),
    Trait(name="shell_shade", mean=6.8, spread=1.1, h2=0.5, donor=-3, low=1, high=9, at_lay=True),
)
PEN_ROWS: tuple[Row, ...] = (
    ("1", 6, 1, "yes", ""),
    ("2", 6, 1, "yes", ""),
    ("3", 6, 2, "no", ""),
    ("4", 5, 1, "no", ""),
    ("5", 5, 1, "no", ""),
    ("6", 4, 1, "yes", ""),
)
BIRD_COLUMNS = (
    *("bird", "sex", "hatched", "sire", "dam", "line", "breed", "source", "status", "left_on"),
    *("defects", "lav", "shank_feather", "notes"),
)


@dataclass(slots=True)
class Farm:
    """What happened at Skarn Farm so far; ``pens`` are those of last spring."""

    book: Book
    season: Season
    pens: list[Pen] = field(default_factory=list)


def write(folder: Path) -> None:
    """Write every table of Skarn Farm into the folder."""
    farm = breed_farm()
    _table(folder / "birds.csv", BIRD_COLUMNS, map(_bird_row, farm.book.birds))
    _table(folder / "pens.csv", ("pen", "hens_max", "hens_min", "dam_known", "notes"), PEN_ROWS)
    seen_columns = ("date", "bird", "hen", "cock", "locus", "what", "how")
    _table(folder / "seen.csv", seen_columns, _seen_rows(farm))
    sheet = Sheet(book=farm.book, today=TODAY, dice=dice_of(SCORING_SEED))
    sheet.grade(farm.book.birds)
    sheet.record_lay(farm.book.birds)
    columns = ("bird", "date", "group", *trait_names(farm.book))
    _table(folder / "scores.csv", columns, score_rows(sheet, day_first, ","))
    _table(folder / "wishes.csv", ("bird", "with", "wish", "why"), _wish_rows(farm.book))
    _table(folder / "plan.csv", ("pen", "line", "cock", "hen", "why"), plan_rows(farm.pens))


def _table(path: Path, header: Sequence[str], rows: Iterable[Row]) -> None:
    write_table(path, header, rows, delimiter=";", bom=path.stem == "birds")


def day_first(day: dt.date | None) -> str:
    """Write a date the way this keeper does."""
    return f"{day:%d/%m/%Y}" if day else ""


def breed_farm() -> Farm:
    """Buy the founders and breed two springs: the first cross, then three kinds of crossing."""
    book = Book(
        dice=dice_of(SEED),
        recurrent="langshan",
        inheritance=Inheritance(recessive=True),
        traits=TRAITS,
        letters={"Langshan": "L", "Rowan": "R", "Juniper": "J", "Bracken": "B", "orpington": "D"},
    )
    farm = Farm(book, Season(book=book))
    _purchases(book)
    _breed(farm.season, _pens_2025(book), 2025, (1, 3, 1), (0, 0, 0))
    farm.pens = _pens_2026(book)
    _breed(farm.season, farm.pens, 2026, (2, 1, 1), (6, 0, 0))
    for sex in (COCK, HEN, HEN):
        hatched = dt.date(2026, 4, 8)
        book.founder(sex, hatched, "Langshan", breed="langshan", source="Sandvik")
    _test_chicks(farm)
    _lapses(book)
    return farm


def _purchases(book: Book) -> None:
    for source, year, hens in (("Nordvik", 2023, 4), ("Ytter", 2024, 3)):
        for sex in (COCK, *(HEN,) * hens):
            on = dt.date(year, 4, 3) + dt.timedelta(days=book.dice.randrange(30))
            book.founder(sex, on, "Langshan", breed="langshan", source=source)
    for sex, line in ((COCK, "Rowan"), (HEN, "Juniper")):
        donor = book.founder(sex, dt.date(2024, 5, 11), line, breed="orpington", source="Lund")
        donor.note = "lavender, clean legs; brother and sister"


def _pens_2025(book: Book) -> list[Pen]:
    nordvik, ytter = book.of("Langshan", 2023, COCK)[0], book.of("Langshan", 2024, COCK)[0]
    old, young = book.of("Langshan", 2023, HEN), book.of("Langshan", 2024, HEN)
    donor_cock, donor_hen = book.of("Rowan", 2024, COCK)[0], book.of("Juniper", 2024, HEN)[0]
    return [
        Pen(pen="1", line="Rowan", cock=donor_cock, hens=tuple(old[:3])),
        Pen(pen="2", line="Juniper", cock=ytter, hens=(donor_hen,)),
        Pen(pen="3", line="Langshan", cock=nordvik, hens=tuple(young)),
    ]


def _pens_2026(book: Book) -> list[Pen]:
    rowan_cock, juniper_cock = book.of("Rowan", 2025, COCK)[0], book.of("Juniper", 2025, COCK)[0]
    langshan = book.of("Langshan", 2025, COCK)[0]
    why = "first crosses of two lines, to see the lavender again"
    return [
        Pen(
            pen="1",
            line="Bracken",
            cock=rowan_cock,
            hens=tuple(book.of("Juniper", 2025, HEN)[:3]),
            why=why,
        ),
        Pen(pen="2", line="Rowan", cock=langshan, hens=tuple(book.of("Rowan", 2025, HEN)[:2])),
        Pen(
            pen="3",
            line="Juniper",
            cock=juniper_cock,
            hens=tuple(book.of("Langshan", 2023, HEN)[1:4]),
        ),
    ]


def _breed(
    season: Season, pens: list[Pen], year: int, banded: Sequence[int], unbanded: Sequence[int]
) -> None:
    for set_on in (dt.date(year, 2, 24), dt.date(year, 3, 17)):
        for pen, kept, sold in zip(pens, banded, unbanded, strict=True):
            season.breed(pen, Setting(set_on=set_on, banded=kept, unbanded=sold))


def _test_chicks(farm: Farm) -> None:
    """A young Juniper cock was put to the lavender hen in autumn."""
    cock, hen = _tested(farm.book), farm.book.of("Juniper", 2024, HEN)[0]
    shown = farm.book.unbanded(cock, hen, 6, 0)
    farm.season.counts.append((dt.date(2026, 11, 21), hen, cock, shown, 6 - shown))


def _tested(book: Book) -> Bird:
    return book.of("Juniper", 2026, COCK)[0]


def _lapses(book: Book) -> None:
    book.of("Langshan", 2023, HEN)[0].date_cell = ""
    _gone(book.of("Rowan", 2024, COCK)[0], "sold", dt.date(2026, 9, 12))
    _gone(book.of("Langshan", 2023, COCK)[0], "dead", dt.date(2026, 7, 30))
    _gone(book.of("Juniper", 2025, COCK)[-1], "culled", dt.date(2025, 10, 1))
    book.of("Bracken", 2026, COCK)[-1].defects = "wry tail"
    _tested(book).note = "put to the lavender hen in autumn"


def _gone(bird: Bird, how: str, on: dt.date) -> None:
    bird.status, bird.left_on = how, on


def _bird_row(bird: Bird) -> Row:
    founder = bird.sire is None
    return (
        bird.band,
        bird.sex,
        day_first(bird.hatched) if bird.date_cell is None else bird.date_cell,
        parent(bird.sire, "founder" if founder else None),
        parent(bird.dam, "founder" if founder else None),
        bird.line,
        bird.breed,
        bird.source,
        bird.status,
        day_first(bird.left_on),
        bird.defects,
        "lavender" if bird.copies(0) == 2 else "black",
        "clean" if bird.breed == "orpington" else "",
        bird.note,
    )


def _seen_rows(farm: Farm) -> Iterator[Row]:
    for on, hen, cock, shown, hidden in farm.season.counts:
        words = ((hidden, "black"), (shown, "lavender"))
        what = ", ".join(f"{count} {word}" for count, word in words if count)
        yield (day_first(on), "", hen.band, cock.band, "lav", what, "day-old")


def _wish_rows(book: Book) -> Iterator[Row]:
    lavender = next(b for b in book.of("Bracken", 2026, HEN) if b.copies(0) == 2)
    rowan = book.of("Rowan", 2025, HEN)[0]
    yield (lavender.band, "", "use", "best feathered of the lavender pullets")
    yield (rowan.band, _tested(book).band, "apart", "wait for more of his test chicks")
