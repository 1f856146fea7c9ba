"""Predictions from scores: what a bird is expected to pass on, per trait, and how far to trust it.

This is the first cut: each bird's own scores as deviations from its contemporaries, shrunk by
heritability and repeatability; birds without scores take the mean of their parents' predictions.
An animal model will take this seat behind the same function.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

SMALLEST_GROUP: Final = 4
"""A bird in a group with fewer scored birds is compared with the next wider group."""

FEWEST_RECORDS: Final = 6
"""With fewer scored birds than this in comparable groups a trait tells nothing yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One score of one bird, and the groups of its contemporaries, the narrowest first."""

    bird: str
    value: float
    groups: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Deviation:
    """A score's distance from the mean of its group of so many birds and scores."""

    bird: str
    amount: float
    birds: int
    scores: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Heredity:
    """How heritable and how repeatable single scores of a trait are (0 to 1)."""

    h2: float
    repeatability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitPrediction:
    """Predictions of one trait for every bird of the pedigree.

    ``standardised`` is in genetic standard deviations around the flock's contemporaries,
    ``genetic_sd`` in the trait's unit, ``mean`` the mean of all scores, ``reliability`` 0 to 1.
    ``expected(bird)`` is the level at which its chicks would be expected, in the trait's unit.
    """

    trait: str
    mean: float
    genetic_sd: float
    standardised: Mapping[str, float]
    reliability: Mapping[str, float]

    def expected(self, bird: str) -> float:
        """Mean of the trait plus the bird's prediction, in the trait's unit."""
        return self.mean + self.genetic_sd * self.standardised[bird]


def predict_trait(
    trait: str, measurements: Sequence[Measurement], heredity: Heredity, pedigree: Pedigree
) -> TraitPrediction:
    """Predict one trait for all birds.

    Notes
    -----
    With n scores of mean deviation d from the contemporaries, the prediction is
    d · n h² / (1 + (n − 1) t), t the repeatability; the reliability is that factor times 1 − 1/m
    for a group of m birds, so that a bird with nobody to compare it with tells nothing
    (selection on the mean of n records: Falconer & Mackay 1996, ch. 8 and 10; formula from memory).
    The genetic SD is √h² times the SD of single scores within groups.

    Examples
    --------
    Four hens of one hatch, one score each, h² = 0.25; the best lays 6 eggs above their mean:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> flock = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=tuple("ABCDEF"),
    ...     sexes=(None,) * 6,
    ...     sires=(((0, 1.0),),) * 6,
    ...     dams=(((0, 1.0),),) * 6,
    ... )
    >>> eggs = [
    ...     Measurement(bird=bird, value=value, groups=(("2026",),))
    ...     for bird, value in zip("ABCDEF", [56, 52, 50, 48, 46, 48])
    ... ]
    >>> found = predict_trait("eggs", eggs, Heredity(h2=0.25, repeatability=0.25), flock)
    >>> round(found.standardised["A"] * found.genetic_sd, 3), round(found.reliability["A"], 3)
    (1.5, 0.208)
    """
    deviations = _deviations(measurements)
    spread = _spread_within_groups(deviations)
    genetic_sd = spread * heredity.h2**0.5
    own = {} if genetic_sd == 0 else _own_predictions(deviations, heredity, genetic_sd)
    standardised, reliability = _with_parent_means(pedigree, own)
    return TraitPrediction(
        trait=trait,
        mean=fmean(m.value for m in measurements) if measurements else 0.0,
        genetic_sd=genetic_sd,
        standardised=standardised,
        reliability=reliability,
    )


def _deviations(measurements: Sequence[Measurement]) -> list[_Deviation]:
    """Each score less the mean of its contemporaries, and how many birds those are."""
    members: dict[tuple[str, ...], list[Measurement]] = {}
    for measurement in measurements:
        for group in dict.fromkeys(measurement.groups):
            members.setdefault(group, []).append(measurement)
    birds = {group: len({m.bird for m in listed}) for group, listed in members.items()}
    means = {group: fmean(m.value for m in listed) for group, listed in members.items()}
    chosen = [_group_of(m, birds) for m in measurements]
    return [
        _Deviation(
            bird=m.bird,
            amount=m.value - means[group],
            birds=birds[group],
            scores=len(members[group]),
        )
        for m, group in zip(measurements, chosen, strict=True)
    ]


def _group_of(measurement: Measurement, birds: Mapping[tuple[str, ...], int]) -> tuple[str, ...]:
    """The narrowest group with enough birds, else the widest."""
    large = (group for group in measurement.groups if birds[group] >= SMALLEST_GROUP)
    return next(large, measurement.groups[-1])


def _spread_within_groups(deviations: Sequence[_Deviation]) -> float:
    """SD of single scores within groups, or 0 where too few birds were scored to tell.

    A deviation from a mean of m scores has 1 − 1/m of their variance.
    """
    if len({deviation.bird for deviation in deviations}) < FEWEST_RECORDS:
        return 0.0
    freedom = sum(1 - 1 / deviation.scores for deviation in deviations)
    squares = sum(deviation.amount**2 for deviation in deviations)
    return float(np.sqrt(squares / freedom)) if freedom > 0 else 0.0


def _own_predictions(
    deviations: Sequence[_Deviation], heredity: Heredity, genetic_sd: float
) -> dict[str, tuple[float, float]]:
    """Prediction and reliability of each bird that was scored beside others."""
    by_bird: dict[str, list[_Deviation]] = {}
    for deviation in deviations:
        if deviation.birds > 1:
            by_bird.setdefault(deviation.bird, []).append(deviation)
    found = {}
    for bird, listed in by_bird.items():
        count = len(listed)
        shrinkage = count * heredity.h2 / (1 + (count - 1) * heredity.repeatability)
        compared = 1 - 1 / fmean(deviation.birds for deviation in listed)
        amount = fmean(deviation.amount for deviation in listed)
        found[bird] = (shrinkage * amount / genetic_sd, shrinkage * compared)
    return found


def _with_parent_means(
    pedigree: Pedigree, own: Mapping[str, tuple[float, float]]
) -> tuple[dict[str, float], dict[str, float]]:
    nodes: list[tuple[float, float]] = [(0.0, 0.0)] * pedigree.first_bird
    for at, bird in enumerate(pedigree.birds):
        parents = _parent_mean(nodes, pedigree.sires[at], pedigree.dams[at])
        nodes.append(own.get(bird, parents))
    predictions = dict(zip(pedigree.birds, nodes[pedigree.first_bird :], strict=True))
    return (
        {bird: value for bird, (value, _) in predictions.items()},
        {bird: reliability for bird, (_, reliability) in predictions.items()},
    )


def _parent_mean(
    nodes: Sequence[tuple[float, float]], sires: Links, dams: Links
) -> tuple[float, float]:
    """Mean of the parents' predictions; each parent passes on a quarter of its reliability."""
    value = sum(chance * nodes[node][0] for node, chance in (*sires, *dams)) / 2
    reliability = sum(chance**2 * nodes[node][1] for node, chance in (*sires, *dams)) / 4
    return value, reliability
