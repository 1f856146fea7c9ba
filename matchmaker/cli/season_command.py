"""The season command: its dates, the eggs to set, the chicks to expect.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Csv, Folder, Force, Json
from matchmaker.cli.root import app


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
    ] = 0.95,
    calendar: Annotated[
        Path | None,
        typer.Option(metavar="FILE.ics", help="Also write the dates to a calendar file."),
    ] = None,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The season's dates, eggs to set week by week, chicks to expect.

    Example: matchmaker season --in my-flock --calendar spring.ics
    """
    from matchmaker.cli.season import Asked, run_season

    run_season(
        folder, Asked(certainty=certainty, calendar=calendar, json=json, csv=csv, force=force)
    )
