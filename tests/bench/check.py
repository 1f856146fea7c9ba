"""Measure what is found in books of many years: ``python -m tests.bench check``.

Seconds of reading the tables, of looking for faults and doubts, of working out genes and pairs as
far as a check does (``Depth.QUICK``: less in books of over 2,000 birds), and of the whole command;
beside the reading what pandas takes to read the same workbooks into frames, which is the reading of
the cells alone.
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from matchmaker.checking import Depth, check_tables, tables_of
from matchmaker.flock.flock import check_flock
from tests.bench.commands import command_row
from tests.bench.long_books import long_books, with_faults, write_long_books
from tests.bench.measuring import DisagreementError, least
from tests.bench.rows import Row, Size, of_birds
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from matchmaker.tables.folder import FolderTables


def rows(chosen: Namespace) -> Iterator[Row]:
    """For each size a book that is sound, and one with faults."""
    with tempfile.TemporaryDirectory() as place:
        for birds in chosen.birds:
            sound = long_books(birds)
            spoilt = with_faults(sound, every=chosen.faults)
            for kind, book in (("sound", sound), (f"1 row in {chosen.faults} wrong", spoilt)):
                folder = write_long_books(Path(place) / f"{birds} {kind}", book)
                size = of_birds(len(book))
                yield reading(folder, f"book {kind}", chosen.times, size)
                yield from checking(folder, f"book {kind}", chosen.times, size)


def reading(folder: Path, kind: str, times: int, size: Size) -> Row:
    """Reading both tables, beside pandas; it gives the same birds where no row is refused."""
    ours, tables = least(partial(tables_of, folder), times)
    theirs, frames = least(partial(_frames, folder), times)
    return Row(
        task=f"reading, {kind}",
        size=size,
        ours=(ours,),
        peer="pandas, cells alone",
        theirs=(theirs,),
        agreement=_same_birds(tables, frames) if kind.endswith("sound") else "",
    )


def _same_birds(tables: FolderTables, frames: list[pd.DataFrame]) -> str:
    ours = [(bird.bird, bird.line) for bird in tables.birds]
    theirs = list(frames[0][["bird", "line"]].itertuples(index=False, name=None))
    if ours != theirs:
        raise DisagreementError(f"{len(ours)} birds were read, and {len(theirs)} others")
    return "the same birds in the same lines"


def checking(folder: Path, kind: str, times: int, size: Size) -> Iterator[Row]:
    """What follows on reading, and all of it as a command."""
    tables = tables_of(folder)
    finding, _ = least(partial(check_flock, tables), times)
    yield Row(task=f"finding in the pedigree, {kind}", size=size, ours=(finding,))
    quick, found = least(partial(check_tables, tables, Depth.QUICK), times)
    yield Row(
        task=f"with genes and pairs, if quick, {kind}",
        size=size,
        ours=(quick,),
        note=f"{len(found.faults)} faults, {len(found.doubts)} doubts;"
        f" {len(found.not_looked_at)} things not looked at",
    )
    words = ["check", "--in", str(folder)]
    yield command_row(f"the whole command, {kind}", size, words, times)


def _frames(folder: Path) -> list[pd.DataFrame]:
    return [
        pd.read_excel(folder / f"{name}.xlsx", engine="calamine", dtype=str, keep_default_na=False)
        for name in ("birds", "scores")
    ]


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="birds",
            help="in the books, nearly",
            whole=(2_500, 5_000, 10_000),
            short=(2_100, 2_700, 3_500),
            full=(750, 1_500, 2_500, 5_000, 10_000),
        ),
        Option(name="times", help="how often each part is run", whole=2, short=1, full=3),
        Option(name="faults", help="one row in so many has one, in the second book", whole=100),
    ),
)
