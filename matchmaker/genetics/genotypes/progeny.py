"""How many test chicks settle what a bird carries."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp, inf, isclose, lgamma, log, log1p
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.chicks import chick_distribution
from matchmaker.genetics.genotypes.words import weights_by_copies
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.genetics.loci.locus import Locus, Look

LEVELS: Final = (0.95, 0.99)
"""How sure a bird is to be after its test chicks: the two levels that are printed."""

MOST_CHICKS: Final = 200
"""A test that needs more chicks than this settles nothing in practice."""

MOST_HATCHED: Final = 100_000
"""More chicks than this nobody hatches for a test."""

EQUAL: Final = 1e-12
"""Chances closer than this are equal: rounding noise."""


class Question(StrEnum):
    """What is to be proved of a bird."""

    FREE = "free"
    BREEDS_TRUE = "breeds true"


class Obstacle(StrEnum):
    """Why no number of chicks can prove it."""

    NEVER = "never"
    """The bird cannot be what is to be proved."""
    NOT_PASSED_ON = "not passed on"
    """A hen gives her Z to her sons only: her daughters say nothing of it."""
    HIDDEN = "hidden"
    """The chicks look alike whatever the bird is."""
    OTHER_ALLELES = "other alleles"
    """Of the several alleles of the locus some hide the one in question, some are hidden by it."""
    HARMFUL = "harmful"
    """Such a mating can give chicks that die or are crippled."""
    TOO_MANY = "too many"
    """More than ``MOST_CHICKS`` would be needed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgenyTest:
    """Chicks of a bird by one kind of mate, and what they can prove of it.

    ``prior`` is the bird's P(0, 1, 2 copies); ``proves`` the copies to be proved; ``judged`` the
    sex of the chicks that count, ``None`` where sons and daughters count alike; ``days`` the age
    at which they can be judged. ``expected`` are the looks that a bird with ``proves`` copies can
    give by this mate, and ``likelihood`` is the chance, by the bird's copies, that a chick is
    written down as one of them.
    """

    prior: tuple[float, ...]
    question: Question
    proves: int
    mate: Sex
    mate_copies: int
    judged: Sex | None
    days: int
    expected: frozenset[Look]
    likelihood: tuple[float, ...]
    obstacle: Obstacle | None = None

    @property
    def decisive(self) -> bool:
        """Whether one chick of another look is proof at once that the bird is not so."""
        return self.likelihood[self.proves] >= 1.0 - EQUAL

    def all_expected(self, chicks: int) -> float:
        """Chance that so many chicks are all as expected, over what the bird may be."""
        return sum(
            p * chance**chicks for p, chance in zip(self.prior, self.likelihood, strict=True)
        )

    def contrary(self, chicks: int) -> float:
        """Chance that a first chick of another look comes among so many."""
        return 1.0 - self.all_expected(chicks)

    def proof(self, chicks: int) -> float:
        """P(the bird is what is to be proved) after so many chicks, all as expected."""
        own = self.prior[self.proves] * self.likelihood[self.proves] ** chicks
        return own / self.all_expected(chicks) if own else 0.0

    def luck(self, chicks: int) -> float:
        """Chance that a bird which is not so gives so many chicks as expected all the same.

        The worst case over what else it may be; unlike ``proof`` it leaves the prior aside.
        """
        others = (
            chance
            for at, (p, chance) in enumerate(zip(self.prior, self.likelihood, strict=True))
            if p > 0 and at != self.proves
        )
        return max(others, default=0.0) ** chicks

    def chicks(self, level: float) -> int | None:
        """Least number of chicks, all as expected, after which ``proof`` reaches ``level``.

        ``None`` where no number does; ``obstacle`` says why.
        """
        if self.obstacle in {Obstacle.HARMFUL, Obstacle.OTHER_ALLELES}:
            return None
        return next((n for n in range(MOST_CHICKS + 1) if self.proof(n) >= level), None)


def progeny_tests(
    prior: Sequence[float], locus: Locus, sex: Sex, question: Question
) -> tuple[ProgenyTest, ...]:
    """Return the ways to prove a bird by its chicks, the fewest chicks first.

    One entry per kind of mate (its copies taken as certain) and, where sons and daughters do not
    tell the same, per sex of chick. Chicks that never live to be seen are left out of account;
    mates of a lethal or crippling genotype are not listed. Penetrance and scoring error of the
    locus count. Of a locus with more than two alleles only the top and the bottom one can be
    proved so: of the others some hide it and some do not. Entries that can prove nothing stand
    last, each with its obstacle.

    Parameters
    ----------
    prior
        P(0, 1, 2 copies) of the bird; a hen at a Z-linked locus has 0 or 1.
    locus, sex
        What is tested in a bird of which sex.
    question
        Whether it is to be proved to carry none, or as many copies as its sex can.

    Notes
    -----
    Bayes' theorem for a progeny test: n chicks as expected multiply the odds by the likelihood
    of each copy number to the n-th power.

    Examples
    --------
    A pea-combed bird out of two carriers has one copy with two chances in three: six chicks by a
    single-combed mate, all pea-combed, prove two copies with 95 %, eight with 99 %.

    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> pea = catalogue()["P"]
    >>> best = progeny_tests((0, 2 / 3, 1 / 3), pea, Sex.COCK, Question.BREEDS_TRUE)[0]
    >>> best.mate_copies, best.chicks(0.95), best.chicks(0.99)
    (0, 6, 8)
    """
    found = [
        test
        for copies in locus.copy_numbers(sex.other)
        if not locus.is_lethal(copies, sex.other)
        for test in _by_mate(_Bird(tuple(map(float, prior)), locus, sex), copies, question)
    ]
    return tuple(sorted(found, key=_order))


def chicks_to_hatch(needed: int, chance: float, level: float = 0.95) -> int | None:
    """Return how many chicks give at least ``needed`` of a class with chance ``level``.

    ``chance`` is that of the class per chick; ``None`` where ``MOST_HATCHED`` would not do. Exact
    binomial tail; such numbers were tabled by Sedcole 1977 (Crop Sci 17:667, from memory).

    Raises
    ------
    ValueError
        If the chance is not between 0 and 1, or certainty is asked for.

    Examples
    --------
    >>> chicks_to_hatch(1, 0.25), chicks_to_hatch(5, 0.5), chicks_to_hatch(1, 0.25, 0.99)
    (11, 16, 17)
    """
    if not (0 <= chance <= 1 and level < 1):
        raise ValueError(f"no number of chicks of a class of chance {chance} is {level} certain")
    if fewer_than(needed, MOST_HATCHED, chance) > 1 - level:
        return None
    return bisect_left(
        range(MOST_HATCHED), level - 1, key=lambda total: -fewer_than(needed, total, chance)
    )


def fewer_than(needed: int, total: int, chance: float) -> float:
    """Chance of fewer than ``needed`` of a class among ``total`` chicks, each with ``chance``.

    Examples
    --------
    >>> round(fewer_than(2, 3, 0.5), 6), fewer_than(1, 3, 0.0), fewer_than(1, 3, 1.0)
    (0.5, 1.0, 0.0)
    """
    if chance in {0.0, 1.0}:
        return float(chance * total < needed)
    has, lacks = log(chance), log1p(-chance)
    return sum(
        exp(_log_ways(total, k) + k * has + (total - k) * lacks)
        for k in range(min(needed, total + 1))
    )


def _log_ways(total: int, chosen: int) -> float:
    """Logarithm of the ways to choose some out of all: the number itself may be past a float."""
    return lgamma(total + 1) - lgamma(chosen + 1) - lgamma(total - chosen + 1)


@dataclass(frozen=True, slots=True)
class _Bird:
    """The bird on trial: what it may be, at which locus, of which sex."""

    prior: tuple[float, ...]
    locus: Locus
    sex: Sex

    @property
    def possible(self) -> list[int]:
        return [copies for copies, p in enumerate(self.prior) if p > 0]

    def conceived(self, copies: int, mate_copies: int, judged: Sex) -> list[float]:
        """P(copies of a chick of one sex as conceived) if the bird and its mate have so many."""
        joint = np.zeros((3, 3))
        joint[(mate_copies, copies) if self.sex is Sex.COCK else (copies, mate_copies)] = 1.0
        classes = chick_distribution(joint, self.locus)
        sexed = classes.sons if judged is Sex.COCK else classes.daughters
        return [float(sexed[chick]) for chick in self.locus.copy_numbers(judged)]

    def chicks(self, copies: int, mate_copies: int, judged: Sex) -> list[float]:
        """The same of chicks that live to be seen; all 0 where none does."""
        conceived = self.conceived(copies, mate_copies, judged)
        living = [p * self.locus.lives(chick, judged) for chick, p in enumerate(conceived)]
        total = sum(living)
        return [p / total if total else 0.0 for p in living]


def _by_mate(bird: _Bird, mate_copies: int, question: Question) -> Iterator[ProgenyTest]:
    tests = [
        _by_chicks(bird, mate_copies, question, judged)
        for judged in (Sex.COCK, Sex.HEN)
        if bird.locus.can_show(judged)
    ]
    if len(tests) == 2 and _alike(bird, *tests):
        yield replace(tests[0], judged=None)
    else:
        yield from tests


def _by_chicks(bird: _Bird, mate_copies: int, question: Question, judged: Sex) -> ProgenyTest:
    locus, numbers = bird.locus, bird.locus.copy_numbers(bird.sex)
    proves = 0 if question is Question.FREE else numbers[-1]
    by_copies = [bird.chicks(copies, mate_copies, judged) for copies in numbers]
    expected = frozenset(
        locus.phenotype(copies, judged) for copies, chance in enumerate(by_copies[proves]) if chance
    )
    written = weights_by_copies(locus, expected, judged)
    test = ProgenyTest(
        prior=bird.prior[: len(numbers)],
        question=question,
        proves=proves,
        mate=bird.sex.other,
        mate_copies=mate_copies,
        judged=judged,
        days=locus.shows_at_days,
        expected=expected,
        likelihood=tuple(
            sum(p * seen for p, seen in zip(chances, written, strict=True)) for chances in by_copies
        ),
    )
    return replace(test, obstacle=_obstacle(bird, test, judged))


def _alike(bird: _Bird, sons: ProgenyTest, daughters: ProgenyTest) -> bool:
    """Whether sons and daughters are to look the same and tell the same of the bird."""
    return sons.expected == daughters.expected and all(
        isclose(sons.likelihood[copies], daughters.likelihood[copies]) for copies in bird.possible
    )


def _obstacle(bird: _Bird, test: ProgenyTest, judged: Sex) -> Obstacle | None:
    if _harmful(bird, test.mate_copies):
        return Obstacle.HARMFUL
    if bird.locus.symbol in bird.locus.alleles[1:-1]:
        return Obstacle.OTHER_ALLELES
    if test.chicks(LEVELS[0]) is not None:
        return None
    return _why_none(bird, test, judged)


def _why_none(bird: _Bird, test: ProgenyTest, judged: Sex) -> Obstacle:
    if not test.prior[test.proves]:
        return Obstacle.NEVER
    own = test.likelihood[test.proves]
    others = [test.likelihood[copies] for copies in bird.possible if copies != test.proves]
    if all(chance < own - EQUAL for chance in others):
        return Obstacle.TOO_MANY
    by_z = bird.locus.z_linked and bird.sex is Sex.HEN and judged is Sex.HEN
    return Obstacle.NOT_PASSED_ON if by_z else Obstacle.HIDDEN


def _harmful(bird: _Bird, mate_copies: int) -> bool:
    """Whether the mating can give a chick of a lethal or crippling genotype, living or not."""
    return any(
        chance > 0 and bird.locus.is_lethal(chick, judged)
        for judged in Sex
        for copies in bird.possible
        for chick, chance in enumerate(bird.conceived(copies, mate_copies, judged))
    )


def _order(test: ProgenyTest) -> tuple[float, float, bool, int, str]:
    """Fewest chicks to hatch first: of chicks judged in one sex only, every other counts."""
    hatched = 1 if test.judged is None else 2
    first, second = (test.chicks(level) for level in LEVELS)
    return (
        inf if first is None else first * hatched,
        inf if second is None else second * hatched,
        test.obstacle is Obstacle.HARMFUL,
        test.mate_copies,
        str(test.judged or ""),
    )
