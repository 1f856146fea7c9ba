"""Invented flocks whose true breeding values are known, for tests of predictions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.genetics.traits.records import Records

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.traits.records import Heredity
    from tests.kinship_helpers import Flock


def true_values(flock: Flock, rng: np.random.Generator) -> NDArray[np.float64]:
    """Breeding values of variance 1 in founders: half of each parent, and what Mendel adds."""
    inbred = inbreeding_of(flock.ancestry)
    values = rng.normal(size=len(flock.sires))
    for bird, (sire, dam) in enumerate(zip(flock.sires, flock.dams, strict=True)):
        if sire >= 0:
            spread = (0.5 - (inbred[sire] + inbred[dam]) / 4) ** 0.5
            values[bird] = (values[sire] + values[dam]) / 2 + spread * values[bird]
    return values


def scores_of(
    values: NDArray[np.float64],
    heredity: Heredity,
    rng: np.random.Generator,
    *,
    groups: NDArray[np.int64],
    repeats: int = 1,
) -> Records:
    """Scores of all birds around 50 with an SD of 4, groups differing by chance."""
    birds = np.repeat(np.arange(len(values)), repeats)
    lasting = (heredity.repeatability - heredity.h2) ** 0.5 * rng.normal(size=len(values))
    passing = (1 - heredity.repeatability) ** 0.5 * rng.normal(size=len(birds))
    levels = rng.normal(size=int(groups.max()) + 1)
    single = heredity.h2**0.5 * values + lasting
    return Records(
        trait="eggs",
        birds=birds,
        values=50 + 4 * (single[birds] + passing + levels[groups[birds]]),
        groups=groups[birds],
        covariates=np.empty((len(birds), 0)),
    )
