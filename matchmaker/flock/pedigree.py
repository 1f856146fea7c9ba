"""The pedigree as indices: pools first, then birds, parents before their chicks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from matchmaker.tables.records import Sex

Links: TypeAlias = tuple[tuple[int, float], ...]
"""The possible parents of one side: (node, probability), probabilities summing to one."""


@dataclass(frozen=True, slots=True, order=True)
class Pool:
    """Where a founder's gamete comes from: a breed, and the source that bred it ("" if none)."""

    breed: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pedigree:
    """Who may descend from whom, with probabilities.

    Nodes 0 … P−1 are pools, nodes P … P+n−1 the birds, each after all its possible parents. A
    founder is a bird whose two sides lead to pools only (several for a crossbred founder).
    ``bases[g][h]`` is the probability that one gamete of pool g and one of pool h are identical by
    descent. Bird k (0 … n−1) is node P+k; ``sires[k]`` and ``dams[k]`` are its parental links.

    Where several parents are possible each bird's is drawn on its own, unless ``clutches`` says
    otherwise: birds with the same number there (``None``: none) are chicks of one clutch, which
    have the same links and, whoever they are, one sire and one dam between them.
    """

    pools: tuple[Pool, ...]
    bases: tuple[tuple[float, ...], ...]
    birds: tuple[str, ...]
    sexes: tuple[Sex | None, ...]
    sires: tuple[Links, ...]
    dams: tuple[Links, ...]
    clutches: tuple[int | None, ...] = ()
    _nodes: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        nodes = {bird: self.first_bird + at for at, bird in enumerate(self.birds)}
        object.__setattr__(self, "_nodes", nodes)

    def clutch_of(self, at: int) -> int | None:
        """Clutch of bird number ``at``, ``None`` if its parents are drawn for it alone."""
        return self.clutches[at] if self.clutches else None

    @property
    def first_bird(self) -> int:
        """Node of the first bird (= number of pools)."""
        return len(self.pools)

    def node_of(self) -> dict[str, int]:
        """Map each band to its node."""
        return self._nodes

    def ancestors(self, nodes: set[int]) -> list[int]:
        """Return ``nodes`` and all their possible ancestors, with all pools, in order."""
        wanted = set(nodes)
        for at in range(len(self.birds) - 1, -1, -1):
            if self.first_bird + at in wanted:
                wanted.update(node for node, _ in self.sires[at])
                wanted.update(node for node, _ in self.dams[at])
        return sorted(wanted | set(range(self.first_bird)))
