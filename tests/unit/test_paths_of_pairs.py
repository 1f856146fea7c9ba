"""The greatest paths of many pairs at once: those that are listed one pair at a time."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths_of_pairs import PathsOfPair, bands_of, paths_of_pairs
from matchmaker.genetics.kin.wright_paths import Path as OnePath
from matchmaker.genetics.kin.wright_paths import wright_paths
from tests.descent_helpers import FAMILY
from tests.kinship_helpers import with_clutches
from tests.strategies import RELATED, Shape, pedigree_by_seed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Pedigree

EXAMPLES = Path(__file__).parents[2] / "examples"
ALL = 400
"""More paths than the pedigrees of these tests have."""


def of_pairs(
    family: Pedigree, firsts: Sequence[str], seconds: Sequence[str], most: int
) -> list[list[PathsOfPair]]:
    kinship = kinship_matrix(family, sorted({*firsts, *seconds}))
    known = np.array([[kinship.between(one, two) for two in seconds] for one in firsts])
    return paths_of_pairs(family, firsts, seconds, known, most=most)


def agree(listed: Sequence[OnePath], found: PathsOfPair, most: int) -> None:
    """The same parts in the same order, and all ours among those listed, ways and all."""
    ours = [(bands_of(one.first), bands_of(one.second)) for one in found.listed]
    known = {(path.first, path.second): path for path in listed}
    assert len(ours) == len(set(ours)) == min(most, len(listed))
    parts = [float(path.kinship) for path in listed[:most]]
    assert [one.kinship for one in found.listed] == pytest.approx(parts, abs=1e-12)
    for ways, one in zip(ours, found.listed, strict=True):
        assert one.kinship == pytest.approx(float(known[ways].kinship), abs=1e-12)
        assert one.chance == pytest.approx(float(known[ways].chance), abs=1e-12)


def compare(family: Pedigree, firsts: Sequence[str], seconds: Sequence[str], most: int = 6) -> None:
    kinship = kinship_matrix(family, sorted({*firsts, *seconds}))
    for one, row in zip(firsts, of_pairs(family, firsts, seconds, most), strict=True):
        for two, found in zip(seconds, row, strict=True):
            total = kinship.between(one, two)
            slow = wright_paths(family, one, two, Fraction(total), most=ALL)
            agree(slow.listed, found, most)
            assert found.before == pytest.approx(float(slow.before), abs=1e-12)
            named = sum(path.kinship for path in found.listed)
            assert found.before + found.others + named == pytest.approx(total, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_random_pedigrees_with_uncertain_parents(seed: int) -> None:
    family = pedigree_by_seed(seed, Shape(birds=20, founders=6, bases=RELATED))
    compare(family, family.birds[12:], family.birds[10:])


@pytest.mark.parametrize("seed", range(4))
def test_clutches_have_one_unknown_parent_between_them(seed: int) -> None:
    family = pedigree_by_seed(seed, Shape(birds=16, founders=5, uncertain=0.5, bases=RELATED))
    family = with_clutches(family, seed)
    compare(family, family.birds[9:], family.birds[9:])


@pytest.mark.parametrize("most", [1, 2, 6])
def test_the_greatest_are_kept_however_many_are_asked_for(most: int) -> None:
    compare(FAMILY, FAMILY.birds, FAMILY.birds, most)


@pytest.mark.parametrize("name", ["skarn-farm", "tarn-croft"])
def test_pairs_of_the_examples(name: str) -> None:
    table = verbs.pairs(EXAMPLES / name)
    hens = sorted({pair.hen for pair in table.pairs})
    cocks = sorted({pair.cock for pair in table.pairs})
    compare(table.study.flock.pedigree, hens[::5], cocks[::3])


def test_no_birds_have_no_paths() -> None:
    assert of_pairs(FAMILY, [], ["A"], 6) == []
    assert of_pairs(FAMILY, ["A"], [], 6) == [[]]


def test_a_bird_that_is_not_in_the_pedigree_is_refused() -> None:
    with pytest.raises(KeyError):
        paths_of_pairs(FAMILY, ["A"], ["nobody"], np.zeros((1, 1)))


def test_a_long_line_needs_no_deep_stack() -> None:
    """One bird out of the other, two thousand times: deeper than Python would recurse."""
    birds = 2_400
    family = pedigree_by_seed(1, Shape(birds=2, founders=2))
    first = family.first_bird
    line = tuple(((first + at - 1, 1.0),) if at > 1 else ((0, 1.0),) for at in range(birds))
    pools = (((0, 1.0),),) * birds
    long = replace(
        family,
        birds=tuple(f"B{at:04}" for at in range(birds)),
        sexes=(None,) * birds,
        sires=line,
        dams=pools,
    )
    [[found]] = paths_of_pairs(long, ["B2399"], ["B0001"], np.array([[0.0]]))
    assert len(bands_of(found.listed[0].first)) == birds - 1
