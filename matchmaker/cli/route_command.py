"""The route command: which crosses bring a flock to its target, season by season."""

from __future__ import annotations

from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Csv, Folder, Force, Json
from matchmaker.cli.root import command


@command("route", "--in my-flock")
def route(
    folder: Folder = HERE,
    *,
    backcrosses: Annotated[
        int | None,
        typer.Option(min=1, max=8, metavar="N", help="Backcrosses wanted; 4 unless given."),
    ] = None,
    birds: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=50,
            metavar="K",
            help="Birds of each class that go on; else as the lines need.",
        ),
    ] = None,
    scheme: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="Show this one in full: any, hens, cocks, no-dna, looks, sure, marker.",
        ),
    ] = "any",
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The way to the target, season by season.

    Which sex goes with which, which chicks to keep, how many to raise.
    """
    from matchmaker.cli.output import Output
    from matchmaker.cli.route import run_route
    from matchmaker.route.asking import Asked

    asked = Asked(backcrosses=backcrosses, birds=birds)
    run_route(folder, asked, scheme, Output(json=json, csv=csv, force=force))
