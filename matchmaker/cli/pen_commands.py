"""Commands about the pens: planned, explained, put right when birds are lost.

Heavy libraries are imported inside the commands, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.options import HERE, Csv, Folder, Force, Json, Undo
from matchmaker.cli.plan_options import (
    Alternatives,
    At,
    Cluster,
    Fresh,
    Frontier,
    LookAhead,
    Matings,
    Near,
    OneMore,
    PenUp,
    Problem,
    Replicates,
    Robust,
    Score,
    Seed,
    TimeLimit,
    Workers,
    Write,
)
from matchmaker.cli.rebalance_options import (
    Add,
    CleanOut,
    ClosePen,
    Lost,
    MostMoves,
    On,
    SetMixed,
    WriteMoves,
)
from matchmaker.cli.root import command


@command("plan", "--in my-flock --write")
def plan(
    folder: Folder = HERE,
    *,
    write: Write = False,
    pen_up: PenUp = None,
    undo: Undo = False,
    fresh: Fresh = False,
    near: Near = None,
    frontier: Frontier = False,
    at: At = None,
    alternatives: Alternatives = None,
    one_more: OneMore = False,
    robust: Robust = False,
    look_ahead: LookAhead = None,
    replicates: Replicates = None,
    seed: Seed = None,
    workers: Workers = None,
    cluster: Cluster = "",
    matings: Matings = None,
    time_limit: TimeLimit = None,
    score: Score = None,
    problem: Problem = None,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The pens of this spring: which hens go with which cock.

    No better plan is to be had under your rules, and that is proved.
    """
    options = dict(locals())  # each but the folder and ``undo`` is a field of ``PlanChoice``
    if options.pop("undo"):
        from matchmaker.cli.undo import run_undo

        return run_undo(options)
    if look_ahead is not None:
        from matchmaker.ahead.one_thread import one_thread_here

        one_thread_here()  # before numpy comes in with what follows
    from matchmaker.cli.choices import PlanChoice
    from matchmaker.cli.planning import run_plan

    return run_plan(options.pop("folder"), PlanChoice(**options))


@command("why", "S26-009 S22-002 --in my-flock")
def why(
    birds: Annotated[
        list[str] | None,
        typer.Argument(metavar="HEN COCK | BIRD", help="A hen and a cock, or one bird."),
    ] = None,
    folder: Folder = HERE,
    *,
    pen: Annotated[str | None, typer.Option(metavar="PEN", help="Why a pen is as it is.")] = None,
    whole: Annotated[
        bool, typer.Option("--plan", help="The ten facts that shape the plan most.")
    ] = False,
    fresh: Fresh = False,
    thorough: Annotated[
        bool,
        typer.Option("--thorough", help="Until every figure is proved; that may take minutes."),
    ] = False,
    json: Json = False,
) -> None:
    """Why a pair, a bird or a pen is as it is; what would change it."""
    from matchmaker.cli.output import Output
    from matchmaker.cli.why import Question, run_why

    run_why(
        folder,
        Question(
            birds=tuple(birds or ()),
            pen=pen,
            plan=whole,
            fresh=fresh,
            thorough=thorough,
            output=Output(json=json),
        ),
    )


@command("rebalance", "--lost C07 --in my-flock")
def rebalance(
    folder: Folder = HERE,
    *,
    lost: Lost = None,
    close_pen: ClosePen = None,
    add: Add = None,
    on: On = "",
    moves: MostMoves = None,
    clean_out: CleanOut = None,
    set_mixed: SetMixed = False,
    time_limit: TimeLimit = None,
    write: WriteMoves = False,
    undo: Undo = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """A bird is lost or a pen closed: the smallest good change.

    With the days from which eggs are surely whose.
    """
    options = dict(locals())
    if undo:
        from matchmaker.cli.undo import run_undo

        return run_undo(options)
    from matchmaker.cli.output import Output
    from matchmaker.cli.rebalance import Asked, run_rebalance

    return run_rebalance(
        folder,
        Asked(
            lost=tuple(lost or ()),
            closed=tuple(close_pen or ()),
            added=tuple(add or ()),
            on=on,
            moves=moves,
            clean_out=clean_out,
            set_mixed=set_mixed,
            time_limit=time_limit,
            write=write,
            output=Output(json=json, csv=csv, force=force),
        ),
    )


@command("loci", "--find comb", "O")
def loci(
    symbol: Annotated[
        str | None, typer.Argument(metavar="SYMBOL", help="One locus in full.")
    ] = None,
    folder: Annotated[
        Path | None,
        typer.Option("--in", metavar="FOLDER", help="Add the loci of this flock's settings."),
    ] = None,
    *,
    find: Annotated[str, typer.Option(metavar="WORDS", help="Only those the words fit.")] = "",
    z_linked: Annotated[bool, typer.Option("--z-linked", help="Only those on the Z.")] = False,
    day_old: Annotated[
        bool, typer.Option("--day-old", help="Only those all chicks show at a day old.")
    ] = False,
    caution: Annotated[bool, typer.Option("--caution", help="Only those that can hurt.")] = False,
    linked: Annotated[bool, typer.Option("--linked", help="Which lie near each other.")] = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The genes it knows: who shows them, cautions, sources."""
    from matchmaker.cli.loci import run_loci
    from matchmaker.cli.output import Output
    from matchmaker.genetics.loci.selection import Selection

    wanted = Selection(z_linked=z_linked, day_old=day_old, caution=caution, linked=linked)
    run_loci(folder, symbol, find, wanted, Output(json=json, csv=csv, force=force))
