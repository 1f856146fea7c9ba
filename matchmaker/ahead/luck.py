"""Where chance comes from: a stream of its own for every replicate, season and kind of event.

Streams do not hang on each other or on who draws from them, so a replicate is the same on any
machine and with any number of workers, and two policies meet the same luck (common random numbers)
wherever they ask for the same thing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np


class Event(IntEnum):
    """What chance decides; each kind has its own stream."""

    PENS = 1
    DEATHS = 2
    EGGS = 3
    GENES = 4
    LOOKS = 5
    SCORES = 6
    CHOICE = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Luck:
    """The chance of one season of one replicate."""

    seed: int
    replicate: int
    season: int

    def of(self, event: Event) -> np.random.Generator:
        """The stream of one kind of event, from its beginning.

        Examples
        --------
        >>> luck = Luck(seed=1, replicate=3, season=0)
        >>> luck.of(Event.EGGS).random() == luck.of(Event.EGGS).random()
        True
        >>> luck.of(Event.EGGS).random() == luck.of(Event.GENES).random()
        False
        """
        key = (self.replicate, self.season, int(event))
        return np.random.Generator(
            np.random.PCG64(np.random.SeedSequence(self.seed, spawn_key=key))
        )
