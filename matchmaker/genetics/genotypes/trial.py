"""What the chicks of a test mating tell of a bird, however sure or unsure its mate is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from math import comb
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.chicks import chick_distribution
from matchmaker.genetics.genotypes.progeny import EQUAL
from matchmaker.genetics.genotypes.words import weights_by_copies
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.loci.locus import Locus

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MatingOnTrial:
    """A bird on trial with one mate: what both may be, and what their chicks look like then.

    ``states`` are (chance, whether the bird then is what is asked, chance of each look in a
    chick). Chicks are told apart by ``judged``: sons, daughters, or ``None`` where both tell alike.
    """

    states: tuple[tuple[float, bool, tuple[float, ...]], ...]
    judged: Sex | None

    @property
    def chance(self) -> float:
        """P(the bird is what is asked), before any chick is seen."""
        return sum(chance for chance, asked, _ in self.states if asked)

    def removed(self, chicks: int) -> float:
        """Return the share of the doubt that so many chicks that can tell are expected to remove.

        The doubt is the variance p(1 − p) of "it is so"; the share is 1 less what is left of it
        after the chicks on average, over all that they may look like. The mate is the same one for
        all of them, and its own copies are open as well.

        Examples
        --------
        Even odds; every chick of a bird that is so shows it with a chance of one half:

        >>> mating = MatingOnTrial(((0.5, True, (0.5, 0.5)), (0.5, False, (0.0, 1.0))), None)
        >>> [round(mating.removed(chicks), 4) for chicks in (0, 1, 2, 5)]
        [0.0, 0.3333, 0.6, 0.9394]
        """
        return _removed(self.states, chicks)


def ways_to_judge(
    joint: Array, tested: Sex, asked: Iterable[int], locus: Locus
) -> tuple[MatingOnTrial, ...]:
    """Return the ways to judge the chicks of a test mating: by sons, by daughters, or by both.

    Of a locus with more than two alleles only the top and the bottom one can be told by chicks:
    of the others there is no way. Penetrance and scoring error of the locus count, and of the
    chicks only those that live to be seen.

    Parameters
    ----------
    joint
        P(hen's copies, cock's copies), shape (3, 3).
    tested, asked
        Which of the two is on trial, and the copies it may turn out to have.
    locus
        The locus in question.

    Examples
    --------
    A pea-combed cock out of two carriers, by a single-combed hen: may he have two copies?

    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> joint = np.zeros((3, 3))
    >>> joint[0, 1:] = 2 / 3, 1 / 3
    >>> (by_all,) = ways_to_judge(joint, Sex.COCK, [2], catalogue()["P"])
    >>> by_all.judged, round(by_all.chance, 4), round(by_all.removed(6), 4)
    (None, 0.3333, 0.9545)
    """
    if locus.symbol in locus.alleles[1:-1]:
        return ()
    wanted = frozenset(asked)
    ways = [
        MatingOnTrial(tuple(_states(joint, tested, wanted, look_chances(locus, sex))), sex)
        for sex in (Sex.COCK, Sex.HEN)
        if locus.can_show(sex)
    ]
    if len(ways) == 2 and _alike(ways[0].states, ways[1].states):
        return (MatingOnTrial(ways[0].states, None),)
    return tuple(ways)


@lru_cache(maxsize=256)
def look_chances(locus: Locus, judged: Sex) -> Array:
    """P(a living chick of one sex is written down as each look | copies of hen and of cock).

    Shape (3, 3, looks); all 0 for parents who have no living chick of this sex.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> look_chances(catalogue()["P"], Sex.HEN)[1, 0].tolist()
    [0.5, 0.5]
    """
    classes = chick_distribution(np.eye(9).reshape(3, 3, 3, 3), locus)
    conceived = classes.sons if judged is Sex.COCK else classes.daughters
    numbers = locus.copy_numbers(judged)
    living = conceived[..., : len(numbers)] * [locus.lives(copies, judged) for copies in numbers]
    total = living.sum(axis=-1, keepdims=True)
    living = np.divide(living, total, out=np.zeros_like(living), where=total > 0)
    looks = dict.fromkeys(locus.phenotype(copies, judged) for copies in numbers)
    seen = [weights_by_copies(locus, frozenset({look}), judged) for look in looks]
    found: Array = living @ np.array(seen).T
    found.flags.writeable = False
    return found


def _states(
    joint: Array, tested: Sex, asked: frozenset[int], looks: Array
) -> Iterator[tuple[float, bool, tuple[float, ...]]]:
    for hen, cock in product(range(3), repeat=2):
        chance = float(joint[hen, cock])
        if chance > 0:
            own = hen if tested is Sex.HEN else cock
            yield chance, own in asked, tuple(map(float, looks[hen, cock]))


def _alike(
    sons: Sequence[tuple[float, bool, tuple[float, ...]]],
    daughters: Sequence[tuple[float, bool, tuple[float, ...]]],
) -> bool:
    return all(
        len(one) == len(other) and np.allclose(one, other, rtol=0.0, atol=EQUAL)
        for (_, _, one), (_, _, other) in zip(sons, daughters, strict=True)
    )


@lru_cache(maxsize=16384)
def _removed(states: tuple[tuple[float, bool, tuple[float, ...]], ...], chicks: int) -> float:
    so = sum(chance for chance, asked, _ in states if asked)
    others = sum(chance for chance, asked, _ in states if not asked)
    if min(so, others) <= EQUAL:
        return 0.0
    left = 0.0
    for counts, ways in _counts(chicks, len(states[0][2])):
        yes = no = 0.0
        for chance, asked, looks in states:
            seen = chance * ways
            for count, look in zip(counts, looks, strict=True):
                seen *= look**count
            yes, no = (yes + seen, no) if asked else (yes, no + seen)
        left += yes * no / (yes + no) if yes and no else 0.0
    return max(0.0, 1.0 - left * (so + others) / (so * others))


def _counts(chicks: int, looks: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """How many chicks may have each look, and in how many orders."""
    if looks == 1:
        yield (chicks,), 1
        return
    for first in range(chicks + 1):
        for rest, ways in _counts(chicks - first, looks - 1):
            yield (first, *rest), ways * comb(chicks, first)
