"""Mean inbreeding of genes dropped through pedigrees with known inbreeding, and rates of it.

Six animals: Henderson's example in Mrode 2014 (Linear Models, 3rd ed., CABI), Table 2.1: F5 = F6 =
1/8 read. Eight animals: K. Christensen, Population Genetics, KVL Copenhagen, ch. 7.5, F8 = 1/4
read; ch. 9.3, cocks moved one pen on: scheme read, series own exact arithmetic. Full sibs: Crow &
Kimura; Falconer & Mackay 1996, Table 5.1: recurrences and first values read in an encyclopedia,
further ones memory, agreeing with own arithmetic. Circles of birds and of pairs: Kimura & Crow 1963
(Genet Res 4:399), abstract; exact rates own arithmetic by power iteration. Cyclical mating: Farid
et al. 1987 (TAG 73:506), abstract; values by generation own arithmetic. Rates at random: Wright
1931 (Genetics 16:97, from memory) as in KVL ch. 3.6, read; each cock a son, each hen a daughter:
Gowe, Robertson & Latter 1959 (Poult Sci 38:462), formula from memory, which own simulation found
good to 5 per cent; one hen a cock: Sanchez, Bijma & Woolliams 2003 (Genetics 164:1589), abstract.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import inbreeding
from matchmaker.genetics.drop.strands import chicks, founder_strands, planes_for
from tests.published.test_christensen_kvl import ONE_PEN_ON

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.genetics.drop.grid import Numbers, Reals

    Scheme = Callable[[int], list[tuple[int, int]]]
    Parents = tuple[Numbers, Numbers]

LOCI = 64
GRID = Grid.of({str(at): 1.0 for at in range(LOCI)})
"""Sixty-four chromosomes of one place each: a word of independent places."""


def dropped(sires: list[int], dams: list[int], replicates: int = 600) -> tuple[Reals, Reals]:
    """Mean inbreeding of each bird and its standard error."""
    rng = np.random.default_rng(1)
    found = inbreeding(GRID, drop_pedigree(GRID, np.array(sires), np.array(dams), replicates, rng))
    return found.mean(axis=0), found.std(axis=0) / replicates**0.5


def by_generation(
    scheme: Callable[[int], list[tuple[int, int]]], birds: int, generations: int
) -> tuple[Reals, Reals]:
    """Mean inbreeding of each generation after the founders, and its standard error.

    ``scheme`` gives a generation's sires and dams by their number in the one before.
    """
    sires, dams = [-1] * birds, [-1] * birds
    for born in range(generations):
        first = len(sires) - birds
        for sire, dam in scheme(born):
            sires.append(first + sire)
            dams.append(first + dam)
    rng = np.random.default_rng(2)
    replicates = 1500
    bits = drop_pedigree(GRID, np.array(sires), np.array(dams), replicates, rng)
    found = inbreeding(GRID, bits).reshape(replicates, generations + 1, birds).mean(axis=2)[:, 1:]
    return found.mean(axis=0), found.std(axis=0) / replicates**0.5


def agree(found: tuple[Reals, Reals], printed: str) -> None:
    mean, error = found
    expected = np.array([float(Fraction(one)) for one in printed.split()])
    assert (np.abs(mean - expected) <= 5 * error + 6e-5).all()
    assert error.max() < 0.005


def test_six_animals() -> None:
    found = dropped([-1, -1, 0, 0, 3, 4], [-1, -1, 1, -1, 2, 1])
    agree(found, "0 0 0 0 1/8 1/8")


def test_eight_animals() -> None:
    found = dropped([-1] * 4 + [0, 0, 2, 4], [-1] * 4 + [1, 1, 3, 5])
    agree(found, "0 0 0 0 0 0 0 1/4")


def brother_and_sister(_: int) -> list[tuple[int, int]]:
    return [(0, 1), (0, 1)]


FULL_SIBS = "0 1/4 3/8 1/2 19/32 43/64 47/64"


def test_full_sibs() -> None:
    agree(by_generation(brother_and_sister, 2, 7), FULL_SIBS)


def one_pen_on(pens: int) -> Scheme:
    """A son and a daughter of each pen; cocks are 0 … n−1, hens n … 2n−1."""

    def pairs(born: int) -> list[tuple[int, int]]:
        own = [((pen - 1) % pens if born else pen, pens + pen) for pen in range(pens)]
        return own + own

    return pairs


@pytest.mark.parametrize("pens", ONE_PEN_ON)
def test_cocks_moved_one_pen_on(pens: int) -> None:
    agree(by_generation(one_pen_on(pens), 2 * pens, 9), ONE_PEN_ON[pens])


def in_a_circle(birds: int) -> Scheme:
    """Each bird with both its neighbours, one chick of each pair: cocks and hens in turn."""

    def pairs(_: int) -> list[tuple[int, int]]:
        mates = [(at, (at + 1) % birds) for at in range(birds)]
        return [pair if pair[0] % 2 == 0 else pair[::-1] for pair in mates]

    return pairs


CIRCLES = {
    4: "0 1/8 3/16 1/4 39/128 91/256 103/256 913/2048",
    8: "0 1/8 3/16 31/128 73/256 329/1024 721/2048 3103/8192",
}
"""Inbreeding by generation of half sibs in a circle of so many birds."""


@pytest.mark.parametrize("birds", CIRCLES)
def test_half_sibs_in_a_circle(birds: int) -> None:
    agree(by_generation(in_a_circle(birds), birds, 8), CIRCLES[birds])


def in_a_cycle(families: int) -> Scheme:
    """The cock of family r to the hen of family r + g in generation g of a cycle of n − 1."""

    def pairs(born: int) -> list[tuple[int, int]]:
        step = born % (families - 1) + 1
        own = [((family - step) % families, families + family) for family in range(families)]
        return own + own

    return pairs


CYCLE_OF_FOUR = "0 0 0 .0938 .0781 .1250 .1875 .1719"
"""Inbreeding by generation of four families in cyclical mating."""


def test_cyclical_mating() -> None:
    agree(by_generation(in_a_cycle(4), 8, 8), CYCLE_OF_FOUR)


RATES = [
    (in_a_circle(4), 4, 8, 0.072681),
    (in_a_circle(6), 6, 20, 0.039441),
    (in_a_circle(8), 8, 32, 0.024933),
    (one_pen_on(2), 4, 8, 0.080357),
    (one_pen_on(4), 8, 16, 0.034748),
    (one_pen_on(5), 10, 20, 0.026304),
    (in_a_cycle(4), 8, 16, 0.03597),
]
"""System, its birds, the generation from which its rate is steady, and that rate."""


@pytest.mark.parametrize(("scheme", "birds", "first", "rate"), RATES)
def test_rate_at_length(scheme: Scheme, birds: int, first: int, rate: float) -> None:
    """What is lost a generation when the first waves have passed, in a circle and in pairs there.

    With two pens the cocks' going round mates double first cousins, as maximum avoidance does. The
    rate of cyclical mating is that of whole cycles, here four of three generations.
    """
    span = 12
    mean, error = by_generation(scheme, birds, first + span + 1)
    kept = (1 - mean[first + span]) / (1 - mean[first])
    relative = np.hypot(*(error[at] / (1 - mean[at]) for at in (first, first + span)))
    assert abs(kept / (1 - rate) ** span - 1) <= 5 * relative + 0.001
    assert 5 * relative < 0.04


def rate_of(cocks: int, hens: int, parents: Callable[[np.random.Generator], Parents]) -> float:
    """Loss a generation of what is not yet inbred, dropped through random pedigrees.

    ``parents`` draws the sires and dams of a generation of cocks and hens, by their number in the
    one before; each of the flocks side by side has its own.
    """
    flocks, first, last = 500, 4, 14
    birds = cocks + hens
    rng = np.random.default_rng(3)
    labels = np.tile(np.arange(2 * birds).reshape(birds, 2), (flocks, 1))
    bits = founder_strands(GRID, labels, np.zeros(labels.shape, dtype=bool), planes_for(2 * birds))
    means = []
    starts = birds * np.arange(flocks)[:, None]
    for _ in range(last + 1):
        drawn = [parents(rng) for _ in range(flocks)]
        sires = (np.stack([sire for sire, _ in drawn]) + starts).ravel()
        dams = (np.stack([dam for _, dam in drawn]) + starts).ravel()
        bits = chicks(GRID, bits, sires, dams, rng)
        means.append(float(inbreeding(GRID, bits).mean()))
    kept = (1 - means[last]) / (1 - means[first])
    return 1 - float(kept ** (1 / (last - first)))


AT_RANDOM = [(2, 10, 0.075), (4, 20, 0.0375)]
"""Cocks, hens and rate where each chick draws its parents."""

EACH_A_SON = [(5, 1, 0.025), (5, 2, 0.021875), (5, 5, 0.02)]
"""Cocks, hens for each and rate where each cock leaves a son and each hen a daughter."""


def exact_rate(rough: float) -> float:
    """The rate at length where two different parents are drawn anew for each chick.

    F'' = F' + A (1 − 2 F' + F), A being the approximate rate (own derivation by kinship, as Wright
    1931 has it, from memory), so 1 − F shrinks by the root of λ² − (1 − 2 A) λ − A = 0.
    """
    return (1 + 2 * rough - float((1 + 4 * rough**2) ** 0.5)) / 2


ROUGH = 0.08
"""The formulas are approximations: so far off at most, relatively."""

CLOSE = 0.02
"""What chance does to a rate dropped through 500 flocks, relatively: two standard errors or so."""


def rate_at_random(cocks: int, hens: int) -> float:
    """Each chick draws its sire and its dam."""

    def parents(rng: np.random.Generator) -> Parents:
        birds = cocks + hens
        return rng.integers(0, cocks, birds), cocks + rng.integers(0, hens, birds)

    return rate_of(cocks, hens, parents)


def rate_of_equal_families(cocks: int, hens_each: int) -> float:
    """Each cock leaves a son and each hen a daughter; hens fall to the cocks at random."""
    hens = cocks * hens_each

    def parents(rng: np.random.Generator) -> Parents:
        mates = cocks + rng.permutation(hens).reshape(cocks, hens_each)
        mothers = mates[np.arange(cocks), rng.integers(0, hens_each, cocks)]
        sires = np.concatenate([np.arange(cocks), np.repeat(np.arange(cocks), hens_each)])
        return sires, np.concatenate([mothers, mates.ravel()])

    return rate_of(cocks, hens, parents)


@pytest.mark.parametrize(("cocks", "hens", "rate"), AT_RANDOM)
def test_rate_where_each_chick_draws_its_parents(cocks: int, hens: int, rate: float) -> None:
    """Wright's 1/(8 cocks) + 1/(8 hens), a few per cent high; the exact rate is met to 2 %."""
    found = rate_at_random(cocks, hens)
    assert found == pytest.approx(rate, rel=ROUGH)
    assert found == pytest.approx(exact_rate(rate), rel=CLOSE)


@pytest.mark.parametrize(("cocks", "hens_each", "rate"), EACH_A_SON)
def test_rate_where_each_cock_leaves_a_son(cocks: int, hens_each: int, rate: float) -> None:
    """With one hen each, 1/(8 cocks)."""
    assert rate_of_equal_families(cocks, hens_each) == pytest.approx(rate, rel=ROUGH)
