"""What each line needs this season, settings and defaults joined."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.value import BREEDERS_TO_CHICKS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.scheme_settings import LineSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class LineNeeds:
    """Wanted chicks of a line, whether that number was set or assumed, and its other settings."""

    line: str
    chicks_wanted: float
    assumed: bool
    settings: LineSettings

    @property
    def most_per_pair(self) -> float:
        """Wanted chicks that one pair may count for: no line shall hang on one hen."""
        return self.chicks_wanted / self.settings.families


def most_per_pair(needs: Mapping[str, LineNeeds], line: str | None) -> float:
    """Wanted chicks that one pair may count for whose chicks join the line; no limit without one.

    Examples
    --------
    >>> most_per_pair({}, "Alder")
    inf
    """
    return needs[line].most_per_pair if line is not None and line in needs else math.inf


def line_needs(flock: Flock, crossings: Sequence[Crossing]) -> dict[str, LineNeeds]:
    """Needs of every living line and of every line that some open row's chicks join.

    A line without ``chicks_wanted`` wants 2.5 chicks per living breeder (at least one breeder);
    these defaults shrink together until they fit the rearing room, but not below a tenth.
    """
    joined = {crossing.chicks for crossing in crossings if crossing.tests is None}
    lines = sorted(joined | {bird.line for bird in flock.living})
    given = {line: flock.settings.line(line).chicks_wanted for line in lines}
    assumed = {
        line: BREEDERS_TO_CHICKS * max(1, _breeders(flock, line))
        for line, chicks in given.items()
        if chicks is None
    }
    scale = _room_scale(
        flock, sum(chicks or 0.0 for chicks in given.values()), sum(assumed.values())
    )
    return {
        line: LineNeeds(
            line=line,
            chicks_wanted=round(given[line] or assumed[line] * scale, 3),
            assumed=given[line] is None,
            settings=flock.settings.line(line),
        )
        for line in lines
    }


def _breeders(flock: Flock, line: str) -> int:
    return sum(1 for bird in flock.breeders if bird.line == line)


def _room_scale(flock: Flock, given: float, assumed: float) -> float:
    """How far assumed numbers shrink so that all wanted chicks together could be raised.

    The plan's own limit is stricter: it counts every chick raised, wanted or not, so a line that
    keeps half of its chicks needs twice the room. That is no reason to shrink further here: what
    a line asks for only says where its chicks begin to count less, and which lines then share the
    room is for the plan to find. Without this bound, though, lines would ask for more than the
    room could ever hold, and none of them would count as served.
    """
    room = flock.settings.year.rearing_room
    if room is None or assumed == 0 or given + assumed <= room:
        return 1.0
    return max((room - given) / assumed, 0.1)
