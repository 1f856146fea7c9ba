"""Flock folders written from a few words per bird, and read back through the public verbs."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeAlias

from matchmaker import verbs
from matchmaker.flock.flock import Flock, build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.read import read_folder

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken, Rule
    from matchmaker.pairs.table import PairTable

Row: TypeAlias = Mapping[str, str]

TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
ADULT = "2025-03-01"
PENS = "pen,hens_max\nOrchard,8\nYard,6\n"


def table(rows: Sequence[Row]) -> str:
    """Return a CSV table with every column that any row names, in the order they first appear."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    stream = io.StringIO()
    writer = csv.DictWriter(stream, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()


def bird(band: str, sex: str, line: str = "", breed: str = "", **cells: str) -> Row:
    """Return a row of birds: an adult founder unless the cells say otherwise."""
    return {
        "bird": band,
        "sex": sex,
        "line": line,
        "breed": breed,
        "hatched": ADULT,
        "sire": "founder",
        "dam": "founder",
        **cells,
    }


def cock(band: str, line: str = "Pure", breed: str = "sussex", **cells: str) -> Row:
    """Return the row of a cock, of the pure line unless told otherwise."""
    return bird(band, "cock", line, breed, **cells)


def hen(band: str, line: str = "Pure", breed: str = "sussex", **cells: str) -> Row:
    """Return the row of a hen, of the pure line unless told otherwise."""
    return bird(band, "hen", line, breed, **cells)


def chick(band: str, sex: str, sire: str, dam: str, line: str, **cells: str) -> Row:
    """Return the row of a bird out of two others, hatched in the year after its parents."""
    return bird(band, sex, line, **{"hatched": "2026-04-01", "sire": sire, "dam": dam, **cells})


def dna(band: str, locus: str, copies: int) -> Row:
    """Return a row of what was seen: a laboratory's count of copies."""
    return {"bird": band, "locus": locus, "what": f"{copies} copies", "how": "dna"}


def write_flock(
    path: Path, birds: Sequence[Row], settings: str = "", top: str = TOP, **tables: Sequence[Row]
) -> Path:
    """Write a folder of these birds; ``settings`` follow the usual season, breed and target."""
    path.mkdir(parents=True, exist_ok=True)
    (path / "matchmaker.toml").write_text(top + settings, encoding="utf-8")
    (path / "birds.csv").write_text(table(birds), encoding="utf-8")
    (path / "pens.csv").write_text(PENS, encoding="utf-8")
    for name, rows in tables.items():
        (path / f"{name}.csv").write_text(table(rows), encoding="utf-8")
    return path


def checked(
    path: Path, birds: Sequence[Row], settings: str = "", top: str = TOP, **tables: Sequence[Row]
) -> verbs.Check:
    """Return all that is found in a folder of these birds."""
    return verbs.check(write_flock(path, birds, settings, top, **tables))


def flock_of(path: Path, birds: Sequence[Row], settings: str = "", top: str = TOP) -> Flock:
    """Return the flock of a folder of these birds."""
    folder = write_flock(path, birds, settings, top)
    return build_flock(read_folder(folder, known_loci=frozenset(catalogue())))


def judged(
    path: Path, birds: Sequence[Row], settings: str = "", top: str = TOP, **tables: Sequence[Row]
) -> PairTable:
    """Return the pair table of a folder of these birds."""
    return verbs.pairs(write_flock(path, birds, settings, top, **tables))


def only(found: PairTable, hen_band: str, cock_band: str) -> Pair:
    """Return a pair that stands in exactly one row of crossings, or in none."""
    (pair,) = found.by_birds[hen_band, cock_band]
    return pair


def rules(pair: Pair) -> list[Rule]:
    """Return the rules a pair breaks."""
    return [broken.rule for broken in pair.broken]


def sole(pair: Pair, rule: Rule) -> Broken:
    """Return the only rule that a pair breaks."""
    (broken,) = pair.broken
    assert broken.rule is rule
    return broken


def of_kind(found: Sequence[Fault], kind: str) -> list[Fault]:
    """Return the findings of one kind."""
    return [one for one in found if one.kind == kind]


def where(found: Fault) -> tuple[str, int | None, str | None, str]:
    """Return the place of a finding."""
    return (found.file, found.row, found.column, found.value)


HOME = (
    cock("SC"),
    hen("SH"),
    cock("AC", "Alder", "sussex:0.5|araucana:0.5"),
    hen("AH", "Alder", "sussex:0.5|araucana:0.5"),
)
"""A pure cock and hen, and a carrier cock and hen of the backcross line Alder."""

HOME_SEEN = (dna("AC", "O", 1), dna("AH", "O", 1))
"""Tests that prove the carriers of ``HOME``."""
