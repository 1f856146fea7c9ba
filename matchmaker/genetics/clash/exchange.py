"""Two birds whose bands were exchanged at hatching: each is the chick of the other's parents."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from matchmaker.genetics.clash.suppositions import bred_here

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.tables.records import BirdRecord


def hatchings(birds: Iterable[BirdRecord]) -> tuple[frozenset[str], ...]:
    """Return the sets of birds that hatched on one day, or may have.

    A bird of which only the year is known may belong to any hatching of that year.

    Examples
    --------
    >>> import datetime as dt
    >>> from matchmaker.tables.records import BirdRecord
    >>> birds = [
    ...     BirdRecord(row=2, bird="A", hatched=dt.date(2026, 4, 7)),
    ...     BirdRecord(row=3, bird="B", hatched=dt.date(2026, 4, 7)),
    ...     BirdRecord(row=4, bird="C", hatched=dt.date(2026, 5, 1)),
    ...     BirdRecord(row=5, bird="D", hatched=dt.date(2026, 5, 1), hatched_is_year=True),
    ... ]
    >>> [sorted(together) for together in hatchings(birds)]
    [['D'], ['A', 'B', 'D'], ['C', 'D']]
    """
    on_day: dict[tuple[int, str], set[str]] = defaultdict(set)
    in_year: dict[int, set[str]] = defaultdict(set)
    for bird in birds:
        if bird.hatched is not None and bird.hatched_is_year:
            in_year[bird.hatched.year].add(bird.bird)
        elif bird.hatched is not None:
            on_day[bird.hatched.year, bird.hatched.isoformat()].add(bird.bird)
    days = [frozenset(on_day[day] | in_year.get(day[0], set())) for day in sorted(on_day)]
    return (*(frozenset(in_year[year]) for year in sorted(in_year)), *days)


def exchangeable(
    pedigree: Pedigree, bands: Iterable[str], together: Iterable[frozenset[str]]
) -> list[tuple[str, str]]:
    """Return the pairs of one of ``bands`` and a bird hatched with it by other parents.

    Both must come from birds of the books: a bought bird was banded elsewhere. Each pair is in
    the order of the bands and listed once.

    Examples
    --------
    X and Y are chicks of A by different founders, Z is bought:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> flock = pedigree_of(
    ...     "A ? a a",
    ...     "X ? A a",
    ...     "Y ? A b",
    ...     "Z ? a a",
    ... )
    >>> exchangeable(flock, ["Y"], [frozenset("XYZ")])
    [('X', 'Y')]
    """
    nodes, first = pedigree.node_of(), pedigree.first_bird
    wanted = set(bands)
    found = {
        (min(one, two), max(one, two))
        for group in together
        for one in group & wanted
        for two in group - {one}
    }
    places = [(pair, [nodes[band] - first for band in pair]) for pair in sorted(found)]
    return [
        pair
        for pair, (one, two) in places
        if bred_here(pedigree, one)
        and bred_here(pedigree, two)
        and (pedigree.sires[one], pedigree.dams[one]) != (pedigree.sires[two], pedigree.dams[two])
    ]


def exchanged(pedigree: Pedigree, pair: tuple[str, str]) -> Pedigree | None:
    """Return the pedigree with the parents of two birds exchanged; ``None`` if that is a circle.

    What is written under a band after hatching (sex, looks, tests, chicks) stays with the band.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> flock = pedigree_of("X ? a a", "Y ? b b")
    >>> exchanged(flock, ("X", "Y")).sires
    (((1, 1.0),), ((0, 1.0),))
    """
    nodes, first = pedigree.node_of(), pedigree.first_bird
    one, two = (nodes[band] - first for band in pair)
    places = list(range(len(pedigree.birds)))
    places[one], places[two] = two, one
    clutches = tuple(pedigree.clutches[at] for at in places) if pedigree.clutches else ()
    return _parents_first(
        replace(
            pedigree,
            sires=tuple(pedigree.sires[at] for at in places),
            dams=tuple(pedigree.dams[at] for at in places),
            clutches=clutches,
        )
    )


def _parents_first(pedigree: Pedigree) -> Pedigree | None:
    """Put parents before their chicks again."""
    first = pedigree.first_bird
    parents = {
        first + at: {node for node, _ in (*pedigree.sires[at], *pedigree.dams[at]) if node >= first}
        for at in range(len(pedigree.birds))
    }
    if all(node > parent for node, above in parents.items() for parent in above):
        return pedigree
    try:
        order = list(TopologicalSorter(parents).static_order())
    except CycleError:
        return None
    return _reordered(pedigree, [node - first for node in order])


def _reordered(pedigree: Pedigree, places: Sequence[int]) -> Pedigree:
    first = pedigree.first_bird
    moved = {node: node for node in range(first)}
    moved |= {first + at: first + new for new, at in enumerate(places)}
    return replace(
        pedigree,
        birds=tuple(pedigree.birds[at] for at in places),
        sexes=tuple(pedigree.sexes[at] for at in places),
        sires=tuple(_renamed(pedigree.sires[at], moved) for at in places),
        dams=tuple(_renamed(pedigree.dams[at], moved) for at in places),
        clutches=tuple(pedigree.clutches[at] for at in places) if pedigree.clutches else (),
    )


def _renamed(links: Links, moved: Mapping[int, int]) -> Links:
    return tuple(sorted((moved[node], share) for node, share in links))
