"""Holm Fen: blue eggs into light Sussex, three backcross lines and the pure one, fourth year."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from _generator.book import COCK, HEN, Bird, Book, Inheritance, dice_of
from _generator.mating import Pen, Season, Setting
from _generator.traits import Trait

TODAY = dt.date(2027, 1, 26)
SEED = 6936
BLUE, PEA = 0, 1
TRAITS = (
    Trait(name="eggs_12wk", mean=51, spread=7, h2=0.25, donor=-7, vigour=13, at_lay=True, high=84),
    Trait(
        name="egg_weight",
        mean=59,
        spread=3.4,
        h2=0.5,
        donor=-9,
        vigour=1.5,
        at_lay=True,
        step=0.5,
    ),
    Trait(
        name="weight_20wk",
        mean=2350,
        spread=190,
        h2=0.45,
        donor=-650,
        vigour=160,
        cock=620,
        step=10,
    ),
    Trait(name="type", mean=3.5, spread=0.9, h2=0.3, donor=-2.2, low=1, high=5),
    Trait(name="comb", mean=3.7, spread=0.9, h2=0.35, donor=-1.6, low=1, high=5),
    Trait(name="temper", mean=3.6, spread=0.9, h2=0.2, donor=-0.8, low=1, high=5),
)


def blue(bird: Bird) -> bool:
    """Carry at least one allele for blue shells."""
    return bird.copies(BLUE) > 0


def not_blue(bird: Bird) -> bool:
    """Carry none."""
    return not blue(bird)


def pea(bird: Bird) -> bool:
    """Show a pea comb."""
    return bird.copies(PEA) > 0


def single(bird: Bird) -> bool:
    """Show a single comb."""
    return not pea(bird)


def blue_and_pea(bird: Bird) -> bool:
    """Carry both alleles of the donor."""
    return blue(bird) and pea(bird)


@dataclass(slots=True)
class Farm:
    """Everything that happened at Holm Fen; ``pens`` are those of the last spring."""

    book: Book
    season: Season
    pens: list[Pen] = field(default_factory=list)
    successor: Bird | None = None
    two_sires: list[Bird] = field(default_factory=list)
    late: list[Bird] = field(default_factory=list)


def breed_farm() -> Farm:
    """Breed the flock from the first purchases to the late hatch of the last autumn."""
    book = Book(
        dice=dice_of(SEED),
        recurrent="sussex",
        inheritance=Inheritance(recombination=0.04),
        traits=TRAITS,
        letters={"Sussex": "S", "Alder": "A", "Birch": "B", "Cedar": "C", "araucana": "X"},
    )
    farm = Farm(book, Season(book=book, place=PEA))
    _purchases(book)
    for year, pens in ((2023, _pens_2023), (2024, _pens_2024), (2025, _pens_2025)):
        _breed_year(farm.season, year, pens(book))
        _buy_later(book, year)
    farm.season.eggs.clear()
    farm.pens = _pens_2026(book)
    _breed_2026(farm)
    _buy_later(book, 2026)
    return farm


def _purchases(book: Book) -> None:
    lots = (("Moorside", 2, 4), ("Ellerby", 1, 4), ("Hagg Bank", 1, 3), ("Withybank", 1, 3))
    for source, cocks, hens in lots:
        for sex in (COCK,) * cocks + (HEN,) * hens:
            on = dt.date(2022, 3, 12) + dt.timedelta(days=book.dice.randrange(40))
            book.founder(sex, on, "Sussex", breed="sussex", source=source)
    for sex, line in ((COCK, "Alder"), (HEN, "Birch"), (HEN, "Cedar"), (HEN, "Cedar")):
        bird = book.founder(sex, dt.date(2022, 4, 20), line, breed="araucana", source="Tofts")
        bird.note = "muffed and tailed"


def _buy_later(book: Book, year: int) -> None:
    lots = {
        2024: (("Hagg Bank", COCK, 1), ("Ellerby", HEN, 2)),
        2025: (("Moorside", COCK, 1),),
        2026: (("Withybank", COCK, 3),),
    }
    for source, sex, count in lots.get(year, ()):
        for _ in range(count):
            on = dt.date(year, 3, 28) + dt.timedelta(days=book.dice.randrange(20))
            book.founder(sex, on, "Sussex", breed="sussex", source=source)


def bought(book: Book, source: str, sex: str) -> list[Bird]:
    """Sussex birds of one source and sex, in the order in which they came."""
    return [b for b in book.birds if (b.breed, b.source, b.sex) == ("sussex", source, sex)]


def _pens_2023(book: Book) -> list[tuple[Pen, int, int]]:
    moor, ellerby = bought(book, "Moorside", COCK), bought(book, "Ellerby", COCK)
    moor_hens, ellerby_hens = bought(book, "Moorside", HEN), bought(book, "Ellerby", HEN)
    hagg, withy = bought(book, "Hagg Bank", HEN), bought(book, "Withybank", HEN)
    first, second = (*ellerby_hens[:3], *hagg[:2]), (*moor_hens[:2], *withy[:2])
    return [
        (Pen(pen="1", line="Sussex", cock=moor[0], hens=first), 1, 0),
        (Pen(pen="2", line="Sussex", cock=ellerby[0], hens=second), 1, 0),
    ]


def _pens_2024(book: Book) -> list[tuple[Pen, int, int]]:
    donors = [b for b in book.birds if b.breed == "araucana"]
    moor, hagg = bought(book, "Moorside", COCK), bought(book, "Hagg Bank", COCK)
    ellerby = bought(book, "Ellerby", COCK)
    young = book.of("Sussex", 2023, HEN)
    hens = (*bought(book, "Moorside", HEN)[2:], bought(book, "Withybank", HEN)[2])
    more = bought(book, "Ellerby", HEN)[1:4]
    return [
        (Pen(pen="1", line="Alder", cock=donors[0], hens=hens), 2, 0),
        (Pen(pen="2", line="Birch", cock=ellerby[0], hens=(donors[1],)), 3, 0),
        (Pen(pen="3", line="Cedar", cock=moor[1], hens=tuple(donors[2:])), 2, 0),
        (Pen(pen="4", line="Sussex", cock=hagg[0], hens=tuple(young[:4])), 1, 0),
        (Pen(pen="5", line="Sussex", cock=moor[1], hens=tuple(more)), 1, 0),
    ]


def _pens_2025(book: Book) -> list[tuple[Pen, int, int]]:
    cocks, withy = book.of("Sussex", 2023, COCK), bought(book, "Withybank", COCK)
    home = book.of("Sussex", 2024, COCK)
    old, young = book.of("Sussex", 2023, HEN), book.of("Sussex", 2024, HEN)
    alder, cedar = book.of("Alder", 2024, HEN), book.of("Cedar", 2024, HEN)
    birch = book.of("Birch", 2024, COCK)
    pure = Pen(pen="5", line="Sussex", cock=home[-1], hens=tuple(old[:4]), dam_known=False)
    return [
        (Pen(pen="1", line="Alder", cock=cocks[0], hens=tuple(alder[:4])), 2, 5),
        (Pen(pen="2", line="Birch", cock=birch[0], hens=tuple(young[-5:])), 2, 4),
        (Pen(pen="3", line="Cedar", cock=withy[0], hens=tuple(cedar[:3])), 2, 5),
        (Pen(pen="4", line="Sussex", cock=home[0], hens=tuple(old[4:8])), 2, 0),
        (pure, 1, 0),
    ]


def _breed_year(season: Season, year: int, pens: list[tuple[Pen, int, int]]) -> None:
    for pen, banded, unbanded in pens:
        for week in range(2):
            set_on = dt.date(year, 2, 25) + dt.timedelta(days=21 * week)
            extra = unbanded if week == 0 else 0
            season.breed(pen, Setting(set_on=set_on, banded=banded, unbanded=extra))


def _pens_2026(book: Book) -> list[Pen]:
    cocks = book.of("Sussex", 2024, COCK)
    hens = book.of("Sussex", 2024, HEN) + book.of("Sussex", 2025, HEN)
    alder = book.of("Alder", 2025, HEN, blue)[:4]
    birch = book.of("Birch", 2025, HEN, blue)[:4]
    cedar = book.of("Cedar", 2025, HEN, blue)[:2] + book.of("Cedar", 2025, HEN, not_blue)[:1]
    sires = [book.of(line, 2025, COCK, blue_and_pea)[0] for line in ("Alder", "Birch")]
    moor, withy = bought(book, "Moorside", COCK), bought(book, "Withybank", COCK)
    tested = book.of("Cedar", 2025, COCK, pea)[0]
    return [
        _pen("1", "Alder", cocks[0], alder),
        _pen("2", "Birch", cocks[-1], birch),
        _pen("3", "Cedar", cocks[1], cedar),
        _pen("4", "Alder", sires[0], hens[:4]),
        _pen("5", "Birch", sires[1], hens[4:8]),
        _pen("6", "Sussex", moor[1], hens[8:12]),
        _pen("7", "Sussex", withy[0], hens[12:16], dam_known=False),
        _pen("T", "Cedar", tested, hens[16:17]),
    ]


def _pen(pen: str, line: str, cock: Bird, hens: list[Bird], *, dam_known: bool = True) -> Pen:
    why = {"4": "cock chosen by his pea comb", "5": "cock chosen by his pea comb"}
    return Pen(
        pen=pen,
        line=line,
        cock=cock,
        hens=tuple(hens),
        dam_known=dam_known,
        why=why.get(pen, "test: does he throw pea combs?" if pen == "T" else ""),
    )


def _breed_2026(farm: Farm) -> None:
    pens = {pen.pen: pen for pen in farm.pens}
    early, later = dt.date(2026, 2, 24), dt.date(2026, 3, 17)
    banded = {"1": 2, "2": 2, "3": 3, "4": 1, "5": 1, "6": 1, "7": 1, "T": 0}
    for set_on in (early, later):
        for label, count in banded.items():
            extra = {"1": 4, "2": 5, "3": 3, "T": 9}.get(label, 0) if set_on == early else 0
            if (label, set_on) == ("2", later):
                _change_of_cocks(farm, pens["2"])
            else:
                plan = Setting(set_on=set_on, banded=count, unbanded=extra)
                farm.season.breed(pens[label], plan)
    late = Setting(set_on=dt.date(2026, 11, 3), banded=3)
    autumn = Pen(pen="1", line="Alder", cock=pens["1"].cock, hens=pens["1"].hens[:2])
    farm.late = farm.season.breed(autumn, late)


def _change_of_cocks(farm: Farm, pen: Pen) -> None:
    """The first cock of pen 2 dies on 20 March; two chicks of the change-over may be either's."""
    book = farm.book
    farm.successor = book.of("Sussex", 2025, COCK)[0]
    pen.cock.status, pen.cock.left_on = "dead", dt.date(2026, 3, 20)
    pen.cock.note = "found dead in the pen"
    after = Pen(pen=pen.pen, line=pen.line, cock=farm.successor, hens=pen.hens)
    between = Pen(pen=pen.pen, line=pen.line, cock=farm.successor, hens=pen.hens[:2])
    doubtful = Setting(set_on=dt.date(2026, 4, 1), banded=1)
    farm.two_sires = farm.season.breed(between, doubtful)
    pen_and_hen, rest = farm.season.eggs[-1][:2], farm.season.eggs[-1][3:]
    farm.season.eggs[-1] = (*pen_and_hen, "", *rest)
    for chick in farm.two_sires:
        chick.sire_cell = f"{pen.cock.band}|{farm.successor.band}"
        chick.note = "set in the change-over week"
    farm.season.breed(after, Setting(set_on=dt.date(2026, 4, 21), banded=2, unbanded=3))
