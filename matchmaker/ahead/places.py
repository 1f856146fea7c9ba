"""How many birds of each line and sex a flock keeps for its pens."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.grade.places import LEAST_COCKS, YOUNG_PART, Place, Places
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen

LEAST_FACTOR: Final = 1.25
"""Birds kept for each in a pen, at least (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How many birds each line keeps of each sex, young and old: what the farm has room for."""

    wanted: Mapping[Place, int]

    def places(self, old: Mapping[Place, int]) -> Mapping[Place, Places]:
        """The places for young birds, ``old`` ones staying: half of all at least."""
        return {
            (line, sex): Places(
                line=line,
                sex=sex,
                penned=0,
                wanted=wanted,
                old=min(old.get((line, sex), 0), wanted - math.ceil(YOUNG_PART * wanted)),
            )
            for (line, sex), wanted in sorted(self.wanted.items())
        }

    def without(self, line: str, others: Sequence[str]) -> Size:
        """The size with a line's places given to others of the same sex, in turn."""
        wanted = {place: number for place, number in self.wanted.items() if place[0] != line}
        for sex in Sex:
            for turn in range(self.wanted.get((line, sex), 0)):
                place = (others[turn % len(others)], sex)
                wanted[place] = wanted.get(place, 0) + 1
        return Size(wanted=wanted)


def size_of(table: PairTable, pens: Sequence[PlannedPen]) -> Size:
    """The size that a flock keeps: as many birds of each line and sex as it has now.

    But 1¼ at least for each that stands in this spring's pens, two cocks of a line, and as many
    hens as its wanted chicks shall have families; so it is of lines that have no bird yet.
    """
    flock = table.study.flock
    birds = flock.by_band()
    penned = _counted(birds[band] for band in _in(pens))
    living = _counted(flock.living)
    wanted = {}
    for line in sorted({bird.line for bird in flock.living} | set(table.needs)):
        least = {Sex.HEN: flock.settings.line(line).families, Sex.COCK: LEAST_COCKS}
        for sex in Sex:
            in_pens = math.ceil(LEAST_FACTOR * penned[line, sex])
            wanted[line, sex] = max(living[line, sex], in_pens, least[sex])
    return Size(wanted=wanted)


def _in(pens: Sequence[PlannedPen]) -> set[str]:
    return {band for pen in pens for pair in pen.pairs for band in (pair.hen, pair.cock)}


def _counted(birds: Iterable[Bird]) -> Counter[Place]:
    return Counter((bird.line, bird.sex) for bird in birds if bird.sex is not None)
