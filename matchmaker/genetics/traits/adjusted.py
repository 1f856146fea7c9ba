"""A bird's raw score taken apart: its hatch, its breeds, inbreeding, its genes, and the rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.prediction import Prediction


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """The mean of a bird's scores in one trait, and what it differs from the mean of all scores by.

    All but ``scores``, their number, are in the trait's unit; ``hatch``, ``breed`` (its share of
    the recurrent breed), ``vigour`` of a cross, ``inbreeding``, ``genes`` (its prediction) and
    ``rest`` (what was given to this bird alone, and chance) sum up to ``raw`` − ``mean``. Where
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

    @classmethod
    def of_all(cls, forecast: Forecast, trait: TraitForecast) -> dict[int, Adjusted]:
        """The scores of each scored bird, by its number; none where the trait is not predicted."""
        found = trait.prediction
        if found is None:
            return {}
        raw = trait.scored.raw
        birds, inverse = np.unique(trait.scored.records.birds, return_inverse=True)
        counts = np.bincount(inverse)
        columns = {
            name: np.bincount(inverse, values) / counts
            for name, values in {"raw": raw, **_parts(forecast, trait, found)}.items()
        }
        return {
            int(bird): cls(
                scores=int(counts[at]),
                mean=float(raw.mean()),
                **{name: float(values[at]) for name, values in columns.items()},
            )
            for at, bird in enumerate(birds)
        }


def _parts(forecast: Forecast, trait: TraitForecast, found: Prediction) -> dict[str, Matrix]:
    """Parts of every score, each against its mean over all scores, but the prediction as it is."""
    records = trait.scored.records
    birds = records.birds
    genes = trait.values[birds]
    return {
        "hatch": _against_mean(found.levels[records.groups]),
        "breed": _against_mean(trait.share_slope * forecast.shares[birds]),
        "vigour": _against_mean(trait.vigour * forecast.heterozygosity[birds]),
        "inbreeding": _against_mean(trait.depression * forecast.inbreeding[birds]),
        "genes": genes,
        "rest": _against_mean(found.deviations) - genes,
    }


def _against_mean(values: Matrix) -> Matrix:
    against: Matrix = values - values.mean()
    return against
