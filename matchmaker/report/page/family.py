"""Pedigrees to draw: of any bird, and of what a pair has in common."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from matchmaker.genetics.kin.forebears import parents
from matchmaker.report.page.family_birds import birds_data, birds_shown
from matchmaker.report.page.family_kin import kin_data
from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.reporting import SeasonReport


def family_view(report: SeasonReport) -> View:
    """Pedigrees to draw: of any bird, and of what a pair has in common."""
    table = report.table
    birds = birds_shown(table)
    opening = _opening(report, birds)
    return View(
        values={
            "opening": opening,
            "left_out": len(table.study.flock.pedigree.birds) - len(birds),
        },
        data={
            "birds": {**birds_data(table, birds), "opening": opening},
            "kin": kin_data(table, {band: at for at, band in enumerate(birds)}),
        },
    )


def _opening(report: SeasonReport, birds: Sequence[str]) -> str:
    """The bird shown first: the cock with the most hens of those whose parents are in the books.

    Else one that is here whose are, a likely carrier first; else the cock with the most hens.
    """
    study = report.table.study
    flock, target = study.flock, study.genotypes[next(iter(study.flock.settings.target))]
    mates = Counter({bird.band: 0 for bird in flock.living})
    mates.update(pair.cock for pair in report.guide.pens.pairs)
    if not mates:
        return next(iter(birds), "")
    written = {
        band: any(parent.candidates for parent in parents(flock, band, depth=1)) for band in mates
    }
    likely = dict(zip(mates, target.carrier_probabilities(list(mates)), strict=True))
    return min(mates, key=lambda band: (not written[band], -mates[band], -likely[band], band))
