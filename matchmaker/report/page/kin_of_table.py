"""The paths of kinship between all hens and all cocks of a pair table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.paths_of_pairs import paths_of_pairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.kin.paths_of_pairs import PathsOfPair
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True, eq=False)
class KinOfTable:
    """Hens (rows) with cocks (columns): their kinship, and the greatest paths behind it."""

    hens: Sequence[str]
    cocks: Sequence[str]
    kinship: Matrix
    paths: Sequence[Sequence[PathsOfPair]]


def kin_of_table(table: PairTable, most: int) -> KinOfTable:
    """Work out up to ``most`` paths for every hen and cock that a table judges."""
    hens = sorted({hen for hen, _ in table.by_birds})
    cocks = sorted({cock for _, cock in table.by_birds})
    row, column = ({band: at for at, band in enumerate(side)} for side in (hens, cocks))
    kinship = np.zeros((len(hens), len(cocks)))
    for (hen, cock), entries in table.by_birds.items():
        kinship[row[hen], column[cock]] = entries[0].kinship
    paths = paths_of_pairs(table.study.flock.pedigree, hens, cocks, kinship, most=most)
    return KinOfTable(hens, cocks, kinship, paths)
