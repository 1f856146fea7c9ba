"""The factors of a pedigree's network: who descends from whom, and what was seen of them."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker.genetics.genotypes.transmission import chick_table
from matchmaker.genetics.inference.factors import Table
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.observed import ChickCount, Weights
    from matchmaker.genetics.genotypes.transmission import Gametes, Stretch

Chances: TypeAlias = "tuple[tuple[Gametes, float], ...]"
"""The possible parents of one side: their gamete chances and probabilities."""

SELECTION_TABLES: Final = 4096
"""So many of the tables that select a parent are shared by all birds; of more, each has its own."""


@lru_cache(maxsize=256)
def descent_table(stretch: Stretch, sex: Sex | None, sires: Chances, dams: Chances) -> Table:
    """P(chick | all its possible parents): the mean over them; axes sires, dams, chick.

    Possible parents with one state only (pools) have no axis.

    Examples
    --------
    A cock of known genotype, or with equal chance his brother, on a hen out of a plain pool:

    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> cocks = ((one.gametes(Sex.COCK), 0.5),) * 2
    >>> descent_table(one, Sex.HEN, cocks, ((((1.0, 0.0),), 1.0),)).values[2, 0].tolist()
    [0.5, 0.5, 0.0]
    """
    sizes = [len(gametes) for gametes, _ in (*sires, *dams)]
    chick = len(stretch.states(sex))
    table = np.zeros((*sizes, chick))
    for one, (sire, sire_share) in enumerate(sires):
        for two, (dam, dam_share) in enumerate(dams, len(sires)):
            shape = [size if at in {one, two} else 1 for at, size in enumerate(sizes)]
            born = chick_table(stretch, sex, sire, dam).reshape(*shape, chick)
            table += sire_share * dam_share * born
    pools = tuple(at for at, size in enumerate(sizes) if size == 1)
    return Table.of(table.squeeze(pools))


@lru_cache(maxsize=1024)
def prior_table(shares: tuple[float, ...]) -> Table:
    """The probabilities of one variable.

    Examples
    --------
    >>> prior_table((0.25, 0.75)).values.tolist()
    [0.25, 0.75]
    """
    return Table.of(np.array(shares))


@lru_cache(maxsize=SELECTION_TABLES)
def selection_table(choices: int, chosen: int, held: int, states: int) -> Table:
    """If the selector says ``chosen``, the stand-in is that bird; else the factor says nothing.

    Axes: ``choices`` of the selector, ``held`` states of the bird, ``states`` of the stand-in.

    Examples
    --------
    >>> selection_table(2, 1, 2, 2).values.tolist()
    [[[1.0, 1.0], [1.0, 1.0]], [[1.0, 0.0], [0.0, 1.0]]]
    """
    table = np.ones((choices, held, states))
    table[chosen] = np.eye(held, states)
    return Table.of(table)


@lru_cache(maxsize=1024)
def pool_table(choices: int, chances: tuple[float, ...]) -> Table:
    """If the selector makes its last choice, the stand-in comes from the pools with ``chances``.

    Examples
    --------
    >>> pool_table(2, (0.2, 0.8)).values.tolist()
    [[1.0, 1.0], [0.2, 0.8]]
    """
    table = np.ones((choices, len(chances)))
    table[-1] = chances
    return Table.of(table)


@lru_cache(maxsize=1024)
def founder_chances(
    stretch: Stretch, sex: Sex, pools: tuple[tuple[tuple[float, ...], float], ...]
) -> tuple[float, ...]:
    """State probabilities of a living bird out of one of several pools.

    ``pools`` pairs the haplotype frequencies of each with the probability that it is the one.

    Examples
    --------
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> founder_chances(one, Sex.HEN, (((0.5, 0.5), 0.5), ((1.0, 0.0), 0.5)))
    (0.625, 0.25, 0.125)
    """
    total = sum(share for _, share in pools)
    chances = sum(
        share / total * chick_table(stretch, sex, (gamete,), (gamete,))[0, 0]
        for gamete, share in pools
    )
    return tuple(np.asarray(chances).tolist())


@cache
def genotype_places(stretch: Stretch, sex: Sex | None, place: int) -> tuple[tuple[Sex, int], ...]:
    """(Sex, number of the genotype at one of the loci) of each state of a bird.

    Examples
    --------
    The ten phased states of a bird, by its genotype at the first of two loci:

    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> both = Stretch((Inheritance(z_linked=False),) * 2, 0.1)
    >>> [number for _, number in genotype_places(both, None, 0)]
    [0, 0, 1, 1, 0, 1, 1, 2, 2, 2]
    """
    orders = {which: stretch.loci[place].genotypes(which) for which in Sex}
    return tuple(
        (which, orders[which].index(stretch.genotype(held, place)))
        for which, held in stretch.states(sex)
    )


@lru_cache(maxsize=4096)
def sight_table(weights: Weights, stretch: Stretch, sex: Sex | None, place: int) -> Table:
    """The chance of what was seen of a bird by its states; ``place`` of the locus it speaks of.

    Examples
    --------
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> on_the_z = Stretch((Inheritance(z_linked=True),))
    >>> shown = ((0.0, 1.0, 1.0), (0.0, 1.0))
    >>> sight_table(shown, on_the_z, None, 0).values.tolist()
    [0.0, 1.0, 1.0, 0.0, 1.0]
    """
    return Table.of(_by_state(weights, stretch, sex, place))


def _by_state(
    weights: Weights, stretch: Stretch, sex: Sex | None, place: int
) -> NDArray[np.float64]:
    cock, hen = weights
    # Off the Z the states do not tell the sex, but what was seen may depend on it.
    known = None if stretch.z_linked else sex
    return np.array(
        [
            (hen if (known or which) is Sex.HEN else cock)[genotype]
            for which, genotype in genotype_places(stretch, sex, place)
        ]
    )


@lru_cache(maxsize=256)
def genotype_table(stretch: Stretch, sex: Sex | None, place: int) -> Table:
    """Which genotype at one of the loci each state has; axes states, genotypes of that sex.

    Examples
    --------
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> both = Stretch((Inheritance(z_linked=False),) * 2, 0.1)
    >>> genotype_table(both, Sex.HEN, 1).values.sum(axis=0).tolist()
    [3.0, 4.0, 3.0]
    """
    numbers = [number for _, number in genotype_places(stretch, sex, place)]
    own = sex if stretch.z_linked and sex is not None else Sex.COCK
    return Table.of(np.eye(len(stretch.loci[place].genotypes(own)))[numbers])


@lru_cache(maxsize=1024)
def count_table(
    stretch: Stretch, place: int, count: ChickCount, sexes: tuple[Sex | None, Sex | None]
) -> Table:
    """Chance of the counts by states of (hen, cock), the number of orders apart (multinomial).

    ``sexes`` are what is known of the two; who is named as the hen can be in no cock's state.

    Examples
    --------
    One plain chick of a hen without the allele speaks against a cock with one or two copies:

    >>> from matchmaker.genetics.genotypes.observed import ChickCount, Place
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> plain = ((1.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    >>> place = Place(file="seen.csv", row=2, column="what", words="1 plain")
    >>> count = ChickCount(hen="H", cock="C", classes=((plain, 1),), place=place)
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> count_table(one, 0, count, (Sex.HEN, Sex.COCK)).values[0].tolist()
    [1.0, 0.5, 0.0]
    """
    hens, cocks = (stretch.states(sex) for sex in sexes)
    logs = np.full((len(hens), len(cocks)), -np.inf)
    rows = _places_of(stretch, Sex.HEN, sexes[0])
    columns = _places_of(stretch, Sex.COCK, sexes[1])
    logs[np.ix_(rows, columns)] = _count_logs(stretch, place, count)
    return Table(logs)


def pen_count_table(
    stretch: Stretch, place: int, count: ChickCount, parents: tuple[Chances, Chances]
) -> Table:
    """Chance of the counts by states of all possible sires, then dams, each chick drawn by itself.

    ``parents`` are the two sides as ``descent_table`` takes them.

    Examples
    --------
    One chick that shows it, of a plain hen and one of two cocks, the first of them plain:

    >>> from matchmaker.genetics.genotypes.observed import ChickCount, Place
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> shown = ((0.0, 1.0, 1.0), (0.0, 1.0, 1.0))
    >>> place = Place(file="seen.csv", row=2, column="what", words="1 shown")
    >>> count = ChickCount(hen="H", cock="C|D", classes=((shown, 1),), place=place)
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> sides = ((one.gametes(Sex.COCK), 0.5),) * 2, ((one.gametes(Sex.HEN), 1.0),)
    >>> pen_count_table(one, 0, count, sides).values[0, :, 0].round(9).tolist()
    [0.0, 0.25, 0.5]
    """
    sires, dams = parents
    sexes = (count.sex,) if count.sex or stretch.z_linked else tuple(Sex)
    logs = np.zeros([len(gametes) for gametes, _ in (*sires, *dams)])
    for weights, chicks in count.classes:
        chance = np.zeros(logs.shape)
        for sex in sexes:
            born = descent_table(stretch, sex, sires, dams).values
            chance += born @ _by_state(weights, stretch, sex, place) / len(sexes)
        with np.errstate(divide="ignore"):
            logs += chicks * np.log(chance) if chicks else 0.0
    return Table(logs)


@lru_cache(maxsize=1024)
def sum_step(sums: Gametes, gametes: Gametes, share: float) -> tuple[Gametes, Table]:
    """Add a bird's part of the gametes to a sum: the values it may have then, and which is whose.

    Axes of the table: values of the sum before, states of the bird, values of the sum with it.

    Examples
    --------
    Two birds, each with half of the chicks and 0, 1 or 2 copies: 0 to 4 copies together.

    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> gametes = Stretch((Inheritance(z_linked=False),)).gametes(Sex.HEN)
    >>> half = tuple(tuple(p / 2 for p in gamete) for gamete in gametes)
    >>> sums, table = sum_step(half, gametes, 0.5)
    >>> sorted(copies for _, copies in sums)
    [0.0, 0.25, 0.5, 0.75, 1.0]
    >>> [sums[at][1] for at in table.values[1].argmax(axis=1)]
    [0.25, 0.5, 0.75]
    """
    added = np.array(sums)[:, None, :] + share * np.array(gametes)[None, :, :]
    flat = added.reshape(-1, added.shape[2])
    # Rounded to find the same values, kept as they are: roundings would add up to new ones.
    _, first, whose = np.unique(flat.round(9), axis=0, return_index=True, return_inverse=True)
    table = np.eye(len(first))[whose.reshape(added.shape[:2])]
    return tuple(map(tuple, flat[first].tolist())), Table.of(table)


def _places_of(stretch: Stretch, role: Sex, sex: Sex | None) -> list[int]:
    """Where the states of one sex stand among those of a bird that may be of unknown sex."""
    states = stretch.states(sex)
    return [states.index(state) for state in stretch.states(role)]


def _count_logs(stretch: Stretch, place: int, count: ChickCount) -> NDArray[np.float64]:
    parents = stretch.gametes(Sex.COCK), stretch.gametes(Sex.HEN)
    # Off the Z what was seen may still depend on the sex, so chicks of both are looked at apart.
    sexes = (count.sex,) if count.sex or stretch.z_linked else tuple(Sex)
    shape = (len(parents[1]), len(parents[0]))
    logs = np.zeros(shape)
    for weights, chicks in count.classes:
        chance = np.zeros(shape)
        for sex in sexes:
            born = chick_table(stretch, sex, *parents) @ _by_state(weights, stretch, sex, place)
            chance += born.T / len(sexes)
        with np.errstate(divide="ignore"):
            logs += chicks * np.log(chance) if chicks else 0.0
    return logs
