"""Shares of the recurrent breed and the donor's piece, reckoned and dropped gene by gene."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import recurrent_share, segment
from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.segment import donor_segments
from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.genetics.shares.spread import carrier_shares, share_ranges, share_spread
from tests.descent_helpers import backcross_chain
from tests.published import (
    test_broman_2003,
    test_gene_drop_shares,
    test_hill_1993,
    test_stam_zeven_1981,
)
from tests.validation.checks import Effort, Near, Origin, Section, Standing, mean_and_error
from tests.validation.plots import about, by_generation

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tests.validation.checks import Check, Figure

    Words = NDArray[np.uint64]

HILL = Origin(source="published/test_hill_1993.py", standing=Standing.OWN)
PIECE, PIECE_OWN = (
    Origin(source="published/test_stam_zeven_1981.py", standing=standing)
    for standing in (Standing.READ, Standing.OWN)
)
DROPPED = Origin(source="published/test_gene_drop_shares.py", standing=Standing.OWN)
GENERATIONS = 6
SPACING = 1.0
"""cM between the places at which a piece can be seen to end."""


@dataclass(frozen=True, kw_only=True)
class Series:
    """Figures by backcross, the first being that of the first one, and their standard errors."""

    means: tuple[float, ...]
    errors: tuple[float, ...]

    @classmethod
    def of(cls, samples: Sequence[NDArray[np.float64]]) -> Series:
        """The means of samples."""
        found = [mean_and_error(sample) for sample in samples]
        return cls(means=tuple(m for m, _ in found), errors=tuple(e for _, e in found))


@dataclass(frozen=True, kw_only=True)
class Dropped:
    """Birds of six backcrosses dropped gene by gene, as they come and with the gene kept."""

    shares: tuple[NDArray[np.float64], ...]
    carriers: tuple[NDArray[np.float64], ...]
    pieces: tuple[NDArray[np.float64], ...]


def section(effort: Effort) -> Section:
    """Shares and the donor's piece."""
    dropped = _dropped(effort.birds)
    return Section(
        key="shares",
        title="Share of the recurrent breed, and the donor's piece",
        about="What part of a bird's genes is of the recurrent breed after so many backcrosses, "
        "how much birds differ in it, and how much of the donor hangs on around the gene that is "
        "moved. Each is reckoned from the pedigree and, apart from that, found by dropping whole "
        f"genomes through {effort.birds:,} birds.",
        checks=(*_reckoned(), *_compared(dropped)),
        figures=(_figure_of_shares(dropped), _figure_of_pieces(dropped)),
    )


def _dropped(birds: int) -> Dropped:
    even = Grid.of(test_hill_1993.EVEN.lengths)
    arm = test_hill_1993.EVEN.lengths["7"] / 2
    with_gene = Grid.of(test_hill_1993.EVEN.lengths, placed=[("7", arm)])
    one = Grid.of({"1": 100.0}, spacing=SPACING, placed=[("1", 50.0)])
    place = int(one.placed_at[0])
    drop = test_gene_drop_shares
    return Dropped(
        shares=tuple(
            recurrent_share(even, some) for some in drop.all_birds(even, GENERATIONS, 11, birds)
        ),
        carriers=tuple(
            recurrent_share(with_gene, some)
            for some in drop.carriers(with_gene, GENERATIONS, 12, birds)[1:]
        ),
        pieces=tuple(
            segment(one, some[:, drop.STRAND_OF_DONOR], place).sum(axis=1)
            for some in drop.carriers(one, GENERATIONS, 13, birds)[1:]
        ),
    )


def _halved() -> list[float]:
    """1 − ½^(t + 1) for the first cross and each backcross."""
    return [1 - 0.5 ** (t + 1) for t in range(GENERATIONS + 1)]


def _reckoned() -> Iterator[Check]:
    chain = backcross_chain(GENERATIONS)
    birds = [f"X{at}" for at in range(GENERATIONS + 1)]
    shares = recurrent_shares(chain, "recurrent")
    yield Origin(source="published/test_backcross_series.py", standing=Standing.OWN).check(
        "expected share from the first cross to the sixth backcross: 1 − ½^(t + 1)",
        [shares[bird] for bird in birds],
        _halved(),
    )
    spread = share_spread(chain, "donor", birds[1:5], GenomeMap(lengths={"1": 100.0}))
    yield HILL.check(
        "variance of the donor's share on a chromosome of 1 Morgan, backcrosses 1 to 4",
        [spread[bird] ** 2 for bird in birds[1:5]],
        test_hill_1993.VARIANCES,
        tolerance=5.1e-7,
        near=Near.PRINTED,
    )
    long = share_spread(chain, "donor", birds[1:], GenomeMap(lengths={"1": 430.0}))
    yield HILL.check(
        "the same on one of 4.3 Morgans, backcrosses 1 to 6, by the closed form",
        [long[bird] ** 2 for bird in birds[1:]],
        [test_hill_1993.variance(t, 4.3) for t in range(1, GENERATIONS + 1)],
    )
    even = share_spread(chain, "recurrent", birds[1:6], test_hill_1993.EVEN)
    yield HILL.check(
        "standard deviation over 31 equal chromosomes of 3,054 cM in all, backcrosses 1 to 5",
        [even[bird] for bird in birds[1:6]],
        test_hill_1993.DEVIATIONS,
        tolerance=5.1e-5,
        near=Near.PRINTED,
    )
    found = donor_segments(chain, birds[1:], test_stam_zeven_1981.LOCUS, "recurrent")
    yield PIECE.check(
        "donor's piece after six backcrosses, gene in the middle of 100 cM",
        found["X6"].length,
        test_stam_zeven_1981.PRINTED_LENGTH,
        tolerance=0.5,
        near=Near.PRINTED,
        unit="cM",
    )
    yield PIECE_OWN.check(
        "the same after each of the six",
        [found[bird].length for bird in birds[1:]],
        test_stam_zeven_1981.LENGTHS,
        tolerance=0.0051,
        near=Near.PRINTED,
        unit="cM",
    )
    arm = test_hill_1993.EVEN.lengths["7"] / 2
    lagging = carrier_shares(chain, "recurrent", birds[1:], (arm, arm), test_hill_1993.EVEN)
    yield PIECE_OWN.check(
        "expected share of birds that carry the gene, after each of the six",
        [lagging[bird] for bird in birds[1:]],
        test_stam_zeven_1981.SHARES,
        tolerance=5.1e-6,
        near=Near.PRINTED,
    )
    mice = share_ranges(backcross_chain(1), "recurrent", ["X1"], test_broman_2003.MAP)["X1"]
    real = Origin(source="published/test_broman_2003.py", standing=Standing.OWN)
    error = test_broman_2003.DEVIATION / test_broman_2003.ANIMALS**0.5
    yield real.check(
        "mean share in a real first backcross of 92 mice",
        mice.share,
        test_broman_2003.MEAN,
        tolerance=3 * error,
        near=Near.SIZE,
    )
    yield real.check(
        "its standard deviation",
        mice.deviation,
        test_broman_2003.DEVIATION,
        tolerance=3 * error / 2**0.5,
        near=Near.SIZE,
    )


def _compared(dropped: Dropped) -> Iterator[Check]:
    shares = Series.of(dropped.shares)
    yield DROPPED.check(
        "genes dropped: mean share from the first cross to the sixth backcross",
        shares.means,
        _halved(),
        tolerance=[5 * error + 1e-12 for error in shares.errors],
        near=Near.CHANCE,
    )
    deviations = [_deviation(sample) for sample in dropped.shares[1:6]]
    yield DROPPED.check(
        "genes dropped: standard deviation of the share, backcrosses 1 to 5",
        [value for value, _ in deviations],
        test_hill_1993.DEVIATIONS,
        tolerance=[5 * error + 5e-5 for _, error in deviations],
        near=Near.CHANCE,
    )
    for what, samples, expected, unit in (
        ("mean share of carriers", dropped.carriers, test_stam_zeven_1981.SHARES, ""),
        ("mean length of the donor's piece", dropped.pieces, test_stam_zeven_1981.LENGTHS, "cM"),
    ):
        found = Series.of(samples)
        yield DROPPED.check(
            f"genes dropped: {what}, backcrosses 1 to 6",
            found.means,
            expected,
            tolerance=[5 * error for error in found.errors],
            near=Near.CHANCE,
            unit=unit,
        )


def _deviation(sample: NDArray[np.float64]) -> tuple[float, float]:
    """The standard deviation of a sample and the standard error of that."""
    squares, error = mean_and_error((sample - sample.mean()) ** 2)
    return squares**0.5, error / (2 * squares**0.5)


def _figure_of_shares(dropped: Dropped) -> Figure:
    plain, kept = Series.of(dropped.shares[1:]), Series.of(dropped.carriers)
    spread = {
        name: [_middle(sample) for sample in samples]
        for name, samples in (
            ("all birds", dropped.shares[1:]),
            ("birds with the gene", dropped.carriers),
        )
    }
    return by_generation(
        "shares",
        "Share of the recurrent breed by backcross",
        (
            "Dots are means of the birds dropped, with the range that holds 95 birds in 100; "
            "broken lines what theory says: 1 − ½^(t + 1) for all birds, and less for birds that "
            "carry the gene, which drags a piece of the donor along."
        ),
        {"all birds": plain.means, "birds with the gene": kept.means},
        {"all birds": _halved()[1:], "birds with the gene": test_stam_zeven_1981.SHARES},
        counted="share of the recurrent breed",
        x_title="backcross",
        first=1,
        ranges=spread,
        zero=False,
    )


def _middle(sample: NDArray[np.float64]) -> tuple[float, float]:
    """The range that holds 95 in 100."""
    low, high = np.quantile(sample, [0.025, 0.975])
    return float(low), float(high)


def _figure_of_pieces(dropped: Dropped) -> Figure:
    found = Series.of(dropped.pieces)
    return by_generation(
        "piece",
        "The donor's piece around the gene",
        (
            "A gene in the middle of a chromosome of 100 cM. After six backcrosses theory leaves "
            "32 cM of the donor; dots are means of the birds dropped, with five standard errors."
        ),
        {"piece": found.means},
        {"piece": test_stam_zeven_1981.LENGTHS},
        counted="cM of the donor",
        x_title="backcross",
        first=1,
        ranges={"piece": about(found.means, found.errors)},
    )
