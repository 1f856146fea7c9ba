"""Every bird once: rows written twice, bands used again in another year, names beside bands."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import Entry, letters
from matchmaker.intake.ledger import NO, YES
from matchmaker.intake.model import Question
from matchmaker.tables.cells import read_cell
from matchmaker.tables.columns import BIRDS
from matchmaker.tables.nearness import one_apart, shorter, without_signs
from matchmaker.tables.reading import Hints

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.intake.ledger import Ledger

TWO: Final = "two birds"
ONE: Final = "one bird"


@dataclass(slots=True, kw_only=True)
class Bands:
    """The birds of the book by band, by a name beside it, and by the band before it was parted."""

    birds: dict[str, Entry] = field(default_factory=dict)
    parted: dict[str, list[str]] = field(default_factory=dict)
    by_name: dict[str, list[str]] = field(default_factory=dict)
    by_letters: dict[str, list[str]] = field(default_factory=dict)
    by_look: dict[str, list[str]] = field(default_factory=dict)
    shortened: dict[str, list[str]] = field(default_factory=dict)

    def add(self, entry: Entry) -> None:
        """List a bird under its band and the names beside it."""
        band = entry.values["bird"]
        self.birds[band] = entry
        self.by_letters.setdefault(letters(band), []).append(band)
        self.by_look.setdefault(look_alike(band), []).append(band)
        for short in shorter(letters(band)):
            self.shortened.setdefault(short, []).append(band)
        for name in entry.names:
            self.by_name.setdefault(letters(name), []).append(band)

    def near(self, text: str) -> list[str]:
        """The bands that look like a text, else those one letter or two exchanged away from it.

        Examples
        --------
        >>> bands = Bands()
        >>> for band in ("C04", "C14", "H12", "H22"):
        ...     row = Entry(table="birds", file="fen.csv", sheet="", row=2, values={"bird": band})
        ...     bands.add(row)
        >>> bands.near("CO4"), bands.near("H21")
        (['C04'], ['H12', 'H22'])
        """
        alike = self.by_look.get(look_alike(text), [])
        if alike:
            return alike
        wanted = letters(text)
        found = [band for short in shorter(wanted) for band in self.shortened.get(short, [])]
        return [band for band in dict.fromkeys(found) if _one_off(wanted, letters(band))]

    def year(self, band: str) -> int | None:
        """The year in which a bird hatched, if the book says so."""
        hatched = self.birds[band].values.get("hatched", "") if band in self.birds else ""
        return int(hatched[:4]) if hatched else None


def look_alike(band: str) -> str:
    """A band with letters that look like figures written as figures.

    Examples
    --------
    >>> look_alike("CO4") == look_alike("C-04")
    True
    """
    return without_signs(band) or band


def take_birds(entries: Sequence[Entry], ledger: Ledger) -> tuple[list[Entry], Bands]:
    """Return the rows with each bird once, and its index; rows without a band are left."""
    rows = [entry for entry in entries if entry.table == "birds"]
    banded = [entry for entry in rows if _has_band(entry, ledger)]
    alike: dict[str, list[Entry]] = defaultdict(list)
    for entry in banded:
        alike[entry.values["bird"]].append(entry)
    bands, kept = Bands(), []
    for band, same in alike.items():
        found = same if len(same) == 1 else _told_apart(band, same, bands, ledger)
        kept += found
    order = {id(entry): at for at, entry in enumerate(rows)}
    kept.sort(key=lambda entry: order[id(entry)])
    for entry in kept:
        bands.add(entry)
    return [*kept, *(entry for entry in entries if entry.table != "birds")], bands


def drop_doubles(entries: Sequence[Entry], ledger: Ledger) -> list[Entry]:
    """Return the rows without those that say word for word what an earlier one says."""
    first: dict[tuple[str, ...], Entry] = {}
    for entry in entries:
        if entry.table in _ONCE and entry.beside is None:
            said = sorted((column, cell.text) for column, cell in entry.cells.items())
            key = (entry.table, *(word for pair in said for word in pair), *entry.notes)
            other = first.setdefault(key, entry)
            if other is not entry:
                why = f"the same row stands in {other.place}; it was taken once"
                drop_row(entry, why, ledger)
    for entry in entries:
        if entry.beside is not None and entry.beside.dropped:
            drop_row(entry, entry.beside.dropped, ledger)
    return [entry for entry in entries if not entry.dropped]


_ONCE: Final = frozenset({"birds", "pens", "moves", "scores"})
"""Tables in which a row written twice says nothing more; chicks counted alike are counted twice."""


def _has_band(entry: Entry, ledger: Ledger) -> bool:
    cell = entry.cells.get("bird")
    text = " ".join(cell.text.split()) if cell else ""
    issue = read_cell(text, BIRDS.column("bird"), Hints()).issue
    if cell is not None and text and issue is None:
        entry.values["bird"] = text
        ledger.change("birds", "bird", cell, text)
        return True
    problem = issue.problem if issue else "the row has no band"
    mend = "write the bird's band, and take the book in again"
    place = cell or entry.own("", "")
    ledger.doubt("no-band", place, f"{problem}, so the row was not taken", mend)
    drop_row(entry, problem, ledger)
    return False


def drop_row(entry: Entry, why: str, ledger: Ledger) -> None:
    """Take a row out: every cell goes on the list of what was not taken."""
    entry.dropped = why
    for cell in (*entry.cells.values(), *entry.aside):
        ledger.leave(cell, why)


def _told_apart(band: str, rows: Sequence[Entry], bands: Bands, ledger: Ledger) -> list[Entry]:
    """The birds that rows of one band are: never made one unasked, unless all they say is alike."""
    clash = _clashing(rows)
    sheets = dict.fromkeys(entry.own("").book for entry in rows)
    if not clash and len(sheets) == len(rows):
        return _of_several_sheets(band, rows, (tuple(sheets), bands, ledger))
    places = tuple(f"{entry.place} ({_told(entry)})" for entry in rows)
    question = Question(
        key=f"band:{band}",
        text=f"The band {band} stands in {len(rows)} rows that do not say the same. Is it one "
        "bird, or was the band used again?",
        choices=(TWO, ONE),
        proposed=TWO if clash & {"hatched", "sex"} else ONE,
        places=places,
    )
    if ledger.ask(question) == ONE:
        return [_made_one(rows, ledger)]
    return _made_two(band, rows, bands, ledger)


def _of_several_sheets(
    band: str, rows: Sequence[Entry], about: tuple[tuple[str, ...], Bands, Ledger]
) -> list[Entry]:
    """A band with a row on each of several sheets that agree: asked once for all such bands."""
    sheets, bands, ledger = about
    question = Question(
        key=f"joined:{'+'.join(sheets)}",
        text=f"The same bands stand in {' and in '.join(sheets)}, and nothing in them clashes. Are "
        "they the same birds?",
        choices=(YES, NO),
        proposed=YES,
        places=(f"{band}: {', '.join(entry.place for entry in rows)}",),
    )
    if ledger.ask(question) == YES:
        return [_made_one(rows, ledger)]
    return _made_two(band, rows, bands, ledger)


def _clashing(rows: Sequence[Entry]) -> set[str]:
    """The columns in which filled cells of the rows differ."""
    said: dict[str, set[str]] = defaultdict(set)
    for entry in rows:
        for column in entry.cells:
            value = entry.values.get(column, entry.cells[column].text)
            if value:
                said[column].add(value[:4] if column == "hatched" else value)
    return {column for column, values in said.items() if len(values) > 1}


def _told(entry: Entry) -> str:
    told = (entry.values.get("sex", ""), entry.values.get("hatched", ""))
    return ", ".join(filter(None, told)) or "no sex or hatch day"


def _made_one(rows: Sequence[Entry], ledger: Ledger) -> Entry:
    """The first row, with what only the others say; where they clash the others' cells are left."""
    first, *others = rows
    for other in others:
        for column, cell in other.cells.items():
            if column not in first.cells:
                first.cells[column] = cell
                if column in other.values:
                    first.values[column] = other.values[column]
            elif column != "bird":
                same = cell.text == first.cells[column].text
                said = "the same" if same else first.cells[column].text
                ledger.leave(cell, f"{first.place} says {said}")
        first.notes += [note for note in other.notes if note not in first.notes]
        first.names += other.names
        ledger.leave(
            other.own(other.values["bird"], other.cells["bird"].header),
            f"the row was joined with {first.place}, the same bird",
        )
    return first


def _made_two(band: str, rows: Sequence[Entry], bands: Bands, ledger: Ledger) -> list[Entry]:
    """Give each bird of a band its own: the year added, and a letter where that is not enough."""
    years = [entry.values.get("hatched", "")[:4] for entry in rows]
    used: dict[str, int] = defaultdict(int)
    for entry, year in zip(rows, years, strict=True):
        used[year] += 1
        letter = "" if years.count(year) == 1 else chr(ord("a") + (used[year] - 1) % 26)
        name = "-".join(filter(None, (band, year, letter)))
        entry.values["bird"] = name
        bands.parted.setdefault(band, []).append(name)
        ledger.change("birds", "bird", entry.cells["bird"], name)
        ledger.doubt(
            "band-used-again",
            entry.cells["bird"],
            f"{band} is the band of {len(rows)} birds; this one ({_told(entry)}) is called {name}",
            "put a band on it that no other bird ever had, if it still lives",
        )
    return list(rows)


def added_bird(band: str, sex: str, entry: Entry, bands: Bands) -> Entry:
    """A row for a parent that has none in the book: a bird that is gone."""
    made = Entry(table="birds", file=entry.file, sheet=entry.sheet, row=entry.row)
    made.values = {"bird": band, "sex": sex, "status": "sold"}
    made.notes = ["no row of its own in the book; added as it is written as a parent"]
    bands.add(made)
    return made


def _one_off(one: str, two: str) -> bool:
    """Whether two bands are one slip apart; of a single letter any other would be."""
    return min(len(one), len(two)) > 1 and one_apart(one, two, other_from=1)
