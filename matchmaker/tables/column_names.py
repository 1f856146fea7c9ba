"""Columns as a spreadsheet letters them."""

from __future__ import annotations


def column_letters(at: int) -> str:
    """Return the letters of a column counted from 0.

    Examples
    --------
    >>> [column_letters(at) for at in (0, 25, 26, 701, 702)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA']
    """
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
