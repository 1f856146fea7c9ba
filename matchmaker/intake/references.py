"""From what stands for a bird in a cell to the bird that is meant: band, name or slip."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.intake.bands import Bands, drop_row
from matchmaker.intake.entry import letters, with_column
from matchmaker.intake.ledger import OPEN, Ledger
from matchmaker.intake.model import Question
from matchmaker.intake.pen_log import days_of_hatch
from matchmaker.tables.ages import FIRST_EGG_AND_INCUBATION
from matchmaker.tables.columns import TABLES
from matchmaker.tables.reading import BLANK_WORDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.intake.entry import Cell, Entry

_REMARK: Final = re.compile(r"\s*[(\[][^()\[\]]*[)\]]\s*$")
"""What a keeper writes in brackets behind a band."""

NEAR_MAX: Final = 6
"""Bands offered for a band that is not in the book."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """What the bird that is looked for must be: its sex ("" for any), hatched by a day."""

    sex: str = ""
    hatched_by: dt.date | None = None

    def fits(self, band: str, bands: Bands) -> bool:
        """Whether what the book says of a bird allows it."""
        values = bands.birds[band].values
        if self.sex and values.get("sex", "") not in {"", self.sex}:
            return False
        hatch = days_of_hatch(values.get("hatched", ""))
        return self.hatched_by is None or hatch is None or hatch.first <= self.hatched_by


def parent_role(sex: str, chick: Entry) -> Role:
    """What a parent of a bird must be: old enough when its chick hatched."""
    hatch = days_of_hatch(chick.values.get("hatched", ""))
    return Role(sex=sex, hatched_by=hatch.last - FIRST_EGG_AND_INCUBATION if hatch else None)


@dataclass(slots=True, kw_only=True)
class Finder:
    """Looks for birds, asks where a slip is likely, and says what it took."""

    bands: Bands
    ledger: Ledger

    def find(self, text: str, cell: Cell, role: Role) -> tuple[str, ...] | None:
        """The band that is meant, or the several that may be; ``None`` where none is known."""
        text = " ".join(text.split())
        if text in self.bands.birds:
            return (text,)
        if text in self.bands.parted:
            return self._of_parted(text, cell, role)
        fitting = self._alike(text, role)
        if fitting:
            return tuple(fitting) if len(fitting) == 1 else self._asked(text, cell, fitting, None)
        bare = _REMARK.sub("", text)
        return (
            self.find(bare, cell, role) if bare not in {"", text} else self._near(text, cell, role)
        )

    def _alike(self, text: str, role: Role) -> list[str]:
        """The birds whose band has the same letters, else those that go by the name."""
        for group in (self.bands.by_letters, self.bands.by_name):
            found = list(dict.fromkeys(group.get(letters(text), [])))
            if found:
                fitting = [band for band in found if role.fits(band, self.bands)] or found
                return fitting[:NEAR_MAX]
        return []

    def _of_parted(self, text: str, cell: Cell, role: Role) -> tuple[str, ...]:
        """The birds of a band used again that can be meant, by their hatch days."""
        own = self.bands.parted[text]
        fitting = [band for band in own if role.fits(band, self.bands)] or own
        if len(fitting) > 1:
            self.ledger.doubt(
                "band-of-several",
                cell,
                f"{text} is the band of several birds, and {' or '.join(fitting)} may be meant",
                "write the one you mean",
            )
        return tuple(fitting)

    def _near(self, text: str, cell: Cell, role: Role) -> tuple[str, ...] | None:
        near = self.bands.near(text)
        fitting = [band for band in near if role.fits(band, self.bands)]
        if not fitting:
            return None
        proposed = fitting[0] if len(fitting) == 1 else None
        return self._asked(text, cell, fitting[:NEAR_MAX], proposed)

    def _asked(
        self, text: str, cell: Cell, choices: Sequence[str], proposed: str | None
    ) -> tuple[str, ...] | None:
        answer = self.ledger.ask(
            Question(
                key=f"bird:{text}:{'|'.join(choices)}",
                text=f"No bird of the book has the band {text}. Which one is it?"
                if letters(text) not in self.bands.by_name
                else f"Several birds are called {text}. Which one is it?",
                choices=(*choices, OPEN),
                proposed=proposed,
                places=(cell.place,),
            )
        )
        return None if answer in {None, OPEN} else (str(answer),)


def take_references(entries: Sequence[Entry], finder: Finder) -> None:
    """Write the bands that other tables name as the table of birds has them."""
    for entry in entries:
        if entry.table != "birds" and entry.beside is not None:
            _follow_bird(entry, entry.beside, finder.ledger)
    taken = [entry for entry in entries if not entry.dropped]
    for table, name, sex in _COLUMNS:
        for entry, cell in with_column(taken, table, name):
            if name not in entry.values:
                _take(entry, name, cell, Role(sex=sex, hatched_by=_day_of(entry)), finder)


def take_ranges(entries: Sequence[Entry], finder: Finder) -> None:
    """Name the first and last chick of a hatch as the table of birds does, by the year set."""
    for name in ("first_band", "last_band"):
        for entry, cell in with_column(entries, "eggs", name):
            day = _day_of(entry)
            own = finder.bands.parted.get(" ".join(cell.text.split()), [])
            fitting = [band for band in own if day and finder.bands.year(band) == day.year]
            if len(fitting) == 1:
                entry.values[name] = fitting[0]
                finder.ledger.change("eggs", name, cell, fitting[0])


_COLUMNS: Final = (
    *((table, "bird", "") for table in ("scores", "moves", "seen", "wishes")),
    *((table, "cock", "cock") for table in ("eggs", "seen", "plan")),
    *((table, "hen", "hen") for table in ("eggs", "seen", "plan")),
    ("wishes", "with", ""),
)

_DAYS: Final = {
    "scores": ("date",),
    "seen": ("date",),
    "moves": ("moved_in", "moved_out"),
    "eggs": ("collected_from", "collected_to", "set_on"),
}


def _follow_bird(entry: Entry, bird: Entry, ledger: Ledger) -> None:
    if bird.dropped or "bird" not in bird.values:
        drop_row(entry, bird.dropped or "the row has no band", ledger)
    elif any(column.name == "bird" for column in TABLES[entry.table].columns):
        entry.values["bird"] = bird.values["bird"]


def _day_of(entry: Entry) -> dt.date | None:
    days = [entry.values.get(name, "") for name in _DAYS.get(entry.table, ())]
    told = [dt.date.fromisoformat(day) for day in days if day]
    return min(told, default=None)


def _take(entry: Entry, name: str, cell: Cell, role: Role, finder: Finder) -> None:
    ledger = finder.ledger
    if cell.text.casefold() in BLANK_WORDS:
        ledger.change(entry.table, name, cell, "")
        return
    found = finder.find(cell.text, cell, role)
    several_allowed = entry.table == "seen" and name in {"hen", "cock"}
    if found and (len(found) == 1 or several_allowed):
        entry.values[name] = "|".join(found)
    elif found:
        entry.values[name] = found[-1]
        ledger.doubt(
            "band-of-several",
            cell,
            f"{cell.text} was taken as {found[-1]}, the last that had this band by then",
            "write the one you mean",
        )
    elif name == "with":
        entry.values[name] = cell.text
    elif len(parts := _parts(cell.text)) > 1 and several_allowed:
        _take_parts(entry, name, cell, parts, (role, finder))
    else:
        problem = f"no bird of the book has the band {cell.text}"
        mend = "mend the band, or add a row for the bird"
        ledger.leave_in_doubt("band-not-known", cell, problem, mend)
        return
    if _REMARK.search(cell.text):
        entry.notes.append(f"{cell.header}: {cell.text}")
    ledger.change(entry.table, name, cell, entry.values.get(name, ""))


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.replace("/", "|").split("|") if part.strip()]


def _take_parts(
    entry: Entry, name: str, cell: Cell, parts: Sequence[str], how: tuple[Role, Finder]
) -> None:
    role, finder = how
    found = [finder.find(part, cell, role) for part in parts]
    told = [band for one in found if one for band in one]
    if all(found):
        entry.values[name] = "|".join(dict.fromkeys(told))
    else:
        problem = f"not every bird in {cell.text} is in the book"
        finder.ledger.leave_in_doubt("band-not-known", cell, problem, "mend the bands")
