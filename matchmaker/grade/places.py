"""How many birds of each line and sex to keep for next spring."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.grade.prospect import Prospect
    from matchmaker.grade.rounds import Round
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.records import PlanRecord

USUAL_FACTOR: Final = 2.5
"""Birds kept for each that will stand in a pen: two to three (common practice, no source)."""

LEAST_COCKS: Final = 2
"""Cocks of a line to keep at least: with one it dies when he does (common practice, no source)."""

YOUNG_PART: Final = 0.5
"""At least this part of the birds to keep is young: the older ones leave one by one (common
practice, no source)."""

Place: TypeAlias = tuple[str, Sex]
"""A line and a sex."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The birds of one line and sex to be kept for next spring.

    ``penned`` of them stand in the pens of the plan. ``wanted`` are to be kept in all, of which
    ``old`` older birds are here that are fit to breed then; ``young`` is what is left to choose,
    half of all at least.
    """

    line: str
    sex: Sex
    penned: int
    wanted: int
    old: int

    @property
    def young(self) -> int:
        """Young birds to choose."""
        return max(self.wanted - self.old, math.ceil(YOUNG_PART * self.wanted))


def places_of(
    prospects: Iterable[Prospect],
    penned: Mapping[Place, int],
    old: Mapping[Place, int],
    factor: float,
) -> Mapping[Place, Places]:
    """Places by line and sex: ``factor`` birds for each in a pen.

    At least two cocks, and half as many more as are penned (``spares_for`` asks for two in the
    flock); and as many hens as the line shall have families.
    """
    found = {}
    for one in sorted(prospects, key=lambda one: one.place):
        line, sex = one.place
        number = penned.get((line, sex), 0)
        wanted = max(_least(one, number), math.ceil(factor * number - 1e-9))
        found[line, sex] = Places(
            line=line, sex=sex, penned=number, wanted=wanted, old=old.get((line, sex), 0)
        )
    return found


def _least(one: Prospect, penned: int) -> int:
    if one.sex is Sex.COCK:
        return max(LEAST_COCKS, penned + math.ceil(penned / 2))
    return one.table.study.flock.settings.line(one.bird.line).families


def penned_birds(
    table: PairTable, rounds: Sequence[Round], standing: Sequence[PlanRecord]
) -> Counter[Place]:
    """Birds of each line and sex in next spring's plan; in the standing one where there is none."""
    if rounds:
        used = {
            band for pen in rounds[0].pens for pair in pen.pairs for band in (pair.hen, pair.cock)
        }
    else:
        used = {band for row in standing for band in (row.hen, row.cock)}
    birds = table.study.flock.by_band()
    return _counted(birds[band] for band in used if band in birds)


def fit_older(table: PairTable, young: Collection[str]) -> Counter[Place]:
    """The older birds of each line and sex with a pair that is allowed next spring."""
    fit = {band for pair in table.allowed for band in (pair.hen, pair.cock)}
    living = table.study.flock.living
    return _counted(bird for bird in living if bird.band in fit and bird.band not in young)


def cocks_of(counts: Mapping[Place, int]) -> int:
    """How many of some birds, counted by line and sex, are cocks."""
    return sum(number for (_, sex), number in counts.items() if sex is Sex.COCK)


def _counted(birds: Iterable[Bird]) -> Counter[Place]:
    return Counter((bird.line, bird.sex) for bird in birds if bird.sex is not None)
