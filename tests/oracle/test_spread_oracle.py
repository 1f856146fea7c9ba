"""The spread of shares against plain enumeration of two places, and against dropped chromosomes."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pytest
from numpy.typing import NDArray

from matchmaker.genetics.loci.locus import Locus
from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.segment import donor_segment, side_length
from matchmaker.genetics.shares.spread import carrier_shares, share_ranges, z_share_ranges
from matchmaker.genetics.shares.two_locus import both_from_breed, trace
from tests.descent_helpers import backcross_chain
from tests.descent_helpers import pedigree as flock
from tests.oracle import two_places
from tests.oracle.crossovers import Dropper, piece_around, share
from tests.strategies import Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

Array: TypeAlias = NDArray[np.float64]

NEARNESS = np.array([0.0, 0.3, 0.9, 1.0])
DROPS = 3000
DONOR = 0

LOOPY = flock(
    "R cock recurrent recurrent",
    "D hen donor donor",
    "F cock R D",
    "G hen R D",
    "I cock F G",
    "J hen F G",
    "K hen I J",
    "L hen I:0.25|R:0.75 K",
)
CLUTCH = flock(
    "R cock recurrent recurrent",
    "D hen donor donor",
    "F cock R D",
    "H hen recurrent recurrent",
    "A cock F|R D|H 1",
    "B hen F|R D|H 1",
    "C hen A B",
)
HALF_FOUNDERS = flock(
    "F cock recurrent donor",
    "H hen recurrent recurrent",
    "A cock F:0.5|recurrent:0.25|donor:0.25 H|donor 1",
    "B hen F:0.5|recurrent:0.25|donor:0.25 H|donor 1",
    "C hen A B",
)
CROSSBRED = flock(
    "X cock donor:0.25|recurrent:0.75 donor:0.25|recurrent:0.75",
    "Y hen recurrent donor|recurrent",
    "A cock X Y",
    "B hen A|X donor",
)
CASES = {
    "chain": backcross_chain(3),
    "loops": LOOPY,
    "clutch": CLUTCH,
    "half-founders": HALF_FOUNDERS,
    "crossbred founders": CROSSBRED,
    "random": pedigree_by_seed(7, Shape(birds=5, founders=2, uncertain=0.4)),
    "random too": pedigree_by_seed(12, Shape(birds=5, founders=2, uncertain=0.4)),
}


def listed(pedigree: Pedigree, *, on_z: bool) -> Array:
    """M(k, k) by enumeration, shape (birds, values)."""
    pure = tuple(int(pool.breed in {"donor", "araucana"}) for pool in pedigree.pools)
    sexes = {at: sex for at, sex in enumerate(pedigree.sexes) if sex is not None}
    columns = [
        two_places.both_from_breed(
            two_places.Question(pedigree, pure, (1 - nearness) / 2, on_z), sexes
        )
        for nearness in NEARNESS
    ]
    return np.array(columns).T


@pytest.mark.parametrize("on_z", [False, True])
@pytest.mark.parametrize("name", CASES)
def test_two_places_as_by_enumeration(name: str, *, on_z: bool) -> None:
    pedigree = CASES[name]
    pure = [pool.breed in {"donor", "araucana"} for pool in pedigree.pools]
    descent = trace(pedigree, pure, pedigree.birds, on_z=on_z)
    found = both_from_breed(descent, pedigree.birds, NEARNESS)
    assert found == pytest.approx(listed(pedigree, on_z=on_z), abs=1e-13)


def within_five_errors(sample: Array, mean: float, deviation: float) -> None:
    """Mean and variance of the sample lie within five of their standard errors."""
    errors = sample.std() / len(sample) ** 0.5
    assert abs(sample.mean() - mean) <= 5 * errors
    squares = (sample - sample.mean()) ** 2
    assert abs(squares.mean() - deviation**2) <= 5 * squares.std() / len(sample) ** 0.5
    assert squares.mean() > 0


@pytest.mark.parametrize("length", [0.7, 2.0])
def test_autosome_as_dropped(length: float) -> None:
    dropper = Dropper(LOOPY, length, np.random.default_rng(11))
    found = share_ranges(LOOPY, "donor", ["J", "L"], GenomeMap(lengths={"1": length * 100}))
    dropped = [dropper.drop() for _ in range(DROPS)]
    for bird, expected in found.items():
        at = LOOPY.birds.index(bird)
        sample = [np.mean([share(s, length, DONOR) for s in birds[at]]) for birds in dropped]
        within_five_errors(np.array(sample), expected.share, expected.deviation)


def test_two_chromosomes_are_dropped_apart() -> None:
    lengths = (0.5, 1.5)
    rng = np.random.default_rng(12)
    genome = GenomeMap(lengths={"1": 50.0, "2": 150.0})
    pedigree = backcross_chain(2)
    samples = [
        np.array(
            [
                np.mean(
                    [share(s, length, DONOR) for s in Dropper(pedigree, length, rng).drop()[-1]]
                )
                for _ in range(DROPS)
            ]
        )
        for length in lengths
    ]
    whole = sum(length * sample for length, sample in zip(lengths, samples, strict=True)) / 2.0
    expected = share_ranges(pedigree, "donor", ["X2"], genome)["X2"]
    within_five_errors(np.asarray(whole), expected.share, expected.deviation)


def test_z_as_dropped() -> None:
    length = 1.2
    pedigree = flock(
        "D cock donor donor",
        "R hen recurrent recurrent",
        "F cock D R",
        "A hen F R",
        "S cock recurrent recurrent",
        "B cock S A",
        "C hen B R",
    )
    dropper = Dropper(pedigree, length, np.random.default_rng(13), on_z=True)
    dropped = [dropper.drop() for _ in range(DROPS)]
    found = z_share_ranges(pedigree, "donor", ["A", "B", "C"], GenomeMap(lengths={"Z": 120.0}))
    for bird, expected in found.items():
        at = pedigree.birds.index(bird)
        sample = [np.mean([share(s, length, DONOR) for s in birds[at]]) for birds in dropped]
        within_five_errors(np.array(sample), expected.share, expected.deviation)


def pieces(pedigree: Pedigree, bird: str, place: float, *, on_z: bool) -> Array:
    """Lengths of the donor's piece around a place in those dropped birds that carry it, Morgans."""
    dropper = Dropper(pedigree, 2 * place, np.random.default_rng(14), on_z=on_z)
    at = pedigree.birds.index(bird)
    found = [
        piece
        for _ in range(2 * DROPS)
        for strand in dropper.drop()[at]
        if (piece := piece_around(strand, 2 * place, place, DONOR)) is not None
    ]
    return np.array(found)


def test_donor_piece_as_dropped() -> None:
    pedigree = backcross_chain(3)
    found = donor_segment(pedigree, "X3", Locus(symbol="X", name="X"), "recurrent")
    assert found is not None
    assert found.place.arms == (50.0, 50.0)
    sample = 100 * pieces(pedigree, "X3", 0.5, on_z=False)
    assert abs(sample.mean() - found.length) <= 5 * sample.std() / len(sample) ** 0.5


def test_donor_piece_on_the_z_as_dropped() -> None:
    """Two cocks' meioses in four crosses: hens hand their Z on whole."""
    pedigree = flock(
        "D cock donor donor",
        "R hen recurrent recurrent",
        "S cock recurrent recurrent",
        "A cock D R",
        "B hen A R",
        "C cock S B",
        "E hen C R",
    )
    found = donor_segment(pedigree, "E", Locus(symbol="S", name="S", z_linked=True), "recurrent")
    assert found is not None
    assert found.meioses == (0.0, 0.0, 1.0)
    sample = 100 * pieces(pedigree, "E", 1.0, on_z=True)
    assert abs(sample.mean() - 2 * side_length(2, 100.0)) <= 5 * sample.std() / len(sample) ** 0.5


def test_share_of_carriers_as_dropped() -> None:
    """Also through loops: birds are drawn by one of their alleles, if it is the donor's."""
    length, place = 1.0, 0.3
    dropper = Dropper(LOOPY, length, np.random.default_rng(15))
    at = LOOPY.birds.index("L")
    sample = []
    for _ in range(2 * DROPS):
        strands = dropper.drop()[at]
        drawn = strands[int(dropper.rng.integers(2))]
        if piece_around(drawn, length, place, DONOR) is not None:
            sample.append(1 - np.mean([share(strand, length, DONOR) for strand in strands]))
    genome = GenomeMap(lengths={"1": 100.0})
    found = carrier_shares(LOOPY, "recurrent", ["L"], (30.0, 70.0), genome)["L"]
    assert abs(np.mean(sample) - found) <= 5 * np.std(sample) / len(sample) ** 0.5
