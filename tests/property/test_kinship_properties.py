"""Laws of kinship and share that hold in every pedigree."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths import Shared, common_ancestors
from matchmaker.genetics.kin.wright_paths import wright_paths
from matchmaker.genetics.shares.share import breed_shares
from tests.kinship_helpers import with_clutches
from tests.strategies import BREEDS, RELATED, Shape, pedigrees, with_chick

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.kin.paths import Contribution

ANY = pedigrees(Shape(birds=14, founders=4, bases=RELATED))
CERTAIN = pedigrees(Shape(birds=14, founders=4, uncertain=0.0, bases=RELATED))
CLUTCHES = ANY.flatmap(lambda one: st.integers(0, 10**6).map(lambda at: with_clutches(one, at)))


@given(ANY)
def test_kinship_is_symmetric_and_a_probability(pedigree: Pedigree) -> None:
    values = kinship_matrix(pedigree).values
    assert np.array_equal(values, values.T)
    assert ((values >= 0) & (values <= 1)).all()
    assert (values.diagonal() >= 0.5).all()


@given(CERTAIN)
def test_kinship_is_positive_semidefinite(pedigree: Pedigree) -> None:
    assert np.linalg.eigvalsh(kinship_matrix(pedigree).values).min() > -1e-12


@given(ANY)
def test_kinship_with_uncertain_parents_is_positive_semidefinite(pedigree: Pedigree) -> None:
    assert np.linalg.eigvalsh(kinship_matrix(pedigree).values).min() > -1e-12


@given(CLUTCHES, st.booleans())
def test_with_clutches_and_on_the_z_too(pedigree: Pedigree, z_linked: bool) -> None:  # noqa: FBT001
    values = kinship_matrix(pedigree, z_linked=z_linked).values
    assert np.array_equal(values, values.T)
    assert ((values >= 0) & (values <= 1)).all()
    assert np.linalg.eigvalsh(values).min() > -1e-12


@given(CLUTCHES)
def test_clutch_mates_are_closer_kin_than_birds_drawn_apart(pedigree: Pedigree) -> None:
    apart = replace(pedigree, clutches=())
    together = kinship_matrix(pedigree).values
    assert (together >= kinship_matrix(apart).values - 1e-15).all()


@given(CLUTCHES, st.integers(0, 13), st.integers(0, 13))
def test_parts_of_common_ancestors_sum_to_kinship(
    pedigree: Pedigree, first: int, second: int
) -> None:
    bands = pedigree.birds[first], pedigree.birds[second]
    parts = common_ancestors(pedigree, *bands)
    kinship = kinship_matrix(pedigree).between(*bands)
    assert sum(part.kinship for part in parts) == pytest.approx(kinship, abs=1e-12)
    assert all(part.kinship > 0 for part in parts)
    assert all((part.shared is Shared.BIRD) == bool(part.band) for part in parts)


@given(CLUTCHES, st.integers(0, 13), st.integers(0, 13))
def test_common_ancestors_are_the_same_from_either_side(
    pedigree: Pedigree, first: int, second: int
) -> None:
    bands = pedigree.birds[first], pedigree.birds[second]
    there, back = (common_ancestors(pedigree, *pair) for pair in (bands, bands[::-1]))
    assert sorted(map(_without_kinship, there)) == sorted(map(_without_kinship, back))
    assert [part.kinship for part in there] == pytest.approx([part.kinship for part in back])


def _without_kinship(part: Contribution) -> tuple[object, ...]:
    length = sum(part.generations)
    return (part.shared, part.band, part.pools, length, part.certain)


@given(ANY, st.integers(0, 13), st.integers(0, 13))
def test_a_descendant_changes_nothing_and_is_as_inbred_as_its_parents_are_kin(
    pedigree: Pedigree, sire: int, dam: int
) -> None:
    before = kinship_matrix(pedigree)
    grown = with_chick(pedigree, "CHICK", len(BREEDS) + sire, len(BREEDS) + dam)
    after = kinship_matrix(grown)
    assert after.values[:-1, :-1] == pytest.approx(before.values, abs=1e-15)
    assert after.inbreeding()["CHICK"] == pytest.approx(before.values[sire, dam], abs=1e-15)


@given(ANY, st.sets(st.integers(0, 13), min_size=1))
def test_ancestors_alone_decide(pedigree: Pedigree, chosen: set[int]) -> None:
    whole = kinship_matrix(pedigree).values
    bands = [pedigree.birds[at] for at in sorted(chosen, reverse=True)]
    at = [pedigree.birds.index(band) for band in bands]
    part = kinship_matrix(pedigree, bands)
    assert part.birds == tuple(bands)
    assert part.values == pytest.approx(whole[np.ix_(at, at)], abs=1e-15)


@given(ANY, st.integers(0, 10**6))
def test_the_order_of_unrelated_rows_changes_nothing(pedigree: Pedigree, seed: int) -> None:
    turned = _reordered(pedigree, random.Random(seed))  # noqa: S311
    first, second = kinship_matrix(pedigree), kinship_matrix(turned, pedigree.birds)
    assert second.values == pytest.approx(first.values, abs=1e-15)


def _reordered(pedigree: Pedigree, rng: random.Random) -> Pedigree:
    """Put the birds into another order with parents first."""
    pools, order = len(BREEDS), list[int]()
    while len(order) < len(pedigree.birds):
        ready = [
            at
            for at in range(len(pedigree.birds))
            if at not in order
            and all(
                node < pools or node - pools in order
                for node, _ in (*pedigree.sires[at], *pedigree.dams[at])
            )
        ]
        order.append(rng.choice(ready))
    node = {node: node for node in range(pools)}
    node |= {pools + old: pools + new for new, old in enumerate(order)}

    def moved(links: Links) -> Links:
        return tuple(sorted((node[at], chance) for at, chance in links))

    return replace(
        pedigree,
        birds=tuple(pedigree.birds[at] for at in order),
        sexes=tuple(pedigree.sexes[at] for at in order),
        sires=tuple(moved(pedigree.sires[at]) for at in order),
        dams=tuple(moved(pedigree.dams[at]) for at in order),
    )


@given(ANY)
def test_higher_bases_never_lower_kinship(pedigree: Pedigree) -> None:
    unrelated = replace(pedigree, bases=((0.0,) * 3,) * 3)
    assert (kinship_matrix(pedigree).values >= kinship_matrix(unrelated).values).all()


@given(ANY)
def test_shares_are_shares_and_sum_to_one(pedigree: Pedigree) -> None:
    breeds, shares = breed_shares(pedigree)
    assert breeds == ("araucana", "sussex")
    assert (shares >= 0).all()
    assert shares.sum(axis=1) == pytest.approx(1.0, abs=1e-15)


@given(ANY, st.integers(0, 13), st.integers(0, 13))
def test_a_chick_has_the_mean_share_of_its_parents(pedigree: Pedigree, sire: int, dam: int) -> None:
    grown = with_chick(pedigree, "CHICK", len(BREEDS) + sire, len(BREEDS) + dam)
    shares = breed_shares(grown)[1]
    assert shares[-1] == pytest.approx((shares[sire] + shares[dam]) / 2)


@given(ANY)
def test_the_matrix_cannot_be_written_to(pedigree: Pedigree) -> None:
    values = kinship_matrix(pedigree).values
    with pytest.raises(ValueError, match="read-only"):
        values[0, 0] = 1.0


@given(CLUTCHES, st.integers(0, 13), st.integers(0, 13))
def test_listed_paths_never_say_more_than_the_kinship(
    pedigree: Pedigree, first: int, second: int
) -> None:
    bands = pedigree.birds[first], pedigree.birds[second]
    kinship = Fraction(float(kinship_matrix(pedigree).between(*bands)))
    found = wright_paths(pedigree, *bands, kinship, most=5)
    assert all(path.kinship > 0 for path in found.listed)
    assert all((path.first[0], path.second[0]) == bands for path in found.listed)
    assert found.others > -1e-12
    whole = wright_paths(pedigree, *bands, kinship, most=10**6)
    assert float(whole.others) == pytest.approx(0.0, abs=1e-12)
