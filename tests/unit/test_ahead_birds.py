from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.loci.inheritance import Inheritance
from tests.ahead_birds import AUTOSOMAL, nature, unrelated

RNG = np.random.default_rng(1)


def test_birds_are_taken_by_number_or_by_mark() -> None:
    birds = unrelated(6, nature(), RNG)
    assert birds.take(np.array([4, 1])).values.tolist() == birds.values[[4, 1]].tolist()
    hens = birds.take(birds.hens)
    assert len(hens) == 3
    assert hens.hens.all()


def test_birds_are_joined_in_order() -> None:
    birds = unrelated(4, nature(), RNG)
    both = birds.take(np.array([0, 1])).joined(birds.take(np.array([2, 3])))
    for name in ("hens", "bits", "alleles", "values", "lasting"):
        assert np.array_equal(getattr(both, name), getattr(birds, name))


def test_copies_are_those_of_the_named_allele_and_a_hen_has_one_z() -> None:
    """Every bird has alleles 0 and 1, a hen on the Z only that of strand 0."""
    of = nature()
    birds = unrelated(2, of, RNG)
    assert of.copies(birds).tolist() == [[1, 1], [1, 0]]
    assert of.copies(unrelated(2, of, RNG, alleles=(1, 1))).tolist() == [[2, 2], [2, 1]]


def test_of_a_series_the_named_allele_is_counted() -> None:
    of = nature(inheritances=(Inheritance(z_linked=False, alleles=4, named=2),))
    assert of.copies(unrelated(1, of, RNG, alleles=(3, 2))).tolist() == [[1]]


@pytest.mark.parametrize(
    ("inheritance", "alleles", "living"),
    [
        (Inheritance(z_linked=False, dies=(2,)), (1, 1), [False, False]),
        (Inheritance(z_linked=False, dies=(2,)), (0, 1), [True, True]),
        # a hen's only allele on the Z counts as two
        (Inheritance(z_linked=True, dies=(2,)), (1, 0), [True, False]),
    ],
)
def test_who_cannot_live_is_told(
    inheritance: Inheritance, alleles: tuple[int, int], living: list[bool]
) -> None:
    of = nature(inheritances=(AUTOSOMAL, inheritance))
    assert of.can_live(unrelated(2, of, RNG, alleles=alleles)).tolist() == living


@pytest.mark.parametrize(
    ("strands", "labels", "level"),
    [
        ((True, True), (0, 1), 50.0),
        ((False, False), (0, 1), 50.0 - 10.0),
        # a first cross: half the difference of the breeds, and all the vigour
        ((True, False), (0, 1), 50.0 - 5.0 + 3.0),
        # the same founder strand twice: inbred throughout
        ((True, True), (1, 1), 50.0 - 8.0),
    ],
)
def test_a_birds_level_follows_from_its_own_strands(
    strands: tuple[bool, bool], labels: tuple[int, int], level: float
) -> None:
    of = nature(slopes=(10.0, 3.0, -8.0))
    birds = unrelated(3, of, RNG, recurrent=strands, labels=labels)
    assert of.levels(birds) == pytest.approx(level + birds.values + birds.lasting)


def test_genetic_sds_are_roots_of_the_variances() -> None:
    assert nature([[4.0, 1.0], [1.0, 9.0]]).genetic_sd.tolist() == [2.0, 3.0]
