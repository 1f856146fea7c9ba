"""How much room a text takes on paper, reckoned generously: no letter may be cut at any printer's.

The widths are those of DejaVu Sans Bold, rounded up, one of the widest faces that systems show a
page with (measured with its own tables: digits 0.70 em, capitals 0.77 em on average).
"""

from __future__ import annotations

import math
import re
import unicodedata
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

PLAIN: Final = 0.9
"""Width of a plain letter beside that of a bold one."""

NARROW: Final = frozenset("iljtfr.,:;'!|()[] -")
WIDE: Final = frozenset("mwMW@%&—…×")

_PIECES: Final = re.compile(r"[^\s\-]*-|\S+")


def width_em(text: str) -> float:
    """Width of a text in bold letters, in units of its letter size.

    Examples
    --------
    >>> width_em("C12"), width_em("ill")
    (2.2, 1.26)
    """
    return round(sum(map(_letter, text)), 6)


def _letter(letter: str) -> float:
    if unicodedata.combining(letter):
        return 0.0
    if letter in NARROW:
        return 0.42
    if letter in WIDE or unicodedata.east_asian_width(letter) in {"W", "F"}:
        return 1.05
    if letter.isupper():
        return 0.8
    return 0.7 if letter.isdigit() or ord(letter) < 0x250 else 0.8


def line_count(text: str, room_em: float) -> int:
    """Lines that a text takes in so much room, words kept whole where they fit.

    Examples
    --------
    >>> line_count("C12", 3), line_count("C12-004", 3), line_count("", 3)
    (1, 2, 0)
    """
    lines, left = (0, 0.0)
    for piece in _pieces(text):
        width, room = width_em(piece), width_em(piece.rstrip())
        if room > left:
            broken = max(1, math.ceil(room / room_em)) if room_em > 0 else len(piece)
            lines += broken
            left = broken * room_em
        left -= width
    return lines


def _pieces(text: str) -> Iterator[str]:
    """What may not be broken while it fits: words, with the space after, and parts to a hyphen."""
    for word in text.split():
        for piece in _PIECES.findall(word + " "):
            yield piece if piece.endswith("-") else piece + " "
