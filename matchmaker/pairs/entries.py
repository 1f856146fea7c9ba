"""The entries of the table: a ``Pair`` for each hen and cock in each row that is open for them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.pairs.certainty import least_of_rows
from matchmaker.pairs.crossings import crossing_by_wish
from matchmaker.pairs.figures import numbered
from matchmaker.pairs.pair import Pair
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.scope import hopeless_pairs
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.pairs.certainty import LeastChances
    from matchmaker.pairs.crossings import Crossing, Steps
    from matchmaker.pairs.figures import Places, Terms
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.scope import Scope
    from matchmaker.pairs.sheet import Desk, Sheet
    from matchmaker.pairs.wishes import Wishes


def all_pairs(
    desk: Desk, crossings: Sequence[Crossing], steps: Steps, scope: Scope
) -> Iterator[Pair]:
    """Every hen and cock in every row that is open for their lines, or once where none is."""
    judge = desk.judge
    sheets = [desk.sheet(crossing) for crossing in crossings if crossing.tests is None]
    wished = judge.marked(judge.wishes.allow)
    looked = np.ones_like(wished)
    if scope.allowed_only:
        chances = {sheet.crossing.name: sheet.chance for sheet in sheets}
        looked = wished | ~hopeless_pairs(judge, crossings, chances)
    least = least_of_rows(judge.study, judge.chicks, [sheet.crossing for sheet in sheets])
    for sheet in sheets:
        places = np.nonzero(sheet.opened & looked)
        yield from _in_row(desk, sheet, places, least.get(sheet.crossing.name))
    closed = looked & wished if scope.open_only else looked
    for crossing in crossings:
        opened = judge.opened(crossing)
        closed = closed & ~opened
        if crossing.tests is not None:
            yield from _on_trial(desk, crossing, np.nonzero(opened & looked))
    yield from _without_row(desk, np.nonzero(closed), steps)


def _in_row(
    desk: Desk, sheet: Sheet, places: Places, least: LeastChances | None = None
) -> Iterator[Pair]:
    judge, crossing, chance = desk.judge, sheet.crossing, sheet.chance
    approximate = judge.approximate(crossing)
    grids = (chance.told_sons, chance.told_daughters, chance.true_sons, chance.true_daughters)
    chances = zip(*(grid[places].tolist() for grid in grids), strict=True)
    worths = zip(sheet.worth[places].tolist(), sheet.value[places].tolist(), strict=True)
    columns = zip(
        numbered(places),
        desk.figures.at(places),
        sheet.allowed[places].tolist(),
        chances,
        worths,
        strict=True,
    )
    for at, terms, allowed, (sons, daughters, true_sons, true_daughters), (worth, value) in columns:
        broken = () if allowed else judge.verdict(*at, crossing, sons + daughters)
        yield Pair(
            **terms,
            crossing=crossing,
            broken=broken,
            waived=_waived(judge.wishes, terms, broken),
            wanted_by_sex={Sex.COCK: sons, Sex.HEN: daughters},
            true_by_sex={Sex.COCK: true_sons, Sex.HEN: true_daughters},
            sure_by_sex=None if least is None else least.at(*at),
            approximate=approximate,
            worth=worth,
            value=value,
        )


def _on_trial(desk: Desk, crossing: Crossing, places: Places) -> Iterator[Pair]:
    judge = desk.judge
    for at, terms in zip(numbered(places), desk.figures.at(places), strict=True):
        broken = judge.verdict(*at, crossing, None)
        yield Pair(
            **terms,
            crossing=crossing,
            broken=broken,
            waived=_waived(judge.wishes, terms, broken),
            approximate=judge.approximate(crossing),
            trial=judge.trial(*at, crossing),
            value=0.0,
        )


def _without_row(desk: Desk, places: Places, steps: Steps) -> Iterator[Pair]:
    """Pairs of lines that no row opens; a wish that allows one makes a row of its own."""
    judge = desk.judge
    for at, terms in zip(numbered(places), desk.figures.at(places), strict=True):
        broken = judge.verdict(*at, None, None)
        if not _waived(judge.wishes, terms, broken):
            yield Pair(**terms, crossing=None, broken=broken)
            continue
        lines = judge.hens[at[0]].line, judge.cocks[at[1]].line
        made = crossing_by_wish(*lines, steps, judge.study.flock.settings.target, judge.study.loci)
        place = (np.array(at[:1]), np.array(at[1:]))
        closed = tuple(one for one in broken if one.rule is Rule.LINE_CLOSED)
        for opened in _in_row(desk, desk.sheet(made), place):
            yield replace(opened, broken=(*closed, *opened.broken), waived=True)


def _waived(wishes: Wishes, terms: Terms, broken: tuple[Broken, ...]) -> bool:
    if not broken:
        return False
    wished = (terms["hen"], terms["cock"]) in wishes.allow
    return wished and not any(rule.final for rule in broken)
