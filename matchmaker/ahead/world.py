"""The living birds of a simulated flock as they are in truth, by band; and one season's chance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from matchmaker.ahead.birds import Birds, Nature, Numbers
    from matchmaker.ahead.luck import Event, Luck


@dataclass(frozen=True, slots=True)
class Fate:
    """What a season of one replicate hangs on besides the keeper: nature, and luck."""

    nature: Nature
    luck: Luck

    def stream(self, event: Event) -> np.random.Generator:
        """The chance of one kind of event in this season."""
        return self.luck.of(event)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class World:
    """The living birds: their bands, and in the same order what they are."""

    bands: tuple[str, ...]
    birds: Birds

    def at(self, bands: Sequence[str]) -> Numbers:
        """The numbers of some birds.

        Raises
        ------
        KeyError
            If one is not among the living.
        """
        place = {band: at for at, band in enumerate(self.bands)}
        return np.array([place[band] for band in bands], dtype=np.int64)

    def only(self, bands: Collection[str]) -> World:
        """Those of the birds that are named."""
        at = [number for number, band in enumerate(self.bands) if band in bands]
        kept = tuple(self.bands[number] for number in at)
        return World(bands=kept, birds=self.birds.take(np.array(at, dtype=np.int64)))

    def joined(self, bands: Sequence[str], birds: Birds) -> World:
        """These birds and others."""
        return World(bands=(*self.bands, *bands), birds=self.birds.joined(birds))

    def sexes(self) -> Mapping[str, Sex]:
        """The sex of each bird."""
        return {band: sex_of(self.birds, at) for at, band in enumerate(self.bands)}


def sex_of(birds: Birds, at: int) -> Sex:
    """The sex of one of some birds."""
    return Sex.HEN if birds.hens[at] else Sex.COCK
