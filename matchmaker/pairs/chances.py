"""What the chicks of every hen × cock are expected to be: genotypes, wanted chicks, lethal ones."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker.genetics.genotypes.chicks import ChickClasses, chick_distribution, lethal_fraction
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.loci.locus import Locus, Look
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.grids import Flags, Grid

GRADING_DAYS: Final = 182
"""Chicks are graded at 26 weeks: what shows later cannot be told by sight (common practice)."""

TOLD_APART: Final = 0.95
"""A class of chicks counts as recognised if at least this share of it is wanted."""

ChanceByPair: TypeAlias = "Callable[[tuple[int, int]], tuple[dict[Sex, float], dict[Sex, float]]]"
"""By positions of hen and cock: chances per chick of wanted sons and daughters, told and true."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WantedChance:
    """Chance per chick hatched that it is wanted: as a son, and as a daughter (sexes ½ : ½).

    ``told`` counts only what the row can recognise; ``true`` counts every wanted chick.
    """

    true_sons: Grid
    true_daughters: Grid
    told_sons: Grid
    told_daughters: Grid

    def by_pair(self) -> ChanceByPair:
        """The chances told and true of a pair, by the positions of hen and cock."""
        sexes = (
            (Sex.COCK, self.told_sons.tolist(), self.true_sons.tolist()),
            (Sex.HEN, self.told_daughters.tolist(), self.true_daughters.tolist()),
        )

        def of(at: tuple[int, int]) -> tuple[dict[Sex, float], dict[Sex, float]]:
            hen, cock = at
            return (
                {sex: told[hen][cock] for sex, told, _ in sexes},
                {sex: true[hen][cock] for sex, _, true in sexes},
            )

        return of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChickTable:
    """Chick genotype distributions for every hen × cock at every locus of the flock.

    ``joints`` are the parents' copies at each locus, (hens, cocks, 3, 3), from which they come.
    ``linked`` holds, for loci that are worked out together, the sons' and the daughters' copies at
    both, each shaped (hens, cocks, 3, 3).
    """

    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    loci: Mapping[str, Locus]
    joints: Mapping[str, NDArray[np.float64]]
    classes: Mapping[str, ChickClasses]
    lethal: Mapping[str, Grid]
    linked: Mapping[tuple[str, str], Mapping[Sex, NDArray[np.float64]]]
    sampled: frozenset[str]
    """Loci whose chances are not exact."""

    def wanted(self, crossing: Crossing) -> WantedChance:
        """Chances of wanted chicks in one crossing; linked loci count as they pass on."""
        sons = self._kept(crossing, Sex.COCK)
        daughters = self._kept(crossing, Sex.HEN)
        return WantedChance(
            true_sons=sons[0],
            told_sons=sons[1],
            true_daughters=daughters[0],
            told_daughters=daughters[1],
        )

    def of(self, locus: str, sex: Sex) -> NDArray[np.float64]:
        """Copies among the sons or the daughters at a locus, shape (hens, cocks, 3)."""
        classes = self.classes[locus]
        return classes.sons if sex is Sex.COCK else classes.daughters

    def _kept(self, crossing: Crossing, sex: Sex) -> tuple[Grid, Grid]:
        shape = (len(self.hens), len(self.cocks))
        if sex not in crossing.sexes:
            return np.zeros(shape), np.zeros(shape)
        true, told = np.full(shape, 0.5), np.full(shape, 0.5)
        for group in self.groups(crossing, sex):
            true *= group.true()
            if crossing.by_sight:
                told *= group.told()
        return true, told if crossing.by_sight else true

    def groups(self, crossing: Crossing, sex: Sex) -> list[Group]:
        """The loci by which a row keeps chicks of one sex, split as they pass on."""
        keep = crossing.keep.get(sex, {})
        return [self._group(symbols, keep, sex) for symbols in self._together(keep)]

    def _together(self, keep: Mapping[str, tuple[int, ...]]) -> list[tuple[str, ...]]:
        """Split the loci of a row into those that pass on independently of each other.

        A locus linked to one that the row keeps joins it even if it is not kept itself: its looks
        may tell what the other hides.
        """
        groups = [pair for pair in self.linked if set(pair) & set(keep)]
        paired = {symbol for pair in groups for symbol in pair}
        return [*groups, *((symbol,) for symbol in keep if symbol not in paired)]

    def _group(
        self, symbols: tuple[str, ...], keep: Mapping[str, tuple[int, ...]], sex: Sex
    ) -> Group:
        one, *more = symbols
        chances = self.linked[one, more[0]][sex] if more else self.of(one, sex)
        return Group(
            chances=chances,
            loci=tuple(self.loci[symbol] for symbol in symbols),
            kept=tuple(keep.get(symbol, (0, 1, 2)) for symbol in symbols),
            sex=sex,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Group:
    """Chicks of one sex at loci that pass on together: chances have one axis of copies a locus.

    ``chances`` has shape (hens, cocks, copies, ...).
    """

    chances: NDArray[np.float64]
    loci: tuple[Locus, ...]
    kept: tuple[tuple[int, ...], ...]
    sex: Sex

    def true(self) -> Grid:
        """Chance that a chick is wanted."""
        return self._sum(list(product(*self.kept)))

    def told(self) -> Grid:
        """Chance of a wanted chick whose looks tell, by grading time, that it is wanted."""
        told = np.zeros(self.chances.shape[:2])
        for wanted, recognised in self._by_look():
            told += np.where(recognised, self._sum(wanted), 0.0)
        return told

    def recognised(self, *, by_sight: bool) -> dict[tuple[int, ...], Flags]:
        """For each wanted combination of copies, in which pairs its chicks are known as wanted.

        By sight that hangs on what else a pair's chicks may be; otherwise every wanted chick is.
        """
        always = np.ones(self.chances.shape[:2], dtype=np.bool_)
        if not by_sight:
            return dict.fromkeys(filter(self.is_wanted, self.possible()), always)
        return {copies: recognised for wanted, recognised in self._by_look() for copies in wanted}

    def _by_look(self) -> Iterator[tuple[list[tuple[int, ...]], Flags]]:
        """The wanted among chicks that look alike, and in which pairs that look is kept."""
        alike: dict[tuple[Look | None, ...], list[tuple[int, ...]]] = {}
        for copies in self.possible():
            looks = zip(self.loci, copies, strict=True)
            alike.setdefault(tuple(self._look(*one) for one in looks), []).append(copies)
        for members in alike.values():
            wanted = list(filter(self.is_wanted, members))
            yield wanted, self._sum(wanted) >= TOLD_APART * self._sum(members)

    def possible(self) -> Iterator[tuple[int, ...]]:
        """The combinations of copies that a chick of the sex can have at the loci."""
        return product(*(locus.copy_numbers(self.sex) for locus in self.loci))

    def is_wanted(self, copies: tuple[int, ...]) -> bool:
        """Whether a combination of copies is kept."""
        return all(one in kept for one, kept in zip(copies, self.kept, strict=True))

    def _sum(self, members: Iterable[tuple[int, ...]]) -> Grid:
        total = np.zeros(self.chances.shape[:2])
        for copies in members:
            at: tuple[slice | int, ...] = (slice(None), slice(None), *copies)
            total += self.chances[at]
        return total

    def _look(self, locus: Locus, copies: int) -> Look | None:
        """How such a chick looks when it is graded; ``None`` if that cannot be told.

        It may be too young, or the look may hang on which other allele of a series it has.
        """
        untold = locus.series or locus.shows_at_days > GRADING_DAYS
        return None if untold else locus.phenotype(copies, self.sex)


def chick_table(study: Study, hens: Sequence[str], cocks: Sequence[str]) -> ChickTable:
    """Chick distributions from the joint genotypes of every hen and cock."""
    loci = study.loci
    joints = {symbol: study.genotypes[symbol].joint(hens, cocks) for symbol in loci}
    linked = {pair: found.chicks(hens, cocks) for pair, found in study.linked.items()}
    return ChickTable(
        hens=tuple(hens),
        cocks=tuple(cocks),
        loci=loci,
        joints=joints,
        classes={s: chick_distribution(joints[s], locus) for s, locus in loci.items()},
        lethal={s: lethal_fraction(joints[s], locus) for s, locus in loci.items() if locus.lethal},
        sampled=frozenset(
            symbol
            for symbol in loci
            if study.genotypes[symbol].posterior.joint_method(hens, cocks) == "sampled"
        ),
        linked={
            pair: {Sex.COCK: chicks.sons, Sex.HEN: chicks.daughters}
            for pair, chicks in linked.items()
        },
    )
