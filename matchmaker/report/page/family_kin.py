"""What each hen has in common with each cock: the greatest paths of their kinship, in few bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from matchmaker.genetics.kin.paths_of_pairs import MOST_OF_A_PAIR
from matchmaker.report.numbers import kinship_text
from matchmaker.report.page.kin_of_table import kin_of_table
from matchmaker.report.page.shared import Shared
from matchmaker.report.why.kin_words import TAKEN_AS_KIN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.genetics.kin.paths_of_pairs import PathsOfPair, Way
    from matchmaker.pairs.table import PairTable


def kin_data(table: PairTable, number: Mapping[str, int]) -> dict[str, Any]:
    """The paths of every hen with every cock; ``number`` are those of the birds shown.

    ``ways`` are pairs of a bird and the way on from it (0: none; the first way has the number 1),
    without the hen or cock itself, which begins it. A ``lists`` entry has what comes from before
    the records, what other paths add, then the hen's way, the cock's way and the part of each path.
    ``pairs`` are the lists by hen and cock, and ``kinship`` the texts; all texts by their numbers.
    """
    kin = kin_of_table(table, MOST_OF_A_PAIR)
    packed = _Packed(number)
    return {
        "hens": [number[hen] for hen in kin.hens],
        "cocks": [number[cock] for cock in kin.cocks],
        "pairs": [[packed.of(one) for one in paths] for paths in kin.paths],
        "kinship": [
            [packed.texts.place(kinship_text(one)) for one in some] for some in kin.kinship
        ],
        "ways": [part for way in packed.ways for part in way],
        "lists": [list(one) for one in packed.lists],
        "texts": list(packed.texts.of),
        "taken": TAKEN_AS_KIN,
    }


@dataclass(slots=True)
class _Packed:
    """Ways and lists of paths, each written once: those of full sibs are mostly the same."""

    number: Mapping[str, int]
    ways: dict[tuple[int, int], int] = field(default_factory=dict)
    lists: dict[tuple[int, ...], int] = field(default_factory=dict)
    texts: Shared = field(default_factory=Shared)

    def of(self, paths: PathsOfPair) -> int:
        """The number of a pair's list."""
        numbers = [self.texts.place(kinship_text(paths.before)), self.texts.place(_rest(paths))]
        for path in paths.listed:
            numbers += [self._way(path.first[1]) if path.first else 0]
            numbers += [self._way(path.second[1]) if path.second else 0]
            numbers += [self.texts.place(kinship_text(path.kinship))]
        return self.lists.setdefault(tuple(numbers), len(self.lists))

    def _way(self, way: Way) -> int:
        """The number of a way, those it goes on with first."""
        bands = []
        while way:
            bands.append(way[0])
            way = way[1]
        found = 0
        for band in reversed(bands):
            found = self.ways.setdefault((self.number[band], found), len(self.ways) + 1)
        return found


def _rest(paths: PathsOfPair) -> str:
    return kinship_text(max(paths.others, 0.0))
