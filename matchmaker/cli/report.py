"""The report command: work the season out, write the page, open it where that is asked for."""

from __future__ import annotations

import webbrowser
from pathlib import Path

from matchmaker import verbs
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.report.page.page import page_html
from matchmaker.reporting import season_report
from matchmaker.tables.write import write_text_atomically


def run_report(folder: Path, *, out: Path | None, open_it: bool, force: bool) -> None:
    """Write the page of a folder's season."""
    table = verbs.pairs(folder)
    with watched() as watch:
        found = season_report(table, watch=watch)
    file = folder / "report.html" if out is None else out
    write_text_atomically(file, page_html(found), overwrite=force, keep_copy=False)
    note(f"Wrote {file}.")
    if open_it:
        webbrowser.open(file.resolve().as_uri())
