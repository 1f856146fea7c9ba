"""Invented flocks of any size as planning problems: three backcross lines and one to hold."""

from __future__ import annotations

import random
import zlib
from dataclasses import dataclass, replace

from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    LineCarriers,
    LineGoal,
    PenKind,
    PlanLimits,
    PlanProblem,
    TestGoal,
)
from tests.bench.rows import Size

RECURRENT = "Recurrent"
BACKCROSS = ("Alder", "Birch", "Cedar")
KINSHIP_MAX = 0.125
FAMILIES = 4


@dataclass(frozen=True, slots=True)
class _Bird:
    band: str
    line: str
    family: int
    merit: float
    carrier_probability: float


def hungry(problem: PlanProblem) -> PlanProblem:
    """Return the same flock with lines that want ten times as many chicks: pens are short then."""
    lines = (replace(goal, chicks_wanted=10 * goal.chicks_wanted) for goal in problem.lines)
    return replace(problem, lines=tuple(lines))


def hens_and_cocks(size: str) -> tuple[int, int]:
    """The two numbers of a size, without the signs behind it.

    >>> hens_and_cocks("60x8+*")
    (60, 8)
    """
    hens, cocks = size.rstrip("+*").split("x")
    return int(hens), int(cocks)


def size_of(size: str) -> Size:
    """The size of a row, by its hens.

    >>> size_of("200x20+")
    Size(words='200×20', amount=200)
    """
    hens, cocks = hens_and_cocks(size)
    return Size(f"{hens:,}×{cocks:,}", hens)


def kind_of(size: str) -> str:
    """What the signs behind a size say, behind the name of the task.

    >>> kind_of("60x8"), kind_of("60x8+*")
    (', pens enough', ', pens short, every kind of rule')
    """
    pens = ", pens short" if "+" in size else ", pens enough"
    return f"{pens}, every kind of rule" if "*" in size else pens


def flock_problem(hens: int, cocks: int, seed: int) -> PlanProblem:
    """Return the problem of a flock with as many pens as cocks.

    Worth, chicks and needs are made as a season makes them: a hen's chicks by chance of the wanted
    genotype, at most a family's part of the line's need (2.5 chicks a breeder, 4 families).
    """
    rng = random.Random(seed)  # noqa: S311
    ladies = [_bird(f"H{place:03d}", place, rng) for place in range(hens)]
    gentlemen = [_bird(f"C{place:03d}", place, rng) for place in range(cocks)]
    lines = (*BACKCROSS, RECURRENT)
    breeders = {line: sum(one.line == line for one in (*ladies, *gentlemen)) for line in lines}
    return PlanProblem(
        candidates=tuple(_candidates(ladies, gentlemen, breeders, rng)),
        kinds=_kinds(cocks),
        cocks=tuple(
            CockLimit(cock=one.band, hens_max=rng.choice((8, 10, 12)), pens_max=1)
            for one in gentlemen
        ),
        lines=tuple(
            LineGoal(
                line=line,
                importance=0.5 if line == RECURRENT else 1.0,
                chicks_wanted=2.5 * breeders[line],
                cocks_min=2 if cocks >= 20 else cocks // 8,
                hens_min=2 if cocks >= 8 else 0,
            )
            for line in lines
        ),
    )


def _bird(band: str, place: int, rng: random.Random) -> _Bird:
    line = (RECURRENT, *BACKCROSS)[place % 4]
    return _Bird(
        band=band,
        line=line,
        family=rng.randrange(3),
        merit=rng.gauss(0.0, 1.0),
        carrier_probability=0.0 if line == RECURRENT else rng.choice((0.5, 0.67, 1.0, 1.0)),
    )


def _candidates(
    hens: list[_Bird], cocks: list[_Bird], breeders: dict[str, int], rng: random.Random
) -> list[Candidate]:
    found = []
    for hen in hens:
        lay = rng.uniform(2.5, 5.5)
        for cock in cocks:
            line, chance = _crossing(hen, cock)
            kinship = _kinship(hen, cock, rng)
            if not line or kinship > KINSHIP_MAX:
                continue
            chicks = 10 * lay * 0.85 * 0.8 * 0.9 * (1 - 0.65 * kinship)
            worth = max(0.05, 1 + 0.15 * (hen.merit + cock.merit) + rng.gauss(0.0, 0.05))
            most = 2.5 * breeders[line] / FAMILIES
            found.append(
                Candidate(
                    hen=hen.band,
                    cock=cock.band,
                    row=f"{hen.line} x {cock.line}",
                    line=line,
                    value=round(min(chicks * chance, most) * worth, 3),
                    wanted=chicks * chance,
                )
            )
    return found


def _crossing(hen: _Bird, cock: _Bird) -> tuple[str, float]:
    """Line and chance of a wanted chick: backcross both ways, or pure."""
    if hen.line == cock.line == RECURRENT:
        return RECURRENT, 1.0
    if RECURRENT in (hen.line, cock.line):
        carrier = hen if cock.line == RECURRENT else cock
        return carrier.line, 0.5 * carrier.carrier_probability
    return "", 0.0


def _kinship(hen: _Bird, cock: _Bird, rng: random.Random) -> float:
    if hen.line != cock.line:
        return rng.choice((0.02, 0.05, 0.08, 0.11, 0.14, 0.2))
    return 0.25 if hen.family == cock.family else rng.uniform(0.03, 0.16)


def _kinds(cocks: int) -> tuple[PenKind, ...]:
    """Half the pens for eight hens, a quarter for five, the rest for ten with dams told apart."""
    small = max(1, cocks // 4)
    known = max(1, cocks // 4)
    sizes = ((cocks - small - known, 8, 1, False), (small, 5, 1, False), (known, 10, 2, True))
    kinds = []
    first = 1
    for count, hens_max, hens_min, dam_known in sizes:
        kinds.append(
            PenKind(
                pens=tuple(f"Pen {label}" for label in range(first, first + count)),
                hens_max=hens_max,
                hens_min=hens_min,
                line="",
                dam_known=dam_known,
            )
        )
        first += count
    return tuple(kinds)


def with_all_rows(problem: PlanProblem) -> PlanProblem:
    """Return the same flock with every kind of rule, most of them binding.

    Two turns with the pens free in both, tests of four cocks, a limit on mean inbreeding, sire
    shares in line and flock, chicks and eggs, minimums by sex, and carriers that must stay.
    """
    turns = {"early": 0.55, "late": 0.5}
    pairs = [_with_amounts(one) for one in problem.candidates]
    tested = sorted({one.cock for one in pairs if not one.row.endswith(f" x {RECURRENT}")})[:4]
    wanted = sum(goal.chicks_wanted for goal in problem.lines)
    of_line = {
        line: sorted({one.cock for one in pairs if one.row.endswith(f" x {line}")})
        for line in BACKCROSS
    }
    return replace(
        problem,
        candidates=tuple(
            replace(one, turn=turn, value=round(one.value * part, 3))
            for one in (*pairs, *_tests(pairs, tested))
            for turn, part in turns.items()
        ),
        kinds=tuple(replace(kind, turn=turn) for kind in problem.kinds for turn in turns),
        lines=tuple(
            replace(
                goal,
                sire_share_max=0.7,
                wanted_cocks_min=min(6.0, 0.2 * goal.chicks_wanted),
                sure_hens_min=min(3.0, 0.1 * goal.chicks_wanted),
            )
            for goal in problem.lines
        ),
        turns=tuple((turn,) for turn in turns),
        limits=PlanLimits(
            mean_inbreeding_max=0.05,
            sire_share_max=0.3,
            chicks_max=4.0 * wanted,
            eggs_max=0.6 * wanted,
        ),
        tests=tuple(TestGoal(bird=cock, pieces=((0.4, 0.0), (0.1, 2.0))) for cock in tested),
        carriers=tuple(
            LineCarriers(line=line, birds=tuple(cocks[:2]))
            for line, cocks in of_line.items()
            if len(cocks) > 1
        ),
    )


def _with_amounts(one: Candidate) -> Candidate:
    """A pair with its parts by sex, its kinship, and chicks and eggs for what it counts."""
    number = zlib.crc32(f"{one.hen} {one.cock}".encode())
    chicks = round((1.4 + number % 1000 / 1000) * one.value, 2)
    return replace(
        one,
        kinship=number // 1000 % 100 / 800,
        wanted_cocks=one.value / 2,
        wanted_hens=one.value / 2,
        sure_cocks=one.value / 3,
        sure_hens=one.value / 3,
        chicks=chicks,
        eggs=chicks / 8,
    )


def _tests(pairs: list[Candidate], tested: list[str]) -> list[Candidate]:
    """Pairs of the tested cocks that only tell whether they carry."""
    return [
        Candidate(
            hen=one.hen,
            cock=one.cock,
            row=f"test {one.cock}",
            line="",
            value=0.0,
            wanted=0.0,
            kinship=one.kinship,
            chicks=one.chicks,
            eggs=one.eggs,
            tested=one.cock,
            test_chicks=4.0,
            dams_known=True,
        )
        for one in pairs
        if one.cock in tested
    ]
