"""Laws of predictions over random flocks: uncertain parents, clutches, related founders."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.origin import origin
from matchmaker.genetics.traits.records import Heredity, Records
from tests.oracle.animal_model import random_records, tangled_pedigree
from tests.strategies import with_chick

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Nodes

SEEDS = st.integers(0, 10**6)
BIRDS = 20


@st.composite
def heredities(draw: st.DrawFn) -> Heredity:
    h2 = draw(st.floats(0.02, 0.9))
    return Heredity(h2=h2, repeatability=draw(st.floats(h2, 0.95)))


@given(SEEDS, heredities())
def test_reliability_is_between_0_and_1(seed: int, heredity: Heredity) -> None:
    kindred = kindred_of(ancestry_of(tangled_pedigree(seed, BIRDS)))
    found = predict(kindred, random_records(seed, BIRDS), heredity)
    assert (found.reliability >= 0).all()
    assert (found.reliability <= 1).all()


@given(SEEDS, heredities(), st.floats(-100, 100), st.floats(0.01, 1000))
def test_level_and_unit_do_not_matter(
    seed: int, heredity: Heredity, level: float, unit: float
) -> None:
    kindred = kindred_of(ancestry_of(tangled_pedigree(seed, BIRDS)))
    records = random_records(seed, BIRDS)
    found = predict(kindred, records, heredity)
    moved = predict(kindred, replace(records, values=unit * (records.values + level)), heredity)
    tolerance = 1e-9 * unit * (100 + abs(level))
    np.testing.assert_allclose(moved.values, unit * found.values, atol=tolerance)
    np.testing.assert_allclose(moved.reliability, found.reliability, atol=1e-9)


@given(SEEDS, heredities())
def test_the_order_of_scores_does_not_matter(seed: int, heredity: Heredity) -> None:
    kindred = kindred_of(ancestry_of(tangled_pedigree(seed, BIRDS)))
    records = random_records(seed, BIRDS)
    order = np.random.default_rng(seed).permutation(len(records.birds))
    found = predict(kindred, records, heredity)
    again = predict(kindred, reordered(records, order), heredity)
    np.testing.assert_allclose(again.values, found.values, atol=1e-9)
    np.testing.assert_allclose(again.deviations, found.deviations[order], atol=1e-9)


def reordered(records: Records, order: Nodes) -> Records:
    return replace(
        records,
        birds=records.birds[order],
        values=records.values[order],
        groups=records.groups[order],
        covariates=records.covariates[order],
    )


@given(SEEDS, heredities())
def test_an_unscored_chick_has_its_parents_mean_and_moves_nobody(
    seed: int, heredity: Heredity
) -> None:
    pedigree = tangled_pedigree(seed, BIRDS)
    first = pedigree.first_bird
    larger = with_chick(pedigree, "Z", first + 2, first + 5)
    larger = replace(larger, clutches=(*pedigree.clutches, None))
    records = random_records(seed, BIRDS)
    found = predict(kindred_of(ancestry_of(pedigree)), records, heredity)
    again = predict(kindred_of(ancestry_of(larger)), records, heredity)
    np.testing.assert_allclose(again.values[:-1], found.values, atol=1e-9)
    np.testing.assert_allclose(again.reliability[:-1], found.reliability, atol=1e-9)
    assert abs(again.values[-1] - (found.values[2] + found.values[5]) / 2) < 1e-9


@given(SEEDS, heredities())
def test_another_score_never_makes_a_bird_less_known(seed: int, heredity: Heredity) -> None:
    kindred = kindred_of(ancestry_of(tangled_pedigree(seed, BIRDS)))
    records = random_records(seed, BIRDS)
    fewer = reordered(records, np.arange(len(records.birds) - 1))
    if len(np.unique(fewer.groups)) < records.group_count:
        return
    before = predict(kindred, fewer, heredity).reliability
    assert (predict(kindred, records, heredity).reliability >= before - 1e-9).all()


@given(SEEDS, heredities())
def test_parts_of_a_prediction_sum_to_it(seed: int, heredity: Heredity) -> None:
    ancestry = ancestry_of(tangled_pedigree(seed, BIRDS))
    records = random_records(seed, BIRDS)
    found = predict(kindred_of(ancestry), records, heredity)
    for bird in range(BIRDS):
        parts = origin(bird, found, records, ancestry)
        assert abs(parts.total - found.values[bird]) < 1e-9
        assert sum(part.scores for part in parts.parts.values()) == len(records.birds)
        assert sum(part.birds for part in parts.parts.values()) == len(np.unique(records.birds))
