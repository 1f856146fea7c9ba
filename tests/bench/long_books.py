"""Invented books of many years as workbooks: thousands of birds, most of them long dead."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import xlsxwriter

from tests.builders import TOP, table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from tests.builders import Row

LINES: Final = ("Pure", "Alder", "Birch")
HALF: Final = "sussex:0.5|araucana:0.5"
LAST: Final = 2026
"""The year before the season that is planned."""

BREEDING: Final = (5, 30)
"""Cocks and hens of each line that have chicks in a year."""

LIVING: Final = (10, 90)
"""Cocks and hens of each line that are on the farm."""

PENS: Final = 30
UNSURE: Final = 0.1
"""Part of the chicks of which two cocks may be the sire."""

NO_SIRE: Final = 0.02
"""Part of the chicks of which nobody knows the sire."""

SEEN: Final = 0.6
"""Part of the hens of the backcross lines whose eggs were looked at."""

SETTINGS: Final = """
[traits.eggs]
direction = "up"
weight = 0.3
sex = "hen"
[traits.weight]
optimum = 2.5
weight = 0.2
unit = "kg"
"""

WRONG: Final = ("sire", "dam", "hatched", "sex", "bird", "status")
"""What one row in so many has wrong, in turn."""


@dataclass(slots=True)
class _Books:
    rng: random.Random
    seen_from: int
    rows: list[dict[str, str]] = field(default_factory=list)
    last_hatch: dict[str, list[dict[str, str]]] = field(default_factory=dict)

    def found(self, year: int) -> None:
        """Write down the first birds of each line."""
        for line in LINES:
            breed = "sussex" if line == "Pure" else HALF
            for at in range(sum(BREEDING)):
                sex = "cock" if at < BREEDING[0] else "hen"
                self._write(year, line, at, sex, sire="founder", dam="founder", breed=breed)

    def hatch(self, year: int, chicks: int) -> None:
        """Write down the chicks of a year, by parents of the year before."""
        old = self.last_hatch
        self.last_hatch = {}
        for line in LINES:
            cocks, hens = (
                self._some(old[line], sex, most)
                for sex, most in zip(("cock", "hen"), BREEDING, strict=True)
            )
            for at in range(chicks // len(LINES)):
                sires = self.rng.sample(cocks, 2 if self.rng.random() < UNSURE else 1)
                sire = "" if self.rng.random() < NO_SIRE else "|".join(sires)
                sex = self.rng.choice(("cock", "hen"))
                self._write(year, line, at, sex, sire=sire, dam=self.rng.choice(hens), breed="")

    def _eggs(self, year: int, line: str) -> str:
        looked_at = line != "Pure" and self.rng.random() < SEEN
        return "blue" if looked_at and year >= self.seen_from else ""

    def _some(self, rows: list[dict[str, str]], sex: str, most: int) -> list[str]:
        bands = [row["bird"] for row in rows if row["sex"] == sex]
        return self.rng.sample(bands, min(most, len(bands)))

    def _write(self, year: int, line: str, at: int, sex: str, **cells: str) -> None:
        day = dt.date(year, 3, 1) + dt.timedelta(days=7 * (at % 8))
        row = {
            "bird": f"{line[0]}{year % 100}-{at:03}",
            "sex": sex,
            "hatched": day.isoformat(),
            **{name: cells[name] for name in ("sire", "dam")},
            "line": line,
            "breed": cells["breed"],
            "status": "dead",
            "left_on": dt.date(year + 1, 10, 1).isoformat(),
            "O": self._eggs(year, line) if sex == "hen" else "",
        }
        self.rows.append(row)
        self.last_hatch.setdefault(line, []).append(row)


def long_books(birds: int, *, years: int = 10, seen: int = 10) -> list[dict[str, str]]:
    """Rows of so many birds (nearly), of which the youngest of each line are alive.

    Of the hens of the last ``seen`` years it is written, for the most part, what eggs they lay.
    """
    books = _Books(random.Random(1), seen_from=LAST - seen + 1)  # noqa: S311
    founded = LAST - years
    books.found(founded)
    for year in range(founded + 1, LAST + 1):
        books.hatch(year, (birds - len(LINES) * sum(BREEDING)) // years)
    for line in LINES:
        for sex, most in zip(("cock", "hen"), LIVING, strict=True):
            here = [row for row in books.last_hatch[line] if row["sex"] == sex]
            for row in here[:most]:
                row.update(status="breeder", left_on="")
            for row in here[most:]:
                row.update(left_on="2026-10-01")
    return books.rows


def with_faults(rows: Sequence[Row], *, every: int, seed: int = 1) -> list[dict[str, str]]:
    """The rows with a slip of the pen in one of so many: letters exchanged, a date impossible."""
    rng = random.Random(f"faults {seed}")  # noqa: S311
    spoilt = [dict(row) for row in rows]
    for at in range(every - 1, len(spoilt), every):
        column = WRONG[at // every % len(WRONG)]
        spoilt[at][column] = _slip(spoilt[at][column], column, rng)
    return spoilt


def _slip(cell: str, column: str, rng: random.Random) -> str:
    if column == "hatched":
        return cell.replace(cell[:4], str(int(cell[:4]) + 3), 1)
    if column == "sex":
        return {"cock": "hen", "hen": "cock"}[cell]
    if len(cell) < 2:
        return cell
    at = rng.randrange(len(cell) - 1)
    return cell[:at] + cell[at + 1] + cell[at] + cell[at + 2 :]


def scores_of(rows: Sequence[Row], seed: int = 1) -> Iterator[Row]:
    """A score of each bird."""
    rng = random.Random(f"scores {seed}")  # noqa: S311
    for row in rows:
        yield {
            "bird": row["bird"],
            "date": f"{row['hatched'][:4]}-09-15",
            "eggs": str(rng.randint(30, 60)) if row["sex"] == "hen" else "",
            "weight": f"{rng.uniform(2, 3):.2f} kg".replace(".", ","),
        }


def write_long_books(path: Path, rows: Sequence[Row]) -> Path:
    """A folder whose tables of birds and scores are workbooks, dates in them as dates."""
    path.mkdir(parents=True)
    wanted = "".join(f"[lines.{line}]\nchicks_wanted = 60\n" for line in LINES)
    (path / "matchmaker.toml").write_text(TOP + SETTINGS + wanted, encoding="utf-8")
    pens = [{"pen": f"{at + 1}", "hens_max": "8", "dam_known": "no"} for at in range(PENS)]
    (path / "pens.csv").write_text(table(pens), encoding="utf-8")
    write_book(path / "birds.xlsx", rows)
    write_book(path / "scores.xlsx", list(scores_of(rows)))
    return path


def write_book(file: Path, rows: Sequence[Row]) -> None:
    """One sheet of rows; days are typed as days."""
    with xlsxwriter.Workbook(file, {"default_date_format": "d/m/yyyy"}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, list(rows[0]))
        for at, row in enumerate(rows, 1):
            for place, (column, cell) in enumerate(row.items()):
                _write_cell(sheet, at, place, column, cell)


def _write_cell(
    sheet: xlsxwriter.worksheet.Worksheet, row: int, at: int, column: str, cell: str
) -> None:
    if column in {"hatched", "left_on", "date"} and cell:
        sheet.write_datetime(row, at, dt.datetime.fromisoformat(cell))
    elif cell.isdigit():
        sheet.write_number(row, at, int(cell))
    else:
        sheet.write_string(row, at, cell)
