"""Slow obvious second ways: chicks by enumeration, seasons by trying every cross of everything."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from random import Random
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pytest

from matchmaker.genetics.genotypes.transmission import Stretch as FloatStretch
from matchmaker.genetics.genotypes.transmission import chick_table
from matchmaker.genetics.loci.locus import Locus
from matchmaker.route.costs import cross_chicks
from matchmaker.route.schemes import RESTRICTIONS
from matchmaker.route.search import LEAST_CARRYING, Search
from matchmaker.route.telling import cells_of
from matchmaker.tables.records import Sex
from tests.route_helpers import BOTH, linked, task_of

if TYPE_CHECKING:
    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Allowed, Task
    from matchmaker.route.telling import Cell

MOST = 3
"""Seasons: beyond, the number of classes explodes."""

Class: TypeAlias = "tuple[Sex, Mix, Fraction, bool]"
"""Sex, what the birds can be, their share, and whether that is known only later."""

Known: TypeAlias = "dict[Class, int]"
"""Classes that can be at hand, with the season in which they first can."""


@pytest.mark.parametrize(("one", "two", "parted"), [("O", "P", 0.04), ("K", "S", 0.3)])
def test_chicks_are_those_of_the_engine_for_pedigrees(one: str, two: str, parted: float) -> None:
    """Against ``chick_table``, which the genotype probabilities of a flock are built on."""
    task = task_of({one: 2, two: 0}, loci=linked(one, two, parted))
    stretch = task.genome.stretches[0]
    loci = tuple(locus.inheritance for locus in task.genome.loci)
    other = FloatStretch(loci, parted)
    numbers = {alleles: at for at, alleles in enumerate(other.haplotypes)}
    for sire, dam in product(
        _states(stretch.z_linked, Sex.COCK), _states(stretch.z_linked, Sex.HEN)
    ):
        for sex in BOTH:
            chicks = task.genome.chicks((((sire,), Fraction(1)),), (((dam,), Fraction(1)),), sex)
            assert sum(chance for _, chance in chicks) == 1
            table = chick_table(other, sex, other.gametes(Sex.COCK), other.gametes(Sex.HEN))
            row = table[_row(other, Sex.COCK, sire, numbers), _row(other, Sex.HEN, dam, numbers)]
            mine = np.zeros(len(row))
            for state, chance in chicks:
                mine[_row(other, sex, state[0], numbers)] += float(chance)
            assert np.allclose(mine, row, atol=1e-12)


def _states(z_linked: bool, sex: Sex) -> list[tuple[tuple[int, ...], ...]]:  # noqa: FBT001
    haplotypes = list(product((0, 1), repeat=2))
    if z_linked and sex is Sex.HEN:
        return [(one,) for one in haplotypes]
    return [(a, b) for at, a in enumerate(haplotypes) for b in haplotypes[at:]]


def _row(
    stretch: FloatStretch,
    sex: Sex,
    held: tuple[tuple[int, ...], ...],
    numbers: dict[tuple[int, ...], int],
) -> int:
    wanted = tuple(sorted(numbers[haplotype] for haplotype in held))
    return [state[1] for state in stretch.states(sex)].index(wanted)


class Trial:
    """Every cross of everything, season by season; nothing is left out for being worse or late."""

    def __init__(self, task: Task, allowed: Allowed) -> None:
        self.task, self.allowed = task, allowed
        self.known: Known = {(s.sex, s.mix, s.share, False): 0 for s in task.sources}
        self.tried: set[tuple[Class, Class]] = set()
        self.given: dict[tuple[Mix, Mix], list[tuple[Sex, Cell]]] = {}

    def seasons(self, most: int) -> int | None:
        """Seasons until finished birds of both sexes can be there; None if more than ``most``."""
        for season in range(most + 1):
            here = [key for key, at in self.known.items() if at <= season]
            if {key[0] for key in here if self._finished(key)} == set(BOTH):
                return season
            for cock, hen in product(here, here) if season < most else ():
                if cock[0] is Sex.COCK and hen[0] is Sex.HEN and (cock, hen) not in self.tried:
                    self.tried.add((cock, hen))
                    self._cross(cock, hen, season)
        return None

    def _finished(self, key: Class) -> bool:
        sex, mix, share, later = key
        return not later and share >= self.task.share and self.task.reached(mix, sex)

    def _cross(self, cock: Class, hen: Class, season: int) -> None:
        if not self._may_cross(cock, hen):
            return
        for sex, cell in self._cells(cock[1], hen[1]):
            key = (sex, cell.mix, (cock[2] + hen[2]) / 2, cell.later)
            ready = season + 1 + cell.delay
            self.known[key] = min(self.known.get(key, ready), ready)

    def _cells(self, cocks: Mix, hens: Mix) -> list[tuple[Sex, Cell]]:
        if (cocks, hens) not in self.given:
            chicks = {sex: self.task.genome.chicks(cocks, hens, sex) for sex in BOTH}
            harmed = any(self.task.harmful(mix, sex) for sex, mix in chicks.items())
            self.given[cocks, hens] = [
                (sex, cell)
                for sex, mix in chicks.items()
                for cell in ([] if harmed else cells_of(self.task, mix, sex))
                if self._worth_it(sex, cell)
            ]
        return self.given[cocks, hens]

    def _worth_it(self, sex: Sex, cell: Cell) -> bool:
        carrying = self.task.carrying(cell.mix)
        return (
            cell.telling in self.allowed.tellings
            and carrying >= (1 if self.allowed.sure else LEAST_CARRYING)
            and cross_chicks(self.task, [(sex, cell)]) is not None
        )

    def _may_cross(self, cock: Class, hen: Class) -> bool:
        if cock[2] != 1 and hen[2] != 1:
            return True
        carrier = cock if hen[2] == 1 else hen
        free = self.allowed.carriers is None or carrier[2] == 0
        return carrier[2] != 1 and (free or carrier[0] is self.allowed.carriers)


def random_locus(random: Random) -> Locus:
    """A locus of any kind that the catalogue could hold."""
    return Locus(
        symbol="X",
        name="Some trait",
        z_linked=random.random() < 0.4,
        dominance=random.choice(["dominant", "recessive", "incomplete"]),
        shown_by=random.choice(["both", "both", "hen", "cock"]),
        shows_at_days=random.choice([1, 1, 180, 400]),
        gene_status=random.choice(["causal", "unknown"]),
    )


@pytest.mark.parametrize("seed", range(16))
def test_no_route_is_quicker_than_the_one_found(seed: int) -> None:
    random = Random(seed)  # noqa: S311
    locus = random_locus(random)
    donors = random.choice([BOTH, BOTH, [Sex.COCK], [Sex.HEN]])
    wanted = random.choice([1, 2, 2])
    task = task_of({"X": wanted}, loci={"X": locus}, donors=donors, backcrosses=1)
    search = Search(task)
    for name in ("any", "no-dna", "looks", "sure", "hens", "cocks"):
        found = [one.season for one in search.find(RESTRICTIONS[name], slack=0)]
        brute = Trial(task, RESTRICTIONS[name]).seasons(MOST)
        assert next((one for one in found if one <= MOST), None) == brute, (name, locus)


def test_the_obvious_way_takes_as_long_with_a_neighbour_to_be_broken_off() -> None:
    task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.3), backcrosses=1)
    found = Search(task).find(RESTRICTIONS["any"], slack=0)
    assert found[0].season == Trial(task, RESTRICTIONS["any"]).seasons(MOST)
