"""How well this flock lays, is fertile, hatches and lives: its own counts beside what was taken.

What was taken are the figures of the settings, or the usual ones: small heritage flocks are 80 to
95 % fertile, 75 to 85 % of fertile eggs hatch, 88 to 95 % of chicks reach 16 weeks and a hen lays
3.5 to 4.5 eggs a week in spring (common practice, no source); home hatches give 50 % of eggs set
where poor, 70 on average, 85 to 90 where very good (Emery, Encyclopedia of Country Living).

What the books can and cannot tell:

- Fertility and hatch are counts of ``eggs.csv``. A set in which nobody counted the fertile eggs
  tells neither.
- ``raised`` is not survival: chicks that are not wanted leave at a day old, and those kept are
  banded. Losses are read from the books: birds hatched here that died within 16 weeks, against all
  that were banded. Birds that left alive before 16 weeks, or are younger, count for the part of
  the losses that falls before their age; the years before the first dead chick was written down
  tell nothing.
- Eggs set are not eggs laid: they only show that at least so many were laid. Lay is that of hens
  whose own figure stands in ``birds.csv``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import fmean
from typing import TYPE_CHECKING, Final

from matchmaker.season.books import (
    MOST_A_DAY,
    NOBODY,
    chicks_banded,
    eggs_a_hen,
    sets_by_cock,
)
from matchmaker.season.shrinkage import Estimate, shrink
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.season.shrinkage import Shrunk

LAY_SPREAD: Final = 0.5
"""SD between flocks of the eggs a hen lays in a week: 3.5 to 4.5 are usual (common practice)."""

HEN_SPREAD: Final = 1.0
"""SD between hens of one flock (from memory)."""

SURE_SDS: Final = 1.645
"""SDs to either side that hold a normal figure with a chance of 90 %."""


MATTERS: Final = 0.05
"""A rate that is off by less than a twentieth is no reason to change the settings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """One rate of the flock with the range that holds it with a chance of 90 %.

    ``taken`` is the figure of the settings, or the usual one where they give none (``given``
    false); ``value`` lies between it and the flock's own counts. Those are ``hits`` of ``tries``
    in ``sets`` (of rearing: hatch days; of lay: hens). ``left_out`` sets could not be counted.
    ``spread`` is the SD of the value, ``between`` that of one set about it.
    """

    key: str
    value: float
    low: float
    high: float
    spread: float
    between: float = 0.0
    taken: float
    given: bool
    tries: int = 0
    hits: int = 0
    sets: int = 0
    left_out: int = 0

    @property
    def differs(self) -> bool:
        """Whether the flock's own counts speak against what was taken, and it matters."""
        matters = abs(self.value - self.taken) >= MATTERS * self.taken
        return matters and self.sets > 0 and not self.low <= self.taken <= self.high

    @property
    def words(self) -> str:
        """The rate with where it comes from.

        Examples
        --------
        >>> Rate(
        ...     key="fertility",
        ...     value=0.83,
        ...     low=0.8,
        ...     high=0.86,
        ...     spread=0.02,
        ...     taken=0.85,
        ...     given=True,
        ...     tries=412,
        ...     hits=342,
        ...     sets=23,
        ... ).words
        '0.83, from 23 sets, 412 eggs; 0.85 was taken'
        """
        if not self.sets:
            source = "your settings" if self.given else "the usual figure"
            return f"{self.taken:g}, {source}; nothing was counted"
        return f"{self.value:.2f}, from {_counted(self)}; {self.taken:g} was taken"


_TRIED: Final = {
    "fertility": ("set", "egg"),
    "hatch_of_fertile": ("set", "fertile egg"),
    "rearing": ("hatch day", "banded chick"),
}


def _counted(rate: Rate) -> str:
    if rate.key == "lay_per_week":
        return _number(rate.sets, "hen")
    sets, tries = _TRIED[rate.key]
    return f"{_number(rate.sets, sets)}, {_number(rate.tries, tries)}"


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The rates of a flock; fertility of each cock whose sets were counted.

    ``most_laid`` are the most eggs set a hen and week, with the row, as far as hens can lay;
    ``too_many`` are rows that say more than an egg a hen and day.
    """

    lay: Rate
    fertility: Rate
    hatch_of_fertile: Rate
    rearing: Rate
    cocks: Mapping[str, Rate] = field(default_factory=dict)
    most_laid: tuple[float, int] | None = None
    too_many: tuple[int, ...] = ()

    @property
    def all(self) -> tuple[Rate, ...]:
        """The flock's rates in the order in which an egg meets them."""
        return (self.lay, self.fertility, self.hatch_of_fertile, self.rearing)

    @property
    def raised(self) -> float:
        """Chicks raised of one egg set, without inbreeding."""
        return self.fertility.value * self.hatch_of_fertile.value * self.rearing.value

    def raised_spread(self, sets: int) -> float:
        """SD of the chicks raised of one egg, over so many sets.

        The rates are not known for sure, and one set is better than another; the relative
        variances of independent factors add.
        """
        parts = (self.fertility, self.hatch_of_fertile, self.rearing)
        square = sum(
            (one.spread**2 + one.between**2 / max(sets, 1)) / one.value**2
            for one in parts
            if one.value > 0
        )
        return float(self.raised * square**0.5)

    def of_cock(self, cock: str) -> float:
        """How fertile a cock's eggs are: by his own sets, else the flock's."""
        return self.cocks[cock].value if cock in self.cocks else self.fertility.value


def rates(flock: Flock) -> Rates:
    """The rates of a flock: what was taken, moved by what its books tell."""
    year = flock.settings.year
    eggs = flock.tables.eggs
    fertile = sets_by_cock(flock, eggs)
    fertility = shrink(fertile, year.fertility)
    counted = [
        (one.fertile, one.hatched)
        for one in eggs
        if one.fertile and one.hatched is not None and one.hatched <= one.fertile
    ]
    hatch = shrink({"": counted}, year.hatch_of_fertile, by_group=False)
    lived = chicks_banded(flock)
    rearing = shrink({"": lived}, year.rearing, by_group=False)
    most, too_many = eggs_a_hen(flock)
    of_all = [one for sets in fertile.values() for one in sets]
    return Rates(
        lay=_lay(flock),
        fertility=_rate(flock, "fertility", fertility, of_all, len(eggs)),
        hatch_of_fertile=_rate(flock, "hatch_of_fertile", hatch, counted, len(eggs)),
        rearing=_rate(flock, "rearing", rearing, lived, len(lived)),
        cocks={
            cock: _of_cock(flock, fertility.groups[cock], sets)
            for cock, sets in sorted(fertile.items())
            if cock in fertility.groups and not cock.startswith(NOBODY)
        },
        most_laid=most,
        too_many=too_many,
    )


def _rate(flock: Flock, key: str, found: Shrunk, counts: list[tuple[int, int]], rows: int) -> Rate:
    one = found.flock
    return Rate(
        key=key,
        value=one.value,
        low=one.low,
        high=one.high,
        spread=one.spread,
        between=(max(one.value * (1.0 - one.value), 0.0) * found.within_sets) ** 0.5,
        taken=float(getattr(flock.settings.year, key)),
        given=key in flock.settings.year.model_fields_set,
        tries=sum(n for n, _ in counts),
        hits=sum(k for _, k in counts),
        sets=len(counts),
        left_out=rows - len(counts),
    )


def _of_cock(flock: Flock, one: Estimate, counts: list[tuple[int, int]]) -> Rate:
    return Rate(
        key="fertility",
        value=one.value,
        low=one.low,
        high=one.high,
        spread=one.spread,
        taken=flock.settings.year.fertility,
        given="fertility" in flock.settings.year.model_fields_set,
        tries=sum(n for n, _ in counts),
        hits=sum(k for _, k in counts),
        sets=len(counts),
    )


def _lay(flock: Flock) -> Rate:
    """Eggs a hen and week: the hens' own figures, shrunk towards what was taken."""
    year = flock.settings.year
    own = [
        bird.record.lay_per_week
        for bird in flock.breeders
        if bird.sex is Sex.HEN and bird.record.lay_per_week is not None
    ]
    trust = 1.0 / LAY_SPREAD**2
    counted = len(own) / HEN_SPREAD**2
    mean = fmean(own) if own else year.lay_per_week
    value = (trust * year.lay_per_week + counted * mean) / (trust + counted)
    spread = (1.0 / (trust + counted)) ** 0.5
    return Rate(
        key="lay_per_week",
        value=value,
        low=max(0.0, value - SURE_SDS * spread),
        high=min(7.0 * MOST_A_DAY, value + SURE_SDS * spread),
        spread=spread,
        taken=year.lay_per_week,
        given="lay_per_week" in year.model_fields_set,
        sets=len(own),
    )
