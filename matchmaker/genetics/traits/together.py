"""Several traits predicted together: what the scores of one say of the genes of another.

Genes of two traits are correlated as the keeper says; lasting surroundings and chance are taken to
be uncorrelated between traits (their correlations would have to come from somewhere, and a wrong
one does more harm than none).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.combined import Combined, combine
from matchmaker.genetics.traits.equations import (
    Solution,
    Surroundings,
    design,
    solution,
    surroundings,
)
from matchmaker.genetics.traits.model import predict, reliabilities
from matchmaker.genetics.traits.positive import inverse_of_positive

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Heredity, Records

WHOLE: Final = 2500
"""With more unknowns than this, counted for each trait, traits are combined bird by bird."""

DEFINITE: Final = 1e-9
"""Correlations with a smallest eigenvalue below this belong to no possible set of traits."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Together:
    """One trait of several that were solved in one.

    Trait ``at`` of bird k stands in ``solution`` at ``at`` · ``size`` + k, in units of the SD of
    single scores of its trait, ``scales`` (shape (traits,)). Its slopes stand among the effects
    from ``slopes_at`` on. ``owners``, ``pulls`` and ``traits`` (shape (records of all traits,)) say
    where the bird and trait of a score stand and what it weighs.
    """

    solution: Solution
    at: int
    slopes_at: int
    size: int
    scales: Matrix
    owners: Nodes
    pulls: Matrix
    traits: Nodes

    def errors(self, birds: Nodes) -> Matrix:
        """(Co)variances of prediction errors of some birds, in squared units, shape (m, m)."""
        places = self.at * self.size + birds
        return np.asarray(self.scales[self.at] ** 2 * self.solution.errors(places, places))

    def spread(self, birds: Nodes, given: Matrix, slopes: Matrix) -> float:
        """Variance of the error of a sum of predictions and slopes, in squared units."""
        effects = np.zeros(len(self.solution.effects))
        effects[self.slopes_at : self.slopes_at + len(slopes)] = slopes
        places = self.at * self.size + birds
        return float(self.scales[self.at] ** 2 * self.solution.spread(places, given, effects))

    def weights(self, bird: int) -> Matrix:
        """What each score of the trait adds per unit of its deviation, shape (records,)."""
        return np.asarray(self._all_weights(bird)[self.traits == self.at])

    def other_traits(self, bird: int) -> float:
        """What the scores of the other traits add to a bird's prediction, in the trait's unit."""
        others = self.traits != self.at
        deviations = self.solution.deviations[others]
        return float(self.scales[self.at] * (self._all_weights(bird)[others] @ deviations))

    def _all_weights(self, bird: int) -> Matrix:
        return np.asarray(self.solution.given[self.at * self.size + bird, self.owners] * self.pulls)


def predict_together(
    kindred: Kindred,
    traits: Sequence[Records],
    heredities: Sequence[Heredity],
    correlations: Matrix,
    known: Sequence[Prediction | None] | None = None,
) -> tuple[tuple[Prediction, ...], Matrix]:
    """Predict several traits with genetic ``correlations`` (shape (traits, traits)).

    ``known`` are predictions of the same records, each trait alone, where they are at hand.
    Returns the predictions, and for each bird the (co)variances of their errors, shape (birds,
    traits, traits), in the traits' units. Of a trait that cannot be predicted both are 0.

    Raises
    ------
    ValueError
        If the correlations are not symmetric with ones on the diagonal, or not positive definite:
        then no traits can have them.

    Notes
    -----
    The precision of all breeding values is G⁻¹ ⊗ A⁻¹ (Henderson & Quaas 1976, from memory), G from
    the genetic SDs of the traits alone. Only traits that are linked by correlations, directly or
    through others, are solved together; without correlations this is ``predict``. Where that is
    more than ``WHOLE`` unknowns, each bird's predictions are combined by a selection index (Hazel
    1943, Genetics 28:476, from memory), each taken as one record of the bird with error variance
    σ²ᵤ (1 − r²) / r². That counts what kin told one trait as if it were told of the bird alone:
    an approximation, and ``is_approximate`` says so.

    Examples
    --------
    Four hens are weighed, and the eggs of three are counted. The last is the heaviest; since heavy
    hens lay less, she is expected to do so too:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> flock = kindred_of(ancestry_of_parents([-1] * 4, [-1] * 4))
    >>> listed = [
    ...     Records.of_one_group("eggs", [0, 1, 2], [50.0, 54.0, 46.0]),
    ...     Records.of_one_group("weight", [0, 1, 2, 3], [2.0, 2.2, 1.9, 2.5]),
    ... ]
    >>> half = Heredity(h2=0.5, repeatability=0.5)
    >>> found, errors = predict_together(
    ...     flock, listed, [half, half], np.array([[1.0, -0.5], [-0.5, 1.0]])
    ... )
    >>> found[0].values.round(2).tolist()
    [0.51, 1.97, -1.16, -1.32]
    >>> found[0].reliability.round(2).tolist()
    [0.37, 0.37, 0.37, 0.09]
    >>> errors.shape
    (4, 2, 2)
    """
    _check_correlations(correlations, len(traits))
    alone = [
        predict(kindred, records, heredity) if found is None else found
        for records, heredity, found in zip(
            traits, heredities, known or [None] * len(traits), strict=True
        )
    ]
    found = list(alone)
    errors = np.zeros((len(kindred.birds), len(traits), len(traits)))
    for at, prediction in enumerate(alone):
        errors[:, at, at] = _error_variances(prediction, kindred.own)
    for linked in _linked(alone, correlations):
        part = [alone[at] for at in linked]
        genetic = _genetic(part, correlations[np.ix_(linked, linked)])
        if kindred.unknowns * len(linked) <= WHOLE:
            solved, of_birds = _solved(kindred, [traits[at] for at in linked], part, genetic)
        else:
            solved, of_birds = combine(kindred.own, part, genetic)
        for at, prediction in zip(linked, solved, strict=True):
            found[at] = prediction
        errors[np.ix_(range(len(errors)), linked, linked)] = of_birds
    return tuple(found), errors


def is_approximate(prediction: Prediction) -> bool:
    """Whether a prediction was combined from traits solved apart, the flock being too large.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> eggs = Records.of_one_group("eggs", [0, 1], [50.0, 54.0])
    >>> pair = kindred_of(ancestry_of_parents([-1, -1], [-1, -1]))
    >>> is_approximate(predict(pair, eggs, Heredity(h2=0.5, repeatability=0.5)))
    False
    """
    return isinstance(prediction.solved, Combined)


def _check_correlations(correlations: Matrix, traits: int) -> None:
    if correlations.shape != (traits, traits):
        raise ValueError(f"{traits} traits need {traits} × {traits} correlations")
    if not np.array_equal(correlations, correlations.T) or (correlations.diagonal() != 1).any():
        raise ValueError("correlations must be symmetric, with 1 on the diagonal")
    smallest = float(np.linalg.eigvalsh(correlations)[0]) if traits else 1.0
    if smallest < DEFINITE:
        raise ValueError(
            "no traits can have these genetic correlations: the smallest eigenvalue is "
            f"{smallest:.3g} and must be above 0"
        )


def _linked(alone: Sequence[Prediction], correlations: Matrix) -> list[list[int]]:
    """Sets of two and more predicted traits that correlations link, in order."""
    left = [at for at, prediction in enumerate(alone) if prediction.genetic_sd > 0]
    found = []
    while left:
        linked, fresh = {left[0]}, [left[0]]
        while fresh:
            near = {at for at in left for other in fresh if correlations[at, other] != 0}
            fresh = sorted(near - linked)
            linked |= near
        left = [at for at in left if at not in linked]
        found += [sorted(linked)] if len(linked) > 1 else []
    return found


def _genetic(part: Sequence[Prediction], correlations: Matrix) -> Matrix:
    """(Co)variances of breeding values, each trait in units of the SD of its scores."""
    roots = np.sqrt([prediction.heredity.h2 for prediction in part])
    return np.asarray(roots[:, None] * correlations * roots)


def _error_variances(prediction: Prediction, own: Matrix) -> Matrix:
    return np.asarray((1 - prediction.reliability) * own * prediction.genetic_sd**2)


def _solved(
    kindred: Kindred, traits: Sequence[Records], part: Sequence[Prediction], genetic: Matrix
) -> tuple[list[Prediction], Matrix]:
    """Predictions of linked traits solved in one, and the errors of each bird."""
    size = len(kindred.birds)
    scales = np.array([prediction.phenotypic_sd for prediction in part])
    around = _joined(traits, part, size)
    values = [one.values / scale for one, scale in zip(traits, scales, strict=True)]
    found = solution(
        _given_errors(kindred, around, genetic),
        around,
        blocks([design(one) for one in traits]),
        np.concatenate(values),
    )
    owners = around.scored[around.place]
    errors = _errors_of_birds(found, size, scales)
    first = np.cumsum([0, *(len(one.levels) + len(one.slopes) for one in part)])
    solved = []
    for at, alone in enumerate(part):
        one = Together(
            solution=found,
            at=at,
            slopes_at=int(first[at]) + len(alone.levels),
            size=size,
            scales=scales,
            owners=owners,
            pulls=around.pull[around.place],
            traits=owners // size,
        )
        variance = alone.genetic_sd**2
        reliability = reliabilities(errors[:, at, at], kindred.own, variance)
        solved.append(_prediction(one, alone, int(first[at]), reliability))
    return solved, errors


def _joined(traits: Sequence[Records], part: Sequence[Prediction], size: int) -> Surroundings:
    """Covariance of the scores of all traits given the genes, bird k of trait t at t · size + k."""
    single = [
        surroundings(one, prediction.heredity) for one, prediction in zip(traits, part, strict=True)
    ]
    before = np.cumsum([0, *(len(one.scored) for one in single)])
    return Surroundings(
        scored=np.concatenate([at * size + one.scored for at, one in enumerate(single)]),
        place=np.concatenate([before[at] + one.place for at, one in enumerate(single)]),
        counts=np.concatenate([one.counts for one in single]),
        lasting=np.concatenate([one.lasting for one in single]),
        passing=np.concatenate([one.passing for one in single]),
    )


def blocks(parts: Sequence[Matrix]) -> Matrix:
    """Matrices one after the other along the diagonal.

    Examples
    --------
    >>> blocks([np.ones((1, 1)), np.ones((1, 2))]).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]]
    """
    ends = np.cumsum([[0, 0], *(part.shape for part in parts)], axis=0)
    joined = np.zeros(ends[-1])
    for part, (row, column) in zip(parts, ends[:-1], strict=True):
        joined[row : row + part.shape[0], column : column + part.shape[1]] = part
    return joined


def _given_errors(kindred: Kindred, around: Surroundings, genetic: Matrix) -> Matrix:
    """Errors of the breeding values of all traits if levels were known."""
    size = len(kindred.birds)
    equations = np.kron(np.linalg.inv(genetic), kindred.dense_inverse())
    traits = np.arange(len(genetic))[:, None]
    places = (traits * kindred.unknowns + kindred.birds).ravel()
    at = places[around.scored]
    equations[at, at] += around.counts * around.pull
    inverse = inverse_of_positive(equations)
    return inverse if kindred.unknowns == size else np.asarray(inverse[np.ix_(places, places)])


def _errors_of_birds(found: Solution, size: int, scales: Matrix) -> Matrix:
    birds = np.arange(size)
    errors = np.empty((size, len(scales), len(scales)))
    for first, one in enumerate(scales):
        for second, other in enumerate(scales[: first + 1]):
            each = found.errors_each(first * size + birds, second * size + birds)
            errors[:, first, second] = errors[:, second, first] = one * other * each
    return errors


def _prediction(solved: Together, alone: Prediction, first: int, reliability: Matrix) -> Prediction:
    """One trait of several, in its own unit; its levels stand from ``first`` on."""
    found, scale = solved.solution, solved.scales[solved.at]
    levels = slice(first, first + len(alone.levels))
    slopes = slice(levels.stop, levels.stop + len(alone.slopes))
    return replace(
        alone,
        values=scale * found.values[solved.at * solved.size :][: solved.size],
        reliability=reliability,
        levels=scale * found.effects[levels],
        slopes=scale * found.effects[slopes],
        slope_errors=scale * np.sqrt(found.fixed.diagonal()[slopes]),
        deviations=scale * found.deviations[solved.traits == solved.at],
        solved=solved,
    )
