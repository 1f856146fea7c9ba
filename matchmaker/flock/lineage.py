"""From written parents to the pedigree: who may be the parent of whom, with what probability.

A cell that names birds is taken at its word. ``founder`` leads to the pool of the bird's breed
and source. An empty cell is *unknown*, not founder: the parent is then one of the birds of that
sex and line that lived at the time and hatched in an earlier season, all equally likely
(average relationship: Henderson 1988, J Anim Sci 66:551). Where the line has none and the other
parent is known, any bird of that sex then alive is possible; else the parent comes from the pool
of the line's breeds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import networkx as nx

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.flock.suspects import parent_cells, parent_graph
from matchmaker.tables.ages import LAST_CHICK_OF_DAM, LAST_CHICK_OF_SIRE
from matchmaker.tables.records import Origin, Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.bird import Bird
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import Parentage

SOURCE_BASE = 0.0625
"""Base kinship of birds from one source whose relationship nobody knows, unless configured:
that of first cousins (caution; common practice, no source)."""

DEEPEST = 12
"""Generations to look back for the breeds of a half-founder's known parent."""

Weights = dict[Pool | str, float]
"""Possible parents of one side: a pool or a band, with its probability."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lineage:
    """The pedigree, and the bands whose parents had to be assumed, for the list of defaults."""

    pedigree: Pedigree
    founders: tuple[str, ...]
    founders_without_breed: tuple[str, ...]
    drawn_from_line: tuple[str, ...]
    drawn_from_all: tuple[str, ...]
    """Birds of which one parent is written, and whose line had nobody then to be the other."""


@dataclass(slots=True)
class _Assumed:
    founders: set[str] = field(default_factory=set)
    without_breed: set[str] = field(default_factory=set)
    from_line: set[str] = field(default_factory=set)
    from_all: set[str] = field(default_factory=set)


@dataclass
class _Written:
    """The written parents, as a graph once it is asked for: few birds have parents unknown."""

    tables: FolderTables

    @cached_property
    def _graph(self) -> nx.DiGraph[str]:
        return parent_graph(self.tables)

    def descendants(self, band: str) -> set[str]:
        """All that descend from a bird."""
        found: set[str] = nx.descendants(self._graph, band)
        return found


def trace_lineage(birds: Mapping[str, Bird], tables: FolderTables, settings: Settings) -> Lineage:
    """Return the pedigree of all birds, parents first and otherwise in the order of their bands."""
    assumed, written = _Assumed(), _Written(tables)
    cells = {
        band: tuple(
            _side(
                bird, sex, birds=birds, written=written, recurrent=settings.recurrent, notes=assumed
            )
            for _, sex, _ in parent_cells(bird.record)
        )
        for band, bird in sorted(birds.items())
    }
    return Lineage(
        pedigree=_as_indices(birds, _as_clutches(birds, cells), settings),
        founders=tuple(sorted(assumed.founders)),
        founders_without_breed=tuple(sorted(assumed.without_breed)),
        drawn_from_line=tuple(sorted(assumed.from_line)),
        drawn_from_all=tuple(sorted(assumed.from_all)),
    )


def _side(
    bird: Bird,
    sex: Sex,
    *,
    birds: Mapping[str, Bird],
    written: _Written,
    recurrent: str,
    notes: _Assumed,
) -> Weights:
    record = bird.record
    cell = record.sire if sex is Sex.COCK else record.dam
    other = record.dam if sex is Sex.COCK else record.sire
    if cell.origin is Origin.KNOWN:
        return dict(cell.candidates)
    both_empty = cell.origin is other.origin is Origin.UNKNOWN
    if cell.origin is Origin.UNKNOWN and not (both_empty and (record.breed or record.source)):
        possible = _alive_then(
            bird, sex, birds.values(), written.descendants(bird.band), any_line=not both_empty
        )
        if possible:
            own = birds[possible[0]].line == bird.line
            (notes.from_line if own else notes.from_all).add(bird.band)
            return {parent: 1 / len(possible) for parent in possible}
    if both_empty:
        notes.founders.add(bird.band)
    if not record.breed:
        notes.without_breed.add(bird.band)
    shares = record.breed or _line_breeds(bird.line, birds.values(), recurrent)
    if record.breed and not both_empty:
        shares = _other_half(record.breed, _breeds_of(other, birds, recurrent))
    return {Pool(breed, record.source): share for breed, share in sorted(shares.items())}


def _other_half(whole: Mapping[str, float], known: Mapping[str, float]) -> dict[str, float]:
    """Breeds of the founder parent that make up, with the known one, what is written of a bird."""
    left = {breed: max(2 * share - known.get(breed, 0.0), 0.0) for breed, share in whole.items()}
    total = sum(left.values())
    return {b: share / total for b, share in left.items() if share} if total else dict(whole)


def _breeds_of(
    parent: Parentage, birds: Mapping[str, Bird], recurrent: str, depth: int = 0
) -> dict[str, float]:
    """Expected breeds of a possible parent, by what is written of it or of its own parents."""
    total: dict[str, float] = {}
    for band, chance in parent.candidates:
        for breed, share in _composition(birds[band], birds, recurrent, depth).items():
            total[breed] = total.get(breed, 0.0) + chance * share
    return total


def _composition(
    bird: Bird, birds: Mapping[str, Bird], recurrent: str, depth: int
) -> dict[str, float]:
    sides = (bird.record.sire, bird.record.dam)
    known = [side for side in sides if side.origin is Origin.KNOWN]
    if len(known) < len(sides) or depth > DEEPEST:
        return bird.record.breed or _line_breeds(bird.line, birds.values(), recurrent)
    halves = [_breeds_of(side, birds, recurrent, depth + 1) for side in sides]
    return {
        breed: sum(half.get(breed, 0.0) for half in halves) / 2
        for breed in sorted(set().union(*halves))
    }


def _alive_then(
    chick: Bird, sex: Sex, birds: Iterable[Bird], descendants: set[str], *, any_line: bool
) -> list[str]:
    """Birds that may be the unwritten parent: of the chick's line, else of any line.

    Another line is looked at only where the other parent is known: the bird was then bred here,
    and taking its unwritten parent for a stranger would hide close relatives.
    """
    if chick.hatched is None:
        return []
    possible = [
        bird
        for bird in birds
        if bird.sex is sex
        and bird.band not in descendants
        and _could_breed_then(bird, chick.hatched)
    ]
    own = sorted(bird.band for bird in possible if bird.line == chick.line)
    return own or (sorted(bird.band for bird in possible) if any_line else [])


def _could_breed_then(bird: Bird, hatched: dt.date) -> bool:
    if bird.hatched is None or bird.hatched.year >= hatched.year:
        return False
    gone = bird.record.left_on
    last = LAST_CHICK_OF_SIRE if bird.sex is Sex.COCK else LAST_CHICK_OF_DAM
    return gone is None or hatched - gone <= last


def _line_breeds(line: str, birds: Iterable[Bird], recurrent: str) -> dict[str, float]:
    """Mean breed composition written in a line, else the recurrent breed."""
    listed = [bird.record.breed for bird in birds if bird.line == line and bird.record.breed]
    total: dict[str, float] = {}
    for breeds in listed:
        for breed, share in breeds.items():
            total[breed] = total.get(breed, 0.0) + share / len(listed)
    return total or {recurrent: 1.0}


def _as_indices(
    birds: Mapping[str, Bird], cells: Mapping[str, tuple[Weights, ...]], settings: Settings
) -> Pedigree:
    pools = tuple(
        sorted(
            {
                key
                for sides in cells.values()
                for side in sides
                for key in side
                if isinstance(key, Pool)
            }
        )
    )
    order = _parents_first(cells)
    keys: list[Pool | str] = [*pools, *order]
    node = {key: at for at, key in enumerate(keys)}
    links: dict[str, tuple[Links, ...]] = {
        band: tuple(
            tuple(sorted((node[key], chance) for key, chance in side.items())) for side in sides
        )
        for band, sides in cells.items()
    }
    return Pedigree(
        pools=pools,
        bases=tuple(tuple(_base(first, second, settings) for second in pools) for first in pools),
        birds=order,
        sexes=tuple(birds[band].sex for band in order),
        sires=tuple(links[band][0] for band in order),
        dams=tuple(links[band][1] for band in order),
        clutches=_clutches([birds[band].record.clutch for band in order]),
    )


def _as_clutches(
    birds: Mapping[str, Bird], cells: Mapping[str, tuple[Weights, ...]]
) -> dict[str, tuple[Weights, ...]]:
    """Give all chicks of a clutch the possible parents of the first of them."""
    first: dict[str, str] = {}
    for band in cells:
        first.setdefault(birds[band].record.clutch or band, band)
    return {band: cells[first[birds[band].record.clutch or band]] for band in cells}


def _clutches(names: list[str]) -> tuple[int | None, ...]:
    """Number the clutches in order; chicks without one have none."""
    numbers = {name: at for at, name in enumerate(dict.fromkeys(filter(None, names)))}
    return tuple(numbers.get(name) for name in names) if numbers else ()


def _parents_first(cells: Mapping[str, tuple[Weights, ...]]) -> tuple[str, ...]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(cells)
    graph.add_edges_from(
        (key, band)
        for band, sides in cells.items()
        for side in sides
        for key in side
        if isinstance(key, str)
    )
    return tuple(nx.lexicographical_topological_sort(graph))


def _base(first: Pool, second: Pool, settings: Settings) -> float:
    if first.breed != second.breed:
        return 0.0
    return source_base(first, settings) if first == second else settings.breed_base(first.breed)


def source_base(pool: Pool, settings: Settings) -> float:
    """How related two gametes of one pool are taken to be."""
    breed_base = settings.breed_base(pool.breed)
    if not pool.source:
        return breed_base
    if pool.source in settings.sources:
        return settings.sources[pool.source].base
    return max(breed_base, SOURCE_BASE)
