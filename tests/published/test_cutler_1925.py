"""Cutler 1925, J Hered (abstract read): the creeper gene, lethal in two copies."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.genotypes.chicks import lethal_fraction
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import chicks_of, evidence

CREEPER = catalogue()["Cp"]


def test_a_quarter_of_the_embryos_of_two_creepers_die() -> None:
    joint = np.zeros((3, 3))
    joint[1, 1] = 1.0
    assert lethal_fraction(joint, CREEPER) == 1 / 4


def test_living_chicks_of_two_creepers_are_two_to_one() -> None:
    """Two creepers to one normal among survivors."""
    flock = pedigree("Q cock donor donor", "W hen donor donor", "C hen Q W")
    told = evidence(flock, CREEPER, {"Q": "creeper", "W": "creeper"})
    found = genotype_probabilities(flock, CREEPER, told, "recurrent")
    assert found.of("C").tolist() == pytest.approx([1 / 3, 2 / 3, 0.0])


def test_creeper_by_normal_is_one_to_one() -> None:
    assert chicks_of("Cp", 1, 0).sons.tolist() == [1 / 2, 1 / 2, 0.0]
