"""Equations of a large flock, brought down to the birds that have chicks.

A bird without chicks is tied to its parents alone: given these, its breeding value is theirs and
its own part, and its scores tell of both. So it can be left out of the equations at once, its
scores counted to its parents (Gaussian elimination; Quaas & Pollak 1980, J Anim Sci 51:1277, from
memory, do it with the equations written for parents only).

With d a bird's own part in units of the genetic variance, h² that variance and z the information
of its scores, all in units of the variance of single scores, 1 / (1 + h² d z) is how much of what
its parents tell holds after its scores, and h² d / (1 + h² d z) the variance it keeps if they are
known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from matchmaker.genetics.traits.kindred import outer_entries

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.kindred import Entries, Kindred
    from matchmaker.genetics.traits.records import Heredity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sums:
    """Scores summed up by unknown; R is their covariance given the genes.

    ``pull`` (shape (unknowns,)) is what a unit in one score weighs in the sum for its bird, 0 of
    birds without scores, and ``information`` their number times that, the diagonal of ZᵀR⁻¹Z.
    ``scores`` (shape (unknowns,)) is ZᵀR⁻¹y, ``effects`` (shape (unknowns, fixed)) ZᵀR⁻¹X,
    ``fixed`` XᵀR⁻¹X, ``fixed_scores`` XᵀR⁻¹y and ``square`` yᵀR⁻¹y.
    """

    pull: Matrix
    information: Matrix
    scores: Matrix
    effects: sparse.csr_array
    fixed: Matrix
    fixed_scores: Matrix
    square: float


def sums_of(
    owners: Nodes, values: Matrix, columns: sparse.csr_array, heredity: Heredity, unknowns: int
) -> Sums:
    """Sum up the scores ``values`` of the unknowns ``owners``; ``columns`` is X.

    Examples
    --------
    A hen scored twice beside one scored once, chance 0.5 and lasting surroundings 0.25 of the
    variance: a unit in one of two scores weighs 1 / (0.5 + 2 × 0.25).

    >>> from matchmaker.genetics.traits.records import Heredity
    >>> level = sparse.csr_array(np.ones((3, 1)))
    >>> eggs = np.array([1.0, 2.0, 3.0])
    >>> found = sums_of(np.array([0, 0, 1]), eggs, level, Heredity(h2=0.25, repeatability=0.5), 2)
    >>> found.information.round(3).tolist(), found.scores.tolist(), found.fixed_scores.tolist()
    ([2.0, 1.333], [3.0, 4.0], [7.0])
    """
    lasting, passing = heredity.repeatability - heredity.h2, 1 - heredity.repeatability
    counts = np.bincount(owners, minlength=unknowns)
    pull = np.where(counts > 0, 1 / (passing + counts * lasting), 0.0)
    entries = np.ones(len(values)), (owners, np.arange(len(values)))
    of_unknown = sparse.csr_array(entries, shape=(unknowns, len(values)))
    by_unknown, scores = sparse.csr_array(of_unknown @ columns), of_unknown @ values
    effects = sparse.csr_array(sparse.diags_array(pull) @ by_unknown)
    return Sums(
        pull=pull,
        information=np.asarray(pull * counts),
        scores=pull * scores,
        effects=effects,
        fixed=(columns.T @ columns - lasting * (by_unknown.T @ effects)).toarray() / passing,
        fixed_scores=(columns.T @ values - lasting * (effects.T @ scores)) / passing,
        square=float(values @ values - lasting * (pull * scores) @ scores) / passing,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Absorbed:
    """What the equations of parents are, and how the other birds hang on them.

    ``matrix`` (shape (parents, parents)) are the equations of the unknowns that have chicks; it has
    an entry, if only a zero, for every two parents of one chick. ``follow`` (shape (unknowns,
    parents)) is how each unknown's solution follows the parents': a parent its own, another its
    parents' as far as its scores let it. ``alone`` (shape (unknowns,)) is the variance that is left
    to each once all parents are known.
    """

    matrix: sparse.csc_array
    follow: sparse.csr_array
    alone: Matrix

    def gathered(self, values: Matrix) -> Matrix:
        """Right-hand sides of all unknowns, shape (unknowns,), brought down to the parents."""
        return np.asarray(self.follow.T @ values)

    def spread(self, solved: Matrix, values: Matrix) -> Matrix:
        """Solutions of all unknowns from those of the parents and from the right-hand sides."""
        return np.asarray(self.follow @ solved + self.alone * values)


def absorb(kindred: Kindred, h2: float, information: Matrix) -> Absorbed:
    """Bring the equations ZᵀR⁻¹Z + A⁻¹ / h² down to the parents.

    ``information`` (shape (unknowns,)) is the diagonal of ZᵀR⁻¹Z.

    Examples
    --------
    Two parents and their daughter, who alone has a score; h² = 0.5:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> trio = kindred_of(ancestry_of_parents([-1, -1, 0], [-1, -1, 1]))
    >>> system = absorb(trio, 0.5, np.array([0.0, 0.0, 2.0]))
    >>> system.matrix.toarray().round(3).tolist()
    [[2.333, 0.333], [0.333, 2.333]]
    >>> system.follow.toarray()[2].round(3).tolist(), system.alone.round(3).tolist()
    ([0.333, 0.333], [0.0, 0.0, 0.167])
    """
    has_chicks = np.zeros(kindred.unknowns, dtype=np.bool_)
    has_chicks[kindred.parents] = True
    spared = h2 * kindred.within
    passed = 1 / (1 + spared * information)
    scales = np.where(has_chicks, 1 / spared, passed * information)
    parents = np.flatnonzero(has_chicks)
    own = np.arange(len(parents))
    rows, columns, values = outer_entries(*_among_parents(kindred, has_chicks), scales)
    entries = (
        np.concatenate((values, information[parents])),
        (np.concatenate((rows, own)), np.concatenate((columns, own))),
    )
    shape = len(parents), len(parents)
    return Absorbed(
        matrix=sparse.csc_array(sparse.coo_array(entries, shape=shape)),
        follow=_followed(kindred, has_chicks, passed),
        alone=np.where(has_chicks, 0.0, spared * passed),
    )


def _among_parents(kindred: Kindred, has_chicks: NDArray[np.bool_]) -> Entries:
    """Rows of I − W without the columns of those who have no chicks: starts, columns, values."""
    starts, terms, values = kindred.differences()
    kept = has_chicks[terms]
    place = np.cumsum(has_chicks) - 1
    return np.concatenate(([0], np.cumsum(kept)))[starts], place[terms[kept]], values[kept]


def _followed(kindred: Kindred, has_chicks: NDArray[np.bool_], passed: Matrix) -> sparse.csr_array:
    place = np.cumsum(has_chicks) - 1
    owners = np.repeat(np.arange(kindred.unknowns), np.diff(kindred.starts))
    parents, told = np.flatnonzero(has_chicks), ~has_chicks[owners]
    rows = np.concatenate((parents, owners[told]))
    columns = np.concatenate((place[parents], place[kindred.parents[told]]))
    weights = np.concatenate((np.ones(len(parents)), (kindred.weights * passed[owners])[told]))
    shape = kindred.unknowns, len(parents)
    return sparse.csr_array(sparse.coo_array((weights, (rows, columns)), shape=shape))
