"""Kinship: the probability that two alleles, one drawn from each bird, are identical by descent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

Matrix = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KinshipMatrix:
    """Kinship of every bird listed with every other; the diagonal is self-kinship, (1 + F) / 2.

    ``values`` is read-only, shape (birds, birds), in the order of ``birds``.
    """

    birds: tuple[str, ...]
    values: Matrix

    def position(self, bird: str) -> int:
        """Row (= column) of a bird.

        Raises
        ------
        ValueError
            If the bird is not in the matrix.
        """
        return self.birds.index(bird)

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


def kinship_matrix(pedigree: Pedigree, birds: Sequence[str] | None = None) -> KinshipMatrix:
    """Kinship of the chosen birds (all if none are named), from their ancestors alone.

    Notes
    -----
    Parents first, φ(k, j) = ½ Σ pₛ φ(s, j) + ½ Σ p_d φ(d, j) and
    φ(k, k) = ½ (1 + Σₛ Σ_d pₛ p_d φ(s, d)), the tabular method (Emik & Terrill 1949; Henderson
    1976, Biometrics 32:69) with the average over possible parents (Henderson 1988, J Anim Sci
    66:551). Each bird's sire is drawn independently of its sibs'. Pools of founders carry the
    base kinship of their breed or source.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    Two full sibs of unrelated parents, and their chick:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B", "C", "D", "E"),
    ...     sexes=(None,) * 5,
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((1, 1.0),), ((1, 1.0),), ((3, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),), ((2, 1.0),), ((4, 1.0),)),
    ... )
    >>> kinship_matrix(family, ["C", "D", "E"]).values
    array([[0.5  , 0.25 , 0.375],
           [0.25 , 0.5  , 0.375],
           [0.375, 0.375, 0.625]])
    """
    chosen = tuple(pedigree.birds if birds is None else birds)
    node_of = pedigree.node_of()
    nodes = pedigree.ancestors({node_of[bird] for bird in chosen})
    table = _tabular(pedigree, nodes)
    place = {node: at for at, node in enumerate(nodes)}
    at = [place[node_of[bird]] for bird in chosen]
    values = table[np.ix_(at, at)]
    values.flags.writeable = False
    return KinshipMatrix(birds=chosen, values=values)


def _tabular(pedigree: Pedigree, nodes: list[int]) -> Matrix:
    """Fill the table of ``nodes`` (pools first, then parents before chicks), one bird at a time."""
    pools = pedigree.first_bird
    place = {node: at for at, node in enumerate(nodes)}
    table = np.zeros((len(nodes), len(nodes)))
    table[:pools, :pools] = pedigree.bases
    for at, node in enumerate(nodes[pools:], start=pools):
        sires, sire_chances = _weights(pedigree.sires[node - pools], place)
        dams, dam_chances = _weights(pedigree.dams[node - pools], place)
        row = (sire_chances @ table[sires, :at] + dam_chances @ table[dams, :at]) / 2
        table[at, :at] = table[:at, at] = row
        table[at, at] = (1 + sire_chances @ table[np.ix_(sires, dams)] @ dam_chances) / 2
    return table


def _weights(links: Links, place: dict[int, int]) -> tuple[list[int], Matrix]:
    return [place[node] for node, _ in links], np.array([chance for _, chance in links])
