"""The terms of every hen × cock that no row of matings changes, and what a row makes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from matchmaker.pairs.value import Yield

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.pairs.judge import Judge


class Terms(TypedDict):
    """The fields of a ``Pair`` that no row changes."""

    hen: str
    cock: str
    kinship: float
    recurrent_share: float
    gains: Mapping[str, float]
    merit: float
    chicks: float


class Figures:
    """Terms by position of hen and cock; arrays are turned into plain numbers once."""

    __slots__ = ("_at", "_gains", "_judge", "_kinship", "_merit", "_yield")

    def __init__(self, judge: Judge) -> None:
        study = judge.study
        prospects = study.prospects
        self._judge = judge
        self._kinship = judge.kinship.tolist()
        self._merit = prospects.merit.tolist()
        self._gains = {
            aim.trait: prospects.gains[aim.trait].tolist() for aim in study.aims if aim.weight
        }
        self._at = prospects.at
        self._yield = Yield(judge.hens, judge.cocks, study.flock.settings)

    def of(self, hen_at: int, cock_at: int) -> Terms:
        """Return the terms of a pair."""
        judge = self._judge
        hen, cock = judge.hens[hen_at].band, judge.cocks[cock_at].band
        row, column = self._at(hen, cock)
        share = judge.study.recurrent_share
        kinship = self._kinship[hen_at][cock_at]
        return Terms(
            hen=hen,
            cock=cock,
            kinship=kinship,
            recurrent_share=(share[hen] + share[cock]) / 2,
            gains={trait: gains[row][column] for trait, gains in self._gains.items()},
            merit=self._merit[row][column],
            chicks=self._yield.of(hen_at, cock_at, kinship),
        )
