"""Small flocks in which some birds may or may not carry a gene, for tests of tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.builders import TOP, chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

HALF_BRED = "sussex:0.5|araucana:0.5"
GONE = {"status": "dead", "left_on": "2026-12-01"}

SIRE = cock("AC", "Alder", HALF_BRED, **GONE)
"""The carrier cock that everyone of Alder descends from; he is gone."""

DAM = hen("AH", "Alder", HALF_BRED, **GONE)

PURE = (cock("SC"), cock("SD"), hen("SH"), hen("SI"), hen("SJ"))

CARRIERS = (
    chick("A1", "cock", "AC", "S0", "Alder"),
    chick("A2", "hen", "AC", "S0", "Alder"),
    {**chick("A3", "cock", "AC", "S1", "Alder"), "fertility": "0.849"},
)
"""Out of a carrier and pure hens that are gone: each carries the gene with one half. A3 is a
little less fertile, so that A1 is used where one of the two will do."""

DOUBTFUL = (
    SIRE,
    *PURE,
    hen("S0", **GONE),
    hen("S1", **GONE),
    *CARRIERS,
)

SEEN = (dna("AC", "O", 1),)

FEW_PENS = [{"pen": "Orchard", "hens_max": "3"}, {"pen": "Yard", "hens_max": "2"}]

SCARCE = "[lines.Alder]\nchicks_wanted = 20\nfamilies = 2\n[lines.Pure]\nchicks_wanted = 6\n"
"""Lines that want more than the pens can give: every pair counts."""


def doubtful(
    path: Path,
    settings: str = SCARCE,
    birds: Sequence[Row] = DOUBTFUL,
    seen: Sequence[Row] = SEEN,
    pens: Sequence[Row] = FEW_PENS,
    top: str = TOP,
) -> PairTable:
    """Return the pair table of ``DOUBTFUL`` or the like, with few pens."""
    return judged(path, birds, settings, top, seen=seen, pens=pens)
