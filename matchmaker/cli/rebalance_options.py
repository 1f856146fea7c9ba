"""The options of the rebalance command."""

from __future__ import annotations

from typing import Annotated

import typer

Lost = Annotated[
    list[str] | None,
    typer.Option("--lost", metavar="BIRD", help="A bird that is gone; may be repeated."),
]
ClosePen = Annotated[
    list[str] | None,
    typer.Option(
        "--close-pen", metavar="PEN", help="A pen that can no longer be used; may be repeated."
    ),
]
Add = Annotated[
    list[str] | None,
    typer.Option("--add", metavar="BIRD", help="A bird that is at hand; may be repeated."),
]
On = Annotated[str, typer.Option("--on", metavar="DATE", help="The day that counts as today.")]
MostMoves = Annotated[
    int | None, typer.Option("--moves", metavar="N", min=0, help="Move N birds at most.")
]
CleanOut = Annotated[
    int | None,
    typer.Option(
        metavar="DAYS", min=14, max=60, help="Days until no egg is a former cock's: 14, 21 or 28."
    ),
]
SetMixed = Annotated[
    bool, typer.Option("--set-mixed", help="Also set eggs that may be of either of two cocks.")
]
WriteMoves = Annotated[bool, typer.Option("--write", help="Write the moves to moves.csv.")]
