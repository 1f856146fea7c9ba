"""Shares of whole genomes dropped through backcrosses, beside published expectation and spread.

Variance of the donor's share on a chromosome: Hill 1993 (J Hered 84:212; citation from memory),
formula read on a page that cites Frisch & Melchinger 2007 and Melchinger et al. 2010 (TAG
120:311). Length of the map, 3,054 cM over 31 groups: Elferink et al. 2010 (BMC Genetics 11:11),
abstract; the spread over 31 equal chromosomes is own arithmetic from the two. Donor's piece of 32
cM about a gene in the middle of 100 cM after six backcrosses: Stam & Zeven 1981 (Euphytica 30:227),
abstract; the other generations, and the shares of carriers, own arithmetic from the formula of
Naveira & Barbadilla 1992. Mean and spread in a real first backcross of mice: set "hyper" of the R
package qtl (Broman et al. 2003), two figures worked out from the data apart from this project; a
check for size, as the mice were chosen and have interference. Halving the donor's share in each
backcross is Mendel's rule.
"""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.drop.crossovers import held_masks, strand_masks
from matchmaker.genetics.drop.grid import Grid, Reals, Words
from matchmaker.genetics.drop.reading import breed_mixed, recurrent_share, segment
from matchmaker.genetics.drop.strands import founder_strands, gametes
from tests.published.test_broman_2003 import ANIMALS, DEVIATION, MAP, MEAN
from tests.published.test_hill_1993 import DEVIATIONS, VARIANCES, variance
from tests.published.test_hill_1993 import EVEN as EVEN_MAP
from tests.published.test_stam_zeven_1981 import LENGTHS, PRINTED_LENGTH, SHARES

BIRDS = 20_000
EVEN = EVEN_MAP.lengths
STRAND_OF_DONOR = 1


def first_cross(grid: Grid, birds: int = BIRDS) -> Words:
    """Chicks of a cock of the recurrent breed, whose strand is 0, and a hen of the donor breed."""
    one = founder_strands(grid, np.array([[0, 1]]), np.array([[True, False]]), 2)
    return np.repeat(one, birds, axis=0)


def backcrossed(grid: Grid, birds: Words, masks: Words) -> Words:
    """Chicks of a recurrent cock and each of the birds, of which each gives the masked gamete."""
    chicks = np.empty_like(birds)
    chicks[:, 0] = founder_strands(grid, np.array([[0, 0]]), np.ones((1, 2), dtype=bool), 2)[0, 0]
    chicks[:, 1] = gametes(birds, masks)
    return chicks


def all_birds(grid: Grid, generations: int, seed: int, birds: int = BIRDS) -> list[Words]:
    """First cross and backcrosses, hens and cocks as they come."""
    rng = np.random.default_rng(seed)
    found = [first_cross(grid, birds)]
    for _ in range(generations):
        found.append(backcrossed(grid, found[-1], strand_masks(grid, birds, rng)))
    return found


def carriers(grid: Grid, generations: int, seed: int, birds: int = BIRDS) -> list[Words]:
    """The same where only birds with the donor's allele at the one place asked for are kept."""
    rng = np.random.default_rng(seed)
    found = [first_cross(grid, birds)]
    held = np.full((birds, 1), STRAND_OF_DONOR, dtype=np.int8)
    for _ in range(generations):
        found.append(backcrossed(grid, found[-1], held_masks(grid, birds, rng, held)))
    return found


def misses(sample: Reals, expected: float) -> float:
    """Distance of a mean from what is expected, in standard errors."""
    return float(abs(sample.mean() - expected) / (sample.std() / len(sample) ** 0.5 + 1e-12))


def deviation_misses(sample: Reals, expected: float) -> float:
    """The same for the standard deviation."""
    return misses((sample - sample.mean()) ** 2, expected**2)


def test_the_donors_share_halves() -> None:
    grid = Grid.of(EVEN)
    for generation, birds in enumerate(all_birds(grid, 6, 1)):
        expected = 1 - 0.5 ** (generation + 1)
        assert misses(recurrent_share(grid, birds), expected) < 5
        assert misses(breed_mixed(grid, birds), 0.5**generation) < 5


def test_variance_on_one_chromosome() -> None:
    """A chromosome of 1 Morgan; as printed .035479, .023635, .012159, .005727."""
    grid = Grid.of({"1": 100.0}, spacing=2)
    for backcrosses, birds in enumerate(all_birds(grid, 4, 2)[1:], 1):
        expected = variance(backcrosses, 1.0)
        assert expected == pytest.approx(VARIANCES[backcrosses - 1], abs=5e-7)
        shares = recurrent_share(grid, birds)
        assert deviation_misses(shares, expected**0.5) < 5
        assert shares.var() / expected == pytest.approx(1, abs=0.12)


def test_spread_over_31_equal_chromosomes() -> None:
    grid = Grid.of(EVEN)
    for birds, deviation in zip(all_birds(grid, 5, 3)[1:], DEVIATIONS, strict=True):
        shares = recurrent_share(grid, birds)
        assert deviation_misses(shares, deviation) < 5
        assert shares.std() == pytest.approx(deviation, rel=0.05)
    first = recurrent_share(grid, all_birds(grid, 1, 4)[1])
    assert np.quantile(first, [0.025, 0.975]) == pytest.approx([0.683, 0.817], abs=0.006)


def test_donors_piece_about_a_gene_in_the_middle_of_a_chromosome() -> None:
    grid = Grid.of({"1": 100.0}, spacing=1, placed=[("1", 50.0)])
    place = int(grid.placed_at[0])
    for birds, length in zip(carriers(grid, 6, 5)[1:], LENGTHS, strict=True):
        sides = segment(grid, birds[:, STRAND_OF_DONOR], place)
        assert misses(sides.sum(axis=1), length) < 5
        assert sides.sum(axis=1).mean() == pytest.approx(length, rel=0.03)
        assert misses(sides[:, 0], length / 2) < 5
    assert round(LENGTHS[-1]) == PRINTED_LENGTH


def test_carriers_lag_behind_in_their_share() -> None:
    grid = Grid.of(EVEN, placed=[("7", EVEN["7"] / 2)])
    for birds, expected in zip(carriers(grid, 6, 6)[1:], SHARES, strict=True):
        assert misses(recurrent_share(grid, birds), expected) < 5


def test_size_of_mean_and_spread_in_a_real_first_backcross() -> None:
    grid = Grid.of(MAP.lengths)
    shares = recurrent_share(grid, all_birds(grid, 1, 7)[1])
    assert abs(MEAN - shares.mean()) <= 3 * shares.std() / ANIMALS**0.5
    assert abs(DEVIATION - shares.std()) <= 3 * shares.std() / (2 * ANIMALS) ** 0.5
