"""How many possible parents a network can hold, counted before it is built."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.builder import shared_clutch
from matchmaker.genetics.genotypes.descent import SELECTION_TABLES
from matchmaker.genetics.inference.elimination import CELLS_MAX, TooTangledError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.flock.pedigree import Links, Pedigree

SELECTIONS_MAX: Final = 400_000
"""Most possible parents of all birds together: each is a factor, which takes a kilobyte or so."""

SELECTED_MAX: Final = 15_000_000
"""Most table cells of those factors: with their logarithms and trimmed copies, half a gigabyte."""


def refuse_too_many(
    pedigree: Pedigree, included: Iterable[int], clutches: frozenset[int], states: int
) -> None:
    """Refuse a network whose choices of parents would fill the memory before anything is summed.

    A bird of n possible parents on one side has n factors of n times as many cells as two birds
    have joint states. Birds of as many possible parents share them while there are few sorts.

    Raises
    ------
    TooTangledError
        If there are too many possible parents.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pure = pedigree_of("A ? sussex sussex")
    >>> refuse_too_many(pure, [0], frozenset(), 3)
    """
    counts = _counts(pedigree, included, clutches)
    kinds = set(counts)
    shared = sum(kinds) <= SELECTION_TABLES
    cells = states**2 * sum(count * count for count in (kinds if shared else counts))
    if sum(counts) > SELECTIONS_MAX or cells > SELECTED_MAX:
        problem = (
            f"{len(counts):,} parents are unknown, with {sum(counts) // len(counts):,} birds to "
            "choose from on average: too many even to draw them by lot; "
        )
        raise TooTangledError(CELLS_MAX, problem, left=sum(counts))


def _counts(pedigree: Pedigree, included: Iterable[int], clutches: frozenset[int]) -> list[int]:
    """How many birds each unknown parent may be; chicks of a clutch have theirs in common."""
    found: list[int] = []
    done: set[tuple[int, Links]] = set()
    for at in included:
        for links in (pedigree.sires[at], pedigree.dams[at]):
            birds = sum(node >= pedigree.first_bird for node, _ in links)
            if not birds or len(links) == 1:
                continue
            clutch = shared_clutch(pedigree, at, links, clutches)
            if clutch is None or (clutch, links) not in done:
                found.append(birds + (birds < len(links)))
            if clutch is not None:
                done.add((clutch, links))
    return found
