"""From the keeper's table of scores to records that the animal model can work with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.contemporaries import (
    Circumstances,
    Contemporaries,
    age_in_years,
    contemporaries_of,
)
from matchmaker.genetics.traits.records import Records

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.tables.records import ScoreRecord

SCATTER: Final = 0.02
"""Least sum of squares, within groups, of a covariate that is regressed on.

With less the slope would err by more than seven standard deviations of single scores.
"""

APART: Final = 0.01
"""Least part of its scatter that vigour must have of its own, share having the rest."""

OWN_SCATTER: Final = 0.25
"""Least sum of squares that vigour must have of its own.

With less its slope would err by more than two standard deviations of single scores, and what is
said of breed and of vigour would be large, opposite and mostly noise.
"""

SHARE: Final = "share"
VIGOUR: Final = "vigour"
"""Names of the covariates: recurrent share, and heterozygosity between breeds."""


class Told(StrEnum):
    """What the scores can tell of breed and of the vigour of crosses."""

    BOTH = "both"
    """One from the other."""
    SHARE_ONLY = "share only"
    """No two contemporaries differ in how much they are crosses."""
    VIGOUR_ONLY = "vigour only"
    """No two contemporaries differ in their share of the recurrent breed."""
    CONFOUNDED = "confounded"
    """Vigour falls as the share rises, as in backcrosses, with hardly a bird bred otherwise.

    What goes with the share then stands for both.
    """
    NEITHER = "neither"
    """All contemporaries are bred alike."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Composition:
    """What birds are made of, each of shape (birds,) in the order of the pedigree, 0 to 1."""

    share: Matrix
    heterozygosity: Matrix
    inbreeding: Matrix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scored:
    """The scores of one trait as records, and where each stands in the table.

    ``rows`` and ``raw`` (both of shape (records,)) are the row of each record and the score as
    written, ``depression`` is the change from no inbreeding to full in the trait's unit, which
    the records are freed of. ``wrong_sex`` are rows left out because the trait is not scored on
    birds of that sex.
    """

    records: Records
    rows: Nodes
    raw: Matrix
    contemporaries: Contemporaries
    told: Told
    depression: float
    wrong_sex: tuple[int, ...] = ()

    @property
    def birds_scored(self) -> int:
        """Number of birds with a score at least."""
        return len(np.unique(self.records.birds))

    @property
    def repeated(self) -> bool:
        """Whether a bird was scored more than once."""
        return self.birds_scored < len(self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A row of scores, whose it is, and when and among whom the bird was scored."""

    row: ScoreRecord
    bird: Bird
    at: Circumstances

    def fits(self, aim: TraitAim) -> bool:
        """Whether a bird like this can be scored for the trait."""
        return aim.sex is None or self.bird.sex is None or self.bird.sex == aim.sex

    def when_scored(self, aim: TraitAim) -> Circumstances:
        """When and among whom it was scored for a trait of its sex."""
        return self.at if aim.sex in {None, self.bird.sex} else replace(self.at, sex=aim.sex)


def listed_scores(flock: Flock) -> tuple[Listed, ...]:
    """All rows of scores of the birds in the books, in order of band, date and row."""
    birds = flock.by_band()
    rows = sorted(
        (row for row in flock.tables.scores if row.bird in birds),
        key=lambda row: (row.bird, str(row.date or ""), row.row),
    )
    return tuple(
        Listed(
            row=row,
            bird=bird,
            at=Circumstances(
                sex=bird.sex,
                hatched=bird.hatched,
                given=row.group,
                age=age_in_years(bird.hatched, row.date),
            ),
        )
        for row in rows
        for bird in [birds[row.bird]]
    )


def trait_records(
    flock: Flock, listed: Sequence[Listed], aim: TraitAim, composition: Composition
) -> Scored:
    """The scores of a trait in the order of ``listed``, less the effect of own inbreeding.

    A bird of unknown sex that was scored for what one sex alone has is taken to be of that sex.
    """
    of_trait = [one for one in listed if aim.trait in one.row.traits]
    used = [one for one in of_trait if one.fits(aim)]
    return _scored(flock, aim, composition, used, _rows_left(of_trait, used))


def _rows_left(listed: Sequence[Listed], used: Sequence[Listed]) -> tuple[int, ...]:
    rows = {one.row.row for one in used}
    return tuple(sorted(one.row.row for one in listed if one.row.row not in rows))


def _scored(
    flock: Flock,
    aim: TraitAim,
    composition: Composition,
    used: Sequence[Listed],
    wrong_sex: tuple[int, ...],
) -> Scored:
    node_of, first = flock.pedigree.node_of(), flock.pedigree.first_bird
    whose = np.array([node_of[one.bird.band] - first for one in used], dtype=np.int64)
    raw = np.array([one.row.traits[aim.trait] for one in used], dtype=np.float64)
    found = contemporaries_of(whose.tolist(), [one.when_scored(aim) for one in used])
    depression = aim.depression_at(float(raw.mean())) if len(raw) else 0.0
    columns = np.column_stack((composition.share[whose], composition.heterozygosity[whose]))
    told = tell_apart(found.groups, columns)
    kept = _KEPT[told]
    records = Records(
        trait=aim.trait,
        birds=whose,
        values=raw - depression * composition.inbreeding[whose],
        groups=found.groups,
        covariates=columns[:, kept],
        names=tuple((SHARE, VIGOUR)[column] for column in kept),
    )
    return Scored(
        records=records,
        rows=np.array([one.row.row for one in used], dtype=np.int64),
        raw=raw,
        contemporaries=found,
        told=told,
        depression=depression,
        wrong_sex=wrong_sex,
    )


_KEPT: Final[dict[Told, list[int]]] = {
    Told.BOTH: [0, 1],
    Told.SHARE_ONLY: [0],
    Told.VIGOUR_ONLY: [1],
    Told.CONFOUNDED: [0],
    Told.NEITHER: [],
}
"""Columns of (share, heterozygosity) that stay."""


def tell_apart(groups: Nodes, columns: Matrix) -> Told:
    """What scores of ``groups`` can tell of share and heterozygosity, ``columns`` (records, 2).

    Notes
    -----
    Both are taken as deviations from the mean of their group. One with a sum of squares below
    ``SCATTER`` tells nothing. If the heterozygosity, less its regression on the share, keeps
    less than ``APART`` of its sum of squares or less than ``OWN_SCATTER``, the two are confounded:
    in pure backcrosses it is exactly twice the missing share.

    Examples
    --------
    First crosses and their backcrosses; a second generation of crossbreds tells them apart:

    >>> backcross = np.array([[0.5, 1.0], [0.5, 1.0], [0.75, 0.5], [0.75, 0.5]])
    >>> tell_apart(np.zeros(4, dtype=np.int64), backcross)
    <Told.CONFOUNDED: 'confounded'>
    >>> tell_apart(np.zeros(7, dtype=np.int64), np.vstack((backcross, [[0.5, 0.5]] * 3)))
    <Told.BOTH: 'both'>
    >>> tell_apart(np.array([0, 0, 1, 1]), backcross)
    <Told.NEITHER: 'neither'>
    """
    counts = np.bincount(groups)
    means = np.column_stack(
        [np.bincount(groups, column) / np.maximum(counts, 1) for column in columns.T]
    )
    within = columns - means[groups]
    (share, both), (_, cross) = (within.T @ within).tolist()
    if share < SCATTER or cross < SCATTER:
        return _ONE[share >= SCATTER, cross >= SCATTER]
    own = cross - both**2 / share
    return Told.BOTH if own >= max(OWN_SCATTER, APART * cross) else Told.CONFOUNDED


_ONE: Final = {
    (True, False): Told.SHARE_ONLY,
    (False, True): Told.VIGOUR_ONLY,
    (False, False): Told.NEITHER,
}
