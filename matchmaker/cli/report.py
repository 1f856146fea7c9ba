"""The report command: work the season out, write the page, open it where that is asked for."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.options import refuse_without
from matchmaker.cli.streams import note, print_document
from matchmaker.cli.watching import watched
from matchmaker.errors import NoPlanError, UsageError
from matchmaker.report.documents import as_json
from matchmaker.report.given_documents import AHEAD, FRONTIER, given_documents
from matchmaker.report.page.page import page_html
from matchmaker.report.page.view import Further
from matchmaker.report.page_file import (
    Page,
    doubts_of,
    next_of,
    page_document,
    page_sentence,
    page_target,
)
from matchmaker.tables.write import write_text_atomically

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.report.documents import Document

REPLICATES: Final = 50
"""Times that the coming seasons are played through for the page, unless asked otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    out: Path | None = None
    open_it: bool = False
    frontier: bool = False
    ahead: int | None = None
    replicates: int | None = None
    seed: int | None = None
    workers: int | None = None
    given: tuple[Path, ...] = ()
    time_limit: float | None = None
    force: bool = False
    json: bool = False

    def check(self) -> None:
        """Refuse options that would have no effect.

        Raises
        ------
        UsageError
            Naming them.
        """
        if self.ahead is None:
            of_ahead = ("replicates", "seed", "workers")
            refuse_without(
                "--ahead", {f"--{name}": getattr(self, name) is not None for name in of_ahead}
            )


def run_report(folder: Path, asked: Asked) -> None:
    """Write the page of a folder's season.

    Raises
    ------
    UsageError
        If options do not go together, a document that is named cannot be taken in, or the page
        cannot be written.
    WouldOverwriteError
        If its file exists and is not a page of ours: before the work, not after it.
    NoPlanError
        If no plan satisfies the rules; why, and what would, has been printed.
    """
    asked.check()
    table = verbs.pairs(folder)
    file = page_target(folder, asked.out, force=asked.force)
    given = _given(table, asked)
    try:
        page = _page(table, file, asked, given)
    except NoPlanError as error:
        from matchmaker.cli.no_plan import explain_no_plan

        explain_no_plan(table, error, json=asked.json)
        raise
    write_text_atomically(file, page.html, overwrite=True)
    _tell(page, folder, asked)


def _given(table: PairTable, asked: Asked) -> dict[str, Document]:
    """The documents named with ``--with``.

    Raises
    ------
    UsageError
        If one cannot be taken in, or is asked for anew besides.
    """
    found = given_documents(asked.given, table.study.flock.tables.inputs)
    for kind, anew in ((FRONTIER, asked.frontier), (AHEAD, asked.ahead is not None)):
        if anew and kind in found:
            raise UsageError(
                f"--{kind} works out anew what a file of --with holds already: leave one of them "
                "out"
            )
    return found


def _page(table: PairTable, file: Path, asked: Asked, given: dict[str, Document]) -> Page:
    with watched() as watch:
        if asked.time_limit is not None:
            watch.until = time.perf_counter() + asked.time_limit
        report = verbs.report(table, wait=False, watch=watch)
        if asked.frontier:
            given[FRONTIER] = _frontier(table, asked)
        if asked.ahead is not None:
            given[AHEAD] = _ahead(table, asked)
        further = Further(frontier=given.get(FRONTIER), ahead=given.get(AHEAD))
        return Page(file=file, html=page_html(report, further), report=report, further=further)


def _frontier(table: PairTable, asked: Asked) -> Document:
    from matchmaker.cli.watching import watched_frontier
    from matchmaker.report.frontier import frontier_document

    with watched_frontier() as (watch, found):
        if asked.time_limit is not None:
            watch.until = time.perf_counter() + asked.time_limit
        season = verbs.frontier(table, watch=watch, found=found)
    return frontier_document(table, season.frontier)


def _ahead(table: PairTable, asked: Asked) -> Document:
    from matchmaker.cli.ahead import Reached
    from matchmaker.cli.interrupt import last_word
    from matchmaker.cli.simulating import progress_bar
    from matchmaker.report.ahead_document import ahead_document

    replicates = asked.replicates or REPLICATES
    horizon = verbs.Horizon(
        seasons=asked.ahead or 0,
        replicates=replicates,
        seed=1 if asked.seed is None else asked.seed,
    )
    note(f"{horizon.seasons} seasons are played through {replicates} times: that takes minutes.")
    with progress_bar("Simulating") as shown, last_word(Reached(shown)) as reached:
        hands = verbs.Hands(workers=asked.workers, told=reached.tell)
        return ahead_document(verbs.ahead(table, horizon, hands=hands), table)


def _tell(page: Page, folder: Path, asked: Asked) -> None:
    note(page_sentence(page))
    for sentence in (*doubts_of(page.report), *next_of(page, folder)):
        note(sentence)
    if asked.open_it:
        _open(page.file)
    if asked.json:
        print_document(as_json(page_document(page)))


def _open(file: Path) -> None:
    """Open the page in a browser, or say where it is."""
    import webbrowser

    address = file.resolve().as_uri()
    try:
        opened = webbrowser.open(address)
    except (webbrowser.Error, OSError):
        opened = False
    if not opened:
        note(f"No browser could be opened here; the page is at {address}")
