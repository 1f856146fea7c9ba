"""Pens as they stand on the morning of a day, who is lost, and what that leaves."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.rebalance.diary import Diary, Stay


@dataclass(frozen=True, kw_only=True)
class Standing:
    """The pens on the morning of ``day``: what was written for that day or later is not done yet.

    ``pen_of`` says where each bird is that may stay there. ``lost`` are birds that are gone, with
    their last day; ``closed`` pens that can no longer be used, and ``evicted`` says which birds
    must leave which of them. ``missing`` are birds of these pens that are gone by what the books
    say, ``quarantined`` those that the books have in quarantine on that day, with its end: nobody
    goes into their pens or out of them. ``from_plan`` says that no stays are written and the
    standing plan is taken instead, as made up on the day of penning. ``undone`` are stays written
    for that day or later, which are planned anew.
    """

    day: dt.date
    diary: Diary
    pen_of: Mapping[str, str]
    lost: Mapping[str, dt.date] = field(default_factory=dict)
    closed: frozenset[str] = frozenset()
    evicted: Mapping[str, str] = field(default_factory=dict)
    missing: Mapping[str, dt.date] = field(default_factory=dict)
    quarantined: Mapping[str, dt.date | None] = field(default_factory=dict)
    from_plan: bool = False
    undone: tuple[Stay, ...] = ()

    @cached_property
    def infected(self) -> frozenset[str]:
        """The pens in which a bird stands, or stood when it was lost, that is in quarantine."""
        return frozenset(pen for bird, pen in self._here if bird in self.quarantined)

    @cached_property
    def apart(self) -> frozenset[str]:
        """The birds of those pens: none of them goes to other birds, were its pen closed today."""
        return frozenset(bird for bird, pen in self._here if pen in self.infected)

    @cached_property
    def _here(self) -> tuple[tuple[str, str], ...]:
        """Every bird with its pen as before today's losses."""
        return tuple((stay.bird, stay.pen) for stay in self.diary.stays if self._was_open(stay))

    def _was_open(self, stay: Stay) -> bool:
        if stay.last is None or (stay.pen in self.closed and stay.last == self.day):
            return True
        return stay.last == self.lost.get(stay.bird)

    @property
    def ordered(self) -> tuple[tuple[str, str], ...]:
        """The birds, not lost since, that are to go into a pen by what was written before."""
        return tuple(
            (stay.bird, stay.pen)
            for stay in self.undone
            if stay.bird not in self.lost and stay.pen not in self.closed
        )

    def cock_in(self, pen: str) -> str | None:
        """The cock who may stay in a pen."""
        return self._cock_of.get(pen)

    @cached_property
    def _cock_of(self) -> Mapping[str, str]:
        return {pen: bird for bird, pen in self.places if bird in self.diary.cocks}

    @cached_property
    def places(self) -> tuple[tuple[str, str], ...]:
        """Every bird that may stay with its pen; a cock may have several."""
        stays = self.diary.stays
        return tuple(sorted({(stay.bird, stay.pen) for stay in stays if stay.last is None}))

    @cached_property
    def cocks(self) -> tuple[str, ...]:
        """The cocks that stand in pens, in order of their bands."""
        return tuple(sorted(set(self._cock_of.values())))

    def homes(self, cock: str) -> tuple[str, ...]:
        """The pens in which a cock may stay."""
        return tuple(pen for pen, here in sorted(self._cock_of.items()) if here == cock)

    def stands(self, bird: str) -> str | None:
        """The pen in which a bird stood this morning, whether it may stay there or not."""
        return self.pen_of.get(bird) or self.evicted.get(bird)

    def was_cock_in(self, pen: str, cock: str) -> bool:
        """Whether a cock stood in a pen this morning, whether he may stay there or not."""
        ends = [stay.last for stay in self.diary.cocks_of(pen) if stay.bird == cock]
        return None in ends or (pen in self.closed and self.day in ends)

    def hens_in(self, pen: str) -> tuple[str, ...]:
        """The hens who may stay in a pen."""
        return self._hens_of.get(pen, ())

    @cached_property
    def _hens_of(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for bird, pen in sorted(self.pen_of.items()):
            if bird not in self.diary.cocks:
                found[pen] = (*found.get(pen, ()), bird)
        return found

    def left_by_cock(self, pen: str) -> dt.date | None:
        """The last day of the last cock in a pen that has none now; ``None`` if there was none."""
        lasts = [stay.last for stay in self.diary.cocks_of(pen) if stay.last is not None]
        return max(lasts, default=None)

    def cockless_since(self, hen: str) -> dt.date | None:
        """Since when a hen is without a cock, having been with one; ``None`` if she has one."""
        pen = self.pen_of.get(hen)
        if pen is not None and self.cock_in(pen) is not None:
            return None
        lasts = [one.last for one in self.diary.clock(hen).contacts if one.last is not None]
        return max(lasts, default=None)


def lose(
    standing: Standing, lost: Mapping[str, dt.date], closed: frozenset[str] = frozenset()
) -> Standing:
    """The same morning with birds lost, each on its last day, and pens closed."""
    stays = tuple(_cut(stay, lost, closed, standing.day) for stay in standing.diary.stays)
    return replace(
        standing,
        diary=replace(standing.diary, stays=stays),
        pen_of={stay.bird: stay.pen for stay in stays if stay.last is None},
        lost={**standing.lost, **lost},
        closed=standing.closed | closed,
        evicted={
            **{bird: pen for bird, pen in standing.evicted.items() if bird not in lost},
            **{b: pen for b, pen in standing.places if pen in closed and b not in lost},
        },
    )


def _cut(stay: Stay, gone: Mapping[str, dt.date], closed: frozenset[str], day: dt.date) -> Stay:
    """A stay, ended with its bird or with its pen at the latest."""
    ends = [] if stay.last is None else [stay.last]
    ends += [gone[stay.bird]] if stay.bird in gone else []
    ends += [day] if stay.pen in closed and stay.last is None else []
    return replace(stay, last=min(ends, default=None))
