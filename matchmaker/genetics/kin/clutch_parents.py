"""The unwritten parents of clutches, put into the pedigree as the single birds they are."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.pedigree import Links, Pedigree, Side


@dataclass(frozen=True, slots=True, kw_only=True)
class ClutchParents:
    """A pedigree with clutches' unwritten parents as birds.

    ``chicks`` has, by the name of each such parent, a chick of it and the side it stands on.
    """

    pedigree: Pedigree
    chicks: Mapping[str, tuple[str, Side]]


def with_clutch_parents(pedigree: Pedigree) -> ClutchParents:
    """Give each clutch of several chicks its one unwritten parent as a bird out of the pools.

    Examples
    --------
    Two chicks of a clutch with a known dam:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pair = pedigree_of(
    ...     "D ? sussex sussex",
    ...     "X ? sussex D 0",
    ...     "Y ? sussex D 0",
    ... )
    >>> whole = with_clutch_parents(pair)
    >>> whole.pedigree.birds, whole.pedigree.sires[2:]
    (('sire of X', 'D', 'X', 'Y'), (((1, 1.0),), ((1, 1.0),)))
    """
    made = dict(_unwritten(pedigree))
    if not made:
        return ClutchParents(pedigree=pedigree, chicks={})
    nodes = {key: pedigree.first_bird + number for number, key in enumerate(made)}
    pools = tuple(_from_pools(pedigree, links) for _, links in made.values())
    nobody = (None,) * len(made)

    def turned(side: Side, written: tuple[Links, ...]) -> Iterator[Links]:
        for at, links in enumerate(written):
            clutch = pedigree.clutch_of(at)
            parent = None if clutch is None else nodes.get((clutch, side))
            yield _moved(links, pedigree.first_bird, len(made), parent)

    names = {f"{side} of {chick}": (chick, side) for (_, side), (chick, _) in made.items()}
    return ClutchParents(
        pedigree=replace(
            pedigree,
            birds=(*names, *pedigree.birds),
            sexes=(*nobody, *pedigree.sexes),
            sires=(*pools, *turned("sire", pedigree.sires)),
            dams=(*pools, *turned("dam", pedigree.dams)),
            clutches=(*nobody, *pedigree.clutches),
        ),
        chicks=names,
    )


def _unwritten(pedigree: Pedigree) -> Iterator[tuple[tuple[int, Side], tuple[str, Links]]]:
    """The clutches' sides that may come from a pool, with their first chick and its links."""
    mates = Counter(clutch for clutch in pedigree.clutches if clutch is not None)
    seen = set()
    for at, bird in enumerate(pedigree.birds):
        clutch = pedigree.clutch_of(at)
        if clutch is None or mates[clutch] < 2 or clutch in seen:
            continue
        seen.add(clutch)
        sides: tuple[tuple[Side, Links], ...] = (
            ("sire", pedigree.sires[at]),
            ("dam", pedigree.dams[at]),
        )
        for side, links in sides:
            if any(node < pedigree.first_bird for node, _ in links):
                yield (clutch, side), (bird, links)


def _from_pools(pedigree: Pedigree, links: Links) -> Links:
    """What is known of the unwritten parent itself: the pools, their chances summing to one."""
    pools = [(node, chance) for node, chance in links if node < pedigree.first_bird]
    total = sum(chance for _, chance in pools)
    return tuple((node, chance / total) for node, chance in pools)


def _moved(links: Links, first: int, made: int, parent: int | None) -> Links:
    """The links of a bird after ``made`` birds were put before the first; pools to ``parent``."""
    birds = tuple((node + made, chance) for node, chance in links if node >= first)
    pools = tuple((node, chance) for node, chance in links if node < first)
    if parent is None or not pools:
        return (*pools, *birds)
    return ((parent, sum(chance for _, chance in pools)), *birds)
