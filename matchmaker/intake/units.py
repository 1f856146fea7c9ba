"""Numbers with and without units: each trait comes out in one unit, what was converted is said."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import column_of, columns_of_kind, with_column
from matchmaker.intake.ledger import OPEN, Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.tables.cells import read_cell, read_number
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

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
"""A bare number so many times above the greatest, or below the least, of those with a unit may be
in another unit."""


_GRAMS_FROM: Final = 50
"""No bird weighs so many kilograms, and no egg or chick so few grams by far (common practice, no
source)."""


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
    value = "" if reading.value is None else _plain_number(Fraction(str(reading.value)))
    if value:
        entry.values[column.name] = value
    if remark:
        entry.notes.append(f"{cell.header}: {remark}")
    ledger.change(entry.table, column.name, cell.text, value)


def _without_remark(text: str) -> tuple[str, str]:
    matched = _REMARK.fullmatch(text)
    return (matched[1], matched[2].strip()) if matched else (text, "")


def _take_trait(entries: Sequence[Entry], trait: str, ledger: Ledger) -> str:
    numbers = [
        number
        for entry, cell in with_column(entries, "scores", trait)
        if (number := _read(trait, entry, cell, ledger)) is not None
    ]
    unit = _unit_of_trait(numbers, trait)
    bare = [one for one in numbers if not one.unit]
    stray = _other_unit([one for one in numbers if one.unit], bare, unit)
    for one in numbers:
        own = one.unit or (_asked_unit(one, stray, unit, ledger) if stray else unit)
        _write(one, trait, own, unit, ledger)
    return unit


def _read(trait: str, entry: Entry, cell: Cell, ledger: Ledger) -> _Number | None:
    text, remark = _without_remark(cell.text)
    if is_blank(text):
        ledger.change("scores", trait, cell.text, "")
        return None
    reading = read_number(_VALUE.sub(r"\1", text) if _VALUE.fullmatch(text) else text, _ANY)
    if reading.issue is not None:
        ledger.leave_in_doubt(reading.issue.kind, cell, reading.issue.problem, reading.issue.mend)
        return None
    matched = _VALUE.fullmatch(text)
    word = matched[2] if matched else ""
    if word and not unit_of(word) and word.casefold() not in cell.header.casefold():
        problem, mend = f"{cell.text} ends in {word}, which is no unit", "write the number alone"
        ledger.leave_in_doubt("other-unit", cell, problem, mend)
        return None
    if remark:
        entry.notes.append(f"{cell.header}: {remark}")
    return _Number(entry=entry, cell=cell, number=Fraction(str(reading.value)), unit=unit_of(word))


_ANY: Final = Column(name="trait", kind=Kind.NUMBER, meaning="")


def _unit_of_trait(numbers: Sequence[_Number], trait: str) -> str:
    """The unit that a header names, else the one written most often in the cells."""
    headers = dict.fromkeys([*(one.cell.header for one in numbers), trait])
    named = [unit for header in headers if (unit := _header_unit(header))]
    if named:
        return named[0]
    written = Counter(one.unit for one in numbers if one.unit)
    return written.most_common(1)[0][0] if written else ""


def _header_unit(header: str) -> str:
    matched = _HEADER_UNIT.search(header.casefold())
    return unit_of(matched[1]) if matched and matched[1] != "in" else ""


def _other_unit(told: Sequence[_Number], bare: Sequence[_Number], unit: str) -> str:
    """The unit that bare numbers far from the others must be in, "" where there are none such."""
    known = [found for one in told if (found := converted(one.number, one.unit, unit)) is not None]
    known += [one.number for one in bare] if not known and unit else []
    others = {"kg": "g", "g": "kg"}.get(unit, "")
    if not known or not others:
        return ""
    return others if any(_is_far(one.number, known) for one in bare) else ""


def _is_far(number: Fraction, known: Sequence[Fraction]) -> bool:
    middle = sorted(known)[len(known) // 2]
    return number > middle * _OTHER_UNIT or number * _OTHER_UNIT < middle


def _asked_unit(one: _Number, other: str, unit: str, ledger: Ledger) -> str:
    """The unit of a bare number; asked once for all that lie far from the others."""
    if (other == "g") != (one.number >= _GRAMS_FROM):
        return unit
    question = Question(
        key=f"unit:{one.cell.file}:{one.cell.sheet}:{one.cell.header}",
        text=f"The column {one.cell.header} is in {unit}, but {one.cell.text} cannot be. Is it in "
        f"{other}?",
        choices=(other, unit, OPEN),
        proposed=other,
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
    ledger.change("scores", trait, one.cell.text, value)


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
