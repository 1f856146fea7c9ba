"""Text that a spreadsheet would run as a formula, kept from running and read back as it was."""

from __future__ import annotations

import re
from typing import Final

GUARD: Final = "'"

_RUNS: Final = re.compile(r"'*([=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20].+)", re.DOTALL)
"""The last four are the wide forms of the first, which some spreadsheets take for them."""

_NUMBER: Final = re.compile(r"[+-](?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")


def guarded(text: str) -> str:
    """Return a cell as it is written: with ``'`` before what would run as a formula.

    Numbers stay as they are, and so does a sign alone. A text that is a guarded one already gets
    another guard, so that ``unguarded`` gives back every text there is.

    Examples
    --------
    >>> (
    ...     guarded("=1+1"),
    ...     guarded("-H1"),
    ...     guarded("-1.5"),
    ...     guarded("-"),
    ...     guarded("'=1"),
    ...     guarded("o'"),
    ... )
    ("'=1+1", "'-H1", '-1.5', '-', "''=1", "o'")
    """
    return GUARD + text if _needs_guard(text) else text


def unguarded(cell: str) -> str:
    """Return what a cell says, without the guard that ``guarded`` put before it.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("'tis"), unguarded("=1+1")
    ('=1+1', "'tis", '=1+1')
    """
    return cell[1:] if cell.startswith(GUARD) and _needs_guard(cell[1:]) else cell


def _needs_guard(text: str) -> bool:
    found = _RUNS.fullmatch(text)
    return found is not None and not _NUMBER.fullmatch(found[1])
