"""The ahead command: the coming seasons of a flock, simulated gene by gene.

Heavy libraries are imported inside the command, so that ``--help`` answers at once.
"""

from __future__ import annotations

from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Csv, Folder, Force, Json
from matchmaker.cli.root import command

Seasons = Annotated[int, typer.Option(min=1, max=20, metavar="N", help="Seasons to look ahead.")]
Replicates = Annotated[
    int | None,
    typer.Option(
        min=2,
        max=100_000,
        metavar="N",
        help="Times the seasons are played through; else 200, and 50 beside other policies.",
    ),
]
Seed = Annotated[
    int, typer.Option(min=0, metavar="N", help="The luck: the same number, the same answer.")
]
Ready = Annotated[
    float,
    typer.Option(
        "--ready-share",
        min=0.5,
        max=1.0,
        metavar="SHARE",
        help="Share of the breed from which a line's carriers are crossed with each other.",
    ),
]
Compare = Annotated[
    bool,
    typer.Option("--compare", help="Set other policies, ways to choose pairs, beside the plan."),
]
Policies = Annotated[
    list[str] | None,
    typer.Option(
        "--policy", metavar="NAME", help="Set this policy beside the plan; may be repeated."
    ),
]
Workers = Annotated[
    int | None,
    typer.Option(min=1, metavar="N", help="Plays at a time; else all the computer can."),
]
Cluster = Annotated[
    str,
    typer.Option(metavar="ADDRESS", help="Work on many computers, by dask: its scheduler."),
]


@command("ahead", "--in my-flock --seasons 4")
def ahead(
    folder: Folder = HERE,
    *,
    seasons: Seasons = 6,
    replicates: Replicates = None,
    seed: Seed = 1,
    ready: Ready = 0.96,
    compare: Compare = False,
    policy: Policies = None,
    workers: Workers = None,
    cluster: Cluster = "",
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The coming seasons, played through gene by gene.

    What may become of lines, breed share, inbreeding and traits.
    """
    from matchmaker.ahead.one_thread import one_thread_here

    one_thread_here()  # before numpy comes in with what follows
    from matchmaker.cli.ahead import Asked, run_ahead
    from matchmaker.cli.output import Output

    asked = Asked(
        seasons=seasons,
        replicates=replicates or (50 if compare or policy else 200),
        seed=seed,
        ready=ready,
        compare=compare,
        policies=tuple(policy or ()),
        workers=workers,
        cluster=cluster,
    )
    run_ahead(folder, asked, Output(json=json, csv=csv, force=force))
