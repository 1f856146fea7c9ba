"""Which chicks get a band: by what they show when eight weeks old, family by family."""

from __future__ import annotations

from dataclasses import dataclass
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

Looks: TypeAlias = "tuple[Look | None, ...]"
"""What a chick shows at each locus of the flock, ``None`` where nothing shows yet."""

BANDED: Final = 1.6
"""Chicks banded for each young bird that will be kept, counted by the chance that they are wanted:
what is seen and scored until spring then decides (common practice, no source)."""

FAMILY_PART: Final = 0.5
"""One pair fills at most this part of a place with its chicks while others have some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hopeful:
    """One chick at eight weeks: its number, what it would be kept as, and the chance it is wanted.

    ``family`` is the number of its pair.
    """

    at: int
    place: Place
    family: int
    chance: float


def shows_early(locus: Locus, sex: Sex) -> bool:
    """Whether a chick of eight weeks shows the locus."""
    return not locus.series and locus.shows_at_days <= SEX_TOLD_DAYS and locus.can_show(sex)


class Chances:
    """The chance that a chick of a pair is wanted, given what it shows at eight weeks."""

    def __init__(self, chicks: ChickTable) -> None:
        self._chicks = chicks
        self._hens = {band: at for at, band in enumerate(chicks.hens)}
        self._cocks = {band: at for at, band in enumerate(chicks.cocks)}
        self._looks: dict[tuple[Sex, tuple[int, ...]], Looks] = {}
        self._alike: dict[tuple[str, Sex, Looks], list[_Alike]] = {}
        self._found: dict[tuple[str, tuple[str, str], Sex, Looks], float] = {}

    def of(
        self, crossing: Crossing, pair: tuple[str, str], sex: Sex, copies: Mapping[str, int]
    ) -> float:
        """The chance for a chick of ``pair`` (hen, cock) with so many copies in truth.

        Only as much of them counts as shows; penetrance and slips are left out of account.
        """
        if sex not in crossing.sexes:
            return 0.0
        looks = self._shown(sex, tuple(copies[symbol] for symbol in self._chicks.loci))
        key = (crossing.name, pair, sex, looks)
        if key not in self._found:
            at = (self._hens[pair[0]], self._cocks[pair[1]])
            chance = 1.0
            for alike in self._groups(crossing, sex, looks):
                chance *= alike.chance(at)
            self._found[key] = chance
        return self._found[key]

    def _shown(self, sex: Sex, copies: tuple[int, ...]) -> Looks:
        """What a chick with so many copies at each locus shows early."""
        if (sex, copies) not in self._looks:
            self._looks[sex, copies] = tuple(
                locus.phenotype(own, sex) if shows_early(locus, sex) else None
                for locus, own in zip(self._chicks.loci.values(), copies, strict=True)
            )
        return self._looks[sex, copies]

    def _groups(self, crossing: Crossing, sex: Sex, looks: Looks) -> list[_Alike]:
        key = (crossing.name, sex, looks)
        if key not in self._alike:
            shown = dict(zip(self._chicks.loci, looks, strict=True))
            groups = self._chicks.groups(crossing, sex)
            self._alike[key] = [_Alike.of(group, shown) for group in groups]
        return self._alike[key]


@dataclass(frozen=True, slots=True, eq=False)
class _Alike:
    """The combinations of copies at loci that pass on together of chicks that look alike.

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
                shown[locus.symbol] in (None, locus.phenotype(one, group.sex))
                for locus, one in zip(group.loci, copies, strict=True)
            )
        ]
        return cls(group.chances, alike, list(filter(group.is_wanted, alike)))

    def chance(self, at: tuple[int, int]) -> float:
        """The chance that such a chick of a pair is wanted."""
        total = float(sum(self.chances[(*at, *copies)] for copies in self.all))
        wanted = float(sum(self.chances[(*at, *copies)] for copies in self.wanted))
        return wanted / total if total > 0 else 0.0


def banded(
    hopefuls: Sequence[Hopeful], places: Mapping[Place, Places], rng: np.random.Generator
) -> list[int]:
    """The chicks that get a band, by number: place by place, the likeliest to be wanted first.

    Among equals the families take turns and chance decides within them; none fills more than half
    of a place while another has a chick left. Chicks of no chance are not kept.
    """
    order = rng.permutation(len(hopefuls))
    turns: dict[tuple[Place, int, float], int] = {}
    ranked = []
    for number in order:
        one = hopefuls[number]
        key = (one.place, one.family, round(one.chance, 3))
        turns[key] = turns.get(key, 0) + 1
        ranked.append((-round(one.chance, 3), turns[key], int(number)))
    found: list[int] = []
    for place, wanted in places.items():
        own = [hopefuls[number] for *_, number in sorted(ranked)]
        own = [one for one in own if one.place == place and one.chance > 0]
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
