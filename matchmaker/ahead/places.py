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

    from matchmaker.ahead.breeding import Filled
    from matchmaker.flock.flock import Flock

LEAST_FACTOR: Final = 1.25
MOST_FACTOR: Final = 2.5
"""Birds kept for each in a pen: as the flock has now, but within these (common practice, no
source)."""


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


def size_of(flock: Flock, pens: Sequence[Filled]) -> Size:
    """The size that a flock keeps: so many birds for each that stands in this spring's pens.

    As many as the flock has now for each, at least 1¼ and at most 2½; two cocks of a line at least,
    and as many hens as its wanted chicks shall have families.
    """
    birds = flock.by_band()
    penned = _counted((birds[band] for band in _in(pens)))
    living = sum(bird.sex is not None for bird in flock.living)
    factor = min(max(living / max(sum(penned.values()), 1), LEAST_FACTOR), MOST_FACTOR)
    lines = {bird.line for bird in flock.living}
    wanted = {}
    for line in sorted(lines):
        hens = math.ceil(factor * penned[line, Sex.HEN])
        cocks = math.ceil(factor * penned[line, Sex.COCK])
        wanted[line, Sex.HEN] = max(hens, flock.settings.line(line).families)
        wanted[line, Sex.COCK] = max(cocks, LEAST_COCKS)
    return Size(wanted=wanted)


def _in(pens: Sequence[Filled]) -> set[str]:
    return {band for pen in pens for pair in pen.pairs for band in (pair.hen, pair.cock)}


def _counted(birds: Iterable[object]) -> Counter[Place]:
    return Counter((bird.line, bird.sex) for bird in birds if bird.sex is not None)  # type: ignore[attr-defined]
