"""Numbers with and without units: each trait comes out in one unit, what was converted is said."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from math import log
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import column_of, columns_of_kind, with_column
from matchmaker.intake.ledger import OPEN, YES, Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.intake.shape import POUNDS
from matchmaker.tables.cells import read_cell, read_number
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.intake.entry import Cell, Entry

_MASS: Final = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction(45359237, 100000),
    "oz": Fraction(45359237, 1600000),
}
"""Grams; the pound is 0.45359237 kg by the international agreement of 1959, 16 ounces to it."""

_LENGTH: Final = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}
"""Millimetres; the inch is 25.4 mm by the same agreement."""

_WORDS: Final = {
    **dict.fromkeys(("gr", "gm", "gms", "gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("kilo", "kilos", "kgs", "kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("ounce", "ounces", "ozs"), "oz"),
    **dict.fromkeys(("inch", "inches"), "in"),
}
_VALUE: Final = re.compile(r"([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+))\s*([A-Za-z%]*)\.?")
_REMARK: Final = re.compile(r"(.*?\d\s*[A-Za-z%]*)\s*[(\[;]\s*([^()\[\]]+)[)\]]?")
_HEADER_UNIT: Final = re.compile(r"(?:^|[\s(_\[,])([a-z]+)[)\]]?\.?\s*$")
_OTHER_UNIT: Final = 20
"""A bare number so many times above or below the middle of the others is in another unit."""

_LEAST: Final = Fraction(1, 10**9)
_MOST: Final = Fraction(10**9)

_THOUSAND: Final = re.compile(r"(\d{1,3})[.,](\d{3})(\s*g.*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Number:
    """A number read from a cell, with its unit ("" if none stands there)."""

    entry: Entry
    cell: Cell
    number: Fraction
    unit: str


def take_numbers(entries: Sequence[Entry], ledger: Ledger) -> dict[str, str]:
    """Write every number with a decimal point and no unit; return the unit of each trait."""
    for table, column in columns_of_kind(Kind.NUMBER, Kind.COUNT, Kind.PROBABILITY):
        for entry, cell in with_column(entries, table, column.name):
            _take_declared(column, entry, cell, ledger)
    return {
        trait: unit for trait in traits_of(entries) if (unit := _take_trait(entries, trait, ledger))
    }


def traits_of(entries: Sequence[Entry]) -> list[str]:
    """The traits that the rows of scores hold, in their order."""
    return list(
        dict.fromkeys(
            name
            for entry in entries
            if entry.table == "scores"
            for name in entry.cells
            if column_of("scores", name) is None
        )
    )


def unit_of(word: str) -> str:
    """The unit a word means; "" where it is none.

    Examples
    --------
    >>> unit_of("Lbs"), unit_of("kg"), unit_of("tame")
    ('lb', 'kg', '')
    """
    plain = word.casefold()
    unit = _WORDS.get(plain, plain)
    return unit if unit in {*_MASS, *_LENGTH} else ""


def converted(number: Fraction, unit: str, wanted: str) -> Fraction | None:
    """A number in another unit; ``None`` where the two measure different things.

    Examples
    --------
    >>> float(converted(Fraction(2100), "g", "kg"))
    2.1
    """
    for factors in (_MASS, _LENGTH):
        if unit in factors and wanted in factors:
            return number * factors[unit] / factors[wanted]
    return None


def _take_declared(column: Column, entry: Entry, cell: Cell, ledger: Ledger) -> None:
    text, remark = _without_remark(cell.text)
    reading = read_cell(text, column, Hints())
    if reading.issue is not None:
        ledger.leave_in_doubt(reading.issue.kind, cell, reading.issue.problem, reading.issue.mend)
        return
    number = Fraction(0 if reading.value is None else str(reading.value))
    value = "" if reading.value is None else _plain_number(number)
    if value:
        entry.values[column.name] = value
    if remark:
        entry.notes.append(f"{cell.header}: {remark}")
    ledger.change(entry.table, column.name, cell, value)


def _without_remark(text: str) -> tuple[str, str]:
    matched = _REMARK.fullmatch(text)
    return (matched[1], matched[2].strip()) if matched else (text, "")


def _take_trait(entries: Sequence[Entry], trait: str, ledger: Ledger) -> str:
    numbers = [
        number
        for entry, cell in with_column(entries, "scores", trait)
        if (number := _read(trait, entry, cell, ledger)) is not None
    ]
    header = _unit_of_header([*(one.cell.header for one in numbers), trait])
    scale = _scale(numbers, header)
    likely = [(one, one.unit or _likely_unit(one.number, scale, header)) for one in numbers]
    counted = Counter(unit for _, unit in likely if unit)
    unit = header or (counted.most_common(1)[0][0] if counted else "")
    for one, own in likely:
        sure = bool(one.unit) or own == unit
        _write(one, trait, own if sure else _asked_unit(one, own, unit, ledger), unit, ledger)
    return unit


def _unit_of_header(headers: Sequence[str]) -> str:
    named = [unit for header in dict.fromkeys(headers) if (unit := _header_unit(header))]
    return named[0] if named else ""


@dataclass(frozen=True, slots=True)
class _Scale:
    """What the numbers of a trait are compared with: their middle, in the units they may be in."""

    middle: Fraction
    units: Mapping[str, Fraction]


def _scale(numbers: Sequence[_Number], header: str) -> _Scale | None:
    """The scale of numbers some of which have a unit, or all by the header; else ``None``."""
    told = [size for one in numbers if (size := _size(one.number, one.unit or header))]
    if not told:
        return None
    unit = header or next(one.unit for one in numbers if one.unit)
    family = next(family for family in _FAMILIES if unit in family)
    common = _DECIMAL if family is _MASS else ()
    units = dict.fromkeys([header, *(one.unit for one in numbers), *common])
    middle = sorted(told)[len(told) // 2]
    return _Scale(middle, {unit: family[unit] for unit in units if unit in family})


def _likely_unit(number: Fraction, scale: _Scale | None, header: str) -> str:
    """The unit in which a bare number comes nearest to the middle of those with a unit."""
    if scale is None or number <= 0:
        return header
    far = {unit: _off(number * factor, scale.middle) for unit, factor in scale.units.items()}
    if header and far[header] < log(_OTHER_UNIT):
        return header
    return min(far, key=far.__getitem__)


def _size(number: Fraction, unit: str) -> Fraction | None:
    """A positive number in grams or millimetres."""
    factor = next((family[unit] for family in _FAMILIES if unit in family), None)
    return number * factor if factor and number > 0 else None


def _off(size: Fraction, middle: Fraction) -> float:
    return abs(log(float(size / middle)))


_FAMILIES: Final = (_MASS, _LENGTH)
_DECIMAL: Final = ("g", "kg")


def _read(trait: str, entry: Entry, cell: Cell, ledger: Ledger) -> _Number | None:
    text, remark = _without_remark(cell.text)
    if is_blank(text):
        ledger.change("scores", trait, cell, "")
        return None
    if _THOUSAND.fullmatch(text):
        text = _asked_thousands(text, cell, ledger)
    number, word = _number_and_word(text)
    problem = _problem(number, word, cell)
    if number is None or problem:
        mend = "write the number alone, with a decimal point and nothing between the thousands"
        ledger.leave_in_doubt("bad-number", cell, problem, mend)
        return None
    if remark:
        entry.notes.append(f"{cell.header}: {remark}")
    return _Number(entry=entry, cell=cell, number=number, unit=unit_of(word))


def _number_and_word(text: str) -> tuple[Fraction | None, str]:
    """The number in a text, ``None`` if there is none, and the word behind it."""
    pounds = POUNDS.fullmatch(text)
    if pounds:
        ounces = Fraction(pounds[2].replace(",", "."))
        return int(pounds[1]) + ounces * _MASS["oz"] / _MASS["lb"], "lb"
    matched = _VALUE.fullmatch(text)
    reading = read_number(matched[1] if matched else text, _ANY)
    number = None if reading.value is None else Fraction(str(reading.value))
    return number, matched[2] if matched else ""


def _problem(number: Fraction | None, word: str, cell: Cell) -> str:
    """What keeps a number from being taken; "" if nothing does."""
    if number is None:
        return f"{cell.text} is not one number that can be told"
    if number and not _LEAST < abs(number) < _MOST:
        return f"{cell.text} is too large or too small to be meant"
    if word and not unit_of(word) and word.casefold() not in cell.header.casefold():
        return f"{cell.text} ends in {word}, which is no unit"
    return ""


def _asked_thousands(text: str, cell: Cell, ledger: Ledger) -> str:
    """Grams with three figures behind a point: thousands, if the keeper says so; "" if left."""
    matched = _THOUSAND.fullmatch(text)
    whole = f"{matched[1]}{matched[2]} g" if matched else ""
    question = Question(
        key=f"thousands:{cell.file}:{cell.sheet}:{cell.header}:{text}",
        text=f"In the column {cell.header} stands {cell.text}. Is that {whole}?",
        choices=(YES, OPEN),
        proposed=YES,
        places=places_of([cell]),
    )
    return whole if ledger.ask(question) == YES else ""


_ANY: Final = Column(name="trait", kind=Kind.NUMBER, meaning="")


def _header_unit(header: str) -> str:
    matched = _HEADER_UNIT.search(header.casefold())
    return unit_of(matched[1]) if matched and matched[1] != "in" else ""


def _asked_unit(one: _Number, own: str, unit: str, ledger: Ledger) -> str:
    """The unit of a bare number far from the others; asked once for all such of a column."""
    question = Question(
        key=f"unit:{one.cell.file}:{one.cell.sheet}:{one.cell.header}",
        text=f"The column {one.cell.header} is in {unit}, but {one.cell.text} cannot be. Is it in "
        f"{own}?",
        choices=(own, unit, OPEN),
        proposed=own,
        places=places_of([one.cell]),
    )
    return ledger.ask(question) or OPEN


def _write(one: _Number, trait: str, own: str, unit: str, ledger: Ledger) -> None:
    number = one.number if own == unit else converted(one.number, own, unit)
    if number is None:
        problem = f"{one.cell.text} is not in {unit or 'the unit of the column'}"
        ledger.leave_in_doubt("other-unit", one.cell, problem, f"write it in {unit}")
        return
    value = _plain_number(number)
    one.entry.values[trait] = value
    ledger.change("scores", trait, one.cell, value)


def _plain_number(number: Fraction) -> str:
    """A number as our tables hold it, to six figures at most behind the point.

    Examples
    --------
    >>> _plain_number(Fraction(21, 10)), _plain_number(Fraction(5))
    ('2.1', '5')
    """
    if number.denominator == 1:
        return str(number.numerator)
    return f"{float(number):.6f}".rstrip("0").rstrip(".")
