"""The command about young birds: keep, let go or wait.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Csv, Folder, Force, Json
from matchmaker.cli.root import command


@command("grade", "--in my-flock --on 2027-05-12")
def grade(
    folder: Folder = HERE,
    *,
    on: Annotated[
        str,
        typer.Option("--on", metavar="DATE", help="The day that counts as today."),
    ] = "",
    factor: Annotated[
        float,
        typer.Option(min=1, max=10, metavar="N", help="Birds to keep for each in a pen."),
    ] = 2.5,
    thorough: Annotated[
        bool, typer.Option("--thorough", help="What each is worth, however long it takes.")
    ] = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """Young birds: keep, let go or wait, with the reason.

    And what cannot be seen on them yet.
    """
    from matchmaker.cli.grade import Asked, run_grade
    from matchmaker.cli.output import Output

    output = Output(json=json, csv=csv, force=force)
    run_grade(folder, Asked(on=on, factor=factor, thorough=thorough, output=output))
