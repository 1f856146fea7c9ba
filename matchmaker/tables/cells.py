"""One parser for each kind of cell: a value, or what is wrong with it in words."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Final

from matchmaker.tables.dates import read_date, read_hatched
from matchmaker.tables.nearness import meant, nearest
from matchmaker.tables.odd_signs import clear_name
from matchmaker.tables.parents import read_breed, read_parent
from matchmaker.tables.reading import BLANK_WORDS, Hints, Issue, Reading, is_blank, refused
from matchmaker.tables.records import Sex, Status
from matchmaker.tables.schema import Column, Kind

SEX_WORDS: Final[Mapping[str, Sex | None]] = {
    **dict.fromkeys(("m", "male", "cock", "cockerel", "rooster", "boy", "c", "♂"), Sex.COCK),
    **dict.fromkeys(("f", "female", "hen", "pullet", "girl", "h", "♀"), Sex.HEN),
    **dict.fromkeys(("u", "unsexed", "not sexed"), None),
}

STATUS_WORDS: Final[Mapping[str, Status]] = {
    **{status.value: status for status in Status},
    **dict.fromkeys(("breeding", "active", "alive", "kept"), Status.BREEDER),
    **dict.fromkeys(("chick", "growing", "juvenile", "grower"), Status.YOUNG),
    **dict.fromkeys(("reserve", "extra"), Status.SPARE),
    **dict.fromkeys(("isolation", "isolated", "quarantined"), Status.QUARANTINE),
    **dict.fromkeys(("given away", "gone", "rehomed"), Status.SOLD),
    **dict.fromkeys(("died", "deceased", "lost", "†"), Status.DEAD),
    **dict.fromkeys(("killed", "slaughtered", "put down"), Status.CULLED),
}

YES_WORDS: Final[Mapping[str, bool]] = {
    **dict.fromkeys(("yes", "y", "true", "1", "x"), True),
    **dict.fromkeys(("no", "n", "false", "0"), False),
}

WISH_WORDS: Final[Mapping[str, str]] = {
    **{word: word for word in ("together", "apart", "allow", "use", "rest")},
    **dict.fromkeys(("keep together", "pair"), "together"),
    **dict.fromkeys(("keep apart", "not together", "separate"), "apart"),
}

PURPOSE_WORDS: Final[Mapping[str, str]] = {
    **{word: word for word in ("backcross", "intercross", "hold", "test")},
    **dict.fromkeys(("keep pure", "pure"), "hold"),
    **dict.fromkeys(("carrier x carrier", "carrier × carrier"), "intercross"),
    **dict.fromkeys(("test mating", "test matings", "tests"), "test"),
}

HOW_WORDS: Final[Mapping[str, str]] = {
    **{word: word for word in ("day-old", "adult", "dna", "report")},
    **dict.fromkeys(("day old", "dayold", "chick", "at hatch"), "day-old"),
    **dict.fromkeys(("grown", "sight", "seen"), "adult"),
    **dict.fromkeys(("dna test", "test", "marker"), "dna"),
    **dict.fromkeys(("told", "hearsay", "breeder's word"), "report"),
}

_NUMBER: Final = re.compile(
    r"([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*([^\W\d_].*|%)?"
)
_THOUSANDS: Final = re.compile(
    r"[+-]?[1-9]\d{0,2}(?:(?:[ .,'\u2019]\d{3})+[.,]\d+|(?:[ ',\u2019]\d{3})+)(?:\D.*)?"
)
_COUNTED: Final = re.compile(
    r"(\d{1,6})(?!\d)\s*(?:x\s|×)?\s*(.*\D.*|\d\s*cop(?:y|ies))", re.DOTALL
)
_BETWEEN_CLASSES: Final = re.compile(r"[,;\n]")
_COPIES: Final = re.compile(r"\d\s*cop(?:y|ies)", re.IGNORECASE)

_NO_BAND: Final = BLANK_WORDS | {"founder"}


def read_cell(text: str, column: Column, hints: Hints) -> Reading:
    """Return what a cell says; a blank cell reads as no value without an issue."""
    return _PARSERS[column.kind](text, column, hints)


def _text(text: str, _column: Column, _hints: Hints) -> Reading:
    return Reading(text)


def _name(text: str, _column: Column, _hints: Hints) -> Reading:
    return Reading("" if text.casefold() in BLANK_WORDS else text)


def _band(text: str, column: Column, _hints: Hints) -> Reading:
    if not text:
        return Reading("")
    if not column.required:
        return Reading("" if text.casefold() in BLANK_WORDS else text)
    if text.casefold() in _NO_BAND:
        return refused("no-band", f"{text} cannot be a band", "write the bird's own band")
    if "|" in text or ":" in text:
        return refused(
            "no-band",
            f"the band {text} holds | or :, which separate several possible parents",
            "write another sign in its place, everywhere the band stands",
        )
    return Reading(text)


def _worded(words: Mapping[str, object], kind: str, wanted: str) -> _Parser:
    def parse(text: str, _column: Column, _hints: Hints) -> Reading:
        word = " ".join(text.casefold().replace("\ufe0f", "").split())
        if word in words:
            return Reading(words[word])
        if is_blank(text):
            return Reading()
        problem = f"{text} is not understood here"
        if word.rstrip(" ?") in words:
            sure = f"write it without the question mark once it is sure; till then write {wanted}"
            return refused(kind, problem, sure)
        near = nearest(word, words)
        mend, becomes = meant(near, f"write {wanted}"), clear_name(near) or ""
        return Reading(None, Issue(kind=kind, problem=problem, mend=mend, becomes=becomes))

    return parse


def _sex(text: str, column: Column, hints: Hints) -> Reading:
    if text in {"0", "1", "2"}:
        return refused(
            "sex-number",
            f"{text} means cock to some and hen to others",
            "write cock or hen, or leave the cell empty while it is unknown",
        )
    wanted = "cock or hen, or leave the cell empty while it is unknown"
    return _worded(SEX_WORDS, "bad-sex", wanted)(text, column, hints)


def _date(text: str, _column: Column, hints: Hints) -> Reading:
    return Reading() if is_blank(text) else read_date(text, hints)


def _hatched(text: str, _column: Column, hints: Hints) -> Reading:
    return Reading() if is_blank(text) else read_hatched(text, hints)


def _parent(text: str, _column: Column, _hints: Hints) -> Reading:
    return read_parent(text)


def _breed(text: str, _column: Column, _hints: Hints) -> Reading:
    return read_breed(text)


def _defects(text: str, _column: Column, _hints: Hints) -> Reading:
    if is_blank(text) or text.casefold() in {"no", "0"}:
        return Reading(())
    parts = (part.strip() for part in re.split(r"[,;|]", text))
    return Reading(tuple(part for part in parts if part))


def read_number(text: str, column: Column) -> Reading:
    """Return a number in the column's unit: decimal comma or point, the unit itself allowed."""
    if is_blank(text):
        return Reading()
    if _THOUSANDS.fullmatch(text):
        return refused(
            "unclear-number",
            f"{text} may hold a separator of thousands",
            "write the number with a decimal point and nothing between the thousands",
        )
    matched = _NUMBER.fullmatch(text.replace("\u2212", "-"))
    if not matched:
        return refused("bad-number", f"{text} is not a number", "write a number")
    number, unit = float(matched[1].replace(",", ".")), (matched[2] or "").strip()
    if not math.isfinite(number):
        return refused("bad-number", f"{text} is too large to be meant", "write a number")
    return _in_unit(text, number, unit, column)


def _in_unit(text: str, number: float, unit: str, column: Column) -> Reading:
    if unit == "%" and column.kind is Kind.PROBABILITY:
        number /= 100
    elif unit and unit.casefold() not in {column.unit.casefold(), column.unit.casefold()[:-1]}:
        wanted = f"the column is in {column.unit}" if column.unit else "the column has no unit"
        return refused(
            "other-unit",
            f"{text} ends in {unit}, but {wanted}",
            "convert the number, or name the unit in matchmaker.toml",
        )
    return _in_range(text, number, column)


def _in_range(text: str, number: float, column: Column) -> Reading:
    low, high = column.low, column.high
    if (low is None or number >= low) and (high is None or number <= high):
        return Reading(number)
    if high is None:
        span = f"at least {low:g}"
    else:
        span = f"from {low:g} to {high:g}" if low is not None else f"at most {high:g}"
    return refused("out-of-range", f"{text} is not possible here", f"write a number {span}")


def _number(text: str, column: Column, _hints: Hints) -> Reading:
    return read_number(text, column)


def _count(text: str, column: Column, _hints: Hints) -> Reading:
    reading = read_number(text, column)
    if not isinstance(reading.value, float):
        return reading
    if not reading.value.is_integer():
        return refused("bad-count", f"{text} is not a whole number", "write a whole number")
    return Reading(int(reading.value))


def _classes(text: str, _column: Column, _hints: Hints) -> Reading:
    """Return ``((class, count or None), ...)``: one class, or several each with its count."""
    if is_blank(text):
        return Reading(())
    if not _BETWEEN_CLASSES.search(text):
        return Reading((_counted(text),))
    parts = _BETWEEN_CLASSES.split(text)
    counted = tuple(_counted(part.strip()) for part in parts if part.strip())
    names = [name for name, _ in counted]
    if not counted or len(set(names)) < len(names) or any(count is None for _, count in counted):
        return refused(
            "bad-classes",
            f"{text} does not give each class once with its count",
            "write it as in 9 pea, 4 single",
        )
    return Reading(counted)


def _counted(part: str) -> tuple[str, int | None]:
    matched = None if _COPIES.fullmatch(part) else _COUNTED.fullmatch(part)
    if not matched:
        return part, None
    return matched[2].strip(), int(matched[1])


_Parser = Callable[[str, Column, Hints], Reading]

_PARSERS: Final[Mapping[Kind, _Parser]] = {
    Kind.BAND: _band,
    Kind.BAND_RANGE: _name,
    Kind.NAME: _name,
    Kind.TEXT: _text,
    Kind.SEX: _sex,
    Kind.DATE: _date,
    Kind.HATCHED: _hatched,
    Kind.PARENT: _parent,
    Kind.BREED: _breed,
    Kind.STATUS: _worded(STATUS_WORDS, "bad-status", ", ".join(Status)),
    Kind.DEFECTS: _defects,
    Kind.NUMBER: _number,
    Kind.PROBABILITY: _number,
    Kind.COUNT: _count,
    Kind.YES_NO: _worded(YES_WORDS, "bad-yes-no", "yes or no"),
    Kind.WISH: _worded(WISH_WORDS, "bad-wish", "together, apart, allow, use or rest"),
    Kind.PURPOSE: _worded(PURPOSE_WORDS, "bad-use", "backcross, intercross, hold or test"),
    Kind.CLASSES: _classes,
    Kind.HOW: _worded(HOW_WORDS, "bad-how", "day-old, adult, dna or report"),
}
