"""A route step by step, with the numbers of each step: chances, chicks, eggs, tests, the piece."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from math import expm1, log
from typing import TYPE_CHECKING

from matchmaker.genetics.shares.segment import place_of, side_length
from matchmaker.route.costs import to_rear
from matchmaker.route.numbers import expected_birds
from matchmaker.route.task import PROOFS, Telling
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.route.genome import Haplotype, Mix
    from matchmaker.route.task import Task
    from matchmaker.route.telling import Cell
    from matchmaker.route.ways import Found, Way

LEVELS = (0.95, 0.99)
"""The two chances of having enough that numbers are given for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Chicks to rear and eggs to set for so many birds of each class kept, by how sure."""

    birds: int
    rear: dict[float, int | None]
    set_: dict[float, int | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One class that is kept: how it is told, how many have to be tested, what is then known.

    ``dna_tests`` and ``tested_birds`` are for the working number of birds at 95 %; ``piece`` is
    the donor's piece around each locus brought in, in cM.
    """

    way: Way
    cell: Cell
    dna_tests: int
    tested_birds: int
    piece: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One cross: in which season, of what, what its sons and daughters are, which are kept.

    Where a parent is still on trial (``on_trial``) the eggs are of all birds on trial, the chicks
    reared of those proved.
    """

    season: int
    cock: Way
    hen: Way
    chicks: dict[Sex, Mix]
    kept: tuple[Kept, ...]
    one: Amount
    working: Amount

    @property
    def on_trial(self) -> bool:
        """Whether birds are bred from before it is known which of them are kept."""
        return self.cock.later or self.hen.later

    @property
    def share(self) -> float:
        """Expected recurrent share of the chicks, 0 to 1."""
        return (self.cock.share + self.hen.share) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A route with its steps in order; ``seasons`` until finished birds of both sexes are known.

    ``chicks`` to rear and ``test_chicks`` to hatch for the working number of birds at 95 %.
    """

    found: Found
    steps: tuple[Step, ...]
    seasons: int
    chicks: int
    test_chicks: int
    dna_tests: int

    @property
    def work(self) -> int:
        """Chicks reared, hatched for tests and tested by DNA, each counting one."""
        return self.chicks + self.test_chicks + self.dna_tests


def kept_for_ever(task: Task, cock: Way) -> Fraction:
    """The part of a finished cock's chicks that are as wanted where one copy is wanted of a locus.

    His mates are free of what is wanted in one copy and pure for what is wanted in two.
    """
    free = task.genome.pure(Sex.HEN, [int(copies == 2) for copies in task.wanted])
    parts = (
        sum((p for state, p in chicks if task.genome.copies(state) == task.goal(sex)), Fraction(0))
        for sex in Sex
        for chicks in [task.genome.chicks(cock.mix, free, sex)]
    )
    return sum(parts, Fraction(0)) / 2


def route_of(task: Task, found: Found) -> Route:
    """Work out the steps of a route that was found."""
    crosses: dict[tuple[Way, Way], list[Way]] = defaultdict(list)
    for way in found.history:
        if way.cock is not None and way.hen is not None:
            crosses[(way.cock, way.hen)].append(way)
    steps = [_step(task, cock, hen, kept) for (cock, hen), kept in crosses.items()]
    steps.sort(key=lambda step: (step.season, _order(step.cock), _order(step.hen)))
    return Route(
        found=found,
        steps=tuple(steps),
        seasons=found.season,
        chicks=sum(step.working.rear[LEVELS[0]] or 0 for step in steps),
        test_chicks=sum(k.tested_birds * k.cell.test_chicks for step in steps for k in step.kept),
        dna_tests=sum(kept.dna_tests for step in steps for kept in step.kept),
    )


def _order(way: Way) -> tuple[int, str]:
    return (way.season, way.source.name if way.source else "")


def _step(task: Task, cock: Way, hen: Way, ways: list[Way]) -> Step:
    ways = sorted(ways, key=lambda way: way.sex)
    told = [(way, way.cell) for way in ways if way.cell is not None]
    cells = [(way.sex, cell) for way, cell in told]
    reared = task.reared * float(_of_the_proved(cock) * _of_the_proved(hen))
    working = _amount(task, cells, task.birds, reared)
    return Step(
        season=max(cock.season, hen.season) + 1,
        cock=cock,
        hen=hen,
        chicks={sex: task.genome.chicks(cock.mix, hen.mix, sex) for sex in Sex},
        kept=tuple(_kept(task, way, cell, working) for way, cell in told),
        one=_amount(task, cells, 1, reared),
        working=working,
    )


def _of_the_proved(way: Way) -> Fraction:
    """The part of the eggs that is of birds kept, where birds on trial are bred from meanwhile."""
    return way.cell.chance / way.cell.tested if way.later and way.cell else Fraction(1)


def _amount(task: Task, cells: list[tuple[Sex, Cell]], birds: int, reared: float) -> Amount:
    return Amount(
        birds=birds,
        rear={level: to_rear(task, cells, birds, level) for level in LEVELS},
        set_={level: to_rear(task, cells, birds, level, reared) for level in LEVELS},
    )


def _kept(task: Task, way: Way, cell: Cell, working: Amount) -> Kept:
    reared = working.rear[LEVELS[0]] or 0
    tested = expected_birds(reared, float(cell.tested) / 2)
    return Kept(
        way=way,
        cell=cell,
        dna_tests=tested if cell.telling is Telling.DNA else 0,
        tested_birds=tested if cell.telling in PROOFS else 0,
        piece={
            task.genome.loci[at].symbol: piece_length(
                task.genome.loci[at], meioses(task, way, at), broken_off(task, way.mix, at)
            )
            for at in task.carried
            if _giving(task, way, at)[0]
        },
    )


def meioses(task: Task, way: Way, locus: int) -> Fraction:
    """Expected meioses that could have cut the donor's piece around an allele of this class.

    Those in carriers whose other chromosome is the recurrent breed's; on the Z in cocks only.
    """
    if way.source is not None:
        return way.source.meioses[locus] if way.source.meioses else Fraction(0)
    z_linked = task.genome.loci[locus].z_linked
    total = weights = Fraction(0)
    for parent in way.parents:
        if z_linked and parent.sex is Sex.HEN and way.sex is Sex.HEN:
            continue
        given, single = _giving(task, parent, locus)
        if given == 0:
            continue
        could_cut = Fraction(0) if z_linked and parent.sex is Sex.HEN else single
        total += given * (meioses(task, parent, locus) + could_cut)
        weights += given
    return total / weights if weights else Fraction(0)


def _giving(task: Task, parent: Way, locus: int) -> tuple[Fraction, Fraction]:
    """Expected copies in the class, and the part of them that stand beside another allele."""
    copies = single = Fraction(0)
    for state, chance in parent.mix:
        number = task.genome.copies(state)[locus]
        copies += chance * number
        single += chance * (number == 1)
    return copies, single / copies if copies else Fraction(0)


def broken_off(task: Task, mix: Mix, at: int) -> float | None:
    """Distance in cM of the neighbour that was parted from a donor's allele in the whole class.

    None where there is none, or the donor did not have both on one chromosome (Haldane 1919,
    J Genet 8:299, for the distance; from memory).
    """
    number, place = task.genome.places[at]
    stretch = task.genome.stretches[number]
    donors = [source.mix for source in task.sources if source.share == 0]
    for other in range(len(stretch.loci)):
        if other == place or not donors or 2 * stretch.parted >= 1:
            continue
        coupled = all(one[other] for donor in donors for one in _bearers(donor, number, place))
        if coupled and not any(one[other] for one in _bearers(mix, number, place)):
            return -50.0 * log(1.0 - 2.0 * float(stretch.parted))
    return None


def _bearers(mix: Mix, number: int, place: int) -> list[Haplotype]:
    """The haplotypes of a stretch in a class that have the allele at one of its places."""
    return [one for state, _ in mix for one in state[number] if one[place]]


def piece_length(locus: Locus, times: Fraction, broken: float | None = None) -> float:
    """Expected length in cM of the donor's piece around a gene after so many meioses.

    Between whole numbers of meioses a straight line is drawn. ``broken`` cM from the gene sat a
    neighbour that was parted from it: on that side the piece ends before it.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> round(piece_length(catalogue()["Bl"], Fraction(6)), 2)
    31.67
    """
    low = int(times)
    part = float(times - low)
    one, two = place_of(locus).arms
    first, second = (
        side_length(count, one)
        + (side_length(count, two) if broken is None else broken_side(count, min(broken, two)))
        for count in (low, low + 1)
    )
    return (1 - part) * first + part * second


def broken_side(count: int, neighbour: float) -> float:
    """Expected length in cM of the piece on the side of a neighbour that was parted from the gene.

    One of the meioses cut it anywhere before the neighbour, the others cut it as they do: the
    mean of the smaller of a uniform and an exponential length (own arithmetic).

    Examples
    --------
    >>> broken_side(1, 4.0), round(broken_side(5, 4.0), 2)
    (2.0, 1.9)
    """
    others, distance = max(count - 1, 0), neighbour / 100.0
    if not others or not distance:
        return neighbour / 2.0
    return 100.0 * (1.0 / others + expm1(-others * distance) / (others**2 * distance))
