"""Hill 1993, J Hered 84:212: how the donor's share varies among birds of one backcross.

The paper itself was not read. The formula for a chromosome of l Morgans after t backcrosses,

    4⁻⁽ᵗ⁺¹⁾ Σₙ C(t, n) [2nl − 1 + e⁻²ⁿˡ] / (2 n² l²),

was read on a page of formulas that cites Frisch & Melchinger 2007 and Melchinger et al. 2010, TAG
120:311, and derived again apart from this project; the decimals are our own arithmetic from it.
"""

from __future__ import annotations

from math import comb, exp

import pytest

from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.spread import share_spread
from tests.descent_helpers import backcross_chain

BACKCROSSES = 7
CHAIN = backcross_chain(BACKCROSSES)
BIRDS = [f"X{at}" for at in range(1, BACKCROSSES + 1)]


def variance(backcrosses: int, length: float) -> float:
    """Return the closed form."""
    terms = [
        comb(backcrosses, n) * (2 * n * length - 1 + exp(-2 * n * length)) / (2 * (n * length) ** 2)
        for n in range(1, backcrosses + 1)
    ]
    return float(sum(terms) / 4 ** (backcrosses + 1))


VARIANCES = (0.035479, 0.023635, 0.012159, 0.005727)
"""Of the donor's share on a chromosome of 1 Morgan, by backcross."""

EVEN = GenomeMap(lengths={str(at): 3054 / 31 for at in range(31)})
"""A map of 30.54 Morgans cut evenly."""

DEVIATIONS = (0.0340, 0.0277, 0.0199, 0.0137, 0.0092)
"""Of the share over ``EVEN``, by backcross."""


@pytest.mark.parametrize("length", [0.3, 1.0, 4.3])
def test_one_chromosome(length: float) -> None:
    found = share_spread(CHAIN, "donor", BIRDS, GenomeMap(lengths={"1": 100 * length}))
    for backcrosses, bird in enumerate(BIRDS, 1):
        assert found[bird] ** 2 == pytest.approx(variance(backcrosses, length), abs=1e-12)


def test_one_morgan() -> None:
    found = share_spread(CHAIN, "donor", BIRDS, GenomeMap(lengths={"1": 100.0}))
    assert [round(found[bird], 4) for bird in BIRDS[:4]] == [0.1884, 0.1537, 0.1103, 0.0757]
    assert tuple(round(found[bird] ** 2, 6) for bird in BIRDS[:4]) == VARIANCES


def test_31_equal_chromosomes() -> None:
    """A map of 30.54 Morgans cut evenly; real chromosomes are uneven, which spreads more."""
    found = share_spread(CHAIN, "recurrent", BIRDS, EVEN)
    assert tuple(round(found[bird], 4) for bird in BIRDS[:5]) == DEVIATIONS
    real = share_spread(CHAIN, "recurrent", BIRDS)
    assert all(real[bird] > found[bird] for bird in BIRDS)
