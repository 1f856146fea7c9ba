"""Test matings: what a pair's chicks are expected to tell of the parent on trial."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.trial import ways_to_judge
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.trial import MatingOnTrial
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChickTable
    from matchmaker.pairs.crossings import Crossing

NOTHING: Final = 1e-9
"""Less of a doubt than this, or less of it removed by a chick, is none."""

MOST_CHICKS: Final = 60
"""Test chicks beyond this number count nothing more."""

ENOUGH: Final = 0.001
"""The last test chick that counts removes at least this share of the doubt."""

Pieces = tuple[tuple[float, float], ...]
"""(slope, start) of straight lines: a concave function is the least of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A bird on trial with one mate at the locus of which their chicks tell most.

    ``asked`` are the copies it may turn out to have, ``worth`` what settling a bird of even odds
    is worth, in wanted chicks.
    """

    bird: str
    locus: str
    asked: tuple[int, ...]
    worth: float
    mating: MatingOnTrial

    @property
    def judged(self) -> float:
        """Share of the chicks raised that can tell: all, or those of one sex."""
        return 1.0 if self.mating.judged is None else 0.5

    @property
    def stake(self) -> float:
        """What it is worth to settle this bird: ``worth`` × 2p(1 − p) / ½."""
        return self.worth * 4.0 * self.mating.chance * (1.0 - self.mating.chance)

    @property
    def per_chick(self) -> float:
        """What the first chick raised is worth; with it matings are compared."""
        return self.stake * self.mating.removed(1) * self.judged

    def pieces(self) -> Pieces:
        """Worth of m chicks that can tell, as the least concave function that is never below it.

        With more than even odds the first chicks tell little, and the worth itself is not concave:
        up to the number from which on it is, the line to it from the origin takes its place, so
        that few chicks count somewhat too much.

        Notes
        -----
        The share removed is that of the variance p(1 − p) of "it is so"
        (``MatingOnTrial.removed``). It counts up to ``MOST_CHICKS``, or until a further chick
        removes less than ``ENOUGH``.
        """
        worths = [0.0]
        for chicks in range(1, MOST_CHICKS + 1):
            worths.append(self.stake * self.mating.removed(chicks))
            if _grows_less(worths, ENOUGH * self.stake):
                break
        return least_concave(worths)


def _grows_less(worths: Sequence[float], least: float) -> bool:
    """Whether the growth has passed its peak and become small."""
    if len(worths) < 3:
        return False
    last, before = worths[-1] - worths[-2], worths[-2] - worths[-3]
    return last <= before and last < least


def least_concave(worths: Sequence[float]) -> Pieces:
    """The least concave function through or above (0, w0), (1, w1), …, level after the last.

    Examples
    --------
    >>> least_concave([0.0, 1.0, 4.0, 5.0])
    ((2.0, 0.0), (1.0, 2.0), (0.0, 5.0))
    """
    hull: list[int] = []
    for at in range(len(worths)):
        while len(hull) > 1 and _slope(worths, hull[-2], hull[-1]) <= _slope(worths, hull[-1], at):
            hull.pop()
        hull.append(at)
    rising = [
        (slope, worths[one] - slope * one)
        for one, other in pairwise(hull)
        if (slope := _slope(worths, one, other)) > 0
    ]
    return (*rising, (0.0, max(worths)))


def _slope(worths: Sequence[float], one: int, other: int) -> float:
    return (worths[other] - worths[one]) / (other - one)


def trial_of(
    study: Study, chicks: ChickTable, crossing: Crossing, hen_at: int, cock_at: int
) -> Trial | None:
    """The trial of the bird that a test row tests, with this mate; ``None`` if nothing is open.

    Of several loci in question, and of sons and daughters where they do not tell alike, that
    counts of which a chick tells most: what the others tell besides is left out.
    """
    found = list(_trials(study, chicks, crossing, hen_at, cock_at))
    best = max(found, key=lambda trial: trial.per_chick, default=None)
    return best if best is not None and best.per_chick > NOTHING else None


def _trials(
    study: Study, chicks: ChickTable, crossing: Crossing, hen_at: int, cock_at: int
) -> Iterator[Trial]:
    tested = crossing.tests or Sex.HEN
    bird = chicks.hens[hen_at] if tested is Sex.HEN else chicks.cocks[cock_at]
    for symbol in crossing.loci:
        asked = in_question(study.genotypes[symbol].of(bird), crossing.keep[tested][symbol])
        if not asked:
            continue
        joint = chicks.joints[symbol][hen_at, cock_at]
        for mating in ways_to_judge(joint, tested, asked, study.loci[symbol]):
            yield Trial(bird=bird, locus=symbol, asked=asked, worth=crossing.worth, mating=mating)


def in_question(copies: NDArray[np.float64], named: Sequence[int]) -> tuple[int, ...]:
    """The copies of which it is open whether a bird has one of them; () where it is not.

    ``copies`` are P(0, 1, 2). Where the row names none the question is whether it carries, and of
    a certain carrier whether it has two copies.

    Examples
    --------
    >>> import numpy as np
    >>> in_question(np.array([0.5, 0.5, 0.0]), ()), in_question(np.array([0.0, 0.5, 0.5]), ())
    ((1, 2), (2,))
    >>> in_question(np.array([0.0, 0.5, 0.5]), (1, 2))
    ()
    """
    questions = [tuple(named)] if named else [(1, 2), (2,)]
    for asked in questions:
        chance = float(sum(copies[at] for at in asked))
        if NOTHING < chance < 1.0 - NOTHING:
            return asked
    return ()
