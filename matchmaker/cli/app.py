"""The command line: each command reads, calls one verb and hands the answer to a report.

Heavy libraries are imported inside the commands, so that ``--help`` answers at once.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.group import QuickGroup
from matchmaker.cli.interrupt import end_on_interrupt
from matchmaker.cli.options import HERE, Csv, Folder, Force, Json
from matchmaker.cli.plan_options import (
    Alternatives,
    At,
    Fresh,
    Frontier,
    Matings,
    Near,
    OneMore,
    PenUp,
    Problem,
    Score,
    TimeLimit,
    Write,
)
from matchmaker.cli.streams import note, reserve_stdout

SELDOM = 100_000
"""New objects between two searches for garbage: a command ends before much of it has gathered."""

app = typer.Typer(
    name="matchmaker",
    cls=QuickGroup,
    help="Which hens go with which cock: breeding pens for a backcross flock.\n\n"
    "Start with: matchmaker new my-flock",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(*, wanted: bool) -> None:
    if wanted:
        from matchmaker import __version__

        typer.echo(f"matchmaker {__version__}")
        raise typer.Exit


@app.callback()
def main(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            "-V",
            help="Print the version.",
            is_eager=True,
            callback=lambda wanted: _version(wanted=wanted),
        ),
    ] = False,
) -> None:
    """Which hens go with which cock: breeding pens for a backcross flock."""


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make.")],
    like: Annotated[
        str, typer.Option(metavar="NAME", help="Copy a shipped example: holm-fen, ...")
    ] = "",
    breed: Annotated[str, typer.Option(help="The breed the flock shall be in the end.")] = "",
    trait: Annotated[str, typer.Option(help="The trait to bring in, in plain words.")] = "",
    copies: Annotated[int | None, typer.Option(help="Copies wanted in the end: 0, 1 or 2.")] = None,
    lines: Annotated[str, typer.Option(help="Names of the lines, with commas.")] = "",
    dates: Annotated[str, typer.Option(help="iso, day-first or month-first.")] = "",
) -> None:
    """Start a flock folder, asking five things, or copy an example.

    Example: matchmaker new my-flock --like holm-fen
    """
    from matchmaker.cli.options import refuse_beside
    from matchmaker.cli.questions import ask_answers
    from matchmaker.start import copy_example, refuse_filled, start_folder

    refuse_filled(folder)
    answers = {"breed": breed, "trait": trait, "copies": copies, "lines": lines, "dates": dates}
    if like:
        refuse_beside(
            "--like", {f"--{name}": value not in {"", None} for name, value in answers.items()}
        )
        copy_example(folder, like)
        note(f"Made {folder}. Next: matchmaker plan --in {folder}")
    else:
        start_folder(folder, ask_answers(answers))
        note(f"Made {folder}. Next: fill in its tables, then: matchmaker check --in {folder}")


@app.command()
def check(
    folder: Folder = HERE, *, json: Json = False, csv: Csv = None, force: Force = False
) -> None:
    """Every fault and doubt in the tables, and the crossings open this season.

    Example: matchmaker check --in my-flock
    """
    from matchmaker.cli.output import show
    from matchmaker.errors import ExitCode
    from matchmaker.report.documents import check_document
    from matchmaker.report.sheets import findings_sheet
    from matchmaker.report.terminal import print_check
    from matchmaker.verbs import check as check_folder

    found = check_folder(folder)
    show(
        lambda console: print_check(console, found),
        document=(lambda: check_document(found)) if json else None,
        sheet=(csv, lambda: findings_sheet(found.faults, found.doubts)),
        force=force,
    )
    if found.faults:
        raise typer.Exit(ExitCode.FAULTS)
    note(f"Next: matchmaker plan --in {folder}")


@app.command()
def flock(
    bird: Annotated[str | None, typer.Argument(metavar="[BIRD]", help="One bird in full.")] = None,
    folder: Folder = HERE,
    *,
    json: Json = False,
    csv: Csv = None,
    kinship: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the kinship of all living birds to a CSV file."),
    ] = None,
    force: Force = False,
) -> None:
    """Every bird, the lines, the founders and what is doubtful; or one bird in depth.

    Example: matchmaker flock --in my-flock
    """
    from matchmaker.cli.output import known_bird, show, write_sheet
    from matchmaker.report.bird import print_bird
    from matchmaker.report.flock import print_flock
    from matchmaker.report.flock_document import flock_document
    from matchmaker.report.sheets import flock_sheet, kinship_sheet
    from matchmaker.verbs import pairs as judge

    table = judge(folder)
    band = known_bird(table, bird)
    living = [one.band for one in table.study.flock.living]
    write_sheet(kinship, lambda: kinship_sheet(table.study.kinship, living), force=force)
    show(
        lambda console: print_bird(console, table, band) if band else print_flock(console, table),
        document=(lambda: flock_document(table, band)) if json else None,
        sheet=(csv, lambda: flock_sheet(table, band)),
        force=force,
    )


@app.command()
def pairs(
    folder: Folder = HERE,
    *,
    prices: Annotated[
        bool, typer.Option("--prices", help="Also what each allowed pair would cost the plan.")
    ] = False,
    exact: Annotated[
        bool, typer.Option("--exact", help="With --prices: to the last figure, not as a range.")
    ] = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """Every hen with every cock: could they pair, why not, what it is worth.

    Example: matchmaker pairs --in my-flock --csv pairs.csv
    """
    from matchmaker.cli.pairs import run_pairs

    run_pairs(folder, prices=prices, exact=exact, output=(json, csv, force))


@app.command(name="tests")
def rank(
    birds: Annotated[int, typer.Option(min=1, metavar="N", help="How many tests to list.")] = 6,
    folder: Folder = HERE,
    *,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """Which birds to test before planning: what each answer would add to the pens.

    Example: matchmaker tests --in my-flock --birds 3
    """
    from matchmaker.cli.testing import run_tests

    run_tests(folder, birds, json=json, csv=csv, force=force)


@app.command()
def plan(
    folder: Folder = HERE,
    *,
    write: Write = False,
    pen_up: PenUp = None,
    fresh: Fresh = False,
    near: Near = None,
    frontier: Frontier = False,
    at: At = None,
    alternatives: Alternatives = None,
    one_more: OneMore = False,
    matings: Matings = None,
    time_limit: TimeLimit = None,
    score: Score = None,
    problem: Problem = None,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """The pens of this spring: which hens go with which cock, proved best.

    Example: matchmaker plan --in my-flock --write
    """
    from matchmaker.cli.choices import PlanChoice
    from matchmaker.cli.planning import run_plan

    choice = PlanChoice(
        write=write,
        pen_up=pen_up,
        fresh=fresh,
        near=near,
        frontier=frontier,
        at=at,
        alternatives=alternatives,
        one_more=one_more,
        matings=matings,
        time_limit=time_limit,
        score=score,
        problem=problem,
        json=json,
        csv=csv,
        force=force,
    )
    run_plan(folder, choice)


@app.command()
def why(
    birds: Annotated[
        list[str] | None,
        typer.Argument(metavar="[HEN COCK | BIRD]", help="A hen and a cock, or one bird."),
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
        typer.Option("--thorough", help="Search until every price is proved; may take minutes."),
    ] = False,
    json: Json = False,
) -> None:
    """Why a pair is rejected or not chosen, what it costs, what it would take.

    Example: matchmaker why S26-009 S22-002 --in my-flock
    """
    from matchmaker.cli.why import Question, run_why

    run_why(
        folder,
        Question(
            birds=tuple(birds or ()),
            pen=pen,
            plan=whole,
            fresh=fresh,
            thorough=thorough,
            json=json,
        ),
    )


@app.command()
def loci(
    symbol: Annotated[
        str | None, typer.Argument(metavar="[SYMBOL]", help="One locus in full.")
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
    """The catalogue of loci: inheritance, who shows it, cautions, sources.

    Example: matchmaker loci --find comb
    """
    from matchmaker.cli.loci import run_loci
    from matchmaker.genetics.loci.selection import Selection

    wanted = Selection(z_linked=z_linked, day_old=day_old, caution=caution, linked=linked)
    run_loci(folder, symbol, find, wanted, (json, csv, force))


def run() -> None:
    """The entry point of the installed command: clean streams, errors in words, exit codes."""
    end_on_interrupt()
    reserve_stdout()
    gc.set_threshold(SELDOM)
    from matchmaker.errors import ExitCode, MatchmakerError

    try:
        app()
    except SystemExit as stop:
        if stop.code == ExitCode.INTERRUPTED:
            note("Interrupted.")
        raise
    except MatchmakerError as error:
        from matchmaker.cli.failure import report_failure

        sys.exit(report_failure(error, sys.argv[1:]))
    finally:
        gc.freeze()  # the process ends: nothing is left to be collected, one object by one
