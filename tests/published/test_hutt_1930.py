"""Hutt 1930, J Genet 22:109 (summary read): frizzle is incompletely dominant, not lethal."""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence
from tests.published.crosses import chicks

FRIZZLE = catalogue()["F"]


def test_frizzle_by_normal_is_one_to_one() -> None:
    assert chicks(FRIZZLE, "F1-COCK", "PLAIN-HEN", "hen") == (1 / 2, 1 / 2, 0.0)


@pytest.mark.parametrize("sex", ["cock", "hen"])
def test_frizzle_by_frizzle_is_one_two_one_in_both_sexes(sex: str) -> None:
    """Extreme to ordinary as 1:2, not sex-linked, no class missing."""
    assert chicks(FRIZZLE, "F1-COCK", "F1-HEN", sex) == (1 / 4, 1 / 2, 1 / 4)


@pytest.mark.parametrize(("words", "certain"), [("extreme", 2), ("ordinary frizzle", 1)])
def test_extremes_are_homozygous_and_ordinary_frizzles_are_not(words: str, certain: int) -> None:
    """Five extremes proved homozygous, eighteen ordinary ones heterozygous."""
    flock = pedigree("Q cock donor donor", "W hen donor donor", "C hen Q W")
    told = evidence(flock, FRIZZLE, {"C": words})
    assert genotype_probabilities(flock, FRIZZLE, told, "recurrent").of("C")[certain] == 1.0
