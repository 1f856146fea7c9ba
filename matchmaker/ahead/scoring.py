"""Scores that simulated birds would get, as the keeper has scored so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.birds import Birds, Flags, Matrix, Nature, Numbers
    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast

GRADES_MAX: Final = 12
"""A trait scored in whole numbers, not more of them than this, is one of grades: no score is
outside of those seen."""

COARSEST: Final = -2
FINEST: Final = 4
"""Least and most decimals that scores are taken to be written with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """How one trait is scored in this flock.

    ``sex`` is the only one scored (``None``: both), ``age_days`` the median age when first scored
    (``None``: no day was written), ``part`` of the birds that were old enough and of that sex the
    share (0 to 1) that were, ``repeated`` whether any of those had more than one score. Scores are
    written with ``decimals``; ``lowest`` and ``highest`` are those of a trait of grades, else
    ``None``. ``group_sd`` is the SD of what contemporaries have in common by their surroundings,
    ``cocks_above`` how far cocks are above hens, both in the trait's unit.
    """

    trait: str
    sex: Sex | None
    age_days: int | None
    part: float
    repeated: bool
    decimals: int
    lowest: float | None = None
    highest: float | None = None
    group_sd: float = 0.0
    cocks_above: float = 0.0

    @property
    def is_grade(self) -> bool:
        """Whether it is a trait of grades, which have a lowest and a highest."""
        return self.lowest is not None

    def open_to(self, hens: Flags) -> Flags:
        """Which birds are of a sex that is scored; ``hens`` says who is a hen."""
        if self.sex is None:
            return np.ones(len(hens), dtype=np.bool_)
        return hens if self.sex is Sex.HEN else ~hens


def patterns(study: Study) -> tuple[Pattern, ...]:
    """How each trait of the forecast is scored, told from the flock's own scores.

    Only a flock's first scores tell the age; who left before that age was not passed over.
    """
    return tuple(_pattern(study.flock, found) for found in study.forecast.traits)


def _pattern(flock: Flock, found: TraitForecast) -> Pattern:
    scored, records = found.scored, found.scored.records
    owners = np.unique(records.birds)
    age = _age_when_scored(flock, found.aim.trait, [flock.birds[at].band for at in owners])
    lowest, highest = _range_of_grades(scored.raw)
    return Pattern(
        trait=found.aim.trait,
        sex=found.aim.sex,
        age_days=age,
        part=_part_scored(flock, found.aim.sex, age, set(owners.tolist())),
        repeated=scored.repeated,
        decimals=decimals_of(scored.raw),
        lowest=lowest,
        highest=highest,
        group_sd=_spread_of_groups(found),
        cocks_above=_cocks_above(found),
    )


def _age_when_scored(flock: Flock, trait: str, bands: Sequence[str]) -> int | None:
    """Median age in days of the birds when first scored for a trait."""
    birds, first = flock.by_band(), dict[str, int]()
    wanted = set(bands)
    for row in flock.tables.scores:
        if trait not in row.traits or row.bird not in wanted or row.date is None:
            continue
        hatched = birds[row.bird].hatched
        if hatched is not None:
            days = (row.date - hatched).days
            first[row.bird] = min(days, first.get(row.bird, days))
    return int(np.median(list(first.values()))) if first else None


def _part_scored(flock: Flock, sex: Sex | None, age: int | None, scored: set[int]) -> float:
    """Share of the birds that could have been scored that were; 0 if none could."""
    could = [at for at, bird in enumerate(flock.birds) if _reached(flock, bird, sex, age)]
    return sum(at in scored for at in could) / len(could) if could else 0.0


def _reached(flock: Flock, bird: Bird, sex: Sex | None, age: int | None) -> bool:
    if bird.hatched is None or (sex is not None and bird.sex is not sex):
        return False
    last = flock.today if bird.alive_here else bird.record.left_on
    return last is not None and (last - bird.hatched).days >= (age or 0)


def decimals_of(values: Matrix) -> int:
    """Decimals that scores are written with; −1 if all are whole tens, −2 if whole hundreds.

    Examples
    --------
    >>> [decimals_of(np.array(some)) for some in ([2560.0, 3160.0], [3.0, 4.0], [1.25, 2.5])]
    [-1, 0, 2]
    """
    for decimals in range(COARSEST, FINEST):
        if np.allclose(np.round(values, decimals), values, rtol=0, atol=1e-9):
            return decimals
    return FINEST


def _range_of_grades(values: Matrix) -> tuple[float | None, float | None]:
    whole = len(values) > 0 and decimals_of(values) >= 0 and bool((values % 1 == 0).all())
    if not whole or values.max() - values.min() >= GRADES_MAX:
        return None, None
    return float(values.min()), float(values.max())


def _levels_by_sex(found: TraitForecast) -> dict[Sex, tuple[Matrix, Matrix]]:
    """Levels of the groups of contemporaries of each sex, and how many scores each has."""
    if found.prediction is None:
        return {}
    sizes = np.bincount(found.scored.records.groups).astype(np.float64)
    sexes = found.scored.contemporaries.sexes
    by_sex = {sex: [at for at, one in enumerate(sexes) if one is sex] for sex in Sex}
    return {sex: (found.prediction.levels[at], sizes[at]) for sex, at in by_sex.items() if at}


def _spread_of_groups(found: TraitForecast) -> float:
    """SD of the levels of groups of one sex, less what they err by as means of a few scores."""
    spreads, freedoms = 0.0, 0
    for levels, sizes in _levels_by_sex(found).values():
        erring = (
            float((found.prediction.phenotypic_sd**2 / sizes).mean()) if found.prediction else 0
        )
        if len(levels) > 1:
            spreads += (len(levels) - 1) * (float(levels.var(ddof=1)) - erring)
            freedoms += len(levels) - 1
    return max(spreads / freedoms, 0.0) ** 0.5 if freedoms else 0.0


def _cocks_above(found: TraitForecast) -> float:
    """How far the level of cocks is above that of hens; 0 where only one of the two is scored."""
    by_sex = _levels_by_sex(found)
    if len(by_sex) < len(Sex):
        return 0.0
    cocks, hens = (
        float(np.average(levels, weights=sizes))
        for levels, sizes in (by_sex[Sex.COCK], by_sex[Sex.HEN])
    )
    return cocks - hens


def scores_of(
    birds: Birds,
    nature: Nature,
    scored: Sequence[Pattern],
    rng: np.random.Generator,
    *,
    groups: Numbers | None = None,
) -> Matrix:
    """Scores that birds would get if the keeper scores as before, one of each trait.

    Shape (birds, traits), in the traits' units, in the order of ``scored``, which is that of
    ``nature.traits``; NaN where a bird is not scored, being of the other sex or left out by chance.
    ``groups`` (shape (birds,)) are numbers of groups from 0 on that had the same surroundings, all
    one if not given; cocks and hens of one are apart. To score the same birds again, call again.

    Notes
    -----
    A score is the bird's true level, that of its group and chance. Scores are rounded as the
    keeper's are; since the residual variance was found from rounded scores, that of rounding, a
    twelfth of the step squared (Sheppard 1898, from memory), is taken from it beforehand.
    """
    numbers = np.zeros(len(birds), dtype=np.int64) if groups is None else groups
    found: Matrix = nature.levels(birds)
    own_group = 2 * numbers + birds.hens
    of_groups = rng.standard_normal((int(own_group.max(initial=-1)) + 1, len(scored)))
    chance = rng.standard_normal((len(birds), len(scored)))
    seen = rng.random((len(birds), len(scored)))
    for at, one in enumerate(scored):
        step = 10.0**-one.decimals
        passing = max(float(nature.residual_sd[at]) ** 2 - step**2 / 12, 0.0) ** 0.5
        values = found[:, at] + one.group_sd * of_groups[own_group, at] + passing * chance[:, at]
        values = np.round(values + np.where(birds.hens, 0.0, one.cocks_above), one.decimals)
        found[:, at] = np.clip(values, one.lowest, one.highest) if one.is_grade else values
        found[~(one.open_to(birds.hens) & (seen[:, at] < one.part)), at] = np.nan
    return found
