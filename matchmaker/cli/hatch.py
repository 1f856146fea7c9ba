"""The hatch command's work: read what is told, answer, write all of it or nothing."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.interrupt import written_whole
from matchmaker.cli.streams import note
from matchmaker.cli.writing import say_written, stamp_now
from matchmaker.errors import InputError, UsageError
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.asked import told_of
from matchmaker.hatch.form import read_form
from matchmaker.hatch.hatching import TOLD, UnfitHatchError
from matchmaker.hatch.spelling import as_booked
from matchmaker.report.hatch import print_fits, print_hatch
from matchmaker.report.hatch_document import hatch_document, learned_sheet
from matchmaker.report.screen import console_for
from matchmaker.tables.read import read_folder
from matchmaker.tables.write import refuse_target

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.hatch.asked import Asked
    from matchmaker.hatch.hatching import Hatching
    from matchmaker.hatch.told import Told
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.write_together import Replaced


UNFIT: Final = (
    "To write the chicks down now all the same:\n"
    "leave out --seen until you have looked again, or\n"
    "name with --sire every cock that it can have been (C04|C07)."
)


def run_hatch(
    folder: Path, asked: Asked, form: Path | None, output: Output, *, dry_run: bool
) -> None:
    """Answer, and write unless it is a dry run.

    Raises
    ------
    UsageError
        If what is told cannot be meant or written; it says what, where and what to do.
    InputError
        With the faults of the folder or of the form, or those that the folder would get.
    WouldOverwriteError
        If the CSV file exists and is not to be replaced: before anything is written.
    """
    tables = read_folder(folder, known_loci=frozenset(catalogue()))
    told = [as_booked(one, tables) for one in _told(tables, asked, form)]
    if output.csv is not None:
        refuse_target(output.csv, overwrite=output.force)
    try:
        answer = verbs.hatch(tables, told)
    except UnfitHatchError as error:
        print_fits(console_for(sys.stderr), error.fits)
        note("Nothing was written: the tables would not be sound.")
        note("Below, rows that are not in your files yet are those of this hatch.")
        if any(fit.fit is not None and fit.fit.impossible for fit in error.fits):
            note(UNFIT)
        raise
    done = None if dry_run else _write(answer)
    output.show(
        lambda console: print_hatch(console, answer, written=done is not None),
        lambda: hatch_document(answer, done),
        lambda: learned_sheet(answer),
    )
    if dry_run:
        note("Nothing was written. To write it: the same command without --dry-run")


def _told(tables: FolderTables, asked: Asked, form: Path | None) -> Sequence[Told]:
    settings = tables.settings
    if settings is None:
        raise InputError(tables.faults)
    if form is None:
        return (told_of(asked, settings),)
    if asked.given:
        raise UsageError(f"--from takes no {' or '.join(asked.given)} beside it")
    found = form if form.exists() else tables.folder / form
    return read_form(found if found.exists() else form, settings, read_loci(tables).loci)


def _write(answer: Hatching) -> tuple[Replaced, ...]:
    if not answer.prepared.files:
        note("There is nothing to write: the tables say so already.")
        return ()
    with written_whole():
        done = verbs.write_hatch(answer, stamp=stamp_now())
    say_written(done, answer.prepared.tables.folder, TOLD)
    return done
