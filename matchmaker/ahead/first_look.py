"""Which chicks get a band: by what they show when eight weeks old, family by family."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.grade.known import SEX_TOLD_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np

    from matchmaker.genetics.loci.locus import Locus, Look
    from matchmaker.grade.places import Place, Places
    from matchmaker.pairs.chances import ChickTable, Group
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.tables.records import Sex

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

    ``family`` is the number of its family as far as the keeper knows it: of its pair where eggs are
    told apart by hen, else of all pairs whose eggs lie together.
    """

    at: int
    place: Place
    family: int
    chance: float


def shows_early(locus: Locus, sex: Sex) -> bool:
    """Whether a chick of eight weeks shows the locus."""
    return not locus.series and locus.shows_at_days <= SEX_TOLD_DAYS and locus.can_show(sex)


class Chances:
    """The chance that a chick is wanted, given what it shows at eight weeks."""

    def __init__(self, chicks: ChickTable) -> None:
        self._chicks = chicks
        self._hens = {band: at for at, band in enumerate(chicks.hens)}
        self._cocks = {band: at for at, band in enumerate(chicks.cocks)}
        self._found: dict[tuple[object, ...], float] = {}

    def of(
        self,
        crossing: Crossing,
        parents: tuple[tuple[str, ...], str],
        sex: Sex,
        copies: Mapping[str, int],
    ) -> float:
        """The chance for a chick of ``parents`` (hens, cock) with so many copies in truth.

        Each of the hens may be its dam, one as likely as another before its looks. Only as much of
        the copies counts as shows at the loci that the row keeps by; penetrance and slips are left
        out of account.
        """
        if sex not in crossing.sexes:
            return 0.0
        looks = tuple(
            locus.phenotype(copies[symbol], sex) if shows_early(locus, sex) else None
            for symbol, locus in self._chicks.loci.items()
        )
        key = (crossing.name, parents, sex, looks)
        if key not in self._found:
            shown = dict(zip(self._chicks.loci, looks, strict=True))
            self._found[key] = self._given(crossing, parents, sex, shown)
        return self._found[key]

    def _given(
        self,
        crossing: Crossing,
        parents: tuple[tuple[str, ...], str],
        sex: Sex,
        shown: Mapping[str, Look | None],
    ) -> float:
        (hens, cock), groups = parents, self._chicks.groups(crossing, sex)
        looking_so, wanted_so = 0.0, 0.0
        for hen in hens:
            alike, wanted = 1.0, 1.0
            for group in groups:
                found = _looking(group, (self._hens[hen], self._cocks[cock]), shown)
                alike, wanted = alike * found[0], wanted * found[1]
            looking_so, wanted_so = looking_so + alike, wanted_so + wanted
        return wanted_so / looking_so if looking_so > 0 else 0.0


def _looking(
    group: Group, at: tuple[int, int], shown: Mapping[str, Look | None]
) -> tuple[float, float]:
    """Chances of a living chick that looks so, and of one that looks so and is wanted."""
    chances = group.chances[at]
    alike = [
        copies
        for copies in group.possible()
        if all(
            locus.dose(one, group.sex) not in locus.dies
            and shown[locus.symbol] in (None, locus.phenotype(one, group.sex))
            for locus, one in zip(group.loci, copies, strict=True)
        )
    ]
    total = float(sum(chances[copies] for copies in alike))
    wanted = float(sum(chances[copies] for copies in alike if group.is_wanted(copies)))
    return total, wanted


def banded(
    hopefuls: Sequence[Hopeful], places: Mapping[Place, Places], rng: np.random.Generator
) -> list[int]:
    """The chicks that get a band, by number, place by place.

    The families take turns, each with its likeliest chick to be wanted first, of equal ones by
    chance; no family fills more than half of a place while another has a chick left. Those with a
    chance under ``HARDLY`` come after all others, those without any are not kept.
    """
    lot = rng.permutation(len(hopefuls)).tolist()
    likeliest = sorted(
        (one for one in hopefuls if one.chance > 0),
        key=lambda one: (-round(one.chance, 3), lot[one.at]),
    )
    turns: Counter[tuple[Place, int]] = Counter()
    ranked = []
    for one in likeliest:
        turns[one.place, one.family] += 1
        ranked.append((one.chance < HARDLY, turns[one.place, one.family], one))
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
