"""Bands as a keeper writes many of them: ranges, single ones, or both."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST: Final = 500
"""More bands than this in one range are taken for a slip of the pen."""

DIGITS_MAX: Final = 30
"""No band has so many digits; Python itself refuses thousands of them."""

LETTERS_MAX: Final = 200
"""No band and no range of bands is written with so many letters."""

RANGE: Final = ".."

_BETWEEN: Final = re.compile(r"(?<!\s)\s*(?:[-–—…]| to )\s*")
"""What else than two dots is written between the ends of a range."""

_NUMBERED: Final = re.compile(r"(.*?)(\d+)(\D*)")


class BandError(ValueError):
    """Bands that cannot be read; it says what is wrong and what to write."""


def read_bands(text: str) -> tuple[str, ...]:
    """Return the bands that a text names, in its order.

    Raises
    ------
    BandError
        If a range cannot be read, is too long, or a band stands twice.

    Examples
    --------
    >>> read_bands("C27-009..C27-011, C27-020")
    ('C27-009', 'C27-010', 'C27-011', 'C27-020')
    >>> read_bands("98..101")
    ('98', '99', '100', '101')
    """
    parts = (part.strip() for part in re.split(r"[,;]", text))
    found = [band for part in parts if part for band in _part(part)]
    twice = sorted(band for band, times in Counter(found).items() if times > 1)
    if twice:
        raise BandError(f"{twice[0]} is named twice: name each band once")
    return tuple(found)


def is_range(text: str) -> bool:
    """Whether a text is a range of bands.

    >>> is_range("C1..C4"), is_range("C1")
    (True, False)
    """
    return RANGE in text


def whole_range(bands: Iterable[str]) -> tuple[str, str] | None:
    """Return the first and the last band if these are all bands between the two.

    Examples
    --------
    >>> whole_range(["C27-009", "C27-010", "C27-011"]), whole_range(["C1", "C3"])
    (('C27-009', 'C27-011'), None)
    """
    listed = list(bands)
    if not listed:
        return None
    try:
        spanned = _between(listed[0], listed[-1])
    except BandError:
        return None
    return (listed[0], listed[-1]) if spanned == listed else None


def _part(part: str) -> list[str]:
    if len(part) > LETTERS_MAX:
        raise BandError(
            f"{part[:40]}… has {len(part)} letters and is no band: write commas between bands"
        )
    if not is_range(part):
        _refuse_joined(part)
        return [part]
    first, _, last = (side.strip() for side in part.partition(RANGE))
    if not first or not last or RANGE in last:
        raise BandError(f"{part} is no range of bands: write it as in C27-001..C27-012")
    return _between(first, last)


def _refuse_joined(part: str) -> None:
    """Refuse a range written with a dash, which would become one chick of a strange band."""
    for at in _BETWEEN.finditer(part):
        first, last = part[: at.start()], part[at.end() :]
        one, two = _NUMBERED.fullmatch(first), _NUMBERED.fullmatch(last)
        if one and two and one[1] and (one[1], one[3]) == (two[1], two[3]):
            raise BandError(
                f"{part} looks like a range of bands: write two dots, {first}{RANGE}{last}; if it "
                "is one band, add its row to birds.csv yourself"
            )


def _between(first: str, last: str) -> list[str]:
    if first == last:
        return [first]
    one, two = _NUMBERED.fullmatch(first), _NUMBERED.fullmatch(last)
    if not one or not two or (one[1], one[3]) != (two[1], two[3]):
        raise BandError(
            f"{first} and {last} do not differ by a number alone: write both ends in full, as in "
            "C27-001..C27-012, or name the bands one by one"
        )
    padded = one[2].startswith("0") or two[2].startswith("0")
    if padded and len(one[2]) != len(two[2]):
        raise BandError(f"{first} and {last} have numbers of unequal length: write the zeros too")
    if max(len(one[2]), len(two[2])) > DIGITS_MAX:
        raise BandError(f"{first} has more than {DIGITS_MAX} digits in a row: write the real band")
    low, high = int(one[2]), int(two[2])
    if high < low:
        raise BandError(f"{first}{RANGE}{last} goes backwards: write the lower band first")
    if high - low >= MOST:
        raise BandError(f"{first}{RANGE}{last} are {high - low + 1} bands: {MOST} at most go")
    return [f"{one[1]}{n:0{len(one[2])}d}{one[3]}" for n in range(low, high + 1)]
