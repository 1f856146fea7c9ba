"""The pedigree as indices: pools first, then birds, parents before their chicks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Side: TypeAlias = Literal["sire", "dam"]

LIKELY: Final = 0.2
"""A possible parent less probable than this is one of many that might be: its chicks are not drawn
below it, named as its kin or followed further."""

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

    def birds_among(self, links: Links, least: float = 0.0) -> tuple[tuple[str, float], ...]:
        """Possible parents that are birds, with their probabilities, from ``least`` on."""
        first = self.first_bird
        return tuple(
            (self.birds[node - first], chance)
            for node, chance in links
            if node >= first and chance >= least
        )

    def ancestors(self, nodes: set[int]) -> list[int]:
        """Return ``nodes`` and all their possible ancestors, with all pools, in order."""
        wanted = set(nodes)
        for at in range(len(self.birds) - 1, -1, -1):
            if self.first_bird + at in wanted:
                wanted.update(node for node, _ in self.sires[at])
                wanted.update(node for node, _ in self.dams[at])
        return sorted(wanted | set(range(self.first_bird)))


_SEXES = {"cock": Sex.COCK, "hen": Sex.HEN, "?": None}


def pedigree_of(*lines: str, breeds: Sequence[str] = (), base: float = 0.0) -> Pedigree:
    """Return a small pedigree from a line for each bird: its band, sex, sire and dam.

    The sex is ``cock``, ``hen`` or ``?``. A parent is a bird of a line above or else a breed, out
    of which a gamete comes; several are written as ``A|B`` (equally likely) or ``A:0.7|B:0.3``.
    A fifth word is the number of a clutch. ``base`` is the base kinship within each breed;
    ``breeds`` have a pool though no bird comes out of it.

    Raises
    ------
    ValueError
        If a line does not have four words or five, a sex is none of the three, or a parent stands
        below its chick.

    Examples
    --------
    A donor, a bird of the recurrent breed, their first cross and its backcross:

    >>> cross = pedigree_of(
    ...     "D cock araucana araucana",
    ...     "R hen sussex sussex",
    ...     "F1 cock D R",
    ...     "BC1 hen F1 R",
    ... )
    >>> [pool.breed for pool in cross.pools], cross.sires
    (['araucana', 'sussex'], (((0, 1.0),), ((1, 1.0),), ((2, 1.0),), ((4, 1.0),)))
    """
    rows = [line.split() for line in lines]
    if any(len(row) not in {4, 5} or row[1] not in _SEXES for row in rows):
        raise ValueError("each line is a band, cock, hen or ?, sire and dam, perhaps a clutch")
    birds = tuple(row[0] for row in rows)
    named = {name for row in rows for cell in row[2:4] for name, _ in _parted(cell)}
    pools = tuple(Pool(breed) for breed in sorted({*breeds, *named} - {*birds}))
    node = {name: at for at, name in enumerate([*(pool.breed for pool in pools), *birds])}
    clutches = tuple(int(row[4]) if len(row) > 4 else None for row in rows)
    for row in rows:
        if any(node[name] >= node[row[0]] for cell in row[2:4] for name, _ in _parted(cell)):
            raise ValueError(f"a parent of {row[0]} stands below it")
    return Pedigree(
        pools=pools,
        bases=tuple(tuple(base * (one == two) for two in pools) for one in pools),
        birds=birds,
        sexes=tuple(_SEXES[row[1]] for row in rows),
        sires=tuple(_links(row[2], node) for row in rows),
        dams=tuple(_links(row[3], node) for row in rows),
        clutches=clutches if any(one is not None for one in clutches) else (),
    )


def _parted(cell: str) -> list[tuple[str, float]]:
    parts = [part.partition(":") for part in cell.split("|")]
    return [(name, float(chance) if chance else 1 / len(parts)) for name, _, chance in parts]


def _links(cell: str, node: Mapping[str, int]) -> Links:
    return tuple(sorted((node[name], chance) for name, chance in _parted(cell)))
