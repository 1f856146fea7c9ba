"""Evidence in a keeper's words, for tests of a locus."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.chicks import ChickClasses, chick_distribution
from matchmaker.genetics.genotypes.evidence import read_evidence
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.records import BirdRecord, SeenRecord

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus


def records(flock: Pedigree, seen: Mapping[str, str], symbol: str) -> list[BirdRecord]:
    """``birds.csv`` rows of a pedigree with a locus column as given."""
    return [
        BirdRecord(row=row, bird=bird, sex=sex, seen={symbol: seen[bird]} if bird in seen else {})
        for row, (bird, sex) in enumerate(zip(flock.birds, flock.sexes, strict=True), 2)
    ]


def evidence(
    flock: Pedigree, locus: Locus, seen: Mapping[str, str], *rows: SeenRecord
) -> tuple[Evidence, ...]:
    """Evidence on a pedigree's birds from words, all of which must be understood and used."""
    reading = read_evidence(records(flock, seen, locus.symbol), rows, locus)
    assert not reading.faults
    assert not reading.doubts
    return reading.evidence


def seen_row(
    row: int = 2,
    *,
    bird: str = "",
    pair: tuple[str, str] = ("", ""),
    what: tuple[tuple[str, int], ...],
    how: str = "adult",
    locus: str = "O",
    date: dt.date | None = None,
) -> SeenRecord:
    """One row of ``seen.csv``; ``pair`` is (hen, cock)."""
    return SeenRecord(
        row=row,
        date=date,
        bird=bird,
        hen=pair[0],
        cock=pair[1],
        pen="",
        locus=locus,
        what=what,
        how=how,
    )


def chicks_of(symbol: str, hen_copies: int, cock_copies: int) -> ChickClasses:
    """Chicks of a hen and a cock whose copies are known."""
    joint = np.zeros((3, 3))
    joint[hen_copies, cock_copies] = 1.0
    return chick_distribution(joint, catalogue()[symbol])
