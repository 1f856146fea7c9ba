"""Ways: how a class of birds comes to hand, by which cross and told by what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Source
    from matchmaker.route.telling import Cell
    from matchmaker.tables.records import Sex


@dataclass(frozen=True, eq=False, slots=True)
class Way:
    """How a class of birds comes to hand: it can be bred from after ``season`` seasons (0: now).

    ``behind`` are the ways it rests on; ``chicks`` all chicks to rear for it and them.
    """

    sex: Sex
    mix: Mix
    share: float
    season: int
    source: Source | None = None
    cock: Way | None = None
    hen: Way | None = None
    cell: Cell | None = None
    behind: frozenset[Way] = frozenset()
    chicks: int = 0

    @property
    def history(self) -> frozenset[Way]:
        """All ways behind this one, and itself."""
        return self.behind | {self}

    @property
    def parents(self) -> tuple[Way, ...]:
        """Its cocks and its hens; none of a class that is at hand."""
        return () if self.cock is None or self.hen is None else (self.cock, self.hen)

    @property
    def recurrent(self) -> bool:
        """Whether these are birds of the recurrent breed."""
        return self.source is not None and self.source.share == 1

    @property
    def donor(self) -> bool:
        """Whether these are birds of the donor's breed."""
        return self.source is not None and self.source.share == 0

    @property
    def later(self) -> bool:
        """Whether what they are is known only after they have been bred from."""
        return self.cell is not None and self.cell.later


@dataclass(frozen=True, slots=True, kw_only=True)
class Useful:
    """A class that may be bred from: how much of it carries, and what its carriers are.

    ``sure``: all of it carries. ``one_kind``: all have the same number of copies of what is to be
    brought in. ``finished``: all have the wanted genotype, and it is known in time.
    """

    cell: Cell
    carrying: float
    bearers: Mix
    sure: bool
    one_kind: bool
    finished: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A route: the finished cocks and hens and all that is behind them."""

    cock: Way
    hen: Way
    season: int
    chicks: int
    history: frozenset[Way]


def unbettered(found: list[Found]) -> list[Found]:
    """The routes that no other betters in seasons and in chicks, the quickest first."""
    kept: list[Found] = []
    for one in sorted(found, key=lambda one: (one.season, one.chicks, len(one.history))):
        if all(one.chicks < other.chicks for other in kept):
            kept.append(one)
    return kept
