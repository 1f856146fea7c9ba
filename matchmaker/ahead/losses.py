"""Birds lost in a year: who dies, and on which day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.rebalance.chances import loss_chances

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

    from matchmaker.flock.flock import Flock

YEAR: Final = 365
"""Days over which a year's losses are spread evenly."""


def losses(flock: Flock, rng: np.random.Generator) -> Mapping[str, int]:
    """The living birds that die before next spring, with the days from pen-up to their death.

    Each dies with the chance that the settings give a cock of its age (``risk``); hens are taken to
    be as much at risk. The day may be any of the year.
    """
    bands = [bird.band for bird in flock.living]
    chances = loss_chances(flock, bands)
    draws, days = rng.random(len(bands)), rng.integers(0, YEAR, len(bands))
    return {
        band: int(day)
        for band, draw, day in zip(bands, draws, days, strict=True)
        if draw < chances[band]
    }
