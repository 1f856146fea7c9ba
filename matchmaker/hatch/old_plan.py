"""Refuse a plan of an earlier season: its cocks would become the sires of this one's chicks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.pairs.crossings import line_steps, open_crossings
from matchmaker.season.this_season import why_not_this_season

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.flock.flock import Flock
    from matchmaker.hatch.told import Told
    from matchmaker.tables.records import PlanRecord


def refuse_old_plan(flock: Flock, told: Told) -> None:
    """Refuse to take a pen's birds from a plan that is not this season's, as ``season`` does.

    Raises
    ------
    UsageError, InputError
        If a bird of the plan had left before the pens were made up, or no row of matings that is
        open this season takes one of its hens with her cock, and not both parents are named.
    """
    if told.sire and told.dam:
        return
    why = why_not_this_season(flock, _open_rows(flock))
    if why:
        told.refuse(
            "pen",
            told.pen,
            f"moves.csv has no hen in it on those days, and the plan is an older one: {why}",
            "keep this season's plan first (matchmaker plan --pen-up DATE), write in moves.csv who "
            "was there, or name both parents",
        )


def _open_rows(flock: Flock) -> Callable[[PlanRecord], bool]:
    """Return what tells whether a pair's lines may be crossed this season, or a wish allows it."""
    birds, settings = flock.by_band(), flock.settings
    allowed = {
        frozenset((wish.bird, wish.partner)) for wish in flock.tables.wishes if wish.wish == "allow"
    }
    steps = line_steps(flock, recurrent_shares(flock.pedigree, settings.recurrent))
    crossings = open_crossings(settings, steps, read_loci(flock.tables).loci)

    def is_open(row: PlanRecord) -> bool:
        hen, cock = birds[row.hen].line, birds[row.cock].line
        crossed = any(hen in one.hens and cock in one.cocks for one in crossings)
        return crossed or frozenset((row.hen, row.cock)) in allowed

    return is_open
