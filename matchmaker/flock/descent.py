"""What each bird has passed on to those that descend from it, as far as parents are written."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.flock.suspects import parent_cells

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.about import Parts
    from matchmaker.tables.folder import FolderTables

GENERATIONS: Final = 64
"""So far down is looked: no book of poultry is that long, and a loop of parents (a fault of its
own) must come to an end."""


class Descent:
    """The written pedigree, asked for the part of a bird's genes that another one has from it.

    Half for a chick, a quarter for a chick's chick, summed over all ways down and at most 1; one
    of several possible parents counts with its probability. A parent nobody wrote down is no way.
    Only those ``among`` are told of, by whatever birds the way to them leads.
    """

    def __init__(self, tables: FolderTables, among: Iterable[str]) -> None:
        known = {record.bird for record in tables.birds}
        self._among = frozenset(among)
        self._chicks: dict[str, list[tuple[str, float]]] = defaultdict(list)
        self._parents: dict[str, list[tuple[str, float]]] = defaultdict(list)
        self._told: dict[str, Parts] = {}
        for record in tables.birds:
            for _, _, cell in parent_cells(record):
                for parent, chance in cell.candidates:
                    if parent in known:
                        self._chicks[parent].append((record.bird, chance / 2))
                        self._parents[record.bird].append((parent, chance / 2))

    def passed_on(self, band: str) -> Parts:
        """The part of each descendant's genes that is the bird's; 1 of the bird itself."""
        if band not in self._told:
            parts = _walked(band, self._chicks)
            self._told[band] = {one: part for one, part in parts.items() if one in self._among}
        return self._told[band]

    def came_from(self, band: str) -> Parts:
        """The part of the bird's genes that is each forebear's, all of them told; 1 of its own."""
        return _walked(band, self._parents)

    def relatives(self, band: str) -> Parts:
        """Those whose figures a record of the bird moves, by the nearest way up and down again.

        A forebear counts what the bird has from it, and so much of it what the forebear passed on.
        """
        found: Parts = {}
        for forebear, up in self.came_from(band).items():
            for other, down in self.passed_on(forebear).items():
                found[other] = max(found.get(other, 0.0), up * down)
        return found


def _walked(start: str, steps: Mapping[str, list[tuple[str, float]]]) -> Parts:
    """Sum over all ways from one bird, generation by generation."""
    total: Parts = {start: 1.0}
    front: Parts = {start: 1.0}
    for _ in range(GENERATIONS):
        following: Parts = defaultdict(float)
        for band, part in front.items():
            for other, step in steps.get(band, ()):
                following[other] += part * step
        if not following:
            break
        for band, part in following.items():
            total[band] = min(total.get(band, 0.0) + part, 1.0)
        front = following
    return total
