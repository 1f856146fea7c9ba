"""Plans that look right and cannot work, each with the chance that says so."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.route.telling import look_reader
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Source, Task


class Why(StrEnum):
    """Why a plan fails."""

    HEN_GIVES_Z_TO_SONS = "hen-gives-z-to-sons"
    NEVER_SHOWS = "never-shows"
    NOT_SHOWN_BY_SEX = "not-shown-by-sex"
    NEIGHBOUR = "neighbour"
    CARRIERS_STAY_SINGLE = "carriers-stay-single"
    DOUBLE_DOSE_HARMS = "double-dose-harms"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitfall:
    """A plan that fails: which chicks are kept of which cross, and with what chance they serve."""

    why: Why
    locus: str
    sex: Sex | None
    chance: Fraction
    other: str = ""


def pitfalls(task: Task) -> tuple[Pitfall, ...]:
    """The plans that fail for this target with the donor birds at hand."""
    return tuple(_all(task))


def _all(task: Task) -> Iterator[Pitfall]:
    donors = [source for source in task.sources if source.share == 0]
    for at in task.carried:
        locus = task.genome.loci[at]
        if locus.z_linked:
            yield from _by_the_z(task, at, donors)
        yield from _unseen(task, at)
        if 2 in locus.lethal and not locus.z_linked:
            yield Pitfall(
                why=Why.DOUBLE_DOSE_HARMS, locus=locus.symbol, sex=None, chance=Fraction(1, 4)
            )
    yield from _neighbours(task)
    doubled = [at for at in task.carried if task.wanted[at] == 2]
    if doubled:
        first = doubled[0]
        yield Pitfall(
            why=Why.CARRIERS_STAY_SINGLE,
            locus=task.genome.loci[first].symbol,
            sex=None,
            chance=Fraction(1, 2),
        )


def _recurrent(task: Task, sex: Sex) -> Mix:
    return next(s.mix for s in task.sources if s.share == 1 and s.sex is sex)


def _by_the_z(task: Task, at: int, donors: list[Source]) -> Iterator[Pitfall]:
    """Daughters of a hen that carries: their Z is their sire's."""
    hens = [donor.mix for donor in donors if donor.sex is Sex.HEN]
    if not hens:
        return
    daughters = task.genome.chicks(_recurrent(task, Sex.COCK), hens[0], Sex.HEN)
    chance = _carrying(task, daughters, at)
    if chance == 0:
        yield Pitfall(
            why=Why.HEN_GIVES_Z_TO_SONS,
            locus=task.genome.loci[at].symbol,
            sex=Sex.HEN,
            chance=chance,
        )


def _carrying(task: Task, mix: Mix, at: int) -> Fraction:
    return sum((p for state, p in mix if task.genome.copies(state)[at]), Fraction(0))


def _unseen(task: Task, at: int) -> Iterator[Pitfall]:
    """Sexes in which a carrier of one copy never looks like one."""
    locus, none = task.genome.loci[at], Fraction(0)
    for sex in Sex:
        if not locus.can_show(sex):
            yield Pitfall(why=Why.NOT_SHOWN_BY_SEX, locus=locus.symbol, sex=sex, chance=none)
    hiding = [sex for sex in Sex if locus.can_show(sex) and _hides(locus, sex)]
    if hiding:
        alone = hiding[0] if len(hiding) == 1 else None
        yield Pitfall(why=Why.NEVER_SHOWS, locus=locus.symbol, sex=alone, chance=none)


def _hides(locus: Locus, sex: Sex) -> bool:
    """Whether birds of this sex with one copy look like those with none."""
    looks = [chances for _, chances in look_reader(locus, sex)]
    return locus.dose(1, sex) == 1 and all(chances[1] == chances[0] for chances in looks)


def _neighbours(task: Task) -> Iterator[Pitfall]:
    """Carriers that still hold an unwanted neighbour beside the gene, crossed with each other."""
    genome = task.genome
    for stretch in genome.stretches:
        if len(stretch.loci) < 2:
            continue
        brought = [at for at in stretch.loci if task.wanted[at]]
        rid_of = [at for at in stretch.loci if not task.wanted[at]]
        if not (brought and rid_of) or not _donor_has(task, rid_of[0]):
            continue
        chicks = _crossed_coupled(task)
        chance = sum(
            (p for state, p in chicks if genome.copies(state) == task.goal(Sex.COCK)), Fraction(0)
        )
        yield Pitfall(
            why=Why.NEIGHBOUR,
            locus=genome.loci[brought[0]].symbol,
            sex=None,
            chance=chance,
            other=genome.loci[rid_of[0]].symbol,
        )


def _donor_has(task: Task, at: int) -> bool:
    donors = [source.mix for source in task.sources if source.share == 0]
    return any(_carrying(task, mix, at) for mix in donors)


def _crossed_coupled(task: Task) -> Mix:
    """Sons of a first cross bred among itself: the donor's haplotype beside the recurrent's."""
    one = task.genome.pure(Sex.COCK, [1] * len(task.wanted))
    none = task.genome.pure(Sex.HEN, [0] * len(task.wanted))
    first = {sex: task.genome.chicks(one, none, sex) for sex in Sex}
    return task.genome.chicks(first[Sex.COCK], first[Sex.HEN], Sex.COCK)
