"""A bird's forebears as a keeper names them: its sire, its dam's sire, one of two cocks."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.flock.pedigree import LIKELY, Side
from matchmaker.tables.records import Origin, Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.flock import Flock
    from matchmaker.flock.pedigree import Links, Pedigree

Role: TypeAlias = tuple[Side, ...]
"""The way from a bird to a forebear: ("dam", "sire") is the dam's sire."""

DEEPEST: Final = 5
"""Generations followed when ways are spelled out; further back they say little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parent:
    """Who a parent may be: bands with their chances, or the breeds of a founder's gametes.

    ``assumed`` is set where nobody wrote who it is and the birds of the line that lived at the
    time are all taken as possible. ``above`` holds the parents of each candidate that is likely,
    down to the depth asked for.
    """

    side: Side
    candidates: tuple[tuple[str, float], ...]
    breeds: tuple[str, ...]
    source: str
    assumed: bool
    above: tuple[tuple[str, tuple[Parent, ...]], ...] = ()


def parents(flock: Flock, band: str, depth: int = 2) -> tuple[Parent, ...]:
    """Return sire and dam of a bird with their own parents, ``depth`` generations in all.

    Raises
    ------
    KeyError
        If the bird is not in the books.
    """
    bird, pedigree = flock.by_band()[band], flock.pedigree
    at = pedigree.node_of()[band] - pedigree.first_bird
    return (
        _parent(flock, "sire", pedigree.sires[at], bird.record.sire.origin, depth),
        _parent(flock, "dam", pedigree.dams[at], bird.record.dam.origin, depth),
    )


def _parent(flock: Flock, side: Side, links: Links, origin: Origin, depth: int) -> Parent:
    pedigree = flock.pedigree
    pools = [pedigree.pools[node] for node, _ in links if node < pedigree.first_bird]
    likely = pedigree.birds_among(links, LIKELY) if depth > 1 else ()
    return Parent(
        side=side,
        candidates=pedigree.birds_among(links),
        breeds=tuple(pool.breed for pool in pools),
        source=next((pool.source for pool in pools if pool.source), ""),
        assumed=origin is Origin.UNKNOWN,
        above=tuple((band, parents(flock, band, depth - 1)) for band, _ in likely),
    )


def roles(pedigree: Pedigree, band: str) -> dict[str, tuple[Role, ...]]:
    """Return every likely way from a bird to each of its forebears, the shortest first.

    Ways of at most ``DEEPEST`` generations are followed.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A cock sussex sussex",
    ...     "B hen sussex sussex",
    ...     "C hen A B",
    ...     "D hen A C",
    ... )
    >>> roles(family, "D")["A"]
    (('sire',), ('dam', 'sire'))
    """
    found: dict[str, list[Role]] = defaultdict(list)
    for name, role in _ways(pedigree, pedigree.node_of()[band], ()):
        found[name].append(role)
    return {name: tuple(sorted(ways, key=_nearest_first)) for name, ways in found.items()}


def _ways(pedigree: Pedigree, node: int, role: Role) -> Iterator[tuple[str, Role]]:
    first = pedigree.first_bird
    if len(role) >= DEEPEST:
        return
    sides: tuple[tuple[Side, Links], ...] = (
        ("sire", pedigree.sires[node - first]),
        ("dam", pedigree.dams[node - first]),
    )
    for side, links in sides:
        for parent, chance in links:
            if parent >= first and chance >= LIKELY:
                yield pedigree.birds[parent - first], (*role, side)
                yield from _ways(pedigree, parent, (*role, side))


def _nearest_first(role: Role) -> tuple[int, tuple[bool, ...]]:
    return (len(role), tuple(side == "dam" for side in role))


def relation(pedigree: Pedigree, band: str, other: str, sex: Sex | None) -> str:
    """What another bird is to this one in a word or two, "" where no short word fits.

    ``sex`` is that of the other bird.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A cock sussex sussex",
    ...     "B hen sussex sussex",
    ...     "C hen A B",
    ...     "D cock A B",
    ... )
    >>> relation(family, "D", "B", Sex.HEN), relation(family, "D", "C", Sex.HEN)
    ('dam', 'full sister')
    """
    own, others = _certain(pedigree, band), _certain(pedigree, other)
    if other in own:
        return "dam" if sex is Sex.HEN else "sire"
    if band in others:
        return {Sex.HEN: "daughter", Sex.COCK: "son"}[sex] if sex else "chick"
    sib = {Sex.HEN: "sister", Sex.COCK: "brother"}[sex] if sex else "sib"
    shared = [one == two and one is not None for one, two in zip(own, others, strict=True)]
    if any(shared):
        return f"{'full' if all(shared) else 'half'} {sib}"
    return next((_named(way) for way in roles(pedigree, band).get(other, ())), "")


def _named(way: Role) -> str:
    """A way in words; a parent that is not certain is a possible one."""
    return f"possible {way[0]}" if len(way) == 1 else "'s ".join(way)


def _certain(pedigree: Pedigree, band: str) -> tuple[str | None, str | None]:
    """Sire and dam of a bird where they are certain."""
    first = pedigree.first_bird
    at = pedigree.node_of()[band] - first
    sire, dam = (
        pedigree.birds[links[0][0] - first] if len(links) == 1 and links[0][0] >= first else None
        for links in (pedigree.sires[at], pedigree.dams[at])
    )
    return sire, dam
