"""Which of several plans leads furthest, found with as few replicates as that takes.

All plans run the same replicates, each with the same luck for all; after every round those leave
that are surely behind. Larger outcomes are better.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker.ahead.paired import summary
from matchmaker.ahead.student import quantile_above

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.ahead.paired import Values

SELDOM: Final = 0.05
"""Plans that differ in fewer replicates than one in twenty pass for the same."""

RoundOutcomes: TypeAlias = Callable[
    [Sequence[int], range], "Sequence[Values] | NDArray[np.float64]"
]
"""The outcomes of several plans in the same replicates: one row per plan, in their order."""


class Ended(StrEnum):
    """Why a race ended."""

    ONE_LEFT = "one left"
    ALIKE = "alike"
    """No plan still racing can be ahead of the leader by more than the keeper cares for."""
    MOST = "most"
    """The replicates allowed are used up and it is still open."""
    STOPPED = "stopped"
    """Whoever gives the outcomes has stopped it while it was still open."""


class RaceStoppedError(Exception):
    """Raised by what gives the outcomes: no more of them; what is known so far decides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RaceRules:
    """How a race is run.

    ``first`` replicates of every plan make the first round, ``step`` each round after it, ``most``
    is the largest number of one plan. With a chance of at least 1 − ``alpha`` the best plan is
    never sent away, and one that ends as ``Ended.ALIKE`` is led by a plan at most ``indifferent``
    (in the outcome's unit) worse than the best.
    """

    first: int = 20
    step: int = 20
    most: int = 200
    alpha: float = 0.05
    indifferent: float = 0.0

    def __post_init__(self) -> None:
        if not (2 <= self.first <= self.most and self.step >= 1):
            msg = "a race needs a first round of 2 replicates or more, within most, and a step of 1"
            raise ValueError(msg)
        if not 0 < self.alpha <= 0.5:
            msg = f"alpha is a chance above 0 and at most 0.5, not {self.alpha}"
            raise ValueError(msg)
        if not 0 <= self.indifferent < math.inf:
            msg = f"indifferent is 0 or more, not {self.indifferent}"
            raise ValueError(msg)

    def rounds(self) -> tuple[range, ...]:
        """The replicates of each round; the last may be shorter.

        Examples
        --------
        >>> RaceRules(first=20, step=30, most=60).rounds()
        (range(0, 20), range(20, 50), range(50, 60))
        """
        ends = [*range(self.first, self.most, self.step), self.most]
        return tuple(range(start, end) for start, end in zip([0, *ends], ends, strict=False))

    def spent_in(self, replicates: range, plans: int) -> float:
        """The part of ``alpha`` that one plan may use up against another in a round.

        Rounds get parts by their replicates, the ``plans`` − 1 rivals of the best the same.
        """
        return self.alpha * len(replicates) / self.most / max(plans - 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where one plan ended: over ``replicates`` its mean outcome and the standard error of it.

    ``left_at_round`` is the round, from 1, after which it was sent away, ``None`` if it never was.
    """

    plan: int
    replicates: int
    mean: float
    se: float
    left_at_round: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Race:
    """How a race ended: the leader, all standings by plan, and what it took.

    ``used`` counts the replicates of all plans together.
    """

    leader: int
    standings: tuple[Standing, ...]
    rounds: int
    used: int
    ended: Ended


def race_together(outcomes: RoundOutcomes, plans: int, rules: RaceRules | None = None) -> Race:
    """Race ``plans`` plans (numbered from 0), asking once a round for all that still race.

    Examples
    --------
    >>> luck = np.random.default_rng(1).normal(size=200)
    >>> better = np.array([0.0, 5.0, 4.0])
    >>> found = race_together(lambda plans, some: better[list(plans), None] + luck[some], 3)
    >>> found.leader, found.ended.value, found.used
    (1, 'one left', 60)

    After each round a plan leaves if its paired difference to any other still racing, with its
    bound, is surely below 0; the one with the best mean leads (of equals the first).

    Raises
    ------
    ValueError
        If there is no plan, or outcomes are missing, not finite or not as many as asked for.
    RaceStoppedError
        If it was raised in the first round, before anything was known. In a later one it ends the
        race (``Ended.STOPPED``), the round left out.

    Notes
    -----
    The bound is that of Student's t on the paired differences, one-sided, at the part of ``alpha``
    given by ``RaceRules.spent_in``. Over all rounds and all rivals of the best plan the parts add
    up to ``alpha`` at most, so by Bonferroni's inequality all its bounds hold together with a
    chance of 1 − ``alpha`` or more, whenever the race ends and whoever leads. The t bound asks for
    differences that are not far from normal; of outcomes that are nearly always the same and seldom
    very different it is too bold. Two plans that never differed yet are called alike only when one
    that differs with the chance ``SELDOM`` would have been seen to, but for the part of ``alpha``.

    Racing: Maron & Moore 1994, Adv Neural Inf Process Syst 6; sending away under common random
    numbers: Nelson, Swann, Goldsman & Song 2001, Oper Res 49:950, and Branke, Chick & Schmidt 2007,
    Manag Sci 53:1916 (all from memory); spending alpha by the information used: Lan & DeMets 1983,
    Biometrika 70:659 (from memory).
    """
    if plans < 1:
        raise ValueError("a race needs at least one plan")
    rules = rules or RaceRules()
    track = _Track(plans)
    number, ended = 0, None
    for number, replicates in enumerate(rules.rounds(), start=1):
        try:
            track.run(outcomes, replicates)
        except RaceStoppedError:
            if number == 1:
                raise
            return track.result(number - 1, Ended.STOPPED)
        track.send_away(rules.spent_in(replicates, plans), number)
        ended = track.ended(rules.indifferent)
        if ended is not None:
            break
    return track.result(number, ended or Ended.MOST)


def too_alike(count: int, chance: float) -> bool:
    """Whether that two plans never differed in so many replicates says nothing of them yet.

    Examples
    --------
    >>> too_alike(20, 0.05), too_alike(100, 0.05)
    (True, False)
    """
    return (1 - SELDOM) ** count > chance


class _Track:
    """The outcomes so far and who still races.

    ``outcomes`` holds those of each plan, (replicates,); ``ahead[i, j]`` is how far plan
    ``racing[i]`` may be ahead of ``racing[j]``, at most.
    """

    def __init__(self, plans: int) -> None:
        self.outcomes: list[NDArray[np.float64]] = [np.zeros(0) for _ in range(plans)]
        self.racing = list(range(plans))
        self.ahead: NDArray[np.float64] = np.zeros((plans, plans))
        self.left: dict[int, int] = {}

    def run(self, outcomes: RoundOutcomes, replicates: range) -> None:
        """Add a round of all plans that still race."""
        found = [np.asarray(row, dtype=float) for row in outcomes(tuple(self.racing), replicates)]
        if len(found) != len(self.racing) or not all(
            row.shape == (len(replicates),) and np.isfinite(row).all() for row in found
        ):
            msg = (
                f"{len(replicates)} finite outcomes of each of {len(self.racing)} plans were "
                "asked for; give a value also to a line that has died out"
            )
            raise ValueError(msg)
        for plan, row in zip(self.racing, found, strict=True):
            self.outcomes[plan] = np.concatenate((self.outcomes[plan], row))

    def send_away(self, chance: float, number: int) -> None:
        """Let those go that cannot be level with some other one, but for this chance."""
        rows = np.stack([self.outcomes[plan] for plan in self.racing])
        count = rows.shape[1]
        apart = rows[:, None, :] - rows[None, :, :]
        errors = apart.std(axis=2, ddof=1) / math.sqrt(count)
        ahead = apart.mean(axis=2) + quantile_above(chance, count - 1) * errors
        if too_alike(count, chance):
            ahead[~apart.any(axis=2)] = math.inf
        np.fill_diagonal(ahead, 0.0)
        kept = np.flatnonzero(ahead.min(axis=1) >= 0)
        staying = [self.racing[at] for at in kept]
        self.left |= {plan: number for plan in self.racing if plan not in staying}
        self.racing, self.ahead = staying, ahead[np.ix_(kept, kept)]

    def leader(self) -> int:
        """The plan of the best mean among those that race, of equals the first."""
        return max(self.racing, key=lambda plan: (float(self.outcomes[plan].mean()), -plan))

    def ended(self, indifferent: float) -> Ended | None:
        """Why the race is over after this round, ``None`` if it is not."""
        if len(self.racing) == 1:
            return Ended.ONE_LEFT
        of_leader = self.ahead[:, self.racing.index(self.leader())]
        return Ended.ALIKE if of_leader.max() <= indifferent else None

    def result(self, rounds: int, ended: Ended) -> Race:
        """The race as it stands."""
        return Race(
            leader=self.leader(),
            standings=tuple(map(self._standing, range(len(self.outcomes)))),
            rounds=rounds,
            used=sum(map(len, self.outcomes)),
            ended=ended,
        )

    def _standing(self, plan: int) -> Standing:
        own = self.outcomes[plan]
        found = summary(own, quantiles=())
        return Standing(
            plan=plan,
            replicates=len(own),
            mean=found.mean,
            se=found.se,
            left_at_round=self.left.get(plan),
        )
