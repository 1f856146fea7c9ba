"""The kinship matrix against path counting in exact fractions."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths import common_ancestors
from matchmaker.genetics.kin.wright_paths import wright_paths
from tests.kinship_helpers import with_clutches, with_unknown_sexes
from tests.oracle.kinship_paths import Choice, Family, Paths, kinship_by_genes, mean_kinship
from tests.strategies import BREEDS, Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Links, Pedigree

CERTAIN = Shape(birds=12, founders=3, uncertain=0.0)
UNCERTAIN = Shape(birds=8, founders=4, uncertain=0.5)
CLUTCHES = Shape(birds=8, founders=3, uncertain=0.4)


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


def family_of(pedigree: Pedigree) -> Family:
    return {bird: (s[0][0], d[0][0]) for bird, (s, d) in choices(pedigree).items()}


def sexes_of(pedigree: Pedigree) -> dict[str, str]:
    return {bird: str(sex) for bird, sex in zip(pedigree.birds, pedigree.sexes, strict=True)}


def clutches_of(pedigree: Pedigree) -> dict[str, int]:
    pairs = zip(pedigree.birds, pedigree.clutches, strict=True)
    return {bird: clutch for bird, clutch in pairs if clutch is not None}


@pytest.mark.parametrize("z_linked", [False, True])
@pytest.mark.parametrize("seed", range(30))
def test_certain_pedigrees_match_path_counting_exactly(seed: int, *, z_linked: bool) -> None:
    pedigree = pedigree_by_seed(seed, CERTAIN)
    paths = Paths(family_of(pedigree), sexes_of(pedigree) if z_linked else None)
    found = kinship_matrix(pedigree, z_linked=z_linked)
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


@pytest.mark.parametrize("seed", range(20))
def test_chicks_of_a_clutch_have_one_sire_and_one_dam(seed: int) -> None:
    pedigree = with_clutches(pedigree_by_seed(seed, CLUTCHES), seed)
    found = kinship_matrix(pedigree)
    for pair, mean in mean_kinship(choices(pedigree), clutches_of(pedigree)).items():
        assert Fraction(found.between(*pair)) == mean


@pytest.mark.parametrize("seed", range(10))
def test_on_the_z_with_clutches_and_unknown_sexes(seed: int) -> None:
    clutches = with_clutches(pedigree_by_seed(seed, CLUTCHES), seed)
    pedigree = with_unknown_sexes(clutches)
    sexes = {**sexes_of(clutches), pedigree.birds[-1]: None, pedigree.birds[-2]: None}
    found = kinship_matrix(pedigree, z_linked=True)
    for pair, mean in mean_kinship(choices(pedigree), clutches_of(pedigree), sexes).items():
        assert Fraction(found.between(*pair)) == mean


def test_the_random_clutches_hold_what_makes_them_differ() -> None:
    """Some clutches have several possible parents, some a parent nobody wrote down."""
    mixed = unwritten = 0
    for seed in range(20):
        pedigree = with_clutches(pedigree_by_seed(seed, CLUTCHES), seed)
        for at, clutch in enumerate(pedigree.clutches):
            for links in (pedigree.sires[at], pedigree.dams[at]):
                mixed += clutch is not None and len(links) > 1
                unwritten += clutch is not None and links[0][0] < len(BREEDS)
    assert mixed > 10
    assert unwritten > 10


@pytest.mark.parametrize("seed", range(30))
def test_common_ancestors_are_those_of_the_paths(seed: int) -> None:
    pedigree = pedigree_by_seed(seed, CERTAIN)
    paths = Paths(family_of(pedigree))
    for first in pedigree.birds[-3:]:
        for second in pedigree.birds[:-3]:
            parts = common_ancestors(pedigree, first, second)
            found = {part.band: Fraction(part.kinship) for part in parts}
            assert found == paths.by_ancestor(first, second)


@pytest.mark.parametrize("seed", range(30))
def test_paths_are_those_of_wright_to_the_last_fraction(seed: int) -> None:
    pedigree = pedigree_by_seed(seed, CERTAIN)
    paths = Paths(family_of(pedigree))
    for first in pedigree.birds[-3:]:
        for second in pedigree.birds[:-3]:
            kinship = paths.kinship(first, second)
            found = wright_paths(pedigree, first, second, kinship, most=10**6)
            assert {(one.first, one.second): one.kinship for one in found.listed} == paths.each(
                first, second
            )
            assert found.others == found.before == 0


FAMILIES: dict[str, Family] = {
    "two full sibs and their chicks": {
        "A": (None, None),
        "B": (None, None),
        "C": ("A", "B"),
        "D": ("A", "B"),
        "E": ("C", "D"),
        "F": ("C", "D"),
    },
    "back to the sire": {
        "A": (None, None),
        "B": (None, None),
        "D": ("A", "B"),
        "F": ("A", "D"),
        "G": ("A", "F"),
    },
    "half sibs with half founders": {
        "A": (None, None),
        "C": ("A", None),
        "D": ("A", None),
        "E": ("C", "D"),
        "F": (None, "D"),
    },
}
SEXES = dict.fromkeys("ACEG", "cock") | dict.fromkeys("BDF", "hen")


@pytest.mark.parametrize("sexes", [None, SEXES], ids=["autosome", "z"])
@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_the_oracle_counts_what_genes_do(family: Family, sexes: dict[str, str] | None) -> None:
    paths = Paths(family, sexes)
    for pair, kinship in kinship_by_genes(family, sexes).items():
        assert paths.kinship(*pair) == kinship


def test_the_oracle_knows_full_sibs_and_their_chick() -> None:
    """Hand-worked: full sibs 1/4, the chick of two of them 1/4 inbred, self-kinship 5/8."""
    paths = Paths(FAMILIES["two full sibs and their chicks"])
    assert paths.kinship("C", "D") == Fraction(1, 4)
    assert paths.kinship("E", "E") == Fraction(5, 8)
    assert paths.kinship("E", "A") == Fraction(1, 4)
