"""A bird's raw score taken apart: its hatch, its breeds, inbreeding, its genes, and the rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.prediction import Prediction


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """The mean of a bird's scores in one trait, and what it differs from the mean of its sex by.

    All but ``scores``, their number, are in the trait's unit; ``hatch``, ``breed`` (its share of
    the recurrent breed), ``vigour`` of a cross, ``inbreeding``, ``genes`` (its prediction) and
    ``rest`` (what was given to this bird alone, and chance) and ``pulled_in`` (what was not counted
    of an odd score) sum up to ``raw`` − ``mean``, the mean being of scores as they count. Where
    breed and vigour cannot be told apart ``breed`` holds both.
    """

    scores: int
    raw: float
    mean: float
    hatch: float
    breed: float
    vigour: float
    inbreeding: float
    genes: float
    rest: float
    pulled_in: float

    @classmethod
    def of_all(cls, forecast: Forecast, trait: TraitForecast) -> dict[int, Adjusted]:
        """The scores of each scored bird, by its number; none where the trait is not predicted."""
        found = trait.prediction
        if found is None:
            return {}
        raw, sexes = trait.scored.raw, _sexes(trait)
        pulled_in = _pulled_in(trait)
        birds, inverse = np.unique(trait.scored.records.birds, return_inverse=True)
        counts = np.bincount(inverse)
        columns = {
            name: np.bincount(inverse, values) / counts
            for name, values in {
                "raw": raw,
                "mean": _means(raw - pulled_in, sexes),
                **_parts(forecast, trait, found, sexes),
                "pulled_in": pulled_in,
            }.items()
        }
        return {
            int(bird): cls(
                scores=int(counts[at]),
                **{name: float(values[at]) for name, values in columns.items()},
            )
            for at, bird in enumerate(birds)
        }


def _sexes(trait: TraitForecast) -> Nodes:
    """A number for the sex whose score each is, shape (records,)."""
    contemporaries = trait.scored.contemporaries
    _, codes = np.unique([str(sex) for sex in contemporaries.sexes], return_inverse=True)
    return np.asarray(codes, dtype=np.int64)[trait.scored.records.groups]


def _pulled_in(trait: TraitForecast) -> Matrix:
    """What is not counted of every score, 0 but for odd ones, (records,)."""
    pulled = np.zeros(len(trait.scored.raw))
    for one in trait.odd:
        pulled[one.record] = one.raw - one.counted
    return pulled


def _means(values: Matrix, sexes: Nodes) -> Matrix:
    """For each score the mean of the values over all scores of its sex, shape (records,)."""
    counts = np.maximum(np.bincount(sexes), 1)
    return np.asarray((np.bincount(sexes, values) / counts)[sexes])


def _parts(
    forecast: Forecast, trait: TraitForecast, found: Prediction, sexes: Nodes
) -> dict[str, Matrix]:
    """Parts of every score, each against its mean over its sex, but the prediction as it is."""
    records = trait.scored.records
    birds = records.birds
    genes = trait.values[birds]
    against = {
        "hatch": found.levels[records.groups],
        "breed": trait.share_slope * forecast.shares[birds],
        "vigour": trait.vigour * forecast.heterozygosity[birds],
        "inbreeding": trait.depression * forecast.inbreeding[birds],
        "rest": found.deviations,
    }
    parts = {name: values - _means(values, sexes) for name, values in against.items()}
    return {**parts, "genes": genes, "rest": parts["rest"] - genes}
