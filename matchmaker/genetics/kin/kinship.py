"""Kinship: the probability that two alleles, one drawn from each bird, are identical by descent."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import (
    Ancestry,
    Matrix,
    Nodes,
    ancestry_of,
    on_the_z,
    parents_of,
    with_ancestors,
)
from matchmaker.genetics.kin.layers import layers_of
from matchmaker.genetics.kin.moving_table import Answer, Question, answer_by_table, stays

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.layers import Layers

TABLE_ROWS_MAX = 6000
"""Above so many rows a table takes more memory (over 400 MB) than it is worth."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KinshipMatrix:
    """Kinship of every bird listed with every other; the diagonal is self-kinship, (1 + F) / 2.

    ``values`` is read-only, shape (birds, birds), in the order of ``birds``.
    """

    birds: tuple[str, ...]
    values: Matrix
    _positions: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        positions = {bird: at for at, bird in enumerate(self.birds)}
        object.__setattr__(self, "_positions", positions)

    def position(self, bird: str) -> int:
        """Row (= column) of a bird.

        Raises
        ------
        ValueError
            If the bird is not in the matrix.
        """
        at = self._positions.get(bird)
        if at is None:
            raise ValueError(f"{bird} is not in the kinship matrix")
        return at

    def between(self, first: str, second: str) -> float:
        """Kinship of two birds (self-kinship if they are the same)."""
        return float(self.values[self.position(first), self.position(second)])

    def inbreeding(self) -> dict[str, float]:
        """Inbreeding of each bird: the kinship of its parents."""
        return {
            bird: float(2 * own - 1)
            for bird, own in zip(self.birds, self.values.diagonal(), strict=True)
        }

    def mean_with(self, group: Sequence[str]) -> dict[str, float]:
        """Mean kinship of each bird with the birds of ``group`` (with itself if it is one)."""
        if not group:
            return dict.fromkeys(self.birds, 0.0)
        columns = [self.position(bird) for bird in group]
        means = self.values[:, columns].mean(axis=1)
        return {bird: float(mean) for bird, mean in zip(self.birds, means, strict=True)}


def kinship_matrix(
    pedigree: Pedigree, birds: Sequence[str] | None = None, *, z_linked: bool = False
) -> KinshipMatrix:
    """Kinship of the chosen birds (all if none are named), from their ancestors alone.

    With ``z_linked`` of alleles on the Z instead of the autosomes; what ``inbreeding`` then says
    of a hen is 1, as she has one Z.

    Notes
    -----
    Parents first, φ(k, j) = ½ Σ pₛ φ(s, j) + ½ Σ p_d φ(d, j) and
    φ(k, k) = ½ (1 + Σₛ Σ_d pₛ p_d φ(s, d)), the tabular method (Emik & Terrill 1949; Henderson
    1976, Biometrics 32:69) with the average over possible parents (Henderson 1988, J Anim Sci
    66:551). Each bird's sire is drawn independently of its sibs', but for chicks of one clutch,
    which share one. Pools of founders carry the base kinship of their breed or source. On the Z a
    hen has φ(k, j) = φ(s, j) and φ(k, k) = 1.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    Two full sibs of unrelated parents, and their chick:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ...     "D ? A B",
    ...     "E ? C D",
    ... )
    >>> kinship_matrix(family, ["C", "D", "E"]).values
    array([[0.5  , 0.25 , 0.375],
           [0.25 , 0.5  , 0.375],
           [0.375, 0.375, 0.625]])
    """
    chosen = tuple(pedigree.birds if birds is None else birds)
    node_of = pedigree.node_of()
    nodes = [node_of[bird] for bird in chosen]
    values = kinship_of(ancestry_of(pedigree), nodes, z_linked=z_linked)
    values.flags.writeable = False
    return KinshipMatrix(birds=chosen, values=values)


def kinship_of(ancestry: Ancestry, nodes: ArrayLike, *, z_linked: bool = False) -> Matrix:
    """Kinship of ``nodes`` (birds or pools) with each other, shape (nodes, nodes).

    Raises
    ------
    IndexError
        If a node is neither a pool nor a bird.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> sibs = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1], sexes=[1, 2, 1, 2])
    >>> kinship_of(sibs, [3, 4])
    array([[0.5 , 0.25],
           [0.25, 0.5 ]])
    >>> kinship_of(sibs, [2, 3, 4], z_linked=True).tolist()
    [[1.0, 0.5, 0.0], [0.5, 0.5, 0.25], [0.0, 0.25, 1.0]]
    """
    asked, inverse = np.unique(np.asarray(nodes, dtype=np.int64), return_inverse=True)
    if asked.size and not 0 <= asked[0] <= asked[-1] < ancestry.first_mixture:
        raise IndexError(f"nodes go from 0 to {ancestry.first_mixture - 1}")
    source = on_the_z(ancestry) if z_linked else ancestry
    found = _kinship_of_distinct(source, asked)
    return (
        found if np.array_equal(inverse, np.arange(len(asked))) else found[np.ix_(inverse, inverse)]
    )


def inbreeding_of(
    ancestry: Ancestry, nodes: ArrayLike | None = None, *, z_linked: bool = False
) -> Matrix:
    """Inbreeding of birds (of all if none are named), shape (birds,).

    With ``z_linked`` that of the Z: of a cock the Z-kinship of his parents; of a hen 1, since
    a single Z has nothing to differ from (as McPeek does with the X of males, KinInbcoefX); of a
    bird of unknown sex the mean.

    Raises
    ------
    IndexError
        If a node is no bird.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> line = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 2])
    >>> inbreeding_of(line)
    array([0.  , 0.  , 0.  , 0.25])
    """
    source = on_the_z(ancestry) if z_linked else ancestry
    rows = slice(None) if nodes is None else _rows_of(ancestry, nodes)
    kinship = kinship_of_pairs(source, source.sires[rows], source.dams[rows])
    if source.dam_shares is None:
        return kinship
    dam = source.dam_shares[rows]
    return 1 - 2 * dam + 2 * dam * kinship


def kinship_of_pairs(ancestry: Ancestry, firsts: Nodes, seconds: Nodes) -> Matrix:
    """Kinship of each of ``firsts`` with the node at its place in ``seconds``, shape (pairs,).

    Mixtures are nodes too. One with itself is two parents drawn from it anew, or, where it is the
    unknown parent of a clutch, that one bird.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> sibs = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> kinship_of_pairs(sibs, np.array([3, 3, 1]), np.array([4, 3, 2]))
    array([0.25, 0.5 , 0.  ])
    """
    layers = layers_of(ancestry, with_ancestors(ancestry, np.concatenate((firsts, seconds))))
    question = Question(
        kept=np.empty(0, dtype=np.int64),
        firsts=layers.place_of[firsts],
        seconds=layers.place_of[seconds],
    )
    return _answer(layers, question).pairs


def _kinship_of_distinct(ancestry: Ancestry, asked: Nodes) -> Matrix:
    needed = with_ancestors(ancestry, asked)
    stand_ins = _stand_ins(ancestry, asked, needed)
    needed[asked] = False
    needed[stand_ins] = True
    kept, family = np.unique(stand_ins, return_inverse=True)
    layers = layers_of(ancestry, needed)
    none = np.empty(0, dtype=np.int64)
    answer = _answer(layers, Question(kept=layers.place_of[kept], firsts=none, seconds=none))
    own = answer.kinship.diagonal()[family]
    np.fill_diagonal(answer.kinship, answer.sibs)
    values = answer.kinship.take(family, axis=0).take(family, axis=1)
    np.fill_diagonal(values, own)
    return values


def _stand_ins(ancestry: Ancestry, asked: Nodes, needed: NDArray[np.bool_]) -> Nodes:
    """Stand-in of each asked node: of full sibs without chicks that matter, one does for all.

    Kinship with anyone else is the same for all of them, being the mean of their parents'.
    """
    has_chicks = np.zeros(ancestry.size, dtype=np.bool_)
    has_chicks[parents_of(ancestry, np.flatnonzero(needed))] = True
    single = has_chicks[asked] | (asked < ancestry.first_bird)
    birds = asked[~single]
    rows = birds - ancestry.first_bird
    family = ancestry.sires[rows] * ancestry.size + ancestry.dams[rows]
    if ancestry.dam_shares is not None:
        quarters = (4 * ancestry.dam_shares[rows]).astype(np.int64)
        family += quarters * ancestry.size**2
    _, first, member = np.unique(family, return_index=True, return_inverse=True)
    stand_ins = asked.copy()
    stand_ins[~single] = birds[first][member]
    return stand_ins


def _rows_of(ancestry: Ancestry, nodes: ArrayLike) -> Nodes:
    rows = np.asarray(nodes, dtype=np.int64) - ancestry.first_bird
    if rows.size and not 0 <= rows.min() <= rows.max() < len(ancestry.sires):
        raise IndexError(f"birds are nodes {ancestry.first_bird} to {ancestry.first_mixture - 1}")
    return rows


def _answer(layers: Layers, question: Question) -> Answer:
    needed = stays(layers, question)
    if needed.rows > TABLE_ROWS_MAX:
        # here, because few flocks need sweeps and sparse matrices take long to import
        from matchmaker.genetics.kin.sweeps import answer_by_sweeps

        return answer_by_sweeps(layers, question)
    return answer_by_table(layers, question, needed)
