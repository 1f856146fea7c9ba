"""From whom a bird has its copy: the network against full enumeration of small pedigrees."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.genotypes import allele_way as module
from matchmaker.genetics.genotypes.allele_way import allele_way
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.tables.records import Sex
from tests.oracle.flocks_at_random import draw
from tests.oracle.genotype_enumeration import Enumeration
from tests.oracle.richer_flocks import draw_clutch, draw_linked, draw_series

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.oracle.genotype_enumeration import Gamete, State

Parent = tuple[int | None, "Gamete", float]
"""Who a parent is (none: out of a pool), what it gives, its chance."""


def ways(slow: Enumeration, place: int = 0) -> dict[tuple[str, str], float]:
    """P(a bird has a copy that this parent gave | it carries), by bird and parent."""
    gave: dict[tuple[str, str], float] = defaultdict(float)
    carries: dict[str, float] = defaultdict(float)
    mates = {bird: family for family in slow.families for bird in family}
    for states, weight in slow.weights.items():
        for bird in range(len(states)):
            chances = given(slow, bird, states, mates.get(bird, [bird]), place)
            total = sum(chances.values())
            for (sire, dam), chance in chances.items():
                part = weight * chance / total
                carries[slow.pedigree.birds[bird]] += part * (sire != -1 or dam != -1)
                for node in (sire, dam):
                    if node is not None and node >= 0:
                        name = slow.pedigree.birds[node - slow.pedigree.first_bird]
                        gave[slow.pedigree.birds[bird], name] += part
    return {link: part / carries[link[0]] for link, part in gave.items() if part}


def given(
    slow: Enumeration, bird: int, states: tuple[State, ...], mates: list[int], place: int
) -> dict[tuple[int | None, int | None], float]:
    """Weights of who gave the allele (−1: nobody, none: a pool) from the sire's and dam's side."""
    found: dict[tuple[int | None, int | None], float] = defaultdict(float)
    sex, held = states[bird]
    symbol = slow.loci[place].symbol
    for (sire, of_sire, p), (dam, of_dam, q) in itertools.product(
        *(parents(slow, bird, side, states, several=len(mates) > 1) for side in Sex)
    ):
        others = math.prod(
            slow.born(slow.pedigree.sexes[one], of_sire, of_dam).get(states[one], 0.0)
            for one in mates
        )
        if not others:
            continue
        combined: dict[tuple[int | None, int | None], float] = defaultdict(float)
        for (one, first), (two, second) in itertools.product(of_sire, of_dam):
            hen_z = slow.ploidy(sex) == 1
            pair = (one,) if hen_z else slow.ordered(one, two)
            if pair == held:
                by_dam = -1 if hen_z or two[place] != symbol else dam
                combined[sire if one[place] == symbol else -1, by_dam] += first * second
        whole = sum(combined.values())
        for source, part in combined.items():
            found[source] += p * q * others * part / whole
    return found


def parents(
    slow: Enumeration, bird: int, side: Sex, states: tuple[State, ...], *, several: bool
) -> Iterator[Parent]:
    links = (slow.pedigree.sires if side is Sex.COCK else slow.pedigree.dams)[bird]
    first = slow.pedigree.first_bird
    for node, share in links:
        if node >= first:
            yield node, slow.gamete(states[node - first]), share
    pools = tuple((node, share) for node, share in links if node < first)
    found = slow.birds(pools, side, states) if several else slow.sides(pools, states)
    for gamete, share in found:
        yield None, gamete, share


@pytest.mark.parametrize("seed", range(20))
def test_every_way_is_that_of_full_enumeration(seed: int) -> None:
    case = draw(seed, birds=5 + seed % 12 // 11)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        return
    found = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    way = allele_way(found, case.pedigree.birds)
    assert way.exact
    assert dict(way.links) == pytest.approx(ways(slow), abs=1e-10)


@pytest.mark.parametrize("draws", [draw_clutch, draw_series])
@pytest.mark.parametrize("seed", range(10))
def test_clutches_and_series_of_alleles(draws: object, seed: int) -> None:
    assert callable(draws)
    case = draws(seed)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        return
    found = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    way = allele_way(found, case.pedigree.birds)
    assert dict(way.links) == pytest.approx(ways(slow), abs=1e-10)


@pytest.mark.parametrize("seed", range(10))
def test_two_linked_loci_together(seed: int) -> None:
    case, second, told = draw_linked(seed, birds=4)
    parted = case.locus.recombination
    assert parted is not None
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex", (second, told, parted))
    if slow.total == 0:
        return
    loci = (case.locus, second)
    both = linked_genotypes(case.pedigree, loci, (case.evidence, told), "sussex")
    for place, locus in enumerate(loci):
        way = allele_way(both.of(locus.symbol), case.pedigree.birds)
        assert way.exact
        assert dict(way.links) == pytest.approx(ways(slow, place), abs=1e-10)


@pytest.mark.parametrize("seed", range(16))
def test_what_is_too_tangled_is_approximate_and_says_so(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The approximation names the same possible parents, and is off by less than a half."""
    case = draw(seed, birds=5)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        return
    monkeypatch.setattr(module, "CELLS", 0)
    found = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    way, expected = allele_way(found, case.pedigree.birds), ways(slow)
    assert set(expected) <= set(way.links)
    assert all(0 <= chance <= 1 + 1e-9 for chance in way.links.values())
    assert all(abs(way.links[link] - chance) < 0.5 for link, chance in expected.items())
