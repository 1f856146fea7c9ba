"""A visible neighbour as a sign of a gene that cannot be seen: how good it is, and for how long."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.locus import Look
from matchmaker.route.telling import NOTHING, look_reader
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Task


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """How many birds of one sex that show the neighbour carry the hidden gene.

    ``after`` are the parts after one backcross, two, ... in a family chosen by nothing else, from
    a donor that had both on one chromosome.
    """

    hidden: str
    neighbour: str
    sex: Sex
    after: tuple[Fraction, ...]


def markers(task: Task, backcrosses: int) -> tuple[Marker, ...]:
    """The signs that the loci of a target give of each other."""
    return tuple(_all(task, max(backcrosses, 1)))


def _all(task: Task, backcrosses: int) -> Iterator[Marker]:
    for stretch in task.genome.stretches:
        for hidden in stretch.loci:
            for seen in stretch.loci:
                if hidden == seen or not task.wanted[hidden]:
                    continue
                for sex in Sex:
                    if _is_sign(task, hidden, seen, sex):
                        yield Marker(
                            hidden=task.genome.loci[hidden].symbol,
                            neighbour=task.genome.loci[seen].symbol,
                            sex=sex,
                            after=_series(task, hidden, seen, sex, backcrosses),
                        )


def _is_sign(task: Task, hidden: int, seen: int, sex: Sex) -> bool:
    """Whether the donor has both, one is seen in one copy in this sex and the other is not."""
    donors = [source for source in task.sources if source.share == 0]
    both = bool(donors) and all(
        min(task.genome.copies(state)[hidden], task.genome.copies(state)[seen]) > 0
        for donor in donors
        for state, _ in donor.mix
    )
    return both and _tells(task, seen, sex) and not _tells(task, hidden, sex)


def _tells(task: Task, at: int, sex: Sex) -> bool:
    """Whether one copy is seen in birds of this sex in time for the next season."""
    locus = task.genome.loci[at]
    reader = look_reader(locus, sex)
    return (
        locus.shows_at_days <= task.age
        and reader != NOTHING
        and any(chances[1] and not chances[0] for _, chances in reader)
    )


def _series(task: Task, hidden: int, seen: int, sex: Sex, backcrosses: int) -> tuple[Fraction, ...]:
    genome, loci = task.genome, len(task.wanted)
    mate = genome.pure(sex.other, [0] * loci)
    class_ = _cross(task, genome.pure(sex, [1] * loci), mate, sex)
    found = []
    for _ in range(backcrosses):
        class_ = _showing(task, _cross(task, class_, mate, sex), seen, sex)
        found.append(sum((p for state, p in class_ if genome.copies(state)[hidden]), Fraction(0)))
    return tuple(found)


def _cross(task: Task, carriers: Mix, mate: Mix, sex: Sex) -> Mix:
    cocks, hens = (carriers, mate) if sex is Sex.COCK else (mate, carriers)
    return task.genome.chicks(cocks, hens, sex)


def _showing(task: Task, mix: Mix, at: int, sex: Sex) -> Mix:
    """The chicks that look as those with one copy do, and what they then are."""
    reader = look_reader(task.genome.loci[at], sex)
    looks = [chances for label, chances in reader if label is not Look.HIDDEN]
    weights = [
        (state, p * sum((chances[task.genome.copies(state)[at]] for chances in looks), Fraction(0)))
        for state, p in mix
    ]
    total = sum((weight for _, weight in weights), Fraction(0))
    return tuple((state, weight / total) for state, weight in weights if weight)
