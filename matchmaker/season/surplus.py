"""How many cockerels nobody needs: from the first day on, and once the cocks are chosen."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.rebalance.spares import spares_for
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.season.brood import Brood


@dataclass(frozen=True, slots=True, kw_only=True)
class Surplus:
    """Cockerels of one line (or of all test matings, ``line`` "").

    ``hatched`` are out of the shell, ``unwanted`` of them are of no use to the line by their genes
    or their sex. ``wanted`` are raised; ``needed`` is how many the line has use for, one for each
    of its pens and spares.
    """

    line: str
    hatched: float
    unwanted: float
    wanted: float
    needed: int

    @property
    def later(self) -> float:
        """Wanted cockerels that are raised and more than the line needs."""
        return max(0.0, self.wanted - self.needed)


def cocks_needed(pens: int) -> int:
    """Cocks for so many pens with their spares; none for none.

    Examples
    --------
    >>> cocks_needed(1), cocks_needed(6), cocks_needed(0)
    (3, 9, 0)
    """
    return pens + spares_for(pens) if pens else 0


def surpluses(broods: Iterable[Brood]) -> tuple[Surplus, ...]:
    """The cockerels of each line, test matings together."""
    by_line: dict[str, list[Brood]] = defaultdict(list)
    for one in broods:
        by_line[one.line].append(one)
    return tuple(
        Surplus(
            line=line,
            hatched=sum(one.hatched for one in own) / 2,
            unwanted=sum(one.surplus_cockerels for one in own),
            wanted=sum(one.wanted[Sex.COCK] for one in own),
            needed=cocks_needed(len({one.pen for one in own})) if line else 0,
        )
        for line, own in sorted(by_line.items())
    )
