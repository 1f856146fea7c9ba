"""Groups of contemporaries, small ones joined to their nearest. All scores are invented."""

from __future__ import annotations

import datetime as dt
import random
import time
from itertools import pairwise

import pytest

from matchmaker.genetics.traits.contemporaries import (
    SMALLEST,
    Circumstances,
    Contemporaries,
    age_in_years,
    contemporaries_of,
)
from matchmaker.tables.records import Sex


def hens(
    day: str | None,
    count: int = SMALLEST,
    given: str = "",
    age: int | None = 0,
    sex: Sex | None = Sex.HEN,
) -> list[Circumstances]:
    """Return the circumstances of so many hens of a hatch."""
    hatched = dt.date.fromisoformat(day) if day else None
    return [Circumstances(sex=sex, hatched=hatched, given=given, age=age)] * count


def grouped(*parts: list[Circumstances]) -> Contemporaries:
    """Return the groups of scores of different birds."""
    scores = [one for part in parts for one in part]
    return contemporaries_of(range(len(scores)), scores)


def together(*parts: list[Circumstances]) -> list[int]:
    """Return the group of each part's first score, all its scores being in that group."""
    found = grouped(*parts)
    numbers, at = found.groups.tolist(), 0
    first = []
    for part in parts:
        assert len(set(numbers[at : at + len(part)])) == 1
        first.append(numbers[at])
        at += len(part)
    return first


def test_hatch_sex_given_group_and_age_part_scores() -> None:
    found = together(
        hens("2026-04-02"),
        hens("2026-04-09"),
        hens("2026-04-02", sex=Sex.COCK),
        hens("2026-04-02", given="barn"),
        hens("2026-04-02", age=1),
        hens("2026-04-02", age=None),
        hens(None),
        hens("2026-04-02", sex=None),
    )
    assert len(set(found)) == 8


def test_a_small_group_prefers_its_own_season_age_and_group() -> None:
    """Another hatch of the barn is further off than a hatch of the yard, but nearer in kind."""
    late = hens("2026-05-30", 3, given="barn")
    found = together(
        late, hens("2026-04-01", given="barn"), hens("2026-05-29", given="yard"), hens("2025-05-30")
    )
    assert found[0] == found[1] != found[2]


def test_then_its_season_and_age() -> None:
    small = hens("2026-01-02", 2, given="barn")
    found = together(
        small,
        hens("2026-06-01", given="yard"),
        hens("2025-12-31", given="barn"),
        hens("2025-01-02"),
    )
    assert found[0] == found[1]


def test_then_the_nearest_hatch_of_its_age() -> None:
    small = hens("2025-04-02", 3)
    found = together(
        small, hens("2026-04-01"), hens("2023-04-01"), hens("2025-04-02", given="yard", age=1)
    )
    assert found[0] == found[1]


def test_then_any_of_its_sex() -> None:
    small = hens("2025-04-02", 1, age=2)
    found = together(
        small, hens("2026-04-01"), hens("2023-04-01"), hens("2025-04-02", sex=Sex.COCK)
    )
    assert found[0] == found[1]


def test_of_two_hatches_as_near_the_earlier_is_joined() -> None:
    found = together(hens("2026-04-10", 1), hens("2026-04-08"), hens("2026-04-12"))
    assert found[0] == found[1] != found[2]


def test_one_whose_hatch_is_not_known_goes_by_the_group_given() -> None:
    found = together(
        hens(None, 1, given="2023-04", age=None),
        hens("2023-04-14", given="2023-04"),
        hens("2026-04-14", given="2026-04"),
    )
    assert found[0] == found[1] != found[2]


def test_the_smallest_goes_first_and_the_larger_may_then_stay() -> None:
    """Three and two: the two join the three, who then are enough to stay by themselves."""
    found = grouped(hens("2026-04-02", 3), hens("2026-04-20", 2), hens("2026-05-20"))
    assert found.names == ("hens hatched 2026-04-02", "hens hatched 2026-05-20")
    assert found.joined == (("hens hatched 2026-04-20",), ())


def test_one_group_of_a_sex_is_left_however_small() -> None:
    found = grouped(
        hens("2026-04-02", 2), hens("2020-04-02", 1, age=3), hens("2026-04-02", 1, sex=None)
    )
    assert found.groups.tolist() == [1, 1, 1, 0]
    assert found.sexes == (None, Sex.HEN)
    assert found.names[0] == "birds of unknown sex hatched 2026-04-02"


def test_birds_are_counted_and_not_scores() -> None:
    """Three hens scored twice are three birds."""
    scores = hens("2026-04-02", 6) + hens("2026-05-02")
    found = contemporaries_of([0, 1, 2, 0, 1, 2, 3, 4, 5, 6], scores)
    assert len(found.names) == 1


def test_a_bird_in_two_groups_counts_once_when_they_join() -> None:
    """The same two hens at two ages stay two birds, and so join the four."""
    scores = hens("2026-04-02", 2, age=0) + hens("2026-04-02", 2, age=1) + hens("2020-04-02", age=5)
    found = contemporaries_of([0, 1, 0, 1, 2, 3, 4, 5], scores)
    assert len(found.names) == 1


def test_no_scores_no_groups() -> None:
    found = contemporaries_of([], [])
    assert (found.groups.size, found.names, found.joined) == (0, (), ())


def test_names_in_words() -> None:
    parts = [
        hens("2026-04-02", given="barn", age=1),
        hens("2024-04-02", age=3, sex=Sex.COCK),
        hens(None, age=None),
    ]
    assert grouped(*parts).names == (
        "cocks hatched 2024-04-02, scored at 3 years",
        "hens hatched 2026-04-02, group barn, scored at one year",
        "hens of unknown hatch",
    )


@pytest.mark.parametrize(
    ("hatched", "scored", "age"),
    [
        ("2024-02-29", "2025-02-28", 0),
        ("2024-02-29", "2025-03-01", 1),
        ("2024-04-12", "2024-12-31", 0),
        ("2024-12-31", "2026-01-01", 1),
    ],
)
def test_age_in_whole_years(hatched: str, scored: str, age: int) -> None:
    days = dt.date.fromisoformat(hatched), dt.date.fromisoformat(scored)
    assert age_in_years(*days) == age


def test_no_age_without_both_days() -> None:
    day = dt.date(2024, 1, 1)
    assert age_in_years(None, day) is age_in_years(day, None) is None


def at_random(count: int, seed: int, days: int) -> list[Circumstances]:
    """Return circumstances of many birds: seasons, hatches, houses, ages."""
    rng = random.Random(seed)  # noqa: S311
    first = dt.date(2000, 3, 1)
    return [
        Circumstances(
            sex=rng.choice((Sex.HEN, Sex.COCK, None)),
            hatched=None if rng.random() < 0.05 else first + dt.timedelta(rng.randrange(days)),
            given=rng.choice(("", "barn", "yard")),
            age=rng.choice((None, 0, 0, 0, 1, 2)),
        )
        for _ in range(count)
    ]


@pytest.mark.parametrize("seed", range(20))
def test_the_order_of_scores_does_not_matter(seed: int) -> None:
    scores = at_random(120, seed, days=400)
    birds = [at // 2 for at in range(120)]
    found = contemporaries_of(birds, scores)
    order = list(range(120))
    random.Random(seed).shuffle(order)  # noqa: S311
    moved = contemporaries_of([birds[at] for at in order], [scores[at] for at in order])
    assert [found.names[found.groups[at]] for at in order] == [
        moved.names[at] for at in moved.groups
    ]
    assert found.joined == moved.joined


@pytest.mark.parametrize("seed", range(20))
def test_groups_are_large_enough_and_of_one_sex(seed: int) -> None:
    scores = at_random(60, seed, days=900)
    found = grouped(scores)
    for number, sex in enumerate(found.sexes):
        members = [one for one, at in zip(scores, found.groups, strict=True) if at == number]
        assert {one.sex for one in members} == {sex}
        assert len(members) >= SMALLEST or found.sexes.count(sex) == 1


def test_many_scores_take_time_in_proportion() -> None:
    """Eight times the scores, nearly all in groups of their own, take no more than 20 times."""
    seconds = []
    for count in (1_000, 8_000):
        scores = at_random(count, 1, days=count)
        best = []
        for _ in range(3):
            start = time.process_time()
            grouped(scores)
            best.append(time.process_time() - start)
        seconds.append(min(best))
    assert all(later < 20 * earlier for earlier, later in pairwise(seconds))
