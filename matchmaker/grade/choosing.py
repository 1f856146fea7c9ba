"""Which young birds fill the places of a line and sex: by what they add, no family lost."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from matchmaker.grade.rounds import UNPLACED
from matchmaker.rebalance.spares import spares_for
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.grade.places import Place, Places
    from matchmaker.grade.prospect import Prospect

FAMILY_PART: Final = 0.5
"""One family fills at most this part of the places while others have birds (common practice)."""


class Ground(StrEnum):
    """Why a bird is kept."""

    WISH = "wish"
    CHOICE = "choice"
    PLACE = "place"
    PARTED = "parted"
    FAMILY = "family"
    SPARE = "spare"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """All that the choice rests on.

    ``choices`` says which plan takes a bird (1 for the first), ``families`` names each bird's,
    ``wished`` are birds that a wish asks for. ``cocks_penned`` stand in next spring's pens, and
    ``cocks_old`` older ones are fit to breed then.
    """

    prospects: Sequence[Prospect]
    places: Mapping[Place, Places]
    choices: Mapping[str, int]
    families: Mapping[str, str]
    wished: frozenset[str] = frozenset()
    cocks_penned: int = 0
    cocks_old: int = 0

    def order(self, one: Prospect) -> tuple[bool, int, float, float, str]:
        """Who goes before whom: parted genes, choice, what the best pair counts, then merit."""
        choice = self.choices.get(one.band, UNPLACED)
        return (not one.parted, choice, -round(one.value, 6), -round(one.merit, 9), one.band)

    def fit(self) -> list[Prospect]:
        """The birds of known sex that could breed next spring, the first to keep first."""
        told = (one for one in self.prospects if one.bird.sex is not None and one.fit)
        return sorted(told, key=self.order)


@dataclass(slots=True)
class Kept:
    """The birds kept so far, each with its ground, in the order in which they were taken."""

    pool: Pool
    grounds: dict[str, Ground] = field(default_factory=dict)
    taken: list[Prospect] = field(default_factory=list)

    def take(self, one: Prospect, ground: Ground) -> None:
        """Keep a bird, once."""
        if one.band not in self.grounds:
            self.grounds[one.band] = ground
            self.taken.append(one)

    def filled(self, place: Place) -> float:
        """Birds kept in a place, each by the chance that it is what its line wants."""
        return sum(one.chance for one in self.taken if one.place == place)

    def of_family(self, place: Place, family: str) -> int:
        """Birds of a family that are kept in a place."""
        return sum(
            self.pool.families[one.band] == family for one in self.taken if one.place == place
        )


def choose(pool: Pool) -> Kept:
    """Choose the young birds to keep among those of known sex that could breed next spring.

    First whom a wish asks for and whom next spring's plan takes; then place by place, those in
    which a wanted gene has parted from an unwanted one, then by choice, pair value and merit, no
    family filling more than half of a place while another has a bird left; then one bird of each
    family of a line that has none; then spare cocks.
    """
    kept = Kept(pool)
    fit = pool.fit()
    for one in pool.prospects:
        if one.band in pool.wished and not one.unfit:
            kept.take(one, Ground.WISH)
    for one in fit:
        if pool.choices.get(one.band) == 1:
            kept.take(one, Ground.CHOICE)
    for place, places in sorted(pool.places.items()):
        _fill(kept, [one for one in fit if one.place == place], places)
    _save_families(kept, fit)
    _spare_cocks(kept, fit)
    return kept


def _fill(kept: Kept, fit: Sequence[Prospect], places: Places) -> None:
    place, most = (places.line, places.sex), math.ceil(FAMILY_PART * places.young)
    for capped in (True, False):
        for one in fit:
            if kept.filled(place) >= places.young - 1e-9:
                return
            family = kept.pool.families[one.band]
            if not (capped and kept.of_family(place, family) >= most):
                kept.take(one, Ground.PARTED if one.parted else Ground.PLACE)


def _save_families(kept: Kept, fit: Iterable[Prospect]) -> None:
    """Keep the first bird of each family of a line of which none is kept."""
    families = kept.pool.families
    alive = {(one.bird.line, families[one.band]) for one in kept.taken}
    for one in fit:
        family = (one.bird.line, families[one.band])
        if family not in alive:
            alive.add(family)
            kept.take(one, Ground.FAMILY)


def _spare_cocks(kept: Kept, fit: Iterable[Prospect]) -> None:
    """Keep more cocks until there are spares enough for those in the pens."""
    pool = kept.pool
    wanted = pool.cocks_penned + spares_for(pool.cocks_penned) if pool.cocks_penned else 0
    have = pool.cocks_old + sum(one.sex is Sex.COCK for one in kept.taken)
    for one in fit:
        if have >= wanted:
            return
        if one.sex is Sex.COCK and one.band not in kept.grounds:
            kept.take(one, Ground.SPARE)
            have += 1
