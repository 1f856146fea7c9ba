"""Paths of kinship drawn as small pedigrees: the common forebear above, the two birds below."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

GAP: Final = 4
"""Blanks between two drawings side by side."""

BETWEEN: Final = 3
"""Blanks between the two sides of a drawing, at least."""

LINES: Final = {"│": "|", "┌": "+", "┐": "+", "┴": "+", "─": "-"}
"""What is drawn where the output cannot show lines."""


def drawn(
    first: Sequence[str], second: Sequence[str], foot: str, *, plain: bool = False
) -> list[str]:
    r"""One path as lines of text; each way is given from its bird up to the common forebear.

    ``foot`` is written beneath. With ``plain`` nothing but letters, ``|``, ``+`` and ``-`` is used.

    Examples
    --------
    >>> print(*drawn(("H1", "H0", "A"), ("C1", "A"), "0.063"), sep="\n")
       A
     ┌─┴──┐
    H0   C1
     │
    H1
    0.063
    >>> print(*drawn(("H1", "H0", "A"), ("A",), "0.125", plain=True), sep="\n")
     A
     |
    H0
     |
    H1
    0.125
    """
    *left, top = first
    right = second[:-1]
    if not left or not right:
        lines = _column(top, list(reversed(left or right)))
    else:
        lines = _arch(top, list(reversed(left)), list(reversed(right)))
    width = max(len(line) for line in (*lines, foot))
    lines = [_shifted(line, (width - max(map(len, lines))) // 2) for line in lines]
    found = [line.rstrip() for line in (*lines, foot)]
    return [_in_ascii(line) for line in found] if plain else found


def side_by_side(drawings: Iterable[list[str]], width: int) -> list[str]:
    """Drawings beside each other as far as the width goes, the others beneath."""
    rows: list[list[list[str]]] = [[]]
    for drawing in drawings:
        if rows[-1] and _total([*rows[-1], drawing]) > width:
            rows.append([])
        rows[-1].append(drawing)
    found: list[str] = []
    for row in rows:
        found += [""] if found else []
        found += _joined(row)
    return found


def _total(row: Sequence[list[str]]) -> int:
    return sum(max(map(len, one)) for one in row) + GAP * (len(row) - 1)


def _joined(row: Sequence[list[str]]) -> list[str]:
    """Drawings of one row, their feet on one line."""
    high = max((len(one) for one in row), default=0)
    wide = [max(map(len, one)) for one in row]
    padded = [[*one[:-1], *[""] * (high - len(one)), one[-1]] for one in row]
    return [
        (" " * GAP)
        .join(cell.ljust(width) for cell, width in zip(cells, wide, strict=True))
        .rstrip()
        for cells in zip(*padded, strict=True)
    ]


def _column(top: str, below: Sequence[str]) -> list[str]:
    """Birds one under another."""
    middle = max(map(len, (top, *below))) // 2
    lines = [_shifted(top, middle - len(top) // 2)]
    for bird in below:
        lines += [_shifted("│", middle), _shifted(bird, middle - len(bird) // 2)]
    return lines


def _arch(top: str, left: Sequence[str], right: Sequence[str]) -> list[str]:
    """Two columns of birds under the one in which they meet."""
    wide = [max(map(len, side)) for side in (left, right)]
    gap = max(BETWEEN, len(top) - wide[0] // 2 - wide[1] // 2)
    ends = (wide[0] // 2, wide[0] + gap + wide[1] // 2)
    middle = sum(ends) // 2
    bar = ["─" if ends[0] < at < ends[1] else " " for at in range(ends[1] + 1)]
    bar[ends[0]], bar[middle], bar[ends[1]] = "┌", "┴", "┐"
    lines = [_shifted(top, middle - len(top) // 2), "".join(bar)]
    for at, (one, two) in enumerate(zip_longest(left, right, fillvalue="")):
        if at:
            posts = ("│" if one else " ", "│" if two else " ")
            lines.append(_at(posts, ends))
        lines.append(_centred((one, two), wide, gap))
    return lines


def _at(posts: tuple[str, str], ends: tuple[int, int]) -> str:
    return f"{' ' * ends[0]}{posts[0]}{' ' * (ends[1] - ends[0] - 1)}{posts[1]}"


def _centred(names: tuple[str, str], wide: Sequence[int], gap: int) -> str:
    """Two names, each with its middle where its line comes down."""
    left = _shifted(names[0], wide[0] // 2 - len(names[0]) // 2).ljust(wide[0] + gap)
    return left + _shifted(names[1], wide[1] // 2 - len(names[1]) // 2)


def _shifted(text: str, by: int) -> str:
    return " " * max(0, by) + text


def _in_ascii(line: str) -> str:
    return "".join(LINES.get(letter, letter) for letter in line)
