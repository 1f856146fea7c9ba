"""A small flock in pens, and hatches told of it."""

from __future__ import annotations

import datetime as dt
import io
from typing import TYPE_CHECKING, Any

from rich.console import Console

from matchmaker import verbs
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.told import BandedChick, Counted, Told
from matchmaker.report.hatch import print_hatch
from matchmaker.tables.read import read_folder
from tests.builders import Row, cock, dna, hen, write_flock
from tests.cli.run import read_rows

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.hatch.hatching import Hatching

HALF = "sussex:0.5|araucana:0.5"
SETTINGS = "[loci.P]\n[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\n"
BIRDS: tuple[Row, ...] = (
    cock("SC"),
    cock("SD"),
    hen("S1"),
    hen("S2"),
    cock("AC", "Alder", HALF),
    hen("A1", "Alder", HALF),
    hen("A2", "Alder", HALF),
)
SEEN = (dna("AC", "P", 1), dna("AC", "O", 1), dna("A1", "O", 1), dna("A2", "O", 1))
PENS: list[Row] = [
    {"pen": "Orchard", "hens_max": "4", "dam_known": "no"},
    {"pen": "Yard", "hens_max": "4", "dam_known": "yes"},
]
SET = dt.date(2027, 3, 2)
HATCHED = dt.date(2027, 3, 23)


def stay(bird: str, pen: str, since: str = "2027-02-01", until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


STAYS = [
    stay("AC", "Orchard"),
    stay("S1", "Orchard"),
    stay("S2", "Orchard"),
    stay("SC", "Yard"),
    stay("A1", "Yard"),
    stay("A2", "Yard"),
]


def flock(path: Path, moves: Sequence[Row] = STAYS, **tables: Any) -> Path:
    """The folder; a table given as ``None`` is left out."""
    given = {"moves": list(moves), "seen": list(SEEN), "pens": PENS, **tables}
    birds = given.pop("birds", BIRDS)
    settings = given.pop("settings", SETTINGS)
    return write_flock(path, birds, settings, **{n: rows for n, rows in given.items() if rows})


def told(pen: str = "Orchard", **more: Any) -> Told:
    """A set of 20 eggs unless told otherwise."""
    return Told(**{"pen": pen, "set_on": SET, "eggs": 20, **more})


def chicks(*bands: str, **seen: str) -> tuple[BandedChick, ...]:
    """Banded chicks; ``seen`` maps a locus to what all of them look like."""
    return tuple(BandedChick(band=band, seen=seen) for band in bands)


def counted(locus: str = "P", **classes: int) -> tuple[Counted, ...]:
    """Chicks counted by class."""
    return tuple(Counted(locus=locus, words=words, chicks=n) for words, n in classes.items())


def hatched(folder: Path, *sets: Told) -> Hatching:
    """The answer; nothing is written."""
    return verbs.hatch(read_folder(folder, known_loci=frozenset(catalogue())), sets)


def screen(answer: Hatching, *, written: bool = False) -> str:
    """What is printed of it."""
    stream = io.StringIO()
    console = Console(file=stream, width=80, highlight=False, markup=False, emoji=False)
    print_hatch(console, answer, written=written)
    return stream.getvalue()


def write(folder: Path, *sets: Any) -> Hatching:
    answer = hatched(folder, *sets)
    verbs.write_hatch(answer, stamp="now")
    assert verbs.check(folder).faults == ()
    return answer


def new_rows(folder: Path, table: str, old: int) -> list[dict[str, str]]:
    """The rows after the first ``old``, empty cells left out."""
    rows = read_rows(folder / f"{table}.csv")[old:]
    return [{name: text for name, text in row.items() if text} for row in rows]
