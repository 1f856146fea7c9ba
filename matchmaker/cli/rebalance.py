"""The rebalance command: what to do now that a bird is lost; written down where that is asked."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.output import day_or_today, known_bird
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.cli.writing import write_down
from matchmaker.rebalance.rebalancing import Loss
from matchmaker.report.rebalance import print_rebalance
from matchmaker.report.rebalance_document import rebalance_document
from matchmaker.report.rebalance_moves import moves_amendment
from matchmaker.report.sheets import moves_sheet
from matchmaker.tables.amend import amended, text_file

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.pairs.table import PairTable
    from matchmaker.rebalance.rebalancing import Rebalance

PATIENCE: Final = 10.0
"""Seconds of search, unless asked otherwise; flocks of the usual size need a tenth of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    lost: tuple[str, ...]
    closed: tuple[str, ...]
    added: tuple[str, ...]
    on: str
    moves: int | None
    clean_out: int | None
    set_mixed: bool
    time_limit: float | None
    write: bool
    output: Output


def run_rebalance(folder: Path, asked: Asked) -> None:
    """Answer, and write the moves if that is asked.

    Raises
    ------
    UsageError
        If a bird, a pen or the day is not known, or the moves cannot be written.
    """
    table = verbs.pairs(folder)
    if asked.write:
        text_file("moves", table.study.flock.tables)  # refused before any work is done
    loss = Loss(
        day=day_or_today(table.study.flock, asked.on, "put with --on"),
        lost=_known(table, asked.lost),
        closed=asked.closed,
        added=_known(table, asked.added),
        most=asked.moves,
        set_mixed=asked.set_mixed,
        clean_out=asked.clean_out,
    )
    with watched() as watch:
        patience = PATIENCE if asked.time_limit is None else asked.time_limit
        watch.until = time.perf_counter() + patience
        answer = verbs.rebalance(table, loss, watch=watch)
    if asked.write:
        _write(folder, answer)
    asked.output.show(
        lambda console: print_rebalance(console, answer),
        lambda: rebalance_document(answer),
        lambda: moves_sheet(answer),
    )
    if not asked.write and (answer.orders or answer.lost_from):
        note(
            "Nothing was written. To write these moves to moves.csv: the same command with --write"
        )


def _known(table: PairTable, bands: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(known_bird(table, band) or band for band in bands))


def _write(folder: Path, answer: Rebalance) -> None:
    amendment = moves_amendment(answer)
    if amendment.empty:
        note("There is nothing to write.")
        return
    tables = answer.table.study.flock.tables
    write_down([amended(folder, "moves", amendment, tables)], tables, "rebalance --write")
