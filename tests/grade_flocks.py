"""A small flock with young birds of every kind, for the tests of grading."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from matchmaker import verbs
from tests.builders import chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.grade.grading import Grade, Grading
    from tests.builders import Row

HALF = "sussex:0.5|araucana:0.5"
DAY = dt.date(2026, 11, 1)
"""Before the pens of 2027; a bird hatched on 1 April is then 30 weeks old."""

OLD = (
    cock("S0"),
    cock("S1"),
    hen("P0"),
    hen("P1"),
    cock("AC", "Alder", HALF),
    hen("AH", "Alder", HALF),
)
YOUNG = (
    chick("A0", "hen", "AC", "P0", "Alder", O="blue", status="young"),
    chick("A1", "hen", "AC", "P0", "Alder", O="white", status="young"),
    chick("A2", "hen", "AC", "P1", "Alder", O="blue", defects="wry tail", status="young"),
    chick("A3", "cock", "AC", "P1", "Alder", status="young"),
    chick("A4", "hen", "S0", "AH", "Alder", hatched="2026-07-01", status="young"),
    chick("A5", "", "S0", "AH", "Alder", hatched="2026-07-01", status="young"),
    chick("A6", "hen", "AC", "P0", "Alder", hatched="2026-09-20", status="young"),
    chick("S2", "cock", "S1", "P0", "Pure", status="young"),
    chick("S3", "hen", "S1", "P0", "Pure", status="young"),
)
SEEN = (dna("AC", "O", 1), dna("AH", "O", 1))
SETTINGS = "[lines.Alder]\nchicks_wanted = 12\n[lines.Pure]\nchicks_wanted = 6\n"


def graded(
    path: Path,
    birds: tuple[Row, ...] = (*OLD, *YOUNG),
    settings: str = SETTINGS,
    **asked: Any,
) -> Grading:
    """The grading of a flock; ``day``, ``factor``, ``patience``, ``top``, tables may be given."""
    day, factor = asked.pop("day", DAY), asked.pop("factor", 2.5)
    patience = asked.pop("patience", None)
    if not asked.setdefault("seen", SEEN):
        del asked["seen"]
    top = asked.pop("top", "")
    top += 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
    return verbs.grade(
        judged(path, birds, settings, top, **asked), day, factor=factor, patience=patience
    )


def grade_of(grading: Grading, band: str) -> Grade:
    """The grade of a bird."""
    (found,) = (one for one in grading.grades if one.bird.band == band)
    return found


def verdicts(grading: Grading) -> dict[str, str]:
    """The verdict on each bird."""
    return {one.bird.band: str(one.verdict) for one in grading.grades}
