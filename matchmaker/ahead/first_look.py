"""Which chicks get a band: by what they show when eight weeks old, family by family."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.grade.known import SEX_TOLD_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.genetics.loci.locus import Locus, Look
    from matchmaker.grade.places import Place, Places
    from matchmaker.pairs.chances import ChickTable, Group
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.tables.records import Sex

    Copies: TypeAlias = Mapping[str, int]

Looks: TypeAlias = "tuple[Look | None, ...]"
"""What a chick shows at each locus of the flock, ``None`` where nothing shows yet."""

BANDED: Final = 1.6
"""Chicks banded for each young bird that will be kept, counted by the chance that they are wanted:
what is seen and scored until spring then decides (common practice, no source)."""

HARDLY: Final = 0.25
"""A chick that is wanted with less than this chance gets a band only where others are too few."""

FAMILY_PART: Final = 0.5
"""One family fills at most this part of a place with its chicks while others have some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hopeful:
    """One chick at eight weeks: its number, what it would be kept as, and the chance it is wanted.

    ``family`` is the number of its pair, of its pen's first where nobody knows the dam. ``parted``
    is the chance that it is wanted and free of every unwanted allele linked to a wanted one (0
    where none is linked).
    """

    at: int
    place: Place
    family: int
    chance: float
    parted: float = 0.0

    @property
    def rank(self) -> int:
        """0 where genes have likely parted in it, 2 where it is hardly wanted, else 1."""
        return 0 if self.parted >= HARDLY else 1 + (self.chance < HARDLY)


def shows_early(locus: Locus, sex: Sex) -> bool:
    """Whether a chick of eight weeks shows the locus."""
    return not locus.series and locus.shows_at_days <= SEX_TOLD_DAYS and locus.can_show(sex)


class Chances:
    """The chance that a chick of some parents is wanted, given what it shows at eight weeks.

    ``target`` are the copies wanted in the end: an allele of which there shall be none is unwanted
    also where a row does not ask for that yet.
    """

    def __init__(self, chicks: ChickTable, target: Mapping[str, int]) -> None:
        self._chicks = chicks
        self._target = target
        self._hens = {band: at for at, band in enumerate(chicks.hens)}
        self._cocks = {band: at for at, band in enumerate(chicks.cocks)}
        self._looks: dict[tuple[Sex, tuple[int, ...]], Looks] = {}
        self._alike: dict[tuple[str, Sex, Looks], tuple[list[_Alike], list[_Alike]]] = {}
        self._found: dict[tuple[object, ...], tuple[float, float]] = {}

    def of(
        self, crossing: Crossing, parents: tuple[tuple[str, ...], str], sex: Sex, copies: Copies
    ) -> tuple[float, float]:
        """The chances for a chick of a cock with one of some hens, with so many copies in truth.

        ``parents`` are the hens, each of which may be the dam, and the cock. That it is wanted, and
        that it is so without an unwanted allele linked to a wanted one (0 where none is). Only as
        much of its copies counts as shows; penetrance and slips are left out of account.
        """
        if sex not in crossing.sexes:
            return 0.0, 0.0
        looks = self._shown(sex, tuple(copies[symbol] for symbol in self._chicks.loci))
        key = (crossing.name, parents, sex, looks)
        if key not in self._found:
            at = [(self._hens[hen], self._cocks[parents[1]]) for hen in parents[0]]
            wanted, parted = self._groups(crossing, sex, looks)
            self._found[key] = (_wanted(wanted, at), _wanted(parted, at) if parted else 0.0)
        return self._found[key]

    def _shown(self, sex: Sex, copies: tuple[int, ...]) -> Looks:
        """What a chick with so many copies at each locus shows early."""
        if (sex, copies) not in self._looks:
            self._looks[sex, copies] = tuple(
                locus.phenotype(own, sex) if shows_early(locus, sex) else None
                for locus, own in zip(self._chicks.loci.values(), copies, strict=True)
            )
        return self._looks[sex, copies]

    def _groups(
        self, crossing: Crossing, sex: Sex, looks: Looks
    ) -> tuple[list[_Alike], list[_Alike]]:
        """The chicks that look so, wanted as the row says, and wanted without what is linked."""
        key = (crossing.name, sex, looks)
        if key not in self._alike:
            shown = dict(zip(self._chicks.loci, looks, strict=True))
            groups = self._chicks.groups(crossing, sex)
            parted = [self._parted(group) for group in groups]
            free = [one or group for one, group in zip(parted, groups, strict=True)]
            self._alike[key] = (
                [_Alike.of(group, shown) for group in groups],
                [_Alike.of(group, shown) for group in free] if any(parted) else [],
            )
        return self._alike[key]

    def _parted(self, group: Group) -> Group | None:
        """Linked loci with no copy kept of the unwanted; ``None`` where none stands by a wanted."""
        unwanted = [self._target.get(locus.symbol) == 0 for locus in group.loci]
        if all(unwanted) or not any(unwanted):
            return None
        kept = zip(unwanted, group.kept, strict=True)
        return replace(group, kept=tuple((0,) if one else copies for one, copies in kept))


def _wanted(groups: Sequence[_Alike], pairs: Sequence[tuple[int, int]]) -> float:
    """The chance that a chick that looks so is wanted, if each of the pairs may be its parents."""
    each = [[group.at(pair) for group in groups] for pair in pairs]
    total = sum(math.prod(alike for alike, _ in one) for one in each)
    wanted = sum(math.prod(wanted for _, wanted in one) for one in each)
    return wanted / total if total > 0 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Alike:
    """The combinations of copies at loci that pass on together of living chicks that look alike.

    ``chances`` has shape (hens, cocks, copies, ...).
    """

    chances: NDArray[np.float64]
    all: Sequence[tuple[int, ...]]
    wanted: Sequence[tuple[int, ...]]

    @classmethod
    def of(cls, group: Group, shown: Mapping[str, Look | None]) -> _Alike:
        alike = [
            copies
            for copies in group.possible()
            if all(
                locus.dose(one, group.sex) not in locus.dies
                and shown[locus.symbol] in (None, locus.phenotype(one, group.sex))
                for locus, one in zip(group.loci, copies, strict=True)
            )
        ]
        return cls(group.chances, alike, list(filter(group.is_wanted, alike)))

    def at(self, pair: tuple[int, int]) -> tuple[float, float]:
        """Chances of a pair's chicks that look so, and of those that look so and are wanted."""
        total = sum(self.chances[(*pair, *copies)] for copies in self.all)
        wanted = sum(self.chances[(*pair, *copies)] for copies in self.wanted)
        return float(total), float(wanted)


def banded(
    hopefuls: Sequence[Hopeful], places: Mapping[Place, Places], rng: np.random.Generator
) -> list[int]:
    """The chicks that get a band, by number, place by place.

    The families take turns, each with its likeliest chick to be wanted first, of equal ones by
    chance; no family fills more than half of a place while another has a chick left. Those with a
    chance under ``HARDLY`` come after all others, those without any are not kept. Those in which a
    wanted gene has likely parted from a linked unwanted one come before all others: the marker
    that shows would else keep just the chicks that have both.
    """
    lot = rng.permutation(len(hopefuls)).tolist()
    likeliest = sorted(
        (one for one in hopefuls if one.chance > 0),
        key=lambda one: (one.rank, -round(one.chance, 3), lot[one.at]),
    )
    turns: Counter[tuple[Place, int]] = Counter()
    ranked = []
    for one in likeliest:
        turns[one.place, one.family] += 1
        ranked.append((one.rank, turns[one.place, one.family], one))
    ranked.sort(key=lambda rank: (rank[0], rank[1], -round(rank[2].chance, 3), lot[rank[2].at]))
    found: list[int] = []
    for place, wanted in places.items():
        own = [one for *_, one in ranked if one.place == place]
        found += (one.at for one in _filled(own, BANDED * wanted.young))
    return sorted(found)


def _filled(own: Sequence[Hopeful], number: float) -> Iterator[Hopeful]:
    taken, of_family, filled = set[int](), dict[int, float](), 0.0
    for capped in (True, False):
        for one in own:
            if filled >= number - 1e-9:
                return
            full = capped and of_family.get(one.family, 0.0) >= FAMILY_PART * number
            if one.at in taken or full:
                continue
            taken.add(one.at)
            of_family[one.family] = of_family.get(one.family, 0.0) + one.chance
            filled += one.chance
            yield one
