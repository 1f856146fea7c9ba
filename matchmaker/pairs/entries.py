"""The entries of the table: a ``Pair`` for each hen and cock in each row that is open for them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.pairs.certainty import least_of_rows
from matchmaker.pairs.crossings import crossing_by_wish
from matchmaker.pairs.grids import numbered
from matchmaker.pairs.pair import Pair
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.scope import hopeless_pairs
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping, Sequence

    from matchmaker.pairs.certainty import LeastChances
    from matchmaker.pairs.crossings import Crossing, Steps
    from matchmaker.pairs.figures import Terms
    from matchmaker.pairs.grids import Flags, Grid, Places
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.scope import Scope
    from matchmaker.pairs.sheet import Desk, Sheet
    from matchmaker.pairs.wishes import Wishes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entries:
    """All pairs of a flock before they are made; only those that are asked for are.

    ``looked`` (hens, cocks) are those that are looked at, ``wished`` those that a wish allows;
    ``least`` are the least chances of rows by name.
    """

    desk: Desk
    crossings: Sequence[Crossing]
    steps: Steps
    sheets: Sequence[Sheet]
    looked: Flags
    wished: Flags
    open_only: bool
    least: Mapping[str, LeastChances]

    @classmethod
    def of(cls, desk: Desk, crossings: Sequence[Crossing], steps: Steps, scope: Scope) -> Entries:
        """Every hen and cock in every row that is open for their lines, or once where none is."""
        judge = desk.judge
        kept = [crossing for crossing in crossings if crossing.tests is None]
        sheets = [desk.sheet(crossing) for crossing in sorted(kept, key=lambda row: row.name)]
        wished = judge.marked(judge.wishes.allow)
        looked = np.ones_like(wished)
        if scope.allowed_only:
            chances = {sheet.crossing.name: sheet.chance for sheet in sheets}
            looked = wished | ~hopeless_pairs(judge, crossings, chances)
        return cls(
            desk=desk,
            crossings=crossings,
            steps=steps,
            sheets=sheets,
            looked=looked,
            wished=wished,
            open_only=scope.open_only,
            least=least_of_rows(judge.study, judge.chicks, kept),
        )

    def all(self) -> tuple[Pair, ...]:
        """All pairs, in order of hen, cock and row."""
        return self._made([self.looked] * len(self.sheets), self.looked)

    def among(self, birds: Container[str]) -> tuple[Pair, ...]:
        """The pairs whose hen and cock are both among some birds."""
        hens, cocks = (
            np.array([bird.band in birds for bird in side], dtype=np.bool_)
            for side in (self.desk.judge.hens, self.desk.judge.cocks)
        )
        asked = self.looked & hens[:, None] & cocks[None, :]
        return self._made([asked] * len(self.sheets), asked)

    def foremost(self) -> tuple[Pair, ...]:
        """Of each hen and cock the allowed pair that counts most, all pairs where none is allowed.

        Test rows and what wishes allow come with them whole.
        """
        shape = (len(self.sheets), *self.looked.shape)
        allowed = np.array([one.allowed & self.looked for one in self.sheets]).reshape(shape)
        value = np.array([one.value for one in self.sheets]).reshape(shape)
        worth = np.where(allowed, value, -np.inf)
        asked = np.broadcast_to(self.wished, shape).copy()
        for sex in (0, 1):
            mates = np.moveaxis(worth, (1 + sex, 2 - sex, 0), (0, 1, 2))
            marks = np.moveaxis(asked, (1 + sex, 2 - sex, 0), (0, 1, 2))
            _mark_foremost(mates, marks)
        return self._made(list(asked & self.looked), self.looked)

    def _made(self, rows: Sequence[Flags], others: Flags) -> tuple[Pair, ...]:
        """Pairs asked for of each sheet, and ``others`` of test rows and where no row is open."""
        found: list[Pair] = []
        for sheet, asked in zip(self.sheets, rows, strict=True):
            least = self.least.get(sheet.crossing.name)
            found += _in_row(self.desk, sheet, np.nonzero(sheet.opened & asked), least)
        closed = others & self.wished if self.open_only else others
        for crossing in self.crossings:
            opened = self.desk.judge.opened(crossing)
            closed = closed & ~opened
            if crossing.tests is not None:
                found += _on_trial(self.desk, crossing, np.nonzero(opened & others))
        found += _without_row(self.desk, np.nonzero(closed), self.steps)
        return tuple(sorted(found, key=attrgetter("key")))


def _mark_foremost(worth: Grid, marks: Flags) -> None:
    """Mark the best mate and row of each bird, all of one that has none; (birds, mates, rows).

    Of equal ones the first counts; what is worth minus infinity is none.
    """
    if not worth.size:
        return
    flat = worth.reshape(len(worth), -1)
    at = flat.argmax(axis=1)
    birds = np.arange(len(flat))
    mates, rows = np.divmod(at, worth.shape[2])
    marks[birds, mates, rows] = True
    marks[np.isneginf(flat[birds, at])] = True


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
