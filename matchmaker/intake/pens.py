"""Pens that the book speaks of but does not list, with the places that they were seen to have."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from matchmaker.intake.bands import drop_row
from matchmaker.intake.entry import Entry
from matchmaker.intake.model import Question
from matchmaker.intake.names import bare_name
from matchmaker.intake.pen_log import pen_log

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.intake.ledger import Ledger
    from matchmaker.intake.pen_log import Days


_PENS_MOST: Final = 200
_HENS_MOST: Final = 200


def hens_of_pens(text: str) -> list[int]:
    """The hens that each pen holds, as numbers written in a row; none where it is no such row.

    Examples
    --------
    >>> hens_of_pens("6, 6, 8"), hens_of_pens("6 6 8 and a big one")
    ([6, 6, 8], [])
    """
    words = text.replace(",", " ").replace(";", " ").split()
    numbers = [int(word) for word in words if word.isdecimal() and len(word) <= 3]
    fits = len(numbers) == len(words) <= _PENS_MOST
    return numbers if fits and all(0 < one <= _HENS_MOST for one in numbers) else []


def take_pens(entries: Sequence[Entry], ledger: Ledger) -> list[Entry]:
    """Return the rows with one for each pen that is spoken of, its places asked where not said.

    Proposed are the most hens that were in the pen at one time, or were planned for it.
    """
    listed = {bare_name(e.values.get("pen", "")): e for e in entries if e.table == "pens"}
    named: dict[str, Entry] = {}
    for entry in entries:
        if entry.table in {"moves", "plan", "eggs"} and entry.values.get("pen"):
            named.setdefault(bare_name(entry.values["pen"]), entry)
    made = [_row(entry) for bare, entry in named.items() if bare not in listed]
    hens = _hens_seen(entries)
    for entry in [*(e for e in entries if e.table == "pens"), *made]:
        if not entry.values.get("hens_max") and entry.values.get("pen"):
            _ask_places(entry, hens.get(bare_name(entry.values["pen"]), 0), ledger)
    return [*entries, *made]


def drop_said_stays(entries: Sequence[Entry], ledger: Ledger) -> None:
    """Drop a pen beside a bird where a log of moves has the bird in that pen to this day."""
    stays = [entry for entry in entries if entry.table == "moves" and entry.values.get("bird")]
    lasting = {
        (entry.values["bird"], bare_name(entry.values.get("pen", "")))
        for entry in stays
        if entry.values.get("moved_in") and not entry.values.get("moved_out")
    }
    for entry in stays:
        where = (entry.values["bird"], bare_name(entry.values.get("pen", "")))
        if entry.beside is not None and not entry.values.get("moved_in") and where in lasting:
            if entry.cells.get("bird") == entry.beside.cells.get("bird"):
                entry.cells.pop("bird", None)  # it is taken: the bird has a row
            drop_row(entry, "the log of moves says the same", ledger)


def _row(entry: Entry) -> Entry:
    made = Entry(table="pens", file=entry.file, sheet=entry.sheet, row=entry.row)
    made.values["pen"] = entry.values["pen"]
    made.notes.append("not in a list of pens; named in the book elsewhere")
    return made


def _ask_places(entry: Entry, seen: int, ledger: Ledger) -> None:
    pen = entry.values["pen"]
    question = Question(
        key=f"places:{pen}",
        text=f"How many hens does pen {pen} hold at most?"
        + (f" The most that were in it at one time are {seen}." if seen else ""),
        proposed=str(seen) if seen else None,
        places=(entry.place,),
    )
    answer = ledger.ask(question)
    if answer and answer.isdecimal() and int(answer) > 0:
        entry.values["hens_max"] = str(int(answer))
    elif answer:
        ledger.unfit(question, answer)


def _hens_seen(entries: Sequence[Entry]) -> dict[str, int]:
    """The most hens that were in each pen at one time, by moves or by the plan."""
    hens = {
        entry.values["bird"]
        for entry in entries
        if entry.table == "birds" and entry.values.get("sex") == "hen"
    }
    found = {pen: _most_at_once(inside, hens) for pen, inside in pen_log(entries).stays.items()}
    planned: dict[str, set[str]] = {}
    for entry in entries:
        if entry.table == "plan" and entry.values.get("hen") and entry.values.get("pen"):
            planned.setdefault(bare_name(entry.values["pen"]), set()).add(entry.values["hen"])
    return {pen: max(found.get(pen, 0), len(planned.get(pen, ()))) for pen in {*found, *planned}}


def _most_at_once(stays: Sequence[tuple[str, Days]], hens: set[str]) -> int:
    """The most hens in a pen on one day; on the day on which a hen leaves she counts no more."""
    own = [(bird, days) for bird, days in stays if bird in hens]
    starts = {days.first for _, days in own}
    return max((len({b for b, d in own if _there(d, day)}) for day in starts), default=0)


def _there(days: Days, day: dt.date) -> bool:
    return days.first <= day and (day < days.last or days.last == dt.date.max)
