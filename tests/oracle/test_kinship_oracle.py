"""The kinship matrix against path counting in exact fractions."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.kinship import kinship_matrix
from tests.oracle.kinship_paths import Choice, Paths, mean_kinship
from tests.strategies import BREEDS, Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Links, Pedigree

CERTAIN = Shape(birds=12, founders=3, uncertain=0.0)
UNCERTAIN = Shape(birds=8, founders=4, uncertain=0.5)


def choices(pedigree: Pedigree) -> dict[str, tuple[Choice, Choice]]:
    """Return the possible parents by band; founders' gametes are all unrelated."""
    names = [*[None] * len(BREEDS), *pedigree.birds]

    def side(links: Links) -> Choice:
        summed: dict[str | None, Fraction] = {}
        for node, chance in links:
            summed[names[node]] = summed.get(names[node], Fraction(0)) + Fraction(chance)
        return tuple(summed.items())

    sides = zip(pedigree.birds, pedigree.sires, pedigree.dams, strict=True)
    return {bird: (side(sires), side(dams)) for bird, sires, dams in sides}


@pytest.mark.parametrize("seed", range(30))
def test_certain_pedigrees_match_path_counting_exactly(seed: int) -> None:
    pedigree = pedigree_by_seed(seed, CERTAIN)
    family = {bird: (s[0][0], d[0][0]) for bird, (s, d) in choices(pedigree).items()}
    paths, found = Paths(family), kinship_matrix(pedigree)
    for first in pedigree.birds:
        for second in pedigree.birds:
            assert Fraction(found.between(first, second)) == paths.kinship(first, second)


def test_the_random_pedigrees_hold_inbred_common_ancestors() -> None:
    """Else the factor (1 + F) of the paths would go untested."""
    inbred_parents = 0
    for seed in range(30):
        pedigree = pedigree_by_seed(seed, CERTAIN)
        inbreeding = kinship_matrix(pedigree).inbreeding()
        named = {p for s, d in choices(pedigree).values() for p in (s[0][0], d[0][0]) if p}
        inbred_parents += sum(inbreeding[parent] > 0 for parent in named)
    assert inbred_parents > 30


@pytest.mark.parametrize("seed", range(20))
def test_uncertain_parents_give_the_mean_over_all_realisations(seed: int) -> None:
    pedigree = pedigree_by_seed(seed, UNCERTAIN)
    found = kinship_matrix(pedigree)
    for pair, mean in mean_kinship(choices(pedigree)).items():
        assert Fraction(found.between(*pair)) == mean


def test_the_oracle_knows_full_sibs_and_their_chick() -> None:
    """Hand-worked: full sibs 1/4, the chick of two of them 1/4 inbred, self-kinship 5/8."""
    paths = Paths(
        {
            "A": (None, None),
            "B": (None, None),
            "C": ("A", "B"),
            "D": ("A", "B"),
            "E": ("C", "D"),
        }
    )
    assert paths.kinship("C", "D") == Fraction(1, 4)
    assert paths.kinship("E", "E") == Fraction(5, 8)
    assert paths.kinship("E", "A") == Fraction(1, 4)
