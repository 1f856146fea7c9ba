"""Flocks with invented scores for the tests of traits."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from matchmaker.flock.flock import Flock, build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.traits.forecast import Forecast, forecast
from matchmaker.tables.read import read_folder
from tests.builders import Row, chick, cock, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

HATCH = "2026-04-01"

OLD: tuple[Row, ...] = (
    *(cock(band, hatched="2024-04-01") for band in ("SC", "SD", "SE")),
    hen("SH", hatched="2024-04-01"),
    *(hen(band, "Donor", "araucana", hatched="2024-04-01") for band in ("AH", "AI")),
    chick("XC", "cock", "SD", "AH", "Alder", hatched="2025-04-01"),
    chick("XH", "hen", "SE", "AI", "Alder", hatched="2025-04-01"),
)
"""Pure parents, and a cock and a hen of first crosses that are not related."""

PARENTS = {"P": ("SC", "SH"), "F": ("SC", "AH"), "B": ("SC", "XH"), "G": ("XC", "XH")}
"""Pure birds, first crosses, backcrosses and second generation, by the letter they begin with."""


def young(bands: Sequence[str], sex: str = "hen", hatched: str = HATCH) -> list[Row]:
    """Return birds of one hatch; their bands say what they are."""
    return [chick(band, sex, *PARENTS[band[0]], "Alder", hatched=hatched) for band in bands]


def bands(kinds: str, count: int) -> list[str]:
    """Return so many bands of each kind."""
    return [f"{kind}{at}" for kind in kinds for at in range(count)]


def scores_of(trait: str, values: Mapping[str, float], **cells: str) -> list[Row]:
    """Return a row of scores for each bird."""
    return [{"bird": band, trait: f"{value:.9g}", **cells} for band, value in values.items()]


def scored_flock(path: Path, birds: Sequence[Row], settings: str, scores: Sequence[Row]) -> Flock:
    """Return the flock of a folder with the old birds, these young ones and their scores."""
    folder = write_flock(path, [*OLD, *birds], settings, scores=scores)
    return build_flock(read_folder(folder, known_loci=frozenset(catalogue())))


def forecast_of(path: Path, birds: Sequence[Row], settings: str, scores: Sequence[Row]) -> Forecast:
    """Return what these scores say."""
    return forecast(scored_flock(path, birds, settings, scores))


def by_sires(path: Path, settings: str, count: int) -> Forecast:
    """Return what ``count`` daughters of each of sixty sires say of eggs, heritable by about 0.15.

    All have one dam; a sire's SD is 1.2 eggs and that within its daughters 6.
    """
    rng = random.Random(5)  # noqa: S311
    rows: list[Row] = []
    values = {}
    for sire in range(60):
        rows.append(chick(f"S{sire:02}", "cock", "SC", "SH", "Alder", hatched="2025-04-01"))
        worth = rng.gauss(0, 1.2)
        for at in range(count):
            band = f"D{sire:02}-{at}"
            rows.append(chick(band, "hen", f"S{sire:02}", "SH", "Alder", hatched=HATCH))
            values[band] = 50 + worth + rng.gauss(0, 6)
    return forecast_of(path, rows, settings, scores_of("eggs", values))
