"""What the replicates of an outlook hold, measure by measure, to be printed and compared.

Every measure has one number a replicate and spring, and for lines one a line; NaN where there is
none, as the share of a line without birds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.ahead.outlook import Numbers, Outlook, Subject


Truths: TypeAlias = NDArray[np.bool_]


class Kind(StrEnum):
    """What a measure counts in."""

    CHANCE = "chance"
    SHARE = "share of the genome"
    INBREEDING = "inbreeding"
    BIRDS = "birds"
    CHICKS = "chicks"
    EGGS = "eggs"
    WORTH = "wanted birds"
    TRAIT = "trait"


FLOCK_KINDS: Final[Mapping[str, Kind]] = {
    "fixed": Kind.CHANCE,
    "all_alive": Kind.CHANCE,
    "share": Kind.SHARE,
    "inbreeding": Kind.INBREEDING,
    "chicks": Kind.CHICKS,
    "eggs": Kind.EGGS,
    "goal": Kind.WORTH,
}
"""The measures of a flock, in the order in which they are written."""

LINE_KINDS: Final[Mapping[str, Kind]] = {
    "alive": Kind.CHANCE,
    "breeds_true": Kind.CHANCE,
    "birds": Kind.BIRDS,
    "share": Kind.SHARE,
    "carriers": Kind.BIRDS,
    "whole": Kind.BIRDS,
    "inbreeding": Kind.INBREEDING,
}
"""The measures of a line, its traits left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitChange:
    """Where the working lines are in a trait in the first spring and the last, (replicates,)."""

    today: Numbers
    last: Numbers

    @property
    def change(self) -> Numbers:
        """How much they rise, in the trait's unit."""
        return self.last - self.today


def of_flock(outlook: Outlook) -> dict[str, Numbers]:
    """The measures of ``FLOCK_KINDS``, each (replicates, springs).

    ``fixed``: some working line breeds true; ``all_alive``: every line lives. ``share`` is that of
    all birds of the working lines, ``inbreeding`` the mean of all lines, each weighted by its
    birds. Where no line is a working one, all are. ``chicks`` and ``eggs`` of the first spring
    are missing: no season was bred before it.
    """
    tally, subject = outlook.tally, outlook.subject
    working = _looked_at(subject)
    everywhere = np.ones_like(working)
    return {
        "fixed": tally.fixed[..., working].any(axis=-1).astype(np.float64),
        "all_alive": tally.alive(subject.working).all(axis=-1).astype(np.float64),
        "share": _by_birds(tally.share, tally.birds, working),
        "inbreeding": _by_birds(tally.inbreeding, tally.birds, everywhere),
        "chicks": _bred(tally.chicks),
        "eggs": _bred(tally.eggs),
        "goal": tally.goal,
    }


def of_lines(outlook: Outlook) -> dict[str, Numbers]:
    """The measures of ``LINE_KINDS``, each (replicates, springs, lines)."""
    tally = outlook.tally
    return {
        "alive": tally.alive(outlook.subject.working),
        "breeds_true": tally.fixed,
        **{name: getattr(tally, name) for name in LINE_KINDS if name not in _MADE},
    }


_MADE: Final = frozenset({"alive", "breeds_true"})


def first_true(outlook: Outlook, line: int) -> int | None:
    """The first spring in which a line breeds true in half of the replicates, if there is one."""
    parts = outlook.tally.fixed[:, :, line].mean(axis=0)
    return next(
        (
            spring
            for spring, part in zip(outlook.subject.springs, parts, strict=True)
            if part >= 0.5
        ),
        None,
    )


def died_in(outlook: Outlook, line: int) -> Numbers:
    """The spring from which a line is gone for good, (replicates,); NaN where it lives at last."""
    alive = outlook.tally.alive(outlook.subject.working)[:, :, line] > 0
    ever_after = np.logical_or.accumulate(alive[:, ::-1], axis=1)[:, ::-1]
    springs = np.array(outlook.subject.springs, dtype=np.float64)
    first_gone = springs[np.argmin(ever_after, axis=1)]
    return np.where(alive[:, -1], np.nan, first_gone)


def trait_change(outlook: Outlook, trait: int) -> TraitChange:
    """A trait today and in the last spring, over the working lines that still have birds then.

    Lines count alike, whatever their number of birds, so that the change is one within lines and
    not one of their numbers.
    """
    levels = outlook.tally.levels[:, :, _looked_at(outlook.subject), trait]
    there = ~np.isnan(levels[:, 0] + levels[:, -1])
    return TraitChange(today=_mean(levels[:, 0], there), last=_mean(levels[:, -1], there))


def looked_at(subject: Subject) -> tuple[str, ...]:
    """The lines of which share, target and traits are told: the working ones, else all.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> [
    ...     looked_at(SimpleNamespace(lines=("Alder", "Pure"), working=working))
    ...     for working in ((True, False), (False, False))
    ... ]
    [('Alder',), ('Alder', 'Pure')]
    """
    chosen = _looked_at(subject)
    return tuple(line for line, one in zip(subject.lines, chosen, strict=True) if one)


def _looked_at(subject: Subject) -> Truths:
    working = np.array(subject.working, dtype=np.bool_)
    return working if working.any() else ~working


def _mean(values: Numbers, there: Truths) -> Numbers:
    """Mean over the last axis of what is there; NaN where nothing is."""
    count = there.sum(axis=-1)
    total = np.where(there, values, 0.0).sum(axis=-1)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _by_birds(values: Numbers, birds: Numbers, lines: Truths) -> Numbers:
    """Mean over lines, weighted by their birds; NaN where none has birds with a value."""
    known = lines & ~np.isnan(values) & (birds > 0)
    weights = np.where(known, birds, 0.0)
    total = weights.sum(axis=-1)
    found = (weights * np.where(known, values, 0.0)).sum(axis=-1)
    return np.where(total > 0, found / np.maximum(total, 1.0), np.nan)


def _bred(counts: Numbers) -> Numbers:
    """Counts of what came of a season, none in the first spring."""
    found = np.array(counts, dtype=np.float64)
    found[:, 0] = np.nan
    return found
