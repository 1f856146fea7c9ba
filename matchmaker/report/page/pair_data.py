"""What the script of the pairs is given: every text once, and pairs as places of texts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from matchmaker.explain.pair import Verdict
from matchmaker.flock.listing import natural
from matchmaker.report.page.shared import Shared
from matchmaker.report.why.terms import Terms, beside_of, no_pen_for_her, no_pen_for_him

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import Key
    from matchmaker.report.page.pair_standing import Standing
    from matchmaker.report.page.pair_texts import RuleText, Teller, Told
    from matchmaker.report.why.terms import Beside
    from matchmaker.reporting import SeasonReport

STATES: Final = (Verdict.PAIRED, Verdict.COULD_PAIR, Verdict.REJECTED)
"""The states, those first that a keeper looks for first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mates:
    """A hen with a cock, in each row of matings there is for the two; the foremost row first."""

    hen: str
    cock: str
    rows: tuple[Told, ...]


def mates_in_order(report: SeasonReport, teller: Teller) -> list[Mates]:
    """All pairs: those that stand, those that could by what they would cost, then the rejected."""
    rank = _ranks(report.costs)
    found = []
    for (hen, cock), entries in report.table.by_birds.items():
        rows = sorted((teller.told(pair) for pair in entries), key=rank)
        found.append(Mates(hen=hen, cock=cock, rows=tuple(rows)))
    names = {band: natural(band) for pair in report.table.by_birds for band in pair}
    return sorted(found, key=lambda one: (rank(one.rows[0]), names[one.cock], names[one.hen]))


def _ranks(costs: Mapping[Key, Cost] | None) -> Callable[[Told], tuple[float, ...]]:
    """The order of pairs; by value where what they cost is not worked out."""

    def rank(told: Told) -> tuple[float, ...]:
        pair = told.pair
        state = float(STATES.index(told.verdict))
        if told.verdict is Verdict.REJECTED:
            return (state, float(len(pair.broken)), pair.kinship)
        cost = None if costs is None else costs.get(pair.key)
        return (state, *_dear(cost), 0.0 - (pair.value or 0.0))

    return rank


def _dear(cost: Cost | None) -> tuple[float, float]:
    """What a pair costs, for the order: at most, then at least; what is not known comes last."""
    if cost is None:
        return (0.0, 0.0)
    most = float("inf") if cost.at_most is None else cost.at_most
    return (most, cost.at_least)


class Writer:
    """Writes pairs as short lists of places in shared texts."""

    def __init__(self, report: SeasonReport, standing: Standing, teller: Teller) -> None:
        self._standing = standing
        self._teller = teller
        self._terms = Terms(report.table)
        self.texts, self.rules, self.columns = Shared(), Shared(), Shared()
        self._at: dict[tuple[str, str, str], tuple[int, int]] = {}

    def written(self, pairs: Sequence[Mates], hens: Shared, cocks: Shared) -> list[Any]:
        """Every pair: hen, cock, and its rows of matings."""
        for at, mates in enumerate(pairs):
            for row, told in enumerate(mates.rows):
                self._at[told.pair.key] = (at, row)
        return [
            [
                hens.place(one.hen),
                cocks.place(one.cock),
                [self._row(told) for told in one.rows],
                [self.texts.place(text) for text in self._teller.kin.told(one.rows[0].pair)],
            ]
            for one in pairs
        ]

    def _row(self, told: Told) -> list[Any]:
        pair, text = told.pair, self.texts.place
        return [
            text(pair.crossing.name) if pair.crossing else -1,
            STATES.index(told.verdict),
            text(told.state),
            text(told.more) if told.more else -1,
            text(told.sentence),
            [self._rule(one) for one in told.rules],
            [text(one) for one in told.cautions],
            [text(one) for one in self._terms.told(pair)],
            self._beside(pair),
            text(told.wanted) if told.wanted else -1,
        ]

    def _rule(self, one: RuleText) -> int:
        text = self.texts.place
        rests = tuple(text(sentence) for sentence in one.evidence)
        fixed = text(one.fixed) if one.fixed else -1
        return self.rules.place((text(one.state), text(one.heading), rests, fixed))

    def _beside(self, pair: Pair) -> list[int]:
        """Who stands beside a pair: the columns, and words for a bird without a place."""
        hers = self._standing.of_hen.get(pair.hen, ())
        his = self._standing.of_cock.get(pair.cock, ())
        found = [self._column(one) for one in beside_of(pair, hers, his)[1:]]
        if not hers:
            found.append(self._nowhere(no_pen_for_her(self._teller.marks.hen)))
        if not his:
            found.append(self._nowhere(no_pen_for_him(self._teller.marks.cock)))
        return found

    def _column(self, one: Beside) -> int:
        at, row = self._at[one.pair.key]
        return self.columns.place(
            (self.texts.place(one.words), self.texts.place(one.heading), at, row)
        )

    def _nowhere(self, words: str) -> int:
        return self.columns.place((self.texts.place(words),))

    @property
    def labels(self) -> list[str]:
        """The terms."""
        return list(self._terms.labels)
