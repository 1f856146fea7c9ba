"""How well the cells of a column suit each column that our tables declare."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.intake.names import bare_name
from matchmaker.intake.profile import base
from matchmaker.intake.shape import LONG, Shape, shape_of, unit_of
from matchmaker.tables.cells import (
    HOW_WORDS,
    PURPOSE_WORDS,
    SEX_WORDS,
    STATUS_WORDS,
    WISH_WORDS,
    YES_WORDS,
)
from matchmaker.tables.schema import Column, Kind, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.intake.profile import Known, Profile

_SERIAL: Final = re.compile(r"[345]\d{4}")
_SPLIT: Final = re.compile(r"\s*(?:[|/;,&+]|\bor\b|\band\b)\s*", re.IGNORECASE)
_NOBODY: Final = frozenset({"founder", "founders", "unknown", "not known", "na", "bought", "?"})
_FATES: Final = frozenset(
    ("here", "eaten", "fox", "hawk", "given", "gone", "still", "pot", "table", "missing", "stolen")
)
"""Further words that begin what became of a bird (common practice, no source)."""

_OF_SHARES: Final = re.compile(r"%|percent|share|blood", re.IGNORECASE)
"""Headers under which bare figures are shares of a breed."""

_SHARE: Final = re.compile(
    r"\b[1-9]\d?/(?:2|4|8|16|32|64)\b|\d\s*%|\bBC\s?\d\b|\bF\d\b|\w [x×] \w", re.IGNORECASE
)

TELLING: Final = frozenset(
    (
        *(Kind.SEX, Kind.STATUS, Kind.WISH, Kind.PURPOSE, Kind.HOW, Kind.HATCHED),
        *(Kind.BAND, Kind.PARENT, Kind.BREED),
    )
)
"""Kinds of columns that cells alone may tell; of the others a header must speak."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The share of a column's cells that suit a declared column, and how much that tells.

    Both are 0 to 1; what is not ``telling`` says nothing without a header.
    """

    share: float
    telling: float


def fit(profile: Profile, table: str, column: Column, known: Known) -> Fit:
    """Return how well the cells of a column suit a declared column of a table."""
    if column.name == "pen":
        return _pen(profile, table, known)
    if column.name == "locus":
        return Fit(profile.share(lambda cell: cell in known.loci or base(cell) in known.words), 0.9)
    if column.kind in {Kind.BAND, Kind.PARENT}:
        return _bands(profile, table, column, known)
    return _FITS[column.kind](profile, known)


def _worded(words: Mapping[str, object], telling: float) -> Callable[[Profile, Known], Fit]:
    def suits(profile: Profile, _known: Known) -> Fit:
        return Fit(profile.share_of_words(words), telling)

    return suits


def _shaped(shapes: frozenset[Shape], telling: float) -> Callable[[Profile, Known], Fit]:
    def suits(profile: Profile, _known: Known) -> Fit:
        return Fit(profile.share(lambda cell: shape_of(cell) in shapes), telling)

    return suits


def is_day(cell: str) -> bool:
    """Whether a cell may be a day: written as one, or as a spreadsheet's day number."""
    return shape_of(cell) is Shape.DATE or _SERIAL.fullmatch(cell) is not None


def _day(profile: Profile, _known: Known) -> Fit:
    return Fit(profile.share(is_day), 0.4)


def _hatched(profile: Profile, _known: Known) -> Fit:
    return Fit(profile.share(lambda cell: is_day(cell) or shape_of(cell) is Shape.YEAR), 0.6)


def _name(profile: Profile, _known: Known) -> Fit:
    """Names stand in many rows; a column all of different cells is rarely one."""
    short = profile.share(lambda cell: len(cell) <= LONG and not is_day(cell))
    return Fit(short * (0.6 if profile.filled > 8 and profile.different > 0.9 else 1.0), 0.0)


def _breed(profile: Profile, _known: Known) -> Fit:
    """Names of breeds could be names of anything; shares and crosses among them tell."""
    shares = profile.share(lambda cell: not is_day(cell) and _SHARE.search(cell) is not None)
    shared = _OF_SHARES.search(profile.header) is not None
    suits = profile.share(lambda cell: _is_breed(cell) or (shared and is_percentage(cell)))
    return Fit(suits, 0.8 if shares >= 0.1 else 0.0)


def is_percentage(cell: str) -> bool:
    """Whether a cell is a number of 0 to 100, with or without its sign."""
    number = cell.rstrip("% ").replace(",", ".")
    return re.fullmatch(r"\d{1,3}(\.\d+)?", number) is not None and float(number) <= 100


def _is_breed(cell: str) -> bool:
    if shape_of(cell) in {Shape.WORD, Shape.TEXT}:
        return True
    return shape_of(cell) is not Shape.DATE and _SHARE.search(cell) is not None


def _status(profile: Profile, _known: Known) -> Fit:
    told = profile.share(lambda cell: _is_status(base(cell)))
    both = profile.share(lambda cell: _is_status(base(cell)) or base(cell) in YES_WORDS)
    return Fit(both, 1.0 if told >= 0.5 else 0.0)


def _is_status(word: str) -> bool:
    """Whether a word says what became of a bird, perhaps with more behind: ``sold to Ann``."""
    first = re.split(r"[ ,;(]", word, maxsplit=1)[0]
    return word in STATUS_WORDS or first in _FATES or first in STATUS_WORDS


def _text(_profile: Profile, _known: Known) -> Fit:
    return Fit(1.0, 0.0)


def _defects(profile: Profile, _known: Known) -> Fit:
    words = {Shape.WORD, Shape.TEXT}
    return Fit(profile.share(lambda cell: shape_of(cell) in words or base(cell) in YES_WORDS), 0.0)


def _classes(profile: Profile, known: Known) -> Fit:
    return Fit(profile.share(lambda cell: _is_class(cell, known.words)), 0.5)


def _is_class(cell: str, words: frozenset[str]) -> bool:
    parts = [part.strip() for part in re.split(r"[,;]", cell.casefold())]
    return any(re.sub(r"^\d+\s*(?:x\s|×)?\s*", "", part) in words for part in parts)


def _number(profile: Profile, _known: Known) -> Fit:
    numbers = {Shape.NUMBER, Shape.YEAR}
    return Fit(profile.share(lambda cell: shape_of(cell) in numbers), 0.1)


def _count(profile: Profile, _known: Known) -> Fit:
    return Fit(profile.share(lambda cell: re.match(r"\d{1,6}(?![\d.,])", cell) is not None), 0.1)


def _pen(profile: Profile, table: str, known: Known) -> Fit:
    """Pens that are known elsewhere say much; else any short name will do."""
    if table == "pens":
        own = profile.share(lambda cell: len(cell) <= LONG and shape_of(cell) is not Shape.DATE)
        words = profile.share(lambda cell: shape_of(cell) is Shape.WORD)
        return Fit(own, 0.6 if words >= 0.5 and profile.different > 0.9 else 0.0)
    named = profile.share(lambda cell: bare_name(cell) in known.pens) if known.pens else 0.0
    short = _name(profile, known).share
    return Fit(
        max(named, 0.8 * short if known.pens else short),
        0.6 if named >= 0.7 and profile.filled > 3 else 0.0,
    )


def _bands(profile: Profile, table: str, column: Column, known: Known) -> Fit:
    """Bands that are listed among the birds tell a column; small figures may count anything."""
    if table == "birds" and column.name == "bird":
        return _own_bands(profile)
    if not known.bands:
        return Fit(profile.share(_like_a_band), 0.0)
    wanted = {"sire": "cock", "cock": "cock", "dam": "hen", "hen": "hen"}.get(column.name, "")
    listed = profile.share(lambda cell: _is_listed(cell, known.bands))
    fitting = profile.share(lambda cell: _suits(cell, wanted, column, known.bands))
    few = 1 < profile.filled < min(6, profile.rows)
    repeats = column.name == "bird" or profile.different < 0.95 or few
    clear = profile.share(lambda cell: len(cell) > 2 or not cell.isdigit()) >= 0.5
    tells = listed >= 0.5 and fitting >= 0.8 and repeats and clear
    return Fit(fitting, 0.9 if tells else 0.0)


def _own_bands(profile: Profile) -> Fit:
    like = profile.share(_like_a_band)
    full = profile.filled / profile.rows if profile.rows else 0.0
    own = profile.different >= 0.85
    codes = profile.share(lambda cell: shape_of(cell) in {Shape.CODE, Shape.NUMBER})
    share = like * (1.0 if own else profile.different) * min(1.0, 0.3 + full)
    return Fit(share, 0.6 if own and codes >= 0.8 and profile.filled > 2 else 0.0)


def _like_a_band(cell: str) -> bool:
    shape = shape_of(cell)
    if shape is Shape.CODE:
        return True
    if shape is Shape.NUMBER and not cell.isdigit():
        return False
    return len(cell) <= 14 and shape is not Shape.DATE and not unit_of(cell)


def candidates(cell: str) -> list[str]:
    """Return the bands that a cell may name, without case and signs.

    Examples
    --------
    >>> candidates("C04 or C07?"), candidates("C04:0.7|C07:0.3")
    (['c04', 'c07'], ['c04', 'c07'])
    """
    parts = (part.partition(":")[0] for part in _SPLIT.split(cell))
    return [text for part in parts if (text := plain(part))]


def _is_listed(cell: str, bands: Mapping[str, str]) -> bool:
    return plain(cell) in bands or any(part in bands for part in candidates(cell))


def _suits(cell: str, sex: str, column: Column, bands: Mapping[str, str]) -> bool:
    """Whether a cell may stand in a column of bands: one of the sex, or none that is listed."""
    whole = plain(cell)
    parts = [whole] if whole in bands else [*candidates(cell), *map(plain, cell.split())]
    found = [bands[part] for part in parts if part in bands]
    if found:
        return not sex or any(other in {"", sex} for other in found)
    if _like_a_band(cell):
        return True
    parent = column.kind is Kind.PARENT
    return parent and (base(cell) in _NOBODY or " " in cell)


_FITS: Final[Mapping[Kind, Callable[[Profile, Known], Fit]]] = {
    Kind.BAND_RANGE: _shaped(frozenset({Shape.CODE, Shape.NUMBER, Shape.WORD, Shape.YEAR}), 0.0),
    Kind.NAME: _name,
    Kind.TEXT: _text,
    Kind.SEX: _worded(SEX_WORDS, 1.0),
    Kind.DATE: _day,
    Kind.HATCHED: _hatched,
    Kind.BREED: _breed,
    Kind.STATUS: _status,
    Kind.DEFECTS: _defects,
    Kind.NUMBER: _number,
    Kind.PROBABILITY: _number,
    Kind.COUNT: _count,
    Kind.YES_NO: _worded(YES_WORDS, 0.3),
    Kind.WISH: _worded(WISH_WORDS, 0.9),
    Kind.PURPOSE: _worded(PURPOSE_WORDS, 0.8),
    Kind.CLASSES: _classes,
    Kind.HOW: _worded(HOW_WORDS, 0.7),
}
