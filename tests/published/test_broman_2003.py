"""Shares in a real first backcross: the set "hyper" of the R package qtl (Broman et al. 2003).

250 mice, of which 92 have at least nine tenths of the autosomal map of 12.488 Morgans typed: mean
recurrent share .75469, standard deviation .04232, worked out from Debian's r-cran-qtl 1.58 apart
from this project. Only these figures are carried; the data are not. The lengths of the 19
chromosomes are not carried either, so they are taken as equal, which spreads a little less. The
animals were chosen by their trait, and mice have interference: a check for size, not for digits.
The citation (Bioinformatics 19:889) is from memory.
"""

from __future__ import annotations

from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.spread import share_ranges
from tests.descent_helpers import backcross_chain

ANIMALS = 92
MEAN, DEVIATION = 0.75469, 0.04232
MAP = GenomeMap(lengths={str(at): 1248.8 / 19 for at in range(1, 20)})


def test_mean_and_spread_of_a_first_backcross() -> None:
    expected = share_ranges(backcross_chain(1), "recurrent", ["X1"], MAP)["X1"]
    assert abs(MEAN - expected.share) <= 3 * expected.deviation / ANIMALS**0.5
    assert abs(DEVIATION - expected.deviation) <= 3 * expected.deviation / (2 * ANIMALS) ** 0.5
