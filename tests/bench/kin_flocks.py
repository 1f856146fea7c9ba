"""Invented flocks with a pedigree as planning problems: all kinship comes from it."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.kin.kinship import KinshipMatrix, kinship_matrix
from matchmaker.plan.posing.pedigree_terms import terms_of_pedigree
from matchmaker.tables.records import Sex
from tests.bench.flocks import RECURRENT, flock_problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.posing.problem import Candidate, PlanProblem

KINSHIP_MAX = 0.1875
GENERATIONS = 3
BASE = 0.0625
BREEDERS = 0.25
"""Part of a generation that breeds, at least four of each sex."""


@dataclass(slots=True)
class _Books:
    """A pedigree in the making: bands, sexes and parents, with the pools of two breeds."""

    birds: list[str] = field(default_factory=list)
    sexes: list[Sex] = field(default_factory=list)
    sires: list[Links] = field(default_factory=list)
    dams: list[Links] = field(default_factory=list)

    def hatch(self, band: str, sex: Sex, sire: Links, dam: Links) -> int:
        """Write a bird down and return its node; the pools are nodes 0 and 1."""
        self.birds.append(band)
        self.sexes.append(sex)
        self.sires.append(sire)
        self.dams.append(dam)
        return len(self.birds) + 1

    def pedigree(self) -> Pedigree:
        return Pedigree(
            pools=(Pool("donor"), Pool("recurrent")),
            bases=((BASE, 0.0), (0.0, BASE)),
            birds=tuple(self.birds),
            sexes=tuple(self.sexes),
            sires=tuple(self.sires),
            dams=tuple(self.dams),
        )


def kin_problem(hens: int, cocks: int, seed: int) -> PlanProblem:
    """Return the problem of ``tests.bench.flocks`` with kinship that comes from a pedigree.

    Each line has a few cocks and hens a generation, so that families are large and lines related
    through the recurrent breed; one bird in eight has two possible sires.
    """
    problem = flock_problem(hens, cocks, seed)
    pedigree = kin_pedigree(hens, cocks, seed)
    bands = [f"H{at:03d}" for at in range(hens)] + [f"C{at:03d}" for at in range(cocks)]
    kinship = kinship_matrix(pedigree, bands)
    return replace(
        problem,
        candidates=tuple(_candidates(problem, kinship)),
        group=terms_of_pedigree(pedigree, bands),
    )


def kin_pedigree(hens: int, cocks: int, seed: int) -> Pedigree:
    """Return the pedigree: pure birds for some generations, three lines backcrossed beside them."""
    rng = random.Random(seed + 1000)  # noqa: S311
    books = _Books()
    size = max(12, hens // 2)
    pure = [
        [books.hatch(f"P0.{sex}.{at}", sex, ((1, 1.0),), ((1, 1.0),)) for at in range(size)]
        for sex in Sex
    ]
    lines = {
        line: [
            [
                books.hatch(f"{line}0.{sex}.{at}", sex, ((0, 1.0),), ((0, 1.0),))
                for at in range(size)
            ]
            for sex in Sex
        ]
        for line in ("Alder", "Birch", "Cedar")
    }
    for generation in range(1, GENERATIONS):
        chosen = [_some(rng, birds) for birds in pure]
        lines = {
            line: _generation(rng, books, f"{line}{generation}", _crossed(rng, old, chosen), size)
            for line, old in lines.items()
        }
        pure = _generation(rng, books, f"P{generation}", chosen, size)
    _last(rng, books, {RECURRENT: pure, **lines}, (hens, cocks))
    return books.pedigree()


def _some(rng: random.Random, birds: Sequence[int], part: float = BREEDERS) -> list[int]:
    return rng.sample(birds, max(4, round(part * len(birds))))


def _crossed(
    rng: random.Random, line: Sequence[Sequence[int]], pure: Sequence[Sequence[int]]
) -> list[list[int]]:
    """Cocks of the line on pure hens, or the other way round."""
    if rng.random() < 0.5:
        return [list(pure[0]), _some(rng, line[1])]
    return [_some(rng, line[0]), list(pure[1])]


def _generation(
    rng: random.Random, books: _Books, name: str, parents: Sequence[list[int]], size: int
) -> list[list[int]]:
    cocks, hens = parents
    return [
        [
            books.hatch(f"{name}.{sex}.{at}", sex, _sire(rng, cocks), ((rng.choice(hens), 1.0),))
            for at in range(size)
        ]
        for sex in Sex
    ]


def _sire(rng: random.Random, cocks: Sequence[int]) -> Links:
    if len(cocks) > 1 and rng.random() < 0.125:
        first, second = sorted(rng.sample(cocks, 2))
        return ((first, 0.5), (second, 0.5))
    return ((rng.choice(cocks), 1.0),)


def _last(
    rng: random.Random,
    books: _Books,
    lines: dict[str, list[list[int]]],
    counts: tuple[int, int],
) -> None:
    """Hatch the birds of today, line by line as ``flock_problem`` numbers them."""
    order = (RECURRENT, "Alder", "Birch", "Cedar")
    pure = [_some(rng, birds) for birds in lines[RECURRENT]]
    parents = {
        line: pure if line == RECURRENT else _crossed(rng, lines[line], pure) for line in order
    }
    for letter, sex, count in (("H", Sex.HEN, counts[0]), ("C", Sex.COCK, counts[1])):
        for at in range(count):
            cocks, hens = parents[order[at % 4]]
            books.hatch(f"{letter}{at:03d}", sex, _sire(rng, cocks), ((rng.choice(hens), 1.0),))


def _candidates(problem: PlanProblem, kinship: KinshipMatrix) -> list[Candidate]:
    """The pairs that are related little enough, their values as ``flock_problem`` makes them."""
    related = [
        replace(one, kinship=kinship.between(one.hen, one.cock)) for one in problem.candidates
    ]
    return [one for one in related if one.kinship <= KINSHIP_MAX]
