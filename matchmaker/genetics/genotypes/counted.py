"""Counts of chicks of several possible parents, as factors of a pedigree's network."""

from __future__ import annotations

from dataclasses import replace
from math import prod
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.builder import Candidate, chances_of
from matchmaker.genetics.genotypes.descent import genotype_table, pen_count_table, sum_step
from matchmaker.genetics.genotypes.transmission import Stretch
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.genetics.genotypes.builder import Builder
    from matchmaker.genetics.genotypes.observed import ChickCount

COUNT_STATES_MAX = 3**12
"""Most joint states of possible parents that one factor may span: a cock and eleven hens."""

SUM_STATES_MAX = 250
"""Most values of the gametes of several possible parents, summed up."""


def add_pen_count(builder: Builder, count: ChickCount, place: int = 0) -> None:
    """Add a count of chicks of several possible parents.

    It hangs on the parents' genotypes at its own locus alone, so of two linked loci each parent
    gets a variable for that one. One factor joins them all where that is narrow; else the mean of
    their gametes is summed up bird by bird, which tells as much unless some chicks die; else each
    chick has stand-ins of its own, as a banded one would.

    Examples
    --------
    A plain hen had a pea-combed chick by one of two cocks, the second of them plain:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.genotype import genotype_probabilities
    >>> from matchmaker.genetics.genotypes.observed import ChickCount, Place
    >>> from matchmaker.genetics.genotypes.words import SHOWN, weights
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> pen = pedigree_of("C cock mixed mixed", "D cock plain plain", "H hen plain plain")
    >>> pea = replace(catalogue()["P"], frequency={"mixed": 0.5})
    >>> told = ChickCount(
    ...     hen="H",
    ...     cock="C|D",
    ...     classes=((weights(pea, SHOWN), 1),),
    ...     place=Place(file="seen.csv", row=2, column="what", words="1 pea"),
    ...     hens=(("H", 1.0),),
    ...     cocks=(("C", 0.5), ("D", 0.5)),
    ... )
    >>> genotype_probabilities(pen, pea, [told], "plain").of("C").tolist()
    [0.0, 0.5, 0.5]
    """
    apart = len(builder.stretch.loci) > 1 and not any(locus.dies for locus in builder.stretch.loci)
    stretch = Stretch((builder.stretch.loci[place],)) if apart else builder.stretch
    sides = [
        [
            Candidate(stretch.gametes(sex), share, _genotype_of(builder, bird, place, apart=apart))
            for bird, share in named
        ]
        for named, sex in ((count.cocks, Sex.COCK), (count.hens, Sex.HEN))
    ]
    own = (stretch, 0 if apart else place)
    if prod(len(one.gametes) for side in sides for one in side) <= COUNT_STATES_MAX:
        _join(builder, count, own, sides)
        return
    some_die = any(one.dies for one in stretch.loci)
    means = [_mean(builder, s) if builder.summed and not some_die else None for s in sides]
    if None not in means:
        _join(builder, count, own, [[one] for one in means if one is not None])
        return
    for weights, chicks in count.classes:
        single = replace(count, classes=((weights, 1),))
        for _ in range(chicks):
            drawn = [side if len(side) == 1 else [builder.stand_in(side)] for side in sides]
            _join(builder, single, own, drawn)


def _mean(builder: Builder, side: list[Candidate]) -> Candidate | None:
    """Return all of one side as one whose gametes are their mean; ``None`` if of many values.

    Each bird adds its part of the gametes to the sum of those before it.
    """
    key = tuple((one.variable, one.share) for one in side)
    if key in builder.sums:
        return builder.sums[key]
    first = side[0]
    sums = tuple(tuple(p * first.share for p in gamete) for gamete in first.gametes)
    steps = []
    for one in side[1:]:
        sums, table = sum_step(sums, one.gametes, one.share)
        steps.append((one, table, len(sums)))
        if len(sums) > SUM_STATES_MAX:
            builder.sums[key] = None
            return None
    variable = first.variable
    for one, table, states in steps:
        held = [at for at in (variable, one.variable) if at is not None]
        variable = builder.network.variable(states)
        builder.network.add(table, *held, variable)
    builder.sums[key] = Candidate(sums, 1.0, variable)
    return builder.sums[key]


def _genotype_of(builder: Builder, bird: str, place: int, *, apart: bool) -> int:
    """The variable of a bird, or (``apart``) one for its genotype at one locus alone."""
    node = builder.nodes[bird]
    variable = builder.variable_of[node]
    if not apart:
        return variable
    if (variable, place) not in builder.genotypes:
        sex = builder.sexes[node - builder.pedigree.first_bird]
        table = genotype_table(builder.stretch, sex, place)
        builder.genotypes[variable, place] = builder.network.variable(table.values.shape[1])
        builder.network.add(table, variable, builder.genotypes[variable, place])
    return builder.genotypes[variable, place]


def _join(
    builder: Builder, count: ChickCount, own: tuple[Stretch, int], sides: list[list[Candidate]]
) -> None:
    table = pen_count_table(*own, count, (chances_of(sides[0]), chances_of(sides[1])))
    scope = [one.variable for side in sides for one in side if one.variable is not None]
    builder.network.add(table, *scope)
