"""When a line goes from backcrossing to crossing its carriers with each other."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.route.played import stepped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.breeding import Family
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.folder import FolderTables

READY: Final = 0.96
"""Expected recurrent share of a line's chicks from which on its carriers are crossed with each
other, unless asked otherwise: reached by a fourth backcross (common practice, no source)."""


def ready_lines(table: PairTable, families: Sequence[Family], ready: float) -> tuple[str, ...]:
    """The lines at backcrossing whose chicks of this season have the share expected, on average.

    Where the keeper wrote the crossings himself no line changes: his rows say what is crossed.
    """
    if table.study.flock.settings.matings:
        return ()
    shares = {pair.key: pair.recurrent_share for pair in table.pairs}
    found = []
    for line in table.steps.backcross:
        own = [one for one in families if one.pair.line == line and one.raised]
        if own and _mean([(shares[_key(one)], one.raised) for one in own]) >= ready - 1e-9:
            found.append(line)
    return tuple(found)


def moved_on(tables: FolderTables, lines: Sequence[str]) -> FolderTables:
    """The books with these lines at the step of crossing carriers with each other."""
    if not lines or tables.settings is None:
        return tables
    rotation = tables.settings.rotation
    settings = stepped(tables.settings, lines, "intercross")
    return replace(tables, settings=settings.model_copy(update={"rotation": rotation}))


def _key(family: Family) -> tuple[str, str, str]:
    return (family.pair.hen, family.pair.cock, family.pair.row)


def _mean(weighed: Sequence[tuple[float, int]]) -> float:
    values, weights = zip(*weighed, strict=True)
    return float(np.average(values, weights=weights))
