"""A clean flock raises no doubt; spoilt in one place it is told there, and mends mend it."""

from __future__ import annotations

import copy
import datetime as dt
import random
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.flock.flock import check_flock
from matchmaker.tables.nearness import Lexicon, Likeness, Near
from matchmaker.tables.read import read_folder
from tests.builders import TOP, write_flock

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.errors import Fault

LINES = ("Alder", "Birch")
FIRST, LAST = 2022, 2026
SETTINGS = 'today = 2026-12-01\nseason = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'

Rows = list[dict[str, str]]


@dataclass
class Book:
    """A keeper's tables, as rows of cells."""

    birds: Rows = field(default_factory=list)
    moves: Rows = field(default_factory=list)
    scores: Rows = field(default_factory=list)

    def findings(self) -> list[Fault]:
        """Return all that is found in these tables."""
        with tempfile.TemporaryDirectory() as folder:
            path = write_flock(
                Path(folder), self.birds, "", SETTINGS, moves=self.moves, scores=self.scores
            )
            faults, doubts = check_flock(read_folder(path))
        return [*faults, *(one for one in doubts if one.kind != "trait-without-aim")]

    def mended(self, found: list[Fault]) -> Book:
        """Return the book with every cell of these mends written, rows that go taken out."""
        book = copy.deepcopy(self)
        cells = [cell for one in found for cell in one.mends]
        for cell in cells:
            row = getattr(book, cell.table)[cell.row - 2]
            assert not cell.column or row[cell.column] == cell.was
            row.update({cell.column: cell.becomes} if cell.becomes is not None else {})
        gone = {(cell.table, cell.row) for cell in cells if cell.becomes is None}
        for table, row in sorted(gone, reverse=True):
            del getattr(book, table)[row - 2]
        return book

    def parents(self) -> Counter[str]:
        """How many chicks each bird has."""
        return Counter(row[side] for row in self.birds for side in ("sire", "dam"))


def clean_book(dice: random.Random) -> Book:
    """Return the tables of a flock kept without a slip: two lines, a pen each, five years."""
    book = Book()
    for line in LINES:
        kept: dict[str, list[str]] = {"cock": [], "hen": []}
        for number in range(6):
            _hatch(book, kept, line, FIRST, number, ("founder", "founder"))
        for year in range(FIRST + 1, LAST + 1):
            sire, dams = dice.choice(kept["cock"]), sorted(dice.sample(kept["hen"], 2))
            for band in (sire, *dams):
                _stay(book, band, line, year)
            born: dict[str, list[str]] = {"cock": [], "hen": []}
            for number in range(8):
                _hatch(book, born, line, year, number, (sire, dams[number % 2]))
            kept = born if dice.random() < 0.5 else {sex: kept[sex] + born[sex] for sex in kept}
    return book


def _hatch(
    book: Book,
    kept: dict[str, list[str]],
    line: str,
    year: int,
    number: int,
    parents: tuple[str, str],
) -> None:
    band, sex = f"{line[0]}{year % 100}-{number + 1:03d}", ("cock", "hen", "hen")[number % 3]
    day = dt.date(year, 4, 1) + dt.timedelta(days=7 * (number // 4))
    founder = parents[0] == "founder"
    book.birds.append(
        {
            "bird": band,
            "sex": sex,
            "hatched": str(day),
            "sire": parents[0],
            "dam": parents[1],
            "line": line,
            "breed": "sussex" if founder else "",
            "source": "Hill" if founder else "",
            "status": "breeder" if year >= LAST - 1 else "dead",
        }
    )
    weighed = str(day + dt.timedelta(days=140))
    book.scores.append({"bird": band, "date": weighed, "weight": str(2000 + number)})
    kept[sex].append(band)


def _stay(book: Book, band: str, line: str, year: int) -> None:
    pen = {"Alder": "Yard", "Birch": "Orchard"}[line]
    stay = {"bird": band, "pen": pen, "moved_in": f"{year}-02-01", "moved_out": f"{year}-05-10"}
    book.moves.append(stay)


def _pick(dice: random.Random, rows: Rows, wanted: Callable[[dict[str, str]], bool]) -> int:
    return dice.choice([at for at, row in enumerate(rows) if wanted(row)])


Told = tuple[str, str, int, str]
"""Kind, file, row, column."""


def sire_in_small_letters(book: Book, dice: random.Random) -> Told:
    at = _pick(dice, book.birds, lambda row: row["sire"] != "founder")
    book.birds[at]["sire"] = book.birds[at]["sire"].lower()
    return ("unknown-parent", "birds.csv", at + 2, "sire")


def score_with_letter_for_figure(book: Book, dice: random.Random) -> Told:
    at = _pick(dice, book.scores, lambda row: "00" in row["bird"])
    book.scores[at]["bird"] = book.scores[at]["bird"].replace("0", "O")
    return ("unknown-bird", "scores.csv", at + 2, "bird")


def row_written_twice(book: Book, dice: random.Random) -> Told:
    book.birds.append(dict(dice.choice(book.birds)))
    return ("row-twice", "birds.csv", len(book.birds) + 1, "bird")


def band_used_again(book: Book, dice: random.Random) -> Told:
    one = dice.choice(book.birds)
    other = {**one, "hatched": str(int(one["hatched"][:4]) + 1) + one["hatched"][4:]}
    book.birds.append({**other, "sire": "", "dam": "", "source": "Hill"})
    return ("band-reused", "birds.csv", len(book.birds) + 1, "bird")


def hen_written_as_cock(book: Book, dice: random.Random) -> Told:
    chicks = book.parents()
    at = _pick(dice, book.birds, lambda row: row["sex"] == "hen" and chicks[row["bird"]] > 2)
    book.birds[at]["sex"] = "cock"
    return ("sex-contradicted", "birds.csv", at + 2, "sex")


def line_in_small_letters(book: Book, dice: random.Random) -> Told:
    at = dice.randrange(len(book.birds))
    book.birds[at]["line"] = book.birds[at]["line"].lower()
    return ("similar-names", "birds.csv", at + 2, "line")


def sign_nobody_sees(book: Book, dice: random.Random) -> Told:
    chicks = book.parents()
    at = _pick(dice, book.birds, lambda row: not chicks[row["bird"]])
    band = book.birds[at]["bird"]
    book.scores = [row for row in book.scores if row["bird"] != band]
    book.birds[at]["bird"] = band[:3] + "\u200b" + band[3:]
    return ("unseen-signs", "birds.csv", at + 2, "bird")


def stay_without_end(book: Book, dice: random.Random) -> Told:
    at = dice.randrange(len(book.moves))
    stay = book.moves[at]
    stay["moved_out"] = ""
    later = stay["moved_in"].replace("-02-", "-09-")
    book.moves.append({**stay, "pen": "Barn", "moved_in": later, "moved_out": later})
    book.moves[-1]["moved_out"] = later.replace("-09-", "-10-")
    following = [
        number
        for number, row in enumerate(book.moves)
        if row["bird"] == stay["bird"] and row["moved_in"] > stay["moved_in"]
    ]
    first = min(following, key=lambda number: book.moves[number]["moved_in"])
    return ("two-pens-at-once", "moves.csv", first + 2, "moved_in")


def dam_in_another_pen(book: Book, dice: random.Random) -> Told:
    dams = {(row["dam"], row["hatched"][:4]) for row in book.birds}
    at = _pick(dice, book.moves, lambda row: (row["bird"], row["moved_in"][:4]) in dams)
    stay = book.moves[at]
    stay["pen"] = "Barn"
    chick = next(
        number
        for number, row in enumerate(book.birds)
        if row["dam"] == stay["bird"] and row["hatched"][:4] == stay["moved_in"][:4]
    )
    return ("parents-apart", "birds.csv", chick + 2, "sire")


def parents_left_out(book: Book, dice: random.Random) -> Told:
    at = _pick(dice, book.birds, lambda row: row["sire"] != "founder")
    book.birds[at].update(sire="", dam="")
    return ("parents-forgotten", "birds.csv", at + 2, "sire")


def death_not_written(book: Book, dice: random.Random) -> Told:
    busy = {row["bird"] for row in book.moves if row["moved_in"] > "2024-12"}
    busy |= {
        row[side] for row in book.birds if row["hatched"] > "2024-12" for side in ("sire", "dam")
    }
    at = _pick(dice, book.birds, lambda row: row["hatched"] < "2024" and row["bird"] not in busy)
    book.birds[at]["status"] = "breeder"
    return ("long-unseen", "birds.csv", at + 2, "status")


SAFE = (
    sire_in_small_letters,
    row_written_twice,
    line_in_small_letters,
    sign_nobody_sees,
)
DEFINITE = (
    score_with_letter_for_figure,
    hen_written_as_cock,
    band_used_again,
    stay_without_end,
)
ASKED = (dam_in_another_pen, parents_left_out, death_not_written)

SEEDS = st.integers(0, 10**6)


@settings(max_examples=6, deadline=None)
@given(seed=SEEDS)
def test_a_clean_flock_raises_no_doubt(seed: int) -> None:
    assert clean_book(random.Random(seed)).findings() == []  # noqa: S311


@pytest.mark.parametrize("spoil", [*SAFE, *DEFINITE, *ASKED], ids=lambda spoil: spoil.__name__)
@settings(max_examples=3, deadline=None)
@given(seed=SEEDS)
def test_one_slip_is_told_at_its_cell_and_its_mend_mends_it(
    spoil: Callable[[Book, random.Random], Told], seed: int
) -> None:
    dice = random.Random(seed)  # noqa: S311
    book = clean_book(dice)
    told = spoil(book, dice)
    found = book.findings()
    here = [one for one in found if (one.kind, one.file, one.row, one.column) == told]
    assert len(here) == 1, [(one.kind, one.file, one.row, one.column) for one in found]
    assert here[0].safe is (spoil in SAFE)
    assert bool(here[0].mends) is (spoil not in ASKED)
    left = {one.kind for one in book.mended(here).findings()} if spoil not in ASKED else set()
    open_still = {"unknown-bird", "unknown-parent"} if spoil is band_used_again else set()
    assert left - open_still <= {one.kind for one in found} - {told[0]}


def test_the_book_of_the_tests_has_what_its_slips_need() -> None:
    book = clean_book(random.Random(1))  # noqa: S311
    assert (len(book.birds), len(book.moves), len(book.scores)) == (76, 24, 76)
    assert TOP.splitlines()[0] in SETTINGS


def distance(one: str, two: str) -> int:
    """Letters put in, left out, changed or exchanged with their neighbours, reckoned step by step.

    The textbook table of the distance of optimal string alignment, from memory.
    """
    steps = [[max(row, column) for column in range(len(two) + 1)] for row in range(len(one) + 1)]
    for row in range(1, len(one) + 1):
        for column in range(1, len(two) + 1):
            other = one[row - 1] != two[column - 1]
            ways = [steps[row - 1][column] + 1, steps[row][column - 1] + 1]
            ways.append(steps[row - 1][column - 1] + other)
            pair = one[row - 2 : row], two[column - 2 : column][::-1]
            if min(row, column) > 1 and pair[0] == pair[1]:
                ways.append(steps[row - 2][column - 2] + 1)
            steps[row][column] = min(ways)
    return steps[-1][-1]


WORDS = st.text("ab7", min_size=4, max_size=7)


@settings(max_examples=60, deadline=None)
@given(typed=WORDS, names=st.lists(WORDS, min_size=1, max_size=12, unique=True))
def test_the_names_one_letter_off_are_all_found(typed: str, names: list[str]) -> None:
    found = Lexicon(names).near(typed)
    off = tuple(name for name in names if distance(typed, name) == 1)
    if typed in names:
        assert found == Near(names=(typed,), likeness=Likeness.SPACING)
    elif off:
        assert found == Near(names=off, likeness=Likeness.LETTER)
    else:
        assert found.likeness is Likeness.SHAPE
