"""True breeding values drawn from what the scores leave open.

By Matheron's rule (Journel & Huijbregts 1978, Mining Geostatistics, from memory; of breeding
values García-Cortés, Moreno, Varona & Altarriba 1992, J Anim Breed Genet 109:176, from memory):
values u* and scores y* are made up from pedigree and variances, the same equations predict û(y*),
and û(y) + u* − û(y*) has the mean and the (co)variances of u given y, levels and slopes unknown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.ahead.chicks import square_root
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.equations import design
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import Dense
from matchmaker.genetics.traits.scores import SHARE, VIGOUR
from matchmaker.genetics.traits.together import Together, blocks, predict_together
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.birds import Matrix
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Records


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worths:
    """What scores leave open, drawn for each replicate; all in the traits' units.

    ``values`` and ``lasting`` have shape (replicates, birds, traits), ``pure_level``,
    ``share_slope`` and ``vigour`` (replicates, traits).
    """

    values: Matrix
    lasting: Matrix
    pure_level: Matrix
    share_slope: Matrix
    vigour: Matrix


def genetic_covariances(forecast: Forecast) -> Matrix:
    """(Co)variances of breeding values of unrelated birds, in the traits' units."""
    sds = np.array([found.genetic_sd for found in forecast.traits])
    return np.asarray(sds[:, None] * forecast.correlations * sds)


def surrounding_sds(forecast: Forecast) -> tuple[Matrix, Matrix]:
    """SDs, trait by trait, of what lasts in a bird beside its genes and of single scores.

    Of a trait that nothing is predicted of both are 0 and the SD of its scores.
    """
    lasting, passing = np.zeros(len(forecast.traits)), np.zeros(len(forecast.traits))
    for at, found in enumerate(forecast.traits):
        heredity, prediction = found.aim.heredity, found.prediction
        if prediction is not None:
            beyond = max(heredity.repeatability - heredity.h2, 0.0)
            lasting[at] = prediction.phenotypic_sd * beyond**0.5
            passing[at] = prediction.phenotypic_sd * (1 - heredity.repeatability) ** 0.5
        elif len(found.scored.raw) > 1:
            passing[at] = float(found.scored.raw.std(ddof=1))
    return lasting, passing


def draw_worths(
    pedigree: Pedigree, forecast: Forecast, streams: Sequence[np.random.Generator]
) -> Worths:
    """Draw true breeding values, what lasts, and levels and slopes, once with each stream.

    The mean over draws of values is what was predicted and their (co)variance that of the errors of
    the predictions, between birds and between correlated traits. Which of its possible parents a
    bird has is not looked at: values are drawn with the average relationship of the model.
    """
    kindred = kindred_of(ancestry_of(pedigree))
    values = _made_up(kindred, forecast, streams)
    lasting_sds, passing_sds = surrounding_sds(forecast)
    lasting, fresh = (
        np.stack([each.standard_normal(values.shape[1:]) for each in streams]) for _ in range(2)
    )
    told = [at for at, found in enumerate(forecast.traits) if found.prediction is not None]
    scores = [
        _made_up_scores(
            forecast.traits[at].scored.records,
            values[..., at] + lasting_sds[at] * lasting[..., at],
            passing_sds[at],
            streams,
        )
        for at in told
    ]
    again = dict(zip(told, _predicted_again(kindred, forecast, told, scores), strict=True))
    traits = [
        _conditioned(found, values[..., at], fresh[..., at], again.get(at))
        for at, found in enumerate(forecast.traits)
    ]
    return Worths(
        values=_side_by_side([one.values for one in traits], values.shape),
        lasting=_side_by_side([one.lasting for one in traits], values.shape),
        pure_level=_side_by_side([one.pure_level for one in traits], (len(streams), 0)),
        share_slope=_side_by_side([one.share_slope for one in traits], (len(streams), 0)),
        vigour=_side_by_side([one.vigour for one in traits], (len(streams), 0)),
    )


def _side_by_side(parts: Sequence[Matrix], shape: tuple[int, ...]) -> Matrix:
    """Traits along the last axis, also where there is none."""
    return np.stack(parts, axis=-1) if parts else np.zeros((*shape[:-1], 0))


def _made_up(
    kindred: Kindred, forecast: Forecast, streams: Sequence[np.random.Generator]
) -> Matrix:
    """Breeding values that birds of this pedigree may have, (replicates, birds, traits)."""
    root = square_root(genetic_covariances(forecast))
    shape = (kindred.unknowns, len(forecast.traits))
    chance = np.stack([stream.standard_normal(shape) for stream in streams], axis=1)
    found = np.sqrt(kindred.within)[:, None, None] * (chance @ root.T)
    for at, (start, end) in enumerate(zip(kindred.starts[:-1], kindred.starts[1:], strict=True)):
        if end > start:
            parents = found[kindred.parents[start:end]]
            found[at] += np.tensordot(kindred.weights[start:end], parents, 1)
    return np.asarray(found[kindred.birds].transpose(1, 0, 2))


def _made_up_scores(
    records: Records, birds: Matrix, passing_sd: float, streams: Sequence[np.random.Generator]
) -> Matrix:
    """Scores (records, replicates) that birds (replicates, birds) would get, every level nought."""
    chance = np.stack([stream.standard_normal(len(records.values)) for stream in streams], axis=1)
    return np.asarray(birds[:, records.birds].T + passing_sd * chance)


_Answer: TypeAlias = "tuple[Matrix, Matrix]"
"""What scores say: values (birds, replicates), levels and slopes (fixed, replicates)."""


def _predicted_again(
    kindred: Kindred, forecast: Forecast, told: Sequence[int], scores: Sequence[Matrix]
) -> list[_Answer]:
    """What the equations of the forecast say of other scores, trait by trait of those ``told``."""
    given = [forecast.traits[at].prediction for at in told]
    predictions = [prediction for prediction in given if prediction is not None]
    records = [forecast.traits[at].scored.records for at in told]
    if not all(isinstance(one.solved, Dense | Together) for one in predictions):
        return _predicted_anew(kindred, forecast, told, scores)
    found: list[_Answer] = []
    for at, prediction in enumerate(predictions):
        solved = prediction.solved
        if isinstance(solved, Together):
            linked = _solved_with(solved, predictions)
            own = [(records[one], scores[one] / predictions[one].phenotypic_sd) for one in linked]
            found.append(_of_together(solved, own))
        elif isinstance(solved, Dense):
            found.append(solved.solution.of_other(design(records[at]), scores[at]))
    return found


def _solved_with(solved: Together, predictions: Sequence[Prediction]) -> list[int]:
    """Which of the predictions came out of the same equations, in the order they stand there."""
    places = {
        one.solved.at: number
        for number, one in enumerate(predictions)
        if isinstance(one.solved, Together) and one.solved.solution is solved.solution
    }
    return [places[at] for at in sorted(places)]


def _of_together(solved: Together, linked: Sequence[tuple[Records, Matrix]]) -> _Answer:
    """The answer for one trait of several solved in one, in its own unit."""
    columns = blocks([design(records) for records, _ in linked])
    scores = np.concatenate([values for _, values in linked])
    values, effects = solved.solution.of_other(columns, scores)
    own = linked[solved.at][0]
    first = solved.slopes_at - own.group_count
    scale = solved.scales[solved.at]
    fixed = effects[first : solved.slopes_at + len(own.names)]
    return scale * values[solved.at * solved.size :][: solved.size], scale * fixed


def _predicted_anew(
    kindred: Kindred, forecast: Forecast, told: Sequence[int], scores: Sequence[Matrix]
) -> list[_Answer]:
    """The same for large flocks, whose equations are solved anew for each replicate."""
    traits = [forecast.traits[at] for at in told]
    correlations = forecast.correlations[np.ix_(told, told)]
    answers = []
    for replicate in range(scores[0].shape[1]):
        records = [
            replace(found.scored.records, values=values[:, replicate])
            for found, values in zip(traits, scores, strict=True)
        ]
        heredities = [found.aim.heredity for found in traits]
        answers.append(predict_together(kindred, records, heredities, correlations)[0])
    return [
        (
            np.stack([one[at].values for one in answers], axis=1),
            np.stack([np.concatenate((one[at].levels, one[at].slopes)) for one in answers], axis=1),
        )
        for at in range(len(told))
    ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trait:
    """One trait drawn: (replicates, birds) and (replicates,)."""

    values: Matrix
    lasting: Matrix
    pure_level: Matrix
    share_slope: Matrix
    vigour: Matrix


def _conditioned(
    found: TraitForecast, made_up: Matrix, chance: Matrix, again: _Answer | None
) -> _Trait:
    """What was made up, moved to where the scores are; ``chance`` (replicates, birds) is normal."""
    prediction, records = found.prediction, found.scored.records
    alike = np.ones(len(made_up))
    if prediction is None or again is None:
        return _Trait(
            values=np.zeros_like(made_up),
            lasting=np.zeros_like(made_up),
            pure_level=found.pure_level * alike,
            share_slope=0 * alike,
            vigour=0 * alike,
        )
    values = prediction.values + made_up - again[0].T
    fixed = np.concatenate((prediction.levels, prediction.slopes)) - again[1].T
    slopes = dict(zip(records.names, fixed[:, records.group_count :].T, strict=True))
    share = slopes.get(SHARE, 0 * alike)
    return _Trait(
        values=values,
        lasting=_lasting(found, values, records.values - fixed @ design(records).T, chance),
        pure_level=fixed[:, : records.group_count] @ _hens_by_group(found) + share,
        share_slope=share,
        vigour=slopes.get(VIGOUR, 0 * alike),
    )


def _hens_by_group(found: TraitForecast) -> Matrix:
    """Part of the records of hens (of all, if there are none) that each group has."""
    records = found.scored.records
    hens = np.array([sex == Sex.HEN for sex in found.scored.contemporaries.sexes], dtype=np.bool_)
    counts = np.bincount(records.groups, minlength=records.group_count).astype(np.float64)
    chosen = np.where(hens, counts, 0.0) if hens.any() else counts
    return np.asarray(chosen / chosen.sum())


def _lasting(found: TraitForecast, values: Matrix, left: Matrix, chance: Matrix) -> Matrix:
    """What lasts in each bird, given its genes and scores less levels, (replicates, birds).

    Of n scores less everything else with mean m it is p with mean m n σ²ₚ / (σ² + n σ²ₚ) and
    variance σ² σ²ₚ / (σ² + n σ²ₚ), σ² being that from score to score.
    """
    prediction, records = found.prediction, found.scored.records
    if prediction is None:
        return np.zeros_like(values)
    heredity, variance = prediction.heredity, prediction.phenotypic_sd**2
    lasts, passes = heredity.repeatability - heredity.h2, 1 - heredity.repeatability
    counts = np.bincount(records.birds, minlength=values.shape[1])
    sums = np.zeros(values.shape)
    np.add.at(sums.T, records.birds, (left - values[:, records.birds]).T)
    pull = lasts / (passes + counts * lasts)
    return np.asarray(pull * sums + np.sqrt(variance * passes * pull) * chance)
