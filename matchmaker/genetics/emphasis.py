"""What the weights of traits come to: which trait rules the merit, and where each is led."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.hazel import expected_response
from matchmaker.genetics.traits.standing import genetic_covariances, trait_weights

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.study import Study

LEAST_LED: Final = 0.005
"""A trait that is led the wrong way by less than this many genetic SDs stands still."""

LEAST_PULL: Final = 0.001
"""A trait that pulls another by less than this many genetic SDs is not named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitEmphasis:
    """What the weights mean for one trait.

    ``share`` is the part of the merit's variance among the living breeders that goes with it (the
    parts sum to 1; a trait that goes against the merit has a negative one). ``direct`` and
    ``correlated`` are how far it moves, in its unit, where birds one standard deviation of merit
    better become parents: by its own weight, and by those of correlated traits, which ``pulls``
    names with what each adds. ``holding`` is the weight at which it would just stand still, where
    others pull it the wrong way; else ``None``.
    """

    trait: str
    weight: float
    share: float
    direct: float
    correlated: float
    pulls: tuple[tuple[str, float], ...]
    holding: float | None

    @property
    def response(self) -> float:
        """How far the trait moves in all, in its unit."""
        return self.direct + self.correlated


def emphasis(study: Study) -> tuple[TraitEmphasis, ...]:
    """What the weights mean for every trait that is predicted, in order of their names.

    Notes
    -----
    The (co)variances of predictions are those that the model leaves among the living breeders: of
    each, its genetic ones less those of its prediction errors, then their mean. What an optimum
    counts is the mean over the breeders on either side of it.
    """
    forecast = study.forecast
    birds = np.array([forecast.position(b.band) for b in study.flock.breeders], dtype=np.int64)
    if not birds.size or not forecast.traits:
        return ()
    weights = trait_weights(forecast)[birds].mean(axis=0)
    predicted = _predicted(study, birds)
    parts = expected_response(weights, predicted)
    shares = _shares(study, birds)
    return tuple(
        TraitEmphasis(
            trait=trait.aim.trait,
            weight=trait.aim.weight,
            share=shares[at],
            direct=float(parts[at, at]),
            correlated=float(parts[at].sum() - parts[at, at]),
            pulls=_pulls(study, parts, at),
            holding=_holding(study, weights, predicted, at),
        )
        for at, trait in enumerate(forecast.traits)
        if trait.genetic_sd > 0
    )


def _predicted(study: Study, birds: Nodes) -> Matrix:
    """Mean (co)variances of the predictions of some birds, in the traits' units, (T, T)."""
    forecast = study.forecast
    own = 1 + forecast.inbreeding[birds].mean()
    found: Matrix = own * genetic_covariances(forecast) - forecast.bird_errors[birds].mean(axis=0)
    return found


def _shares(study: Study, birds: Nodes) -> list[float]:
    """Covariance of each trait's part of the merit with the merit, over the merit's variance."""
    standing = study.standing
    merit = standing.merit[birds] - standing.merit[birds].mean()
    total = float(merit @ merit)
    return [
        float(standing.part(trait.aim)[birds] @ merit / total) if total > 0 else 0.0
        for trait in study.forecast.traits
    ]


def _pulls(study: Study, parts: Matrix, at: int) -> tuple[tuple[str, float], ...]:
    """The other traits that move one, the strongest first, with what each adds in its unit."""
    traits = study.forecast.traits
    least = LEAST_PULL * traits[at].genetic_sd
    found = [
        (other.aim.trait, float(parts[at, place]))
        for place, other in enumerate(traits)
        if place != at and abs(parts[at, place]) > least
    ]
    return tuple(sorted(found, key=lambda pull: (-abs(pull[1]), pull[0])))


def _holding(study: Study, weights: Matrix, predicted: Matrix, at: int) -> float | None:
    """The weight at which a trait with a direction stands still, if others pull it back."""
    trait = study.forecast.traits[at]
    others = float(predicted[at] @ weights - predicted[at, at] * weights[at])
    back = -trait.aim.sign * others
    if trait.aim.optimum is not None or back <= 0 or predicted[at, at] <= 0:
        return None
    return float(back / predicted[at, at] * trait.genetic_sd)


def weight_doubts(study: Study) -> list[Fault]:
    """Traits that the weights lead the wrong way although they are to improve."""
    found = {one.trait: one for one in emphasis(study)}
    return [
        study.flock.tables.setting_fault(
            f"traits.{aim.trait}.weight",
            kind="weights-against-themselves",
            value=f"{aim.weight:g}",
            problem=_problem(study, found[aim.trait]),
            mend=_mend(found[aim.trait]),
        )
        for aim in study.aims
        if aim.trait in found and aim.weight > 0 and _goes_wrong(study, found[aim.trait])
    ]


def _goes_wrong(study: Study, one: TraitEmphasis) -> bool:
    trait = study.forecast.trait(one.trait)
    return trait.aim.sign * one.response < -LEAST_LED * trait.genetic_sd


def _problem(study: Study, one: TraitEmphasis) -> str:
    aim = study.forecast.trait(one.trait).aim
    way = {1: "up", -1: "down"}[aim.sign]
    return (
        f"{one.trait} shall go {way}, but with these weights it is expected to go "
        f"{_amount(one.response, aim.unit)} for each standard deviation of merit: its own weight "
        f"adds {_amount(one.direct, aim.unit)}, {_listed(_against(one, aim.sign), aim.unit)}"
    )


def _against(one: TraitEmphasis, sign: int) -> list[tuple[str, float]]:
    return [(name, amount) for name, amount in one.pulls if sign * amount < 0]


def _listed(pulls: Sequence[tuple[str, float]], unit: str) -> str:
    def words() -> Iterator[str]:
        for name, amount in pulls:
            yield f"that of {name}, which is tied to it, {_amount(amount, unit)}"

    return ", ".join(words())


def _mend(one: TraitEmphasis) -> str:
    if one.holding is None:
        return "look at the correlations of this trait"
    return (
        f"a weight above {one.holding:.2f} would move it the right way; or lower the weights that "
        "pull it, or let it go and write weight = 0"
    )


def _amount(amount: float, unit: str) -> str:
    digits = 0 if abs(amount) >= 100 else 1 if abs(amount) >= 10 else 2
    return f"{amount:+.{digits}f} {unit}".rstrip().replace("-", "−", 1)
