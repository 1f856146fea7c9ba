"""What is true of a flock in one spring, and what its birds count for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.outlook import Tally
from matchmaker.genetics.drop.reading import inbreeding, recurrent_share
from matchmaker.pairs.value import LEAST_WORTH, share_weight

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.ahead.birds import Birds, Flags, Matrix, Nature, Numbers
    from matchmaker.ahead.outlook import Subject
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.aims import TraitAim


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """Living birds with their lines: numbers into ``Subject.lines``; which are young."""

    birds: Birds
    lines: Numbers
    young: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scale:
    """How birds are counted: by the settings' weights, against today's birds of their line.

    ``depression`` is the part of the chicks lost for each unit of inbreeding. ``share`` (lines,)
    and ``genes`` (lines, traits) are today's means in this replicate; of a line without birds
    today those of all.
    """

    nature: Nature
    subject: Subject
    aims: Sequence[TraitAim]
    share_weight: float
    depression: float
    share: Matrix
    genes: Matrix

    @classmethod
    def of(cls, today: Measured, nature: Nature, subject: Subject, study: Study) -> Scale:
        """The scale on which all springs of one replicate are counted."""
        share = recurrent_share(nature.grid, today.birds.bits)
        genes = _genes(today.birds, nature)
        means = [
            (share[own].mean(), genes[own].mean(axis=0))
            for at in range(len(subject.lines))
            for own in [_members(today, at)]
        ]
        return cls(
            nature=nature,
            subject=subject,
            aims=study.aims,
            share_weight=share_weight(study.flock.settings),
            depression=study.flock.settings.year.depression,
            share=np.array([one for one, _ in means]),
            genes=np.array([one for _, one in means]),
        )

    def worth(self, birds: Birds, line: int) -> Matrix:
        """What each bird of a line counts, as a wanted chick does in a plan, shape (birds,).

        One as good as today's mean of the line and not inbred counts 1; a trait's genetic SD more
        its weight more, a tenth more of the recurrent breed the weight of share; at least 0.05.
        Inbreeding takes from a trait what the settings say, and from the whole the part of the
        chicks that is lost by it, as in a plan.
        """
        gained = recurrent_share(self.nature.grid, birds.bits) - self.share[line]
        found = 1 + self.share_weight * gained / 0.1
        genes, sds = _genes(birds, self.nature), self.nature.genetic_sd
        for at, aim in enumerate(self.aims):
            if aim.weight and sds[at] > 0:
                found = found + aim.weight * self._gain(aim, genes[:, at], line, at) / sds[at]
        survival = np.maximum(1 - self.depression * inbreeding(self.nature.grid, birds.bits), 0.0)
        return np.asarray(np.maximum(found, LEAST_WORTH) * survival, dtype=np.float64)

    def _gain(self, aim: TraitAim, genes: Matrix, line: int, at: int) -> Matrix:
        before = self.genes[line, at]
        if aim.optimum is None:
            return np.asarray(aim.sign * (genes - before))
        level = self.nature.pure_level[at] - aim.optimum
        return np.asarray(abs(level + before) - np.abs(level + genes))


def _members(measured: Measured, line: int) -> Flags:
    own: Flags = measured.lines == line
    return own if own.any() else np.ones(len(measured.lines), dtype=np.bool_)


def _genes(birds: Birds, nature: Nature) -> Matrix:
    """Breeding values with what inbreeding takes, share and vigour left out, (birds, traits)."""
    inbred = inbreeding(nature.grid, birds.bits)
    return np.asarray(birds.values + nature.depression * inbred[:, None])


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """Chicks raised and eggs set in a season."""

    chicks: int = 0
    eggs: int = 0


def tally(measured: Measured, scale: Scale, used: Used | None = None) -> Tally:
    """What is true of these birds, ``used`` being what the season before took.

    Shapes are those of ``Tally``, without its first axis.
    """
    subject, nature, used = scale.subject, scale.nature, used or Used()
    rows = [_of_line(measured, at, scale) for at in range(len(subject.lines))]
    importance = np.array(subject.importance)
    goal = float(importance @ np.array([row["goal"] for row in rows]) / importance.sum())
    by_line = {name: np.array([row[name] for row in rows]) for name in rows[0] if name != "goal"}
    levels = np.stack([_levels(measured, at, nature) for at in range(len(subject.lines))])
    return Tally(
        **by_line,
        levels=levels,
        goal=np.array(goal),
        chicks=np.array(float(used.chicks)),
        eggs=np.array(float(used.eggs)),
    )


def _of_line(measured: Measured, line: int, scale: Scale) -> Mapping[str, float]:
    own = measured.lines == line
    birds = measured.birds.take(own)
    young = measured.young[own]
    nature, working = scale.nature, scale.subject.working[line]
    part, carries, whole = _of_target(birds, scale)
    wanted = carries if working else np.ones(len(birds), dtype=np.bool_)
    counted = scale.worth(birds, line) * (part if working else 1.0)
    share = recurrent_share(nature.grid, birds.bits)
    inbred = inbreeding(nature.grid, birds.bits)
    return {
        "birds": float(len(birds)),
        "share": _mean(share),
        "carriers": float(carries.sum()),
        "whole": float(whole.sum()),
        "whole_cocks": float((whole & ~birds.hens).sum()),
        "whole_hens": float((whole & birds.hens).sum()),
        "inbreeding": _mean(inbred[young] if young.any() else inbred),
        "goal": float(counted[wanted].mean()) if wanted.any() else 0.0,
    }


def _of_target(birds: Birds, scale: Scale) -> tuple[Matrix, Flags, Flags]:
    """Of each bird the part of the target that it has, whether it carries, whether it has all.

    The part is the mean over the loci of the target: at one to be brought in the copies it has of
    those wanted (a hen has one Z: one copy there is all), at one to be got rid of the copies that
    it lacks.
    """
    nature, subject = scale.nature, scale.subject
    copies = nature.copies(birds).astype(np.float64)
    most = np.where(birds.hens[:, None] & nature.z_linked[None, :], 1.0, 2.0)
    parts, carries = [], np.ones(len(birds), dtype=np.bool_)
    for symbol, number in subject.target.items():
        at = nature.loci.index(symbol)
        wanted = np.minimum(number, most[:, at])
        room = np.maximum(wanted, most[:, at] - wanted)
        parts.append(1 - np.abs(copies[:, at] - wanted) / room)
        if number:
            carries &= copies[:, at] > 0
    part = np.asarray(np.mean(parts, axis=0), dtype=np.float64)
    return part, carries, part >= 1 - 1e-9


def _levels(measured: Measured, line: int, nature: Nature) -> Matrix:
    birds = measured.birds.take(measured.lines == line)
    if not len(birds):
        return np.full(len(nature.traits), np.nan)
    found = nature.levels(birds) - birds.lasting
    return np.asarray(found.mean(axis=0))


def _mean(values: Matrix) -> float:
    return float(values.mean()) if len(values) else float("nan")
