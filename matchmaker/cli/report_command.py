"""The report command: the page of a season.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Folder, Force, Json
from matchmaker.cli.root import command

Out = Annotated[
    Path | None,
    typer.Option(
        "-o", "--out", metavar="FILE", help="Where to write it; else report.html in the folder."
    ),
]
Open = Annotated[bool, typer.Option("--open", help="Open it in your browser.")]
Frontier = Annotated[
    bool,
    typer.Option("--frontier", help="Add the plans from most progress to least kinship."),
]
Ahead = Annotated[
    int | None,
    typer.Option(metavar="S", min=1, max=20, help="Add the coming S seasons, simulated."),
]
Replicates = Annotated[
    int | None,
    typer.Option(
        metavar="N", min=2, max=100_000, help="With --ahead: times played; 50 unless given."
    ),
]
Seed = Annotated[
    int | None, typer.Option(metavar="N", min=0, help="With --ahead: the luck; 1 unless given.")
]
Workers = Annotated[
    int | None,
    typer.Option(metavar="N", min=1, help="With --ahead: plays at a time; else all it can."),
]
With = Annotated[
    list[Path] | None,
    typer.Option(
        "--with",
        metavar="FILE",
        help="Add what plan --frontier --json or ahead --json printed; may be repeated.",
    ),
]
TimeLimit = Annotated[
    float | None,
    typer.Option(
        metavar="SECONDS", min=0.1, help="Write what is known by then; --frontier has as long."
    ),
]


@command("report", "--in my-flock --open")
def report(
    folder: Folder = HERE,
    *,
    out: Out = None,
    open_it: Open = False,
    frontier: Frontier = False,
    ahead: Ahead = None,
    replicates: Replicates = None,
    seed: Seed = None,
    workers: Workers = None,
    given: With = None,
    time_limit: TimeLimit = None,
    json: Json = False,
    force: Force = False,
) -> None:
    """The page: sheets for the pens' doors, pictures, every pair."""
    if ahead is not None:
        from matchmaker.ahead.one_thread import one_thread_here

        one_thread_here()  # before numpy comes in with what follows
    from matchmaker.cli.report import Asked, run_report

    run_report(
        folder,
        Asked(
            out=out,
            open_it=open_it,
            frontier=frontier,
            ahead=ahead,
            replicates=replicates,
            seed=seed,
            workers=workers,
            given=tuple(given or ()),
            time_limit=time_limit,
            force=force,
            json=json,
        ),
    )
