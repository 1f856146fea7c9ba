"""Laws of drawing a pedigree, and of the paths that are told of a pair."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.flock.drawing import drawn, linked, rows_of, with_bends
from matchmaker.flock.drawing_order import crossings, well_ordered
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths_of_pairs import bands_of, paths_of_pairs
from tests.bench.pedigree import counted
from tests.strategies import RELATED, Shape, pedigrees

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

FAMILIES = pedigrees(Shape(birds=24, founders=6, bases=RELATED))
LINKS = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=40)


@given(LINKS)
def test_crossings_stay_when_a_drawing_is_seen_in_a_mirror(links: list[tuple[int, int]]) -> None:
    assert crossings(links) == crossings([(-above, -below) for above, below in links])
    assert crossings(links) == crossings([(below, above) for above, below in links])


@settings(deadline=None, max_examples=20)
@given(FAMILIES, st.lists(st.sampled_from((None, 2020, 2021, 2022)), min_size=24, max_size=24))
def test_all_birds_are_drawn_below_their_parents_with_no_more_crossings_than_listed(
    family: Pedigree, hatched: list[int | None]
) -> None:
    years = dict(zip(family.birds, hatched, strict=True))
    found = drawn(family, family.birds, years)
    places = found.places()
    assert sorted(places) == sorted(family.birds)
    graph = linked(family, family.birds)
    assert all(places[parent][0] < places[chick][0] for parent, chick in graph.edges)
    given_rows = with_bends(graph, rows_of(graph, years))
    assert found.crossings <= counted(given_rows.rows, given_rows.segments)
    assert well_ordered(given_rows) == well_ordered(given_rows)


@settings(deadline=None, max_examples=20)
@given(FAMILIES)
def test_the_paths_of_a_pair_meet_once_and_sum_to_its_kinship(family: Pedigree) -> None:
    birds = family.birds[12:]
    kinship = kinship_matrix(family, birds).values
    for one, row in enumerate(paths_of_pairs(family, birds, birds, kinship)):
        for two, found in enumerate(row):
            parts = [path.kinship for path in found.listed]
            assert parts == sorted(parts, reverse=True)
            total = sum(parts) + found.before + found.others
            assert np.isclose(total, kinship[one, two], atol=1e-12)
            assert found.others >= 0
            for path in found.listed:
                first, second = bands_of(path.first), bands_of(path.second)
                assert (first[0], second[0]) == (birds[one], birds[two])
                assert set(first) & set(second) == {first[-1]} == {second[-1]}
