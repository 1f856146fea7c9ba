"""Names one after the other, as a sentence has them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def listed(names: Sequence[str], last: str = "and") -> str:
    """All of the names, with a word before the last of them.

    Examples
    --------
    >>> listed(["H1"]), listed(["H1", "H2", "H7"]), listed(["H1", "H2"], "or")
    ('H1', 'H1, H2 and H7', 'H1 or H2')
    """
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def first_few(names: Iterable[str], most: int) -> str:
    """So many of the names at most, and how many more there are.

    Examples
    --------
    >>> first_few("ABCD", 2), first_few("AB", 2)
    ('A, B and 2 more', 'A, B')
    """
    every = list(names)
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most]) + more


def natural(label: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts "Pen 2" before "Pen 10", and Y2 before Y10.

    Examples
    --------
    >>> sorted(["Pen 10", "Pen 2", "Barn"], key=natural)
    ['Barn', 'Pen 2', 'Pen 10']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", label)
    return tuple((0, int(part), part) if part.isdecimal() else (1, 0, part) for part in parts)
