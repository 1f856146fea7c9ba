"""Sires and dams as keepers write them: bands, several, pens, brothers, sellers, nobody."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.intake.bands import added_bird
from matchmaker.intake.entry import letters, with_column
from matchmaker.intake.ledger import OPEN, Ledger
from matchmaker.intake.model import Question
from matchmaker.intake.names import bare_name
from matchmaker.intake.pen_log import PenLog, days_of_hatch, laid_on, sired_on
from matchmaker.intake.references import Finder, Role, parent_role
from matchmaker.tables.cells import read_cell
from matchmaker.tables.columns import BIRDS
from matchmaker.tables.parents import read_parent
from matchmaker.tables.reading import BLANK_WORDS, Hints
from matchmaker.tables.records import Parentage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.intake.entry import Cell, Entry

ADD: Final = "add it as a bird that is gone"

_FOUNDER: Final = frozenset(
    {
        "founder",
        "foundation",
        "foundation stock",
        "base",
        "base stock",
        "original",
        "original stock",
    }
)
_BOUGHT: Final = re.compile(
    r"(?:(?:bought|purchased|acquired|brought)(?:[- ]in)?|from|ex)(?:\s+(?:from\s+|at\s+)?(.+))?",
    re.IGNORECASE,
)
_VAGUE: Final = re.compile(
    r"(?:one|some|any|either|a|which ?ever|another)\b.*\b(?:of|brothers?|sisters?|cocks?|hens?|"
    r"birds?|cockerels?|pullets?)\b.*",
    re.IGNORECASE,
)
_SPLIT: Final = re.compile(r"\s*(?:/|\||,|;|\+|&|\bor\b|\band\b)\s*", re.IGNORECASE)
_PEN: Final = re.compile(
    r"(?:from\s+)?(?:(?:the\s+)?(?:cocks?|hens?|sires?|dams?|birds?)\s+(?:of|in|from)\s+)?(?:the\s+)?"
    r"(?:breeding\s+)?(?:pen|house|coop|run|hut)\s*(?:no\.?\s*)?([\w-]+?)"
    r"(?:\s+(?:cocks?|hens?|birds?|group|flock))?",
    re.IGNORECASE,
)

_UNSURE: Final = re.compile(
    r"^(?:probably|maybe|perhaps|possibly|likely)\s+|"
    r"[,\s]*[(]?(?:i think|i guess|probably|maybe|perhaps|possibly|most likely|not sure)[)]?\s*$",
    re.IGNORECASE,
)
_INMATES: Final = re.compile(
    r"^(?:the\s+)?(?:cocks?|hens?|birds?)\s+(?:of|in|from)\s+(?:the\s+)?|"
    r"\s+(?:cocks?|hens?|birds?|group|flock)$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parent:
    """One parental cell, and what is needed to read it."""

    side: str
    chick: Entry
    cell: Cell
    role: Role
    log: PenLog
    finder: Finder

    @property
    def ledger(self) -> Ledger:
        return self.finder.ledger


def take_parents(entries: list[Entry], log: PenLog, finder: Finder) -> None:
    """Write every sire and dam: a band, several equally likely, founder, or nothing.

    Parents without a row of their own may be added at the end of the rows.
    """
    for side, sex in (("sire", "cock"), ("dam", "hen")):
        for chick, cell in with_column(entries, "birds", side):
            role = parent_role(sex, chick)
            one = _Parent(side=side, chick=chick, cell=cell, role=role, log=log, finder=finder)
            value = _read(one, " ".join(cell.text.split()))
            if value:
                chick.values[side] = value
            finder.ledger.change("birds", side, cell, value)
    known = {id(entry) for entry in entries}
    entries += [bird for bird in finder.bands.birds.values() if id(bird) not in known]


def _read(one: _Parent, text: str) -> str:
    """The cell as our tables have it, "" where nothing is known."""
    bands = one.finder.bands
    if text.casefold() in BLANK_WORDS:
        return text
    if text in bands.birds or text in bands.parted:
        return _bands(one, text)
    weighted, pen, bought = _weighted(one, text), _pen_meant(one, text), _BOUGHT.fullmatch(text)
    if weighted or pen:
        return weighted or _from_pen(one, pen)
    if text.casefold() in _FOUNDER or bought:
        return _founder(one, bought[1] if bought else "")
    return _unclear(one, text)


def _unclear(one: _Parent, text: str) -> str:
    """Words for one of several birds, a bird with a question mark, several bands or one."""
    if _VAGUE.fullmatch(text):
        return _asked(one, text)
    doubted = _UNSURE.sub("", text).rstrip("? ")
    if doubted and doubted != text:
        return _not_sure(one, doubted)
    parts = [part for part in _SPLIT.split(text) if part]
    return _several(one, parts) if len(parts) > 1 else _bands(one, text)


def _weighted(one: _Parent, text: str) -> str:
    """A cell that is written with weights as our tables have them, if its bands are known."""
    if ":" not in text:
        return ""
    value = read_parent(text).value
    known = isinstance(value, Parentage) and all(
        band in one.finder.bands.birds for band, _ in value.candidates
    )
    return text if known else ""


def _founder(one: _Parent, source: str | None) -> str:
    if source and not one.chick.values.get("source"):
        one.chick.values["source"] = source
        one.ledger.change("birds", "source", one.cell, source)
    elif source:
        one.chick.notes.append(f"{one.cell.header}: {one.cell.text}")
    return "founder"


def _bands(one: _Parent, text: str) -> str:
    """One band, or all that it may be."""
    found = one.finder.find(text, one.cell, one.role)
    if found is None:
        found = _without_row(one, text)
    return "|".join(dict.fromkeys(found))


def _several(one: _Parent, parts: Sequence[str]) -> str:
    found: list[str] = []
    for part in parts:
        text = _with_head(part.rstrip("? "), found, one)
        found += one.finder.find(text, one.cell, one.role) or _without_row(one, text)
    return "|".join(dict.fromkeys(found))


def _with_head(tail: str, found: Sequence[str], one: _Parent) -> str:
    """A band of which only the last figures are written, made whole after the one before it."""
    known = one.finder.bands.birds
    whole = found[-1][: -len(tail)] + tail if found and tail.isdigit() else tail
    return whole if tail not in known and whole in known else tail


def _without_row(one: _Parent, text: str) -> tuple[str, ...]:
    """A parent that has no row: added if the keeper wants it, as kin would be lost otherwise."""
    can_be = read_cell(text, BIRDS.column("bird"), Hints()).issue is None
    answer = can_be and one.ledger.ask(
        Question(
            key=f"no-row:{text}",
            text=f'"{text}" is written as a parent but has no row of its own. Shall it get one?',
            choices=(ADD, OPEN),
            proposed=ADD if _like_a_band(text) else OPEN,
            places=(one.cell.place,),
        )
    )
    if answer == ADD:
        added_bird(text, one.role.sex, one.chick, one.finder.bands)
        return (text,)
    problem = f"no bird of the book is meant by {text}"
    mend = "write the parent's band, several as C04|C07, founder, or nothing"
    one.ledger.leave_in_doubt("parent-not-known", one.cell, problem, mend)
    return ()


def _like_a_band(text: str) -> bool:
    """Whether a text can be a band: one word with a figure in it."""
    return bool(re.fullmatch(r"[^\s:|?]*\d[^\s:|?]*", text))


def _asked(one: _Parent, text: str) -> str:
    answer = one.ledger.ask(
        Question(
            key=f"parent:{one.side}:{text.casefold()}",
            text=f'Who is meant by "{text}" as {one.side}? Write one band, all that it may be '
            "(C04|C07), founder, or nothing",
            proposed="",
            places=(one.cell.place,),
        )
    )
    if answer and not _VAGUE.fullmatch(answer):
        return _read(one, answer)
    problem = f"{text} does not say which bird"
    mend = (
        "write all bands that are possible, as in C04|C07; empty, any bird of that time may be it"
    )
    one.ledger.leave_in_doubt("parent-not-known", one.cell, problem, mend)
    return ""


def _pen_meant(one: _Parent, text: str) -> str:
    """The pen that a cell names in the place of a bird, "" if it names none."""
    matched = _PEN.fullmatch(text)
    if matched:
        return matched[1]
    known = one.finder.bands
    if known.by_letters.get(letters(text)) or known.by_name.get(letters(text)):
        return ""
    pen = _INMATES.sub("", text)
    return pen if bare_name(pen) in one.log.stays else ""


def _from_pen(one: _Parent, pen: str) -> str:
    """The birds of the right sex that were in a pen when the egg was laid or became fertile."""
    hatch = days_of_hatch(one.chick.values.get("hatched", ""))
    if hatch is None:
        problem = f"{one.cell.text} names a pen, but the day or year of hatching is not known"
        one.ledger.leave_in_doubt("parent-not-known", one.cell, problem, "write the hatch day")
        return ""
    days = sired_on(hatch) if one.side == "sire" else laid_on(hatch)
    found = _fitting(one, one.log.inside(pen, days))
    if not found:
        problem = (
            f"no {one.role.sex} is written in pen {pen} from {days.first} to {days.last}, when "
        )
        problem += f"{one.cell.text} can have been the {one.side}"
        mend = "write who was in the pen then, with days, or the band itself"
        one.ledger.leave_in_doubt("parent-not-known", one.cell, problem, mend)
        return ""
    one.ledger.doubt(
        "parent-from-pen",
        one.cell,
        f"{one.cell.text} was taken as {' or '.join(found)}: in pen {pen} between {days.first} and "
        f"{days.last}",
        "nothing, if the pen log is right" if len(found) == 1 else "write the one you know it was",
    )
    return "|".join(found)


def _fitting(one: _Parent, among: Sequence[str]) -> list[str]:
    bands = one.finder.bands
    known = [band for band in among if band in bands.birds and one.role.fits(band, bands)]
    told = [band for band in known if bands.birds[band].values.get("sex") == one.role.sex]
    own = one.chick.values.get("bird")
    return [band for band in told or known if band != own]


def _not_sure(one: _Parent, text: str) -> str:
    """A bird with a question mark: it, or another that was in its pen then."""
    value = _read(one, text)
    hatch = days_of_hatch(one.chick.values.get("hatched", ""))
    bands = [band for band in value.split("|") if band in one.finder.bands.birds]
    if not bands:
        return value
    others: list[str] = []
    if hatch is not None:
        days = sired_on(hatch) if one.side == "sire" else laid_on(hatch)
        pens = [pen for band in bands for pen in one.log.pens_of(band, days)]
        others = [bird for pen in pens for bird in one.log.inside(pen, days)]
    found = list(dict.fromkeys([*bands, *_fitting(one, others)]))
    one.ledger.doubt(
        "parent-not-sure",
        one.cell,
        f"{one.cell.text} is not sure; taken as {' or '.join(found)}"
        + (" (in one pen then)" if len(found) > len(bands) else ""),
        "write all bands that are possible, as in C04|C07",
    )
    return "|".join(found)
