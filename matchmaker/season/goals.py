"""What the eggs of a season are set for: wanted chicks of each line, and chicks that tell."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.plan.posing.terms import season_terms
from matchmaker.season.doubt import Doubts, line_doubts
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.pairs.table import PairTable
    from matchmaker.pairs.trials import Trial
    from matchmaker.season.lots import Lot

MOST_TEST_CHICKS: Final = 60
"""A test is not carried further (the plan counts no more either)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """So many chicks with so much certainty: of either sex, or (``sex``) of one."""

    count: int
    certainty: float
    sex: Sex | None = None

    def part(self, lot: Lot) -> float:
        """The part of the chance that all eggs share for a chick that counts here."""
        return lot.wanted if self.sex is None else lot.by_sex[self.sex]


@dataclass(frozen=True, slots=True, kw_only=True)
class TestAsk:
    """So many chicks of a test mating that can tell; ``judged`` is the part of them that can."""

    count: int
    certainty: float
    judged: float
    sex: Sex | None = None

    __test__ = False

    def part(self, lot: Lot) -> float:
        """The part of the chance that all eggs share for a chick that tells."""
        return lot.lives * self.judged


@dataclass(frozen=True, kw_only=True)
class Goal:
    """What is asked for a line, or of the test of a bird.

    ``mean`` is the expected number of chicks that the plan works towards, ``most_per_hen`` the
    wanted chicks that one hen shall give as long as others can; ``doubts`` what is not known of
    the parents.
    """

    line: str
    tested: str
    mean: float
    asks: tuple[Ask | TestAsk, ...]
    importance: float = 1.0
    most_per_hen: float = math.inf
    doubts: Doubts = field(default_factory=Doubts)

    @property
    def key(self) -> tuple[str, str]:
        """The line and the bird on trial, one of them empty."""
        return (self.line, self.tested)

    @property
    def main(self) -> Ask | TestAsk:
        """The number on which the eggs are spread."""
        return self.asks[0]


def season_goals(table: PairTable, lots: Iterable[Lot], certainty: float) -> tuple[Goal, ...]:
    """The goals of all lines, and of the tests that the pens hold, in order of their names."""
    lots = list(lots)
    return (*_lines(table, lots, certainty), *_tests(table, lots, certainty))


def _lines(table: PairTable, lots: list[Lot], certainty: float) -> Iterator[Goal]:
    joined = {row.chicks for row in table.crossings if row.tests is None}
    for line, needs in sorted(table.needs.items()):
        if line not in joined:
            continue
        own = needs.settings
        surely = certainty if own.certainty is None else own.certainty
        mean = max(needs.chicks_wanted, own.wanted_min)
        by_sex = ((Sex.COCK, own.wanted_cocks_min), (Sex.HEN, own.wanted_hens_min))
        asks = [Ask(count=math.ceil(mean - 1e-9), certainty=certainty)]
        asks += [
            Ask(count=math.ceil(least), certainty=surely, sex=sex) for sex, least in by_sex if least
        ]
        pairs = {
            one.pair.key: one.pair
            for lot in lots
            if lot.line == line and not lot.tested
            for one in lot.portions
        }
        yield Goal(
            line=line,
            tested="",
            mean=mean,
            asks=tuple(asks),
            importance=own.importance,
            most_per_hen=needs.most_per_pair,
            doubts=line_doubts(table.study, pairs.values()),
        )


def _tests(table: PairTable, lots: list[Lot], certainty: float) -> Iterator[Goal]:
    tested = sorted({lot.tested for lot in lots if lot.tested})
    trials = season_terms(table).trials if tested else {}
    for bird in tested:
        trial = trials.get(bird)
        count = 0 if trial is None else telling_chicks(trial, certainty)
        judged = 1.0 if trial is None else trial.judged
        ask = TestAsk(count=count, certainty=certainty, judged=judged)
        yield Goal(line="", tested=bird, mean=float(count), asks=(ask,))


def telling_chicks(trial: Trial, certainty: float) -> int:
    """The fewest chicks that take so much of the doubt about a bird as ever can be taken."""
    least = certainty * trial.mating.removed(MOST_TEST_CHICKS)
    numbers = range(1, MOST_TEST_CHICKS)
    return next((n for n in numbers if trial.mating.removed(n) >= least), MOST_TEST_CHICKS)
