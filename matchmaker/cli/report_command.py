"""The report command: the page of a season.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Folder, Force
from matchmaker.cli.root import app

Out = Annotated[
    Path | None,
    typer.Option("-o", "--out", metavar="FILE", help="Where to write the page.  [report.html]"),
]
Open = Annotated[bool, typer.Option("--open", help="Open it in your browser.")]


@app.command()
def report(
    folder: Folder = HERE, *, out: Out = None, open_it: Open = False, force: Force = False
) -> None:
    """The page: pen sheets for the door, pictures, every pair to look up.

    Example: matchmaker report --in my-flock --open
    """
    from matchmaker.cli.report import run_report

    run_report(folder, out=out, open_it=open_it, force=force)
