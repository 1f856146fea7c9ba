"""Which lines are taken back to the recurrent breed next spring, which cross their own carriers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.loci.locus import Look
from matchmaker.grade.prospect import SETTLED
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import Purpose, line_steps, open_crossings
from matchmaker.route.played import stepped
from matchmaker.tables.records import Sex, Status
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.genetics.study import Study
    from matchmaker.pairs.crossings import Crossing

OTHER: Final = {"intercross": "backcross", "backcross": "intercross"}

READY: Final = 0.96
"""Expected recurrent share of a line's young birds from which on its carriers are crossed with each
other, unless asked otherwise: reached by a fourth backcross (common practice, no source)."""


def with_steps(study: Study, ready: float) -> Study:
    """The study of a flock whose lines stand at the steps that a keeper would choose next.

    A line whose young birds have the share ``ready``, on average, crosses its carriers with those
    of other such lines; another is taken back to the recurrent breed. Where none of its pairs could
    then have wanted chicks, mates being too near or carriers not proven, it does the other, if that
    can be done: a hidden gene is brought to light so, every other season. Lines kept pure stay so,
    and where the keeper wrote the crossings himself nothing changes: his rows say what is crossed.
    """
    steps = line_steps(study.flock, study.recurrent_share)
    lines = sorted({*steps.backcross, *steps.intercross})
    if study.flock.settings.matings or not lines:
        return study
    wish = {
        line: "intercross" if _share(study, line) >= ready - LIMIT else "backcross"
        for line in lines
    }
    return _able(study, lines, wish)


def _able(study: Study, lines: Sequence[str], wish: Mapping[str, str]) -> Study:
    """Lines at the step wished for, but those that it gives nothing at the other, if that does.

    A line that is taken back has no cocks for the others any more: who would have crossed with it
    is looked at again.
    """
    steps, tried = dict(wish), set[str]()
    found = _stepped(study, steps)
    while unable := [one for one in lines if one not in tried and not _can_give(found, one)]:
        tried.update(unable)
        steps |= {line: OTHER[wish[line]] for line in unable}
        found = _stepped(found, steps)
    if not tried:
        return found
    able = [line for line in lines if _can_give(found, line)]
    for line in sorted(tried.difference(able)):
        back = _stepped(found, {line: wish[line]})
        if all(_can_give(back, one) for one in able):
            found = back
    return found


def _share(study: Study, line: str) -> float:
    """Expected recurrent share of a line's young birds, of all its birds where none is young."""
    own = [bird for bird in study.flock.living if bird.line == line]
    young = [bird for bird in own if bird.record.status is Status.YOUNG] or own
    return float(np.mean([study.recurrent_share[bird.band] for bird in young]))


def _can_give(study: Study, line: str) -> bool:
    """Whether some pair whose chicks join the line is not too near and would have wanted chicks."""
    settings = study.flock.settings
    own = settings.line(line).kinship_max
    nearest = settings.limits.kinship_max if own is None else own
    steps = line_steps(study.flock, study.recurrent_share)
    place = {band: at for at, band in enumerate(study.kinship.birds)}
    for row in open_crossings(settings, steps, study.loci):
        if row.chicks != line:
            continue
        hens = list(_of(study, row, row.hens, Sex.HEN))
        cocks = list(_of(study, row, row.cocks, Sex.COCK))
        if hens and cocks:
            chance = chick_table(study, hens, cocks).wanted(row)
            wanted = chance.told_sons + chance.told_daughters
            at = np.ix_([place[band] for band in hens], [place[band] for band in cocks])
            apart = study.kinship.values[at] <= nearest + LIMIT
            if ((wanted > settings.limits.wanted_chance_min) & apart).any():
                return True
    return False


def _of(study: Study, row: Crossing, lines: Sequence[str], sex: Sex) -> Iterable[str]:
    """The living birds of a sex and some lines that are as surely carriers as the row needs.

    To be taken back once more a carrier must be young, for a line that only its old birds carry on
    gets no nearer to the recurrent breed, and proven: guessed carriers soon are none. Where one
    copy hides, it must have two, so that all its chicks are proven: they are crossed with each
    other before they are taken back (common practice with hidden genes, no source).
    """
    back = row.purpose is Purpose.BACKCROSS
    least = (SETTLED if back else study.flock.settings.limits.proof_min) - LIMIT
    needed = [locus for locus in row.loci if row.needs_copy(locus)]
    for bird in study.flock.living:
        if bird.sex is not sex or bird.line not in lines:
            continue
        if bird.line not in row.carrier_lines:
            yield bird.band
            continue
        if back and bird.record.status is not Status.YOUNG:
            continue
        chances = (_carries(study, locus, bird.band, back=back) for locus in needed)
        if all(chance >= least for chance in chances):
            yield bird.band


def _carries(study: Study, locus: str, band: str, *, back: bool) -> float:
    """The chance that a bird carries; to be taken back, so that its chicks are known to carry."""
    found = study.genotypes[locus]
    known = study.loci[locus]
    hides = all(known.phenotype(1, sex) is Look.HIDDEN for sex in Sex)
    if back and hides and not known.z_linked:
        return float(found.of(band)[2])
    return found.carrier_probability(band)


def _stepped(study: Study, steps: dict[str, str]) -> Study:
    flock, settings = study.flock, study.flock.settings
    for step in sorted(set(steps.values())):
        lines = [line for line, at in steps.items() if at == step]
        settings = stepped(settings, lines, step)
    settings = settings.model_copy(update={"rotation": flock.settings.rotation})
    tables = replace(flock.tables, settings=settings)
    return replace(study, flock=replace(flock, settings=settings, tables=tables))
