"""The season command: its dates, the eggs to set, the chicks to expect; and its end.

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
from matchmaker.cli.root import command

CERTAINTY: Final = 0.95
"""How sure each line is to get its wanted chicks, unless asked otherwise."""

Certainty = Annotated[
    float,
    typer.Option(
        metavar="CHANCE",
        min=0.5,
        max=0.999,
        help="How sure each line is to get its wanted chicks, 0.5 to 0.999.",
    ),
]
CalendarFile = Annotated[
    Path | None,
    typer.Option("--calendar", metavar="FILE.ics", help="Also write the dates to a calendar file."),
]
Close = Annotated[
    bool, typer.Option("--close", help="The season is over: make the next season's folder.")
]
EndsOn = Annotated[
    str, typer.Option("--on", metavar="DATE", help="With --close: the day it ends; else today.")
]
Into = Annotated[
    Path | None,
    typer.Option(metavar="FOLDER", help="With --close: the new folder; else beside the old."),
]
Graded = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="With --close: your verdicts, from grade --csv."),
]
DryRun = Annotated[bool, typer.Option("--dry-run", help="With --close: write nothing, only tell.")]


@command("season", "--in my-flock --calendar spring.ics")
def season(
    folder: Folder = HERE,
    *,
    certainty: Certainty = CERTAINTY,
    calendar: CalendarFile = None,
    close: Close = False,
    on: EndsOn = "",
    into: Into = None,
    graded: Graded = None,
    dry_run: DryRun = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The dates, the eggs to set each week, the chicks to expect.

    With --close: the folder of the next season, made from this one.
    """
    of_close = {"--on": on, "--into": into, "--graded": graded, "--dry-run": dry_run}
    if close:
        from matchmaker.cli.closing import ClosingAsked, run_closing

        other = {"--calendar": calendar, "--csv": csv, "--force": force}
        refuse_beside("--close", {"--certainty": certainty != CERTAINTY, **other})
        ending = ClosingAsked(on=on, into=into, graded=graded, dry_run=dry_run, json=json)
        return run_closing(folder, ending)
    refuse_without("--close", of_close)
    from matchmaker.cli.output import Output
    from matchmaker.cli.season import Asked, run_season

    output = Output(json=json, csv=csv, force=force)
    return run_season(folder, Asked(certainty=certainty, calendar=calendar, output=output))
