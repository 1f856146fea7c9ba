"""Through whom a bird is inbred: the forebears that its sire and its dam have in common."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import LIKELY
from matchmaker.genetics.kin.forebears import roles
from matchmaker.genetics.kin.paths import Shared, common_ancestors

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.pedigree import Pedigree, Pool
    from matchmaker.genetics.kin.forebears import Role
    from matchmaker.genetics.kin.paths import Contribution


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedForebear:
    """One forebear on both sides of a bird, and its part of the bird's inbreeding.

    ``band`` is set for a bird on record; ``pools`` are where all others came from. ``ways`` are
    the shortest to it over the sire and over the dam, as far as they are followed.
    """

    shared: Shared
    inbreeding: float
    band: str
    pools: tuple[Pool, ...]
    ways: tuple[Role, ...]


def shared_forebears(pedigree: Pedigree, bird: str) -> tuple[SharedForebear, ...]:
    """Return what makes a bird inbred, the greatest part first.

    The parts sum to its inbreeding where both parents are birds on record and likely (see
    ``pedigree.LIKELY``); what other parents might add is left out.

    Raises
    ------
    KeyError
        If the bird is not in the pedigree.

    Examples
    --------
    The chick of half sibs:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? sussex sussex",
    ...     "D ? A B",
    ...     "E ? A C",
    ...     "F ? D E",
    ... )
    >>> [(one.band, one.inbreeding, one.ways) for one in shared_forebears(family, "F")]
    [('A', 0.125, (('sire', 'sire'), ('dam', 'sire')))]
    """
    total: defaultdict[tuple[Shared, str, tuple[Pool, ...]], float] = defaultdict(float)
    for chance, part in _parts(pedigree, bird):
        total[part.shared, part.band, part.pools] += chance * part.kinship
    ways = roles(pedigree, bird)
    found = [
        SharedForebear(
            shared=shared,
            inbreeding=inbreeding,
            band=band,
            pools=pools,
            ways=_shortest(ways.get(band, ())),
        )
        for (shared, band, pools), inbreeding in total.items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.inbreeding, one.band, one.pools)))


def _parts(pedigree: Pedigree, bird: str) -> Iterator[tuple[float, Contribution]]:
    """What each likely sire has in common with each likely dam, with the chance of the two."""
    at = pedigree.node_of()[bird] - pedigree.first_bird
    sires, dams = (
        pedigree.birds_among(side[at], LIKELY) for side in (pedigree.sires, pedigree.dams)
    )
    for (sire, of_sire), (dam, of_dam) in product(sires, dams):
        for part in common_ancestors(pedigree, sire, dam):
            yield of_sire * of_dam, part


def _shortest(ways: tuple[Role, ...]) -> tuple[Role, ...]:
    """The shortest way over each side."""
    by_side = (next((way for way in ways if way[0] == side), None) for side in ("sire", "dam"))
    return tuple(way for way in by_side if way is not None)
