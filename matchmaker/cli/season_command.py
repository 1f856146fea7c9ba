"""The season command: its dates, the eggs to set, the chicks to expect.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from matchmaker.cli.options import (
    HERE,
    Csv,
    Folder,
    Force,
    Json,
    refuse_beside,
    refuse_without,
)
from matchmaker.cli.root import app

CERTAINTY: Final = 0.95
"""How sure each line is to get its wanted chicks, unless asked otherwise."""


@app.command()
def season(
    folder: Folder = HERE,
    *,
    certainty: Annotated[
        float,
        typer.Option(
            metavar="CHANCE",
            min=0.5,
            max=0.999,
            help="How sure each line is to get its wanted chicks, 0.5 to 0.999.",
        ),
    ] = CERTAINTY,
    calendar: Annotated[
        Path | None,
        typer.Option(metavar="FILE.ics", help="Also write the dates to a calendar file."),
    ] = None,
    close: Annotated[
        bool,
        typer.Option("--close", help="The season is over: make the next season's folder."),
    ] = False,
    on: Annotated[
        str, typer.Option(metavar="DATE", help="With --close: the day it ends; else today.")
    ] = "",
    into: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="With --close: the new folder; else beside the old."),
    ] = None,
    graded: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="With --close: your verdicts, from grade --csv."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="With --close: write nothing, only tell.")
    ] = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The season's dates, eggs to set week by week, chicks to expect.

    With --close: the folder of the next season, made from this one.

    Example: matchmaker season --in my-flock --calendar spring.ics
    """
    if close:
        from matchmaker.cli.closing import ClosingAsked, run_closing

        changed = certainty != CERTAINTY
        refuse_beside(
            "--close",
            {"--certainty": changed, "--calendar": calendar, "--csv": csv, "--force": force},
        )
        run_closing(
            folder, ClosingAsked(on=on, into=into, graded=graded, dry_run=dry_run, json=json)
        )
        return
    refuse_without(
        "--close", {"--on": on, "--into": into, "--graded": graded, "--dry-run": dry_run}
    )
    from matchmaker.cli.season import Asked, run_season

    run_season(
        folder, Asked(certainty=certainty, calendar=calendar, json=json, csv=csv, force=force)
    )
