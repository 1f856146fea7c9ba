"""From a flock folder to its pairs, judged and valued: where every verb begins."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.checking import check_tables, tables_of
from matchmaker.errors import InputError
from matchmaker.pairs.table import PairTable
from matchmaker.tables.pen_up import made_up_on

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path


def pairs(folder: Path, *, pen_up: dt.date | None = None) -> PairTable:
    """Every hen × cock of a folder's flock, judged and valued.

    ``pen_up`` is the day on which the pens are made up, if it is not the one of the settings; a
    plan of these pairs is then one for pens made up on that day.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    UsageError
        If there is no such folder, or the pens cannot be made up on that day.
    """
    tables = tables_of(folder)
    found = check_tables(tables if pen_up is None else made_up_on(tables, pen_up))
    if found.table is None:
        raise InputError(found.faults)
    return found.table


def judged(of: Path | PairTable) -> PairTable:
    """The pairs of a folder, unless they have been judged before.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return of if isinstance(of, PairTable) else pairs(of)
