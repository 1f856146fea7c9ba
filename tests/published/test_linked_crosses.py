"""Backcrosses of linked genes worked through by the engine, beside what was counted.

Landauer, Creeper V, J Genet (abstract read): 24 recombinants (0.36 per cent) among 6,627 chicks.
The three-point cross of crest, dominant white and frizzle (abstract read; Warren and Hutt 1936,
Am Nat 70, from memory): 12.5, 17.1 and 29.4 per cent, no double crossover in 284 chicks.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

BACKCROSS = pedigree(
    "A cock donor donor",
    "R hen recurrent recurrent",
    "F1 cock A R",
    "R2 hen recurrent recurrent",
)
COUPLED = {"donor": 1.0, "recurrent": 0.0}


def backcross(one: str, two: str, recombination: float | None = None) -> NDArray[np.float64]:
    """P(copies at one, copies at two) of chicks of a coupling F1 by a bird with neither gene.

    With the catalogue's recombination unless another is given.
    """
    loci = [replace(catalogue()[symbol], frequency=COUPLED, dies=()) for symbol in (one, two)]
    if recombination is not None:
        loci[0] = replace(loci[0], linked_to=two, recombination=recombination)
    found = linked_genotypes(BACKCROSS, (loci[0], loci[1]), ((), ()), "recurrent")
    sons: NDArray[np.float64] = found.chicks(["R2"], ["F1"]).sons[0, 0]
    return sons


def recombinant(one: str, two: str) -> float:
    table = backcross(one, two)
    return float(table[0, 1] + table[1, 0])


LANDAUER = (6627, 24, 23.9)
"""Backcross chicks, recombinants counted, and recombinants expected at the printed rate."""

THREE_POINTS = (("Cr", "I", 12.5), ("I", "F", 17.1), ("Cr", "F", 29.4))
"""Pairs of crest, dominant white and frizzle, and how often they part, in per cent."""


def test_landauers_creepers_by_single_comb() -> None:
    chicks, _, expected = LANDAUER
    assert round(chicks * recombinant("R", "Cp"), 1) == expected


@pytest.mark.parametrize(("percent", "of"), [(0.57, "hens"), (0.13, "cocks")])
def test_landauers_rates_of_each_sex_bracket_the_one_that_is_used(percent: float, of: str) -> None:
    table = backcross("R", "Cp", percent / 100)
    found = float(table[0, 1] + table[1, 0])
    assert found == pytest.approx(percent / 100)
    assert (found > recombinant("R", "Cp")) == (of == "hens")


@pytest.mark.parametrize(("one", "two", "percent"), THREE_POINTS)
def test_each_pair_of_the_three_points_parts_as_printed(one: str, two: str, percent: float) -> None:
    table = backcross(one, two)
    assert 100 * recombinant(one, two) == pytest.approx(percent)
    assert table[0, 1] == table[1, 0]
    assert table[0, 0] == table[1, 1] == pytest.approx((100 - percent) / 200)


def test_crossovers_drawn_apart_fall_short_of_the_outer_pair() -> None:
    """Without interference (Haldane) the outer pair would part in 25.3 per cent, not in 29.4."""
    left, right = recombinant("Cr", "I"), recombinant("I", "F")
    apart = left * (1 - right) + (1 - left) * right
    assert round(100 * apart, 1) == 25.3
    assert apart < recombinant("Cr", "F") < left + right


def test_no_double_crossover_is_unlikely_without_interference() -> None:
    """6.07 expected among 284; none was seen, which has a chance of 0.0022."""
    double = recombinant("Cr", "I") * recombinant("I", "F")
    assert round(284 * double, 2) == 6.07
    assert round((1 - double) ** 284, 4) == 0.0022
