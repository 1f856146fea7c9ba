"""Tarn Croft: chocolate, recessive on the Z, into black Hamburgh bantams; second year."""

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
    from collections.abc import Iterator
    from pathlib import Path

    from _generator.files import Row

TODAY = dt.date(2027, 1, 17)
SEED = 1
SCORING_SEED = 7
TRAITS = (
    Trait(name="eggs_12wk", mean=46, spread=6, h2=0.25, donor=-8, vigour=7, at_lay=True, high=84),
    Trait(name="type", mean=3.4, spread=0.9, h2=0.3, donor=-1.8, low=1, high=5),
    Trait(name="comb", mean=3.6, spread=0.8, h2=0.35, donor=-2, low=1, high=5),
)
PEN_ROWS: tuple[Row, ...] = (
    ("Top", 5, "yes", ""),
    ("Barn", 5, "no", ""),
    ("Orchard", 5, "no", ""),
    ("Gate", 4, "yes", ""),
    ("Ark", 3, "yes", "movable, out of the wind only"),
)
BIRD_COLUMNS = (
    *("Band", "Sex", "Born", "Father", "Mother", "Line", "Breed", "Bought from", "Status"),
    *("Left", "Defects", "choc", "Leg colour", "Remarks"),
)


@dataclass(slots=True)
class Croft:
    """What happened at Tarn Croft so far; ``pens`` are those of the first spring."""

    book: Book
    season: Season
    pens: list[Pen] = field(default_factory=list)


def write(folder: Path) -> None:
    """Write every table of Tarn Croft into the folder."""
    croft = breed_croft()
    write_table(folder / "birds.csv", BIRD_COLUMNS, map(_bird_row, croft.book.birds))
    write_table(folder / "pens.csv", ("pen", "places", "trap nests", "remarks"), PEN_ROWS)
    seen_columns = ("date", "bird", "hen", "cock", "locus", "what", "how")
    write_table(folder / "seen.csv", seen_columns, _seen_rows(croft))
    sheet = Sheet(book=croft.book, today=TODAY, dice=dice_of(SCORING_SEED))
    sheet.grade(croft.book.birds)
    sheet.record_lay(croft.book.birds)
    columns = ("band", "date", "group", *trait_names(croft.book))
    write_table(folder / "scores.csv", columns, score_rows(sheet, dt.date.isoformat))
    write_table(folder / "wishes.csv", ("bird", "with", "wish", "why"), _wish_rows(croft.book))
    write_table(folder / "plan.csv", ("pen", "line", "cock", "hen", "why"), plan_rows(croft.pens))


def breed_croft() -> Croft:
    """Buy the founders, breed the first spring, and note who is gone."""
    book = Book(
        dice=dice_of(SEED),
        recurrent="hamburgh",
        inheritance=Inheritance(z_linked=True, recessive=True),
        traits=TRAITS,
        letters={"Hamburgh": "H", "Chocolate": "CH", "Cocoa": "CO", "orpington": "OR"},
    )
    lots = (("Beckside", 2024, 4), ("Fell End", 2024, 3), ("Kirkby", 2025, 3))
    for source, year, hens in lots:
        for sex in (COCK, *(HEN,) * hens):
            book.founder(sex, dt.date(year, 5, 1), "Hamburgh", breed="hamburgh", source=source)
    for line in ("Chocolate", "Chocolate", "Cocoa"):
        book.founder(HEN, dt.date(2025, 4, 2), line, breed="orpington", source="Lowther")
    croft = Croft(book, Season(book=book))
    croft.pens = _first_pens(book)
    _breed_first_spring(croft)
    _lapses(book)
    return croft


def _first_pens(book: Book) -> list[Pen]:
    beck, fell = book.of("Hamburgh", 2024, COCK)
    kirkby = book.of("Hamburgh", 2025, COCK)[0]
    chocolate, cocoa = book.of("Chocolate", 2025, HEN), book.of("Cocoa", 2025, HEN)
    hens = book.of("Hamburgh", 2024, HEN)[:4]
    why = "as last spring: a Hamburgh cock, and his pullets stay"
    return [
        Pen(pen="Top", line="Chocolate", cock=beck, hens=tuple(chocolate), why=why),
        Pen(pen="Gate", line="Cocoa", cock=kirkby, hens=tuple(cocoa), why=why),
        Pen(pen="Barn", line="Hamburgh", cock=fell, hens=tuple(hens), dam_known=False),
    ]


def _breed_first_spring(croft: Croft) -> None:
    for set_on in (dt.date(2026, 3, 3), dt.date(2026, 3, 24)):
        for pen, banded, unbanded in zip(croft.pens, (2, 3, 1), (5, 6, 0), strict=True):
            croft.season.breed(pen, Setting(set_on=set_on, banded=banded, unbanded=unbanded))


def _lapses(book: Book) -> None:
    for bird in book.birds[:13]:
        bird.date_cell = str(bird.hatched.year)
    book.birds[2].date_cell = ""
    _gone(book.of("Hamburgh", 2024, HEN)[-1], "dead", dt.date(2026, 8, 9), "fox")
    _gone(book.of("Chocolate", 2026, HEN)[-1], "sold", dt.date(2026, 10, 4), "to the school")
    book.of("Hamburgh", 2026, HEN)[0].defects = "side sprig"
    for bird in book.of("Chocolate", 2026, COCK) + book.of("Cocoa", 2026, COCK):
        bird.note = "black, but the chocolate is in him"


def _gone(bird: Bird, how: str, on: dt.date, note: str) -> None:
    bird.status, bird.left_on, bird.note = how, on, note


def _bird_row(bird: Bird) -> Row:
    donor = bird.breed == "orpington"
    return (
        bird.band,
        "m" if bird.sex == COCK else "f",
        bird.hatched if bird.date_cell is None else bird.date_cell,
        parent(bird.sire, bird.sire_cell),
        parent(bird.dam, bird.dam_cell),
        bird.line,
        bird.breed,
        bird.source,
        bird.status,
        bird.left_on,
        bird.defects,
        "chocolate" if all(gene == "1" for gene in bird.genes) else "black",
        "pale" if donor else "slate",
        bird.note,
    )


def _seen_rows(croft: Croft) -> Iterator[Row]:
    for donor in croft.book.of("Chocolate", 2025, HEN):
        yield (dt.date(2025, 9, 14), donor.band, "", "", "choc", "chocolate", "report")
    for on, hen, cock, shown, hidden in croft.season.counts:
        words = ((hidden, "black"), (shown, "chocolate"))
        what = ", ".join(f"{count} {word}" for count, word in words if count)
        yield (on, "", hen.band, cock.band, "choc", what, "day-old")


def _wish_rows(book: Book) -> Iterator[Row]:
    best = book.of("Chocolate", 2026, COCK)[0]
    hen, other = book.of("Hamburgh", 2025, HEN)[:2]
    yield (best.band, "", "use", "the best comb of last year's cockerels")
    yield (hen.band, best.band, "apart", "she chases him off the feeder")
    yield (other.band, "", "rest", "moulted late")
