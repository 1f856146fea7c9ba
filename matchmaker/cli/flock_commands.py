"""Commands about the flock: started, checked, looked at, its pairs judged, its birds tested.

Heavy libraries are imported inside the commands, so that ``--help`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matchmaker.cli.new_options import (
    Accept,
    Again,
    Book,
    Breed,
    Copies,
    Dates,
    Like,
    Lines,
    Made,
    Trait,
)
from matchmaker.cli.options import HERE, Csv, Folder, Force, Json, Undo
from matchmaker.cli.root import command


@command("new", "my-flock --from hens.xlsx", "my-flock --like holm-fen")
def new(
    folder: Made,
    like: Like = "",
    breed: Breed = "",
    trait: Trait = "",
    copies: Copies = None,
    lines: Lines = "",
    dates: Dates = "",
    *,
    book: Book = None,
    accept: Accept = False,
    again: Again = False,
    json: Json = False,
) -> None:
    """Start a flock folder: from your tables, or by five questions.

    A folder that holds anything already is left as it is.
    """
    from matchmaker.cli.options import refuse_beside, refuse_without

    answers = {"breed": breed, "trait": trait, "copies": copies, "lines": lines, "dates": dates}
    if book:
        from matchmaker.cli.new_from import FromBook, run_new_from

        refuse_beside("--from", {"--like": like})
        run_new_from(
            folder, FromBook(books=book, accept=accept, again=again, json=json, answers=answers)
        )
        return
    refuse_without("--from", {"--accept": accept, "--again": again, "--json": json})
    from matchmaker.cli.new import run_new

    run_new(folder, like, answers)


@command("check", "--in my-flock")
def check(
    folder: Folder = HERE,
    *,
    everything: Annotated[
        bool, typer.Option("--all", help="List every doubt, also those that touch no bird.")
    ] = False,
    weigh: Annotated[
        bool, typer.Option("--weigh", help="Plan again with each one mended: what would change.")
    ] = False,
    fix: Annotated[
        bool, typer.Option("--fix", help="Mend what is safe, in a copy: FOLDER-mended.")
    ] = False,
    write: Annotated[
        bool, typer.Option("--write", help="With --fix: mend the folder itself, copies are kept.")
    ] = False,
    time_limit: Annotated[
        float | None,
        typer.Option(
            metavar="SECONDS",
            min=0.001,
            help="With --weigh or --fix: for all plans; 60 unless given.",
        ),
    ] = None,
    undo: Undo = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """What is wrong or doubtful in the tables; what may be crossed."""
    options = dict(locals())
    if undo:
        from matchmaker.cli.undo import run_undo

        return run_undo(options)
    from matchmaker.cli.check import Asked, run_check
    from matchmaker.cli.output import Output

    asked = Asked(everything=everything, weigh=weigh, fix=fix, write=write, time_limit=time_limit)
    return run_check(folder, asked, Output(json=json, csv=csv, force=force))


@command("flock", "--in my-flock", "A26-008 --in my-flock")
def flock(
    bird: Annotated[str | None, typer.Argument(metavar="BIRD", help="One bird in full.")] = None,
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
    """Every bird, the lines and the founders; or one bird in full."""
    from matchmaker.cli.output import Output, known_bird, write_sheet
    from matchmaker.report.bird import print_bird
    from matchmaker.report.flock import print_flock
    from matchmaker.report.flock_document import flock_document
    from matchmaker.report.sheets import flock_sheet, kinship_sheet
    from matchmaker.verbs import pairs as judge

    table = judge(folder)
    band = known_bird(table, bird)
    living = [one.band for one in table.study.flock.living]
    write_sheet(kinship, lambda: kinship_sheet(table.study.kinship, living), force=force)
    Output(json=json, csv=csv, force=force).show(
        lambda console: print_bird(console, table, band) if band else print_flock(console, table),
        lambda: flock_document(table, band),
        lambda: flock_sheet(table, band),
    )


@command("pairs", "--in my-flock --csv pairs.csv")
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
    """Every hen with every cock: may they pair, what is it worth."""
    from matchmaker.cli.output import Output
    from matchmaker.cli.pairs import run_pairs

    output = Output(json=json, csv=csv, force=force)
    run_pairs(folder, output, prices=prices, exact=exact)


@command("tests", "--in my-flock --birds 3")
def rank(
    birds: Annotated[int, typer.Option(min=1, metavar="N", help="How many tests to list.")] = 6,
    folder: Folder = HERE,
    *,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """Which birds to test before planning, and what it would add."""
    from matchmaker.cli.output import Output
    from matchmaker.cli.testing import run_tests

    run_tests(folder, birds, Output(json=json, csv=csv, force=force))
