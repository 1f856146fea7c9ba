"""Groups of contemporaries against the rule carried out step by step, looking at every group."""

from __future__ import annotations

import datetime as dt
import random

import pytest

from matchmaker.genetics.traits.contemporaries import SMALLEST, Circumstances, contemporaries_of
from matchmaker.tables.records import Sex

FAR = 10**6


def day(at: Circumstances) -> int:
    return FAR if at.hatched is None else at.hatched.toordinal()


def order(at: Circumstances) -> tuple[str, int, int, str]:
    return (at.sex or "", day(at), -1 if at.age is None else at.age, at.given)


def tier(at: Circumstances, other: Circumstances) -> int:
    """How near two groups of a sex are in kind, 0 the nearest."""
    season = (at.hatched and at.hatched.year) == (other.hatched and other.hatched.year)
    if at.hatched is None and at.given and at.given == other.given:
        return 0
    if season and at.age == other.age:
        return 0 if at.given == other.given else 1
    return 2 if at.age == other.age else 3


def nearness(at: Circumstances, other: Circumstances, steps: int) -> tuple[int, int, bool, int]:
    """Kind, days, then those before in order; of several on one day the one fewest steps away."""
    return (tier(at, other), abs(day(other) - day(at)), steps > 0, abs(steps))


def by_the_rule(birds: list[int], scores: list[Circumstances]) -> list[Circumstances]:
    """Return the group of each score, named by the circumstances it began with."""
    groups: dict[Circumstances, set[int]] = {}
    end: dict[Circumstances, Circumstances] = {at: at for at in scores}
    for bird, at in zip(birds, scores, strict=True):
        groups.setdefault(at, set()).add(bird)
    while True:
        small = [
            (len(groups[at]), order(at), at)
            for at in groups
            if len(groups[at]) < SMALLEST and sum(one.sex == at.sex for one in groups) > 1
        ]
        if not small:
            return [end[at] for at in scores]
        at = min(small, key=lambda entry: entry[:2])[2]
        others = [one for one in groups if one.sex == at.sex and one != at]
        ranks = {one: rank for rank, one in enumerate(sorted(groups, key=order))}
        nearest = min(others, key=lambda one: nearness(at, one, ranks[one] - ranks[at]))
        groups[nearest] |= groups.pop(at)
        end = {first: nearest if last == at else last for first, last in end.items()}


def random_scores(seed: int) -> tuple[list[int], list[Circumstances]]:
    """Invented scores of up to fifty birds out of nine hatches."""
    rng = random.Random(seed)  # noqa: S311
    hatches = [dt.date(2020, 3, 1) + dt.timedelta(days=60 * at) for at in range(9)]
    count = rng.randrange(1, 50)
    sex = [rng.choice((Sex.HEN, Sex.HEN, Sex.COCK)) for _ in range(count)]
    hatched = [None if rng.random() < 0.1 else rng.choice(hatches) for _ in range(count)]
    birds = [rng.randrange(count) for _ in range(2 * count)]
    return birds, [
        Circumstances(
            sex=sex[bird],
            hatched=hatched[bird],
            given=rng.choice(("", "barn")),
            age=None if hatched[bird] is None else rng.choice((0, 0, 1)),
        )
        for bird in birds
    ]


@pytest.mark.parametrize("seed", range(150))
def test_the_rule_step_by_step_finds_the_same_groups(seed: int) -> None:
    birds, scores = random_scores(seed)
    found = contemporaries_of(birds, scores).groups.tolist()
    slow = by_the_rule(birds, scores)
    kept = sorted(set(slow), key=order)
    assert found == [kept.index(at) for at in slow]
