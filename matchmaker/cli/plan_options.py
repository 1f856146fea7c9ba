"""The options of the plan command."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Write = Annotated[bool, typer.Option("--write", help="Write the plan to plan.csv.")]
PenUp = Annotated[
    str | None,
    typer.Option(metavar="DATE", help="Pens made up that day: write plan.csv and moves.csv."),
]
Fresh = Annotated[bool, typer.Option("--fresh", help="Forget the standing plan.")]
Near = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Keep most pairs of this plan, up to 0.5 % off the best."),
]
Frontier = Annotated[
    bool, typer.Option("--frontier", help="Up to 11 plans, from most progress to least kinship.")
]
At = Annotated[
    int | None, typer.Option(metavar="N", min=1, max=11, help="Take plan N of those of --frontier.")
]
Alternatives = Annotated[
    int | None,
    typer.Option(metavar="K", min=1, max=9, help="K plans nearly as good, as different as can be."),
]
OneMore = Annotated[
    bool, typer.Option("--one-more", help="What one more place, pen, cock and so on would add.")
]
Robust = Annotated[
    bool, typer.Option("--robust", help="The plan worth most if one cock may be lost.")
]
Matings = Annotated[int | None, typer.Option(metavar="N", min=1, help="Make exactly N pairs.")]
TimeLimit = Annotated[
    float | None,
    typer.Option(metavar="SECONDS", min=0.1, help="Stop with the best plan found by then."),
]
Score = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="What a plan made by hand is worth; changes nothing."),
]
Problem = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Write down the sum that was solved, to solve it again."),
]
LookAhead = Annotated[
    int | None,
    typer.Option(
        metavar="S", min=1, max=20, help="Of good plans the one that leads furthest in S seasons."
    ),
]
Replicates = Annotated[
    int | None,
    typer.Option(
        metavar="N",
        min=2,
        max=100_000,
        help="With --look-ahead: times played at most; 200 unless given.",
    ),
]
Seed = Annotated[
    int | None,
    typer.Option(metavar="N", min=0, help="With --look-ahead: the luck; 1 unless given."),
]
Workers = Annotated[
    int | None,
    typer.Option(
        metavar="N", min=1, help="With --look-ahead: plays at a time; else all the computer can."
    ),
]
Cluster = Annotated[
    str, typer.Option(metavar="ADDRESS", help="With --look-ahead: on many computers, by dask.")
]
