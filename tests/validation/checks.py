"""What a check is: our figure, the outside one, how near they must be, and where it comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from tests.sources import sources

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike

    from matchmaker.report.page.drawing import Plot
    from matchmaker.report.page.figure import Table
    from tests.sources import Source


class Standing(StrEnum):
    """How an outside figure is known."""

    READ = "read"
    OWN = "own arithmetic"
    MEMORY = "from memory"
    RUN = "another program"
    SECOND = "a second way"


class Near(StrEnum):
    """Why a tolerance is what it is."""

    EXACT = "rounding"
    PRINTED = "as printed"
    CHANCE = "5 errors"
    SIZE = "size"
    APPROXIMATE = "approximate"


@dataclass(frozen=True, kw_only=True)
class Check:
    """One comparison; of ``entries`` compared at once the two figures are the ones furthest apart.

    ``source`` is a file below ``tests/`` that has a row in ``SOURCES.md``.
    """

    what: str
    ours: float
    outside: float
    tolerance: float
    near: Near
    standing: Standing
    source: str
    entries: int = 1
    unit: str = ""

    @property
    def difference(self) -> float:
        """Ours less the outside figure."""
        return self.ours - self.outside

    @property
    def within(self) -> bool:
        """Whether the two are as near as they must be; what is no number never is."""
        return math.isfinite(self.difference) and abs(self.difference) <= self.tolerance

    @property
    def used(self) -> float:
        """The part of the tolerance that the difference takes up; above 1 the check fails."""
        if not math.isfinite(self.difference):
            return math.inf
        return abs(self.difference) / self.tolerance if self.tolerance else math.inf

    @property
    def row(self) -> Source:
        """The row of ``SOURCES.md`` that says where the outside figure comes from."""
        return sources()[self.source]


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A drawing with what to see in it, and the numbers behind it."""

    plot: Plot
    words: str
    table: Table


@dataclass(frozen=True, kw_only=True)
class Section:
    """Checks of one part of the engine, in words and in figures."""

    key: str
    title: str
    about: str
    checks: tuple[Check, ...]
    figures: tuple[Figure, ...] = ()

    @property
    def failed(self) -> tuple[Check, ...]:
        """Checks that are not within their tolerance."""
        return tuple(check for check in self.checks if not check.within)

    @property
    def worst(self) -> Check:
        """The check that comes nearest to its tolerance, or goes farthest beyond it."""
        return max(self.checks, key=lambda check: check.used)

    @property
    def entries(self) -> int:
        """Figures compared in all checks."""
        return sum(check.entries for check in self.checks)


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where the outside figures of some checks come from, and how they are known."""

    source: str
    standing: Standing = Standing.READ

    def check(
        self,
        what: str,
        ours: ArrayLike,
        outside: ArrayLike,
        *,
        tolerance: ArrayLike = 1e-12,
        near: Near = Near.EXACT,
        unit: str = "",
    ) -> Check:
        """Compare numbers, or arrays entry by entry: the entry that takes up most is shown.

        Examples
        --------
        >>> found = Origin(source="published/test_lange_2003.py").check("x", [1, 2.5], [1, 2])
        >>> found.entries, found.ours, found.outside, found.within
        (2, 2.5, 2.0, False)
        """
        own, other, allowed = np.broadcast_arrays(
            *(np.asarray(part, dtype=np.float64) for part in (ours, outside, tolerance))
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            used = np.nan_to_num(np.abs(own - other) / allowed, nan=np.inf, posinf=np.inf)
        used = np.where(own == other, 0.0, used)
        furthest = np.lexsort((np.abs(other).ravel(), used.ravel()))[-1]
        at = np.unravel_index(int(furthest), used.shape)
        return Check(
            what=what,
            ours=float(own[at]),
            outside=float(other[at]),
            tolerance=float(allowed[at]),
            near=near,
            standing=self.standing,
            source=self.source,
            entries=own.size,
            unit=unit,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much is tried: random flocks, replicates, and whether slow other programs are run."""

    flocks: int = 100
    birds: int = 20_000
    replicates: int = 400
    seasons: int = 6
    played: int = 60
    peers: bool = True


WHOLE = Effort()
QUICK = Effort(flocks=8, birds=1_500, replicates=60, seasons=2, played=2, peers=False)


@dataclass(frozen=True, kw_only=True)
class Report:
    """All sections, and what was tried."""

    effort: Effort
    sections: tuple[Section, ...]

    @property
    def checks(self) -> tuple[Check, ...]:
        """The checks of all sections."""
        return tuple(check for section in self.sections for check in section.checks)

    @property
    def failed(self) -> tuple[Check, ...]:
        """Those that are not within their tolerance."""
        return tuple(check for check in self.checks if not check.within)


def mean_and_error(values: ArrayLike) -> tuple[float, float]:
    """The mean of independent values and its standard error."""
    found = np.asarray(values, dtype=np.float64)
    return float(found.mean()), float(found.std(ddof=1) / len(found) ** 0.5)


def floats(rows: Iterable[Sequence[object]]) -> list[list[float]]:
    """A table of fractions as numbers."""
    return [[float(cell) for cell in row] for row in rows]  # type: ignore[arg-type]
