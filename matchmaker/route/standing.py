"""Where each line stands on the way, and what comes next: the same search, from its own birds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.shares.segment import donor_segments
from matchmaker.pairs.crossings import line_steps
from matchmaker.route.asking import recurrent_sources
from matchmaker.route.search import Search
from matchmaker.route.steps import Route, route_of
from matchmaker.route.task import BY_LOOKS, Allowed, Source, backcrosses_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.genotypes.linked import LinkedGenotypes
    from matchmaker.genetics.study import Study
    from matchmaker.route.genome import Genome, Mix, State, Stretch
    from matchmaker.route.task import Task

SURE: Final = Fraction(99, 100)
"""From this chance on a bird counts as one that carries."""

MAYBE: Final = Fraction(1, 20)
"""Below this chance a bird counts as one that does not."""

GRAIN: Final = 1000
"""Chances of living birds are taken to this part of one."""

CLASSES: Final = 3
"""Classes of one line and sex that the search begins with: the best ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Birds of one line and sex that may breed: surely carrying, perhaps, surely not; finished."""

    carrying: int
    perhaps: int
    free: int
    finished: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a line stands: its birds, its step by share, the rest of its route.

    ``backcrosses`` are those that the share of its carriers stands for; −1: donor birds only.
    ``share`` is the highest recurrent share among those that surely carry, ``perhaps`` among those
    that may, where it is higher; both are None where there are none. ``step`` is what the settings
    say or the books imply, ``stated`` if the former. ``route`` obeys what is stated; ``next_step``
    is what it does first ("backcross", "intercross", "done", or None without a route).
    ``free_route`` and ``free_step`` are the same as they would be if nothing were stated.
    """

    line: str
    counts: Mapping[Sex, Count]
    backcrosses: int
    share: Fraction | None
    perhaps: Fraction | None
    step: str
    stated: bool
    route: Route | None
    next_step: str | None
    free_route: Route | None
    free_step: str | None

    @property
    def disagrees(self) -> bool:
        """Whether the settings say another step than the route would take next."""
        return self.stated and self.free_step not in (None, self.step)


def standings(study: Study, task: Task) -> tuple[Standing, ...]:
    """Where every line stands that is not kept pure, in order of their names."""
    steps = line_steps(study.flock, study.recurrent_share)
    members: dict[str, list[Bird]] = {}
    for bird in study.flock.breeders:
        if bird.sex is not None and not bird.record.defects:
            members.setdefault(bird.line, []).append(bird)
    named = {line: step for step in ("backcross", "intercross") for line in getattr(steps, step)}
    return tuple(
        _standing(study, task, line, members.get(line, []), named[line]) for line in sorted(named)
    )


def _standing(study: Study, task: Task, line: str, birds: Sequence[Bird], step: str) -> Standing:
    mixes = {bird.band: mix_of(study, task.genome, bird) for bird in birds}
    sources = _sources(study, task, line, birds, mixes)
    share = _highest(study, task, birds, mixes, SURE)
    perhaps = _highest(study, task, birds, mixes, MAYBE)
    stated = study.flock.settings.line(line).step
    route, following = _onward(study, task, sources, stated)
    free = (route, following) if stated is None else _onward(study, task, sources, None)
    return Standing(
        line=line,
        counts={
            sex: _count(study, task, [b for b in birds if b.sex is sex], mixes, sex) for sex in Sex
        },
        backcrosses=-1 if share is None else backcrosses_of(share),
        share=share,
        perhaps=perhaps if perhaps != share else None,
        step=step,
        stated=stated is not None,
        route=route,
        next_step=following,
        free_route=free[0],
        free_step=free[1],
    )


def _highest(
    study: Study, task: Task, birds: Sequence[Bird], mixes: Mapping[str, Mix], least: Fraction
) -> Fraction | None:
    """The highest recurrent share among the birds that carry with such a chance at least."""
    return max(
        (
            _part(study.recurrent_share[bird.band])
            for bird in birds
            if task.carrying(mixes[bird.band]) >= least
        ),
        default=None,
    )


def _count(
    study: Study, task: Task, birds: Sequence[Bird], mixes: Mapping[str, Mix], sex: Sex
) -> Count:
    carrying = [task.carrying(mixes[bird.band]) for bird in birds]
    finished = sum(
        _reached(task, mixes[bird.band], sex) >= SURE
        and study.recurrent_share[bird.band] >= task.share
        for bird in birds
    )
    return Count(
        carrying=sum(chance >= SURE for chance in carrying),
        perhaps=sum(MAYBE <= chance < SURE for chance in carrying),
        free=sum(chance < MAYBE for chance in carrying),
        finished=finished,
    )


def _reached(task: Task, mix: Mix, sex: Sex) -> Fraction:
    goal = task.goal(sex)
    return sum((p for state, p in mix if task.genome.copies(state) == goal), Fraction(0))


def _sources(
    study: Study, task: Task, line: str, birds: Sequence[Bird], mixes: Mapping[str, Mix]
) -> tuple[Source, ...]:
    """The best classes of a line's cocks and hens, each with the share and piece of one bird."""
    found: list[Source] = []
    for sex in Sex:
        ranked = sorted(
            (bird for bird in birds if bird.sex is sex and task.carrying(mixes[bird.band]) > 0),
            key=lambda bird: (
                -min(task.carrying(mixes[bird.band]), SURE),
                -_progress(task, mixes[bird.band], sex),
                -study.recurrent_share[bird.band],
                bird.band,
            ),
        )
        seen: dict[tuple[Mix, Fraction], Source] = {}
        for bird in ranked:
            mix, share = mixes[bird.band], _part(study.recurrent_share[bird.band])
            if (mix, share) not in seen and len(seen) < CLASSES:
                seen[mix, share] = Source(
                    name=line,
                    sex=sex,
                    mix=mix,
                    share=share,
                    meioses=_meioses(study, task, bird),
                )
        found += seen.values()
    return tuple(found)


def _progress(task: Task, mix: Mix, sex: Sex) -> Fraction:
    """Expected number of loci at which the class has what is wanted in the end."""
    goal = task.goal(sex)
    return sum(
        (
            p * sum(a == b for a, b in zip(task.genome.copies(state), goal, strict=True))
            for state, p in mix
        ),
        Fraction(0),
    )


def _meioses(study: Study, task: Task, bird: Bird) -> tuple[Fraction, ...]:
    found = []
    for locus in task.genome.loci:
        copies = {bird.band: tuple(map(float, study.genotypes[locus.symbol].of(bird.band)))}
        pieces = donor_segments(
            study.flock.pedigree, [bird.band], locus, study.flock.settings.recurrent, copies
        )
        piece = pieces.get(bird.band)
        found.append(_part(piece.mean_meioses) if piece else Fraction(0))
    return tuple(found)


def _part(chance: float) -> Fraction:
    return Fraction(round(chance * GRAIN), GRAIN) if chance % 0.0625 else Fraction(chance)


def _onward(
    study: Study, task: Task, sources: Iterable[Source], first: str | None
) -> tuple[Route | None, str | None]:
    """The rest of the route from a line's own birds, and the kind of its first step.

    As over all schemes, the one with the least seasons times work; told without tests or by any.
    """
    own = tuple(sources)
    if not own:
        return None, None
    here = replace(task, sources=(*recurrent_sources(study, task.genome), *own))
    search = Search(here)
    found = [
        *search.find(Allowed(tellings=BY_LOOKS, sure=True, first=first)),
        *search.find(Allowed(first=first), slack=0),
    ]
    routes = [route_of(here, one) for one in found]
    if not routes:
        return None, None
    route = min(routes, key=lambda one: ((one.seasons + 1) * one.work, one.seasons))
    if not route.steps:
        return route, "done"
    opening = [step for step in route.steps if step.season == route.steps[0].season]
    back = any(step.cock.recurrent or step.hen.recurrent for step in opening)
    return route, "backcross" if back else "intercross"


def mix_of(study: Study, genome: Genome, bird: Bird) -> Mix:
    """What a living bird can be, to a thousandth: phase included where it is worked out."""
    parts = [_held_of(study, genome, stretch, bird) for stretch in genome.stretches]
    chances: dict[State, Fraction] = {}
    for chosen in product(*(part.items() for part in parts)):
        chance = Fraction(1)
        for _, share in chosen:
            chance *= share
        chances[tuple(held for held, _ in chosen)] = chance
    return tuple(sorted(chances.items()))


def _held_of(
    study: Study, genome: Genome, stretch: Stretch, bird: Bird
) -> dict[tuple[tuple[int, ...], ...], Fraction]:
    """Chances of what a bird holds of one stretch, small ones dropped."""
    symbols = tuple(genome.loci[at].symbol for at in stretch.loci)
    chances: dict[tuple[tuple[int, ...], ...], float] = {}
    if len(symbols) == 2:
        linked = [one for pair, one in study.linked.items() if set(pair) == set(symbols)]
        found = _phased(linked[0], symbols, bird) if linked else _unphased(study, symbols, bird)
        for held, chance in found:
            chances[held] = chances.get(held, 0.0) + chance
    else:
        hemizygous = stretch.z_linked and bird.sex is Sex.HEN
        for copies, chance in enumerate(study.genotypes[symbols[0]].of(bird.band)):
            held = ((copies,),) if hemizygous else _pair_of(copies)
            chances[held] = chances.get(held, 0.0) + float(chance)
    return _rounded(chances)


def _pair_of(copies: int) -> tuple[tuple[int, ...], ...]:
    return ((int(copies == 2),), (int(copies >= 1),))


def _rounded(
    chances: Mapping[tuple[tuple[int, ...], ...], float],
) -> dict[tuple[tuple[int, ...], ...], Fraction]:
    kept = {held: Fraction(round(chance * GRAIN)) for held, chance in chances.items()}
    total = sum(kept.values())
    return {held: weight / total for held, weight in kept.items() if weight}


def _phased(
    linked: LinkedGenotypes, symbols: tuple[str, ...], bird: Bird
) -> Iterable[tuple[tuple[tuple[int, ...], ...], float]]:
    """What a bird can hold of two linked loci, in the order of ``symbols``, with its chances."""
    stretch = linked.posterior.problem.stretch
    order = [[locus.symbol for locus in linked.loci].index(symbol) for symbol in symbols]
    named = [linked.loci[place].inheritance.named for place in order]
    sexed = bird.sex if stretch.z_linked else None
    row = linked.posterior.of(bird.band)
    for (sex, held), chance in zip(stretch.states(None), row, strict=True):
        if chance > 0 and (sexed is None or sex is sexed):
            haplotypes = sorted(
                tuple(
                    int(stretch.haplotypes[number][place] == allele)
                    for place, allele in zip(order, named, strict=True)
                )
                for number in held
            )
            yield tuple(haplotypes), float(chance)


def _unphased(
    study: Study, symbols: tuple[str, ...], bird: Bird
) -> Iterable[tuple[tuple[tuple[int, ...], ...], float]]:
    """The same where the two were not worked out together: independent, either phase as likely.

    So it is where one of them lies nearer to a third locus.
    """
    z_linked = study.loci[symbols[0]].z_linked
    one, two = (study.genotypes[symbol].of(bird.band) for symbol in symbols)
    for first, second in product(range(3), repeat=2):
        chance = float(one[first] * two[second])
        if z_linked and bird.sex is Sex.HEN:
            yield ((min(first, 1), min(second, 1)),), chance
            continue
        (a, b), (c, d) = ((int(n == 2), int(n >= 1)) for n in (first, second))
        for held in (((a, c), (b, d)), ((a, d), (b, c))):
            yield tuple(sorted(held)), chance / 2
