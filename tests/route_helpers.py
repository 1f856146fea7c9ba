"""Tasks for the search of routes, made of catalogue loci and a pure donor."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.route.genome import genome_of
from matchmaker.route.task import Source, Task, share_after
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.route.steps import Route

BOTH = (Sex.COCK, Sex.HEN)


def linked(one: str, two: str, parted: float) -> dict[str, Locus]:
    """Two catalogue loci, parted in so many gametes."""
    loci = {symbol: catalogue()[symbol] for symbol in (one, two)}
    return {one: loci[one], two: replace(loci[two], linked_to=one, recombination=parted)}


def task_of(
    wanted: Mapping[str, int],
    *,
    donors: Sequence[Sex] = BOTH,
    backcrosses: int = 3,
    birds: int = 4,
    loci: Mapping[str, Locus] | None = None,
) -> Task:
    """A task from a donor that is pure for everything, at hand in these sexes."""
    known = loci or {symbol: catalogue()[symbol] for symbol in wanted}
    genome = genome_of(known)
    number = len(known)
    sources = [
        Source(name="sussex", sex=sex, mix=genome.pure(sex, [0] * number), share=Fraction(1))
        for sex in BOTH
    ]
    sources += [
        Source(name="araucana", sex=sex, mix=genome.pure(sex, [1] * number), share=Fraction(0))
        for sex in donors
    ]
    testers = {
        (sex, at): frozenset({0, *([locus.copy_numbers(sex)[-1]] if sex in donors else [])})
        for sex in BOTH
        for at, locus in enumerate(known.values())
    }
    return Task(
        genome=genome,
        wanted=tuple(wanted[symbol] for symbol in known),
        share=share_after(backcrosses),
        sources=tuple(sources),
        birds=birds,
        testers=testers,
    )


def story(route: Route) -> list[tuple[int, str, str, str, str]]:
    """Season, who is crossed with whom, which sex is kept and how it is told."""
    return [
        (
            step.season,
            "recurrent" if step.cock.recurrent else "donor" if step.cock.donor else "carrier",
            "recurrent" if step.hen.recurrent else "donor" if step.hen.donor else "carrier",
            str(kept.way.sex),
            str(kept.cell.telling),
        )
        for step in route.steps
        for kept in step.kept
    ]
