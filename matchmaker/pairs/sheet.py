"""Every hen × cock of one row of matings at once: which are allowed, and what they are worth.

``Judge.verdict`` says of one pair which rules it breaks; here is only told whether it breaks any.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.pairs.crossings import Purpose
from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.value import Centre, value_of, values_of, worth_of, worths_of
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.chances import WantedChance
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.figures import Figures
    from matchmaker.pairs.goals import LineNeeds
    from matchmaker.pairs.grids import Flags, Grid
    from matchmaker.pairs.judge import Judge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """One row of matings with every hen × cock, all arrays of shape (hens, cocks).

    ``opened`` are the pairs of the row's lines, ``allowed`` those of them that break no rule. What
    is said of pairs of other lines means nothing.
    """

    crossing: Crossing
    chance: WantedChance
    opened: Flags
    allowed: Flags
    worth: Grid
    value: Grid


class Values:
    """What pairs are worth to the lines that their chicks join."""

    def __init__(
        self, needs: Mapping[str, LineNeeds], centres: Mapping[str, Centre], weight: float
    ) -> None:
        self._centres = centres
        self._weight = weight
        self._needs = needs

    def of(
        self, crossing: Crossing, merit: float, share: float, wanted: float
    ) -> tuple[float, float]:
        """Worth of a pair, against its line's contemporaries, and its value."""
        centre = self._centres.get(crossing.chicks) or Centre(merit=merit, recurrent_share=share)
        worth = crossing.worth * worth_of(merit, share, centre, self._weight)
        return worth, value_of(wanted, worth, most_per_pair(self._needs, crossing.chicks))

    def of_all(self, crossing: Crossing, figures: Figures, chance: Grid) -> tuple[Grid, Grid]:
        """Worth and value of all pairs of a row, ``chance`` being that of a wanted chick."""
        merit, share = figures.merit, figures.recurrent_share
        centre = self._centres.get(crossing.chicks)
        if centre is None:
            worth = np.full_like(merit, crossing.worth)
        else:
            worth = crossing.worth * worths_of(merit, share, centre, self._weight)
        most = most_per_pair(self._needs, crossing.chicks)
        return worth, values_of(figures.chicks * chance, worth, most)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Desk:
    """All that the pairs of a flock are judged by."""

    judge: Judge
    figures: Figures
    values: Values

    def sheet(self, crossing: Crossing) -> Sheet:
        """The pairs of a row whose chicks are kept."""
        judge = self.judge
        chance = judge.chicks.wanted(crossing)
        wanted = chance.told_sons + chance.told_daughters
        worth, value = self.values.of_all(crossing, self.figures, wanted)
        opened = judge.opened(crossing)
        proven = _crossed(
            _proven(judge, judge.hens, crossing), _proven(judge, judge.cocks, crossing)
        )
        near = judge.kinship > judge.cap_of(crossing.chicks) + LIMIT
        few = wanted <= judge.study.flock.settings.limits.wanted_chance_min
        return Sheet(
            crossing=crossing,
            chance=chance,
            opened=opened,
            allowed=opened & proven & ~near & ~few & self.unbarred(),
            worth=worth,
            value=value,
        )

    def unbarred(self) -> Flags:
        """Pairs that no rule rejects whatever the row, shape (hens, cocks)."""
        judge = self.judge
        found = _crossed(
            *([not judge.of_birds[b.band] for b in side] for side in (judge.hens, judge.cocks))
        )
        for part in judge.chicks.lethal.values():
            found &= part <= judge.study.flock.settings.limits.lethal_max + LIMIT
        return found & ~judge.marked(judge.wishes.apart)


def _crossed(hens: Sequence[bool], cocks: Sequence[bool]) -> Flags:
    """Where both a hen's mark and a cock's are set, shape (hens, cocks)."""
    sides = (np.array(side, dtype=np.bool_) for side in (hens, cocks))
    return np.logical_and.outer(*sides)


def _proven(judge: Judge, birds: Sequence[Bird], crossing: Crossing) -> list[bool]:
    """Whether each bird is surely enough what the row needs: a carrier, or free of the allele."""
    least = judge.study.flock.settings.limits.proof_min - LIMIT
    found = [True] * len(birds)
    for locus in crossing.loci:
        carries = judge.carries[locus]
        if crossing.purpose is Purpose.HOLD and crossing.needs_none(locus):
            sure = [1 - carries[bird.band] >= least for bird in birds]
        elif crossing.needs_copy(locus):
            sure = [
                bird.line not in crossing.carrier_lines or carries[bird.band] >= least
                for bird in birds
            ]
        else:
            continue
        found = [one and other for one, other in zip(found, sure, strict=True)]
    return found
