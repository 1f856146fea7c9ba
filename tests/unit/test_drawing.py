"""A pedigree in rows: parents above their chicks, years where they hold, few links crossing."""

from __future__ import annotations

import random
from itertools import combinations, pairwise, permutations

import networkx as nx
import pytest

from matchmaker.flock.drawing import drawn, linked, rows_of, with_bends
from matchmaker.flock.drawing_order import Rows, crossings, well_ordered
from tests.bench.pedigree import counted, random_family
from tests.descent_helpers import FAMILY, pedigree
from tests.strategies import Shape, pedigree_by_seed


def crossing_pairs(links: list[tuple[int, int]]) -> int:
    """The obvious count: every pair of links looked at."""
    return sum((a - c) * (b - d) < 0 for (a, b), (c, d) in combinations(links, 2))


def test_crossings_are_counted_as_every_pair_of_links_would_be() -> None:
    rng = random.Random(7)  # noqa: S311
    for _ in range(200):
        links = [(rng.randrange(8), rng.randrange(8)) for _ in range(rng.randrange(1, 30))]
        assert crossings(links) == crossing_pairs(links)


@pytest.mark.parametrize("seed", range(20))
def test_the_count_of_an_order_is_that_of_its_segments(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311
    rows = [[f"{row}{at}" for at in range(rng.randrange(2, 7))] for row in range(4)]
    segments = sorted(
        {(rng.choice(one), rng.choice(two)) for one, two in pairwise(rows) for _ in range(8)}
    )
    found = well_ordered(Rows(rows, segments))
    assert [sorted(row, key=str) for row in found.rows] == rows
    assert found.crossings == counted(found.rows, segments) <= counted(rows, segments)


def test_small_rows_come_close_to_the_best_of_all_orders() -> None:
    rng = random.Random(1)  # noqa: S311
    rows = [[f"{row}{at}" for at in range(4)] for row in range(3)]
    ours = best = 0
    for _ in range(25):
        segments = sorted(
            {(rng.choice(one), rng.choice(two)) for one, two in pairwise(rows) for _ in range(9)}
        )
        ours += well_ordered(Rows(rows, segments)).crossings
        best += min(
            min(counted([one, two], segments) for one in permutations(rows[0]))
            + min(counted([two, three], segments) for three in permutations(rows[2]))
            for two in permutations(rows[1])
        )
    assert best <= ours <= 1.2 * best


@pytest.mark.parametrize("seed", range(3))
def test_a_large_family_has_a_quarter_of_the_crossings_of_its_list(seed: int) -> None:
    graph, years = random_family(seed)
    given = with_bends(graph, rows_of(graph, years))
    assert well_ordered(given).crossings < counted(given.rows, given.segments) / 4


@pytest.mark.parametrize("seed", range(10))
def test_every_bird_stands_once_and_below_its_parents(seed: int) -> None:
    family = pedigree_by_seed(seed, Shape(birds=40, founders=8))
    rng = random.Random(seed)  # noqa: S311
    years = {band: rng.choice((None, 2020 + at // 10)) for at, band in enumerate(family.birds)}
    found = drawn(family, family.birds, years)
    places = found.places()
    assert sorted(places) == sorted(family.birds)
    for parent, chick in linked(family, family.birds).edges:
        assert places[parent][0] < places[chick][0]


def test_rows_are_years_where_these_agree_with_the_parents() -> None:
    family = pedigree(
        "A cock recurrent recurrent",
        "B hen recurrent recurrent",
        "C hen A B",
        "D cock recurrent recurrent",
        "E hen D C",
    )
    found = drawn(family, family.birds, {"A": 2021, "B": 2021, "C": 2023, "D": 2021, "E": 2024})
    assert [set(row) for row in found.rows] == [{"A", "B", "D"}, {"C"}, {"E"}]
    assert found.years == (2021, 2023, 2024)


def test_a_year_that_contradicts_the_parents_gives_way() -> None:
    graph = nx.DiGraph([("A", "B"), ("B", "C")])
    found = rows_of(graph, {"A": 2023, "B": 2023, "C": 2024})
    assert found == {"A": 0, "B": 1, "C": 2}


def test_a_founder_without_a_year_stands_just_above_its_first_chick() -> None:
    graph = nx.DiGraph([("A", "B"), ("B", "C"), ("X", "C")])
    assert rows_of(graph, {})["X"] == 1


def test_a_founder_long_unknown_does_not_push_a_year_down() -> None:
    graph = nx.DiGraph([("X", "B")])
    graph.add_node("A")
    assert rows_of(graph, {"A": 2022, "B": 2022}) == {"X": 0, "B": 1, "A": 0}


def test_only_the_birds_asked_for_are_drawn() -> None:
    assert set(drawn(FAMILY, ["S", "A"], {}).places()) == {"S", "A"}


def test_a_drawing_of_no_birds_has_no_rows() -> None:
    assert drawn(FAMILY, [], {}).rows == ()


def test_a_bird_that_is_not_in_the_pedigree_is_refused() -> None:
    with pytest.raises(KeyError):
        drawn(FAMILY, ["nobody"], {})
