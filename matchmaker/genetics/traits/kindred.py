"""Relationship turned inside out: what each breeding value owes to others, and what it has alone.

A breeding value is half that of the sire, half that of the dam and what Mendelian sampling adds,
whose variance depends on how inbred the parents are (Henderson 1976, Biometrics 32:69; Quaas 1976,
Biometrics 32:949). So A⁻¹ = (I − W)ᵀ D⁻¹ (I − W), with a few entries for each bird.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker.genetics.kin.ancestry import Drawn
from matchmaker.genetics.kin.kinship import kinship_of_pairs

if TYPE_CHECKING:
    from scipy import sparse

    from matchmaker.genetics.kin.ancestry import Ancestry, Matrix, Nodes

WITHIN_MIN: Final = 1e-6
"""Least Mendelian variance, in units of the genetic variance.

Chicks of fully inbred parents have none, and A no inverse. So little more than nothing moves
predictions by about a millionth.
"""

NOTHING: Final = 1e-12
"""A variance below this is rounding of zero."""

Entries: TypeAlias = "tuple[Nodes, Nodes, Matrix]"
"""Rows (or where each row starts), columns and values of a sparse matrix."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Kindred:
    """Birds and what stands behind them as unknowns 0 … ``unknowns`` − 1, parents first.

    First come the roots: independent, of variance 1, and their sums are what birds of a pool (or of
    pools of one breed) have in common. Then birds, each preceded by the unknown parent of its
    clutch. Bird number k is unknown ``birds[k]``. Unknown i is the sum of ``weights`` times
    ``parents`` from ``starts[i]`` to ``starts[i + 1]``, and of a part of its own with variance
    ``within[i]`` > 0, in units of the genetic variance. ``own`` (shape (birds,)) is the variance of
    each bird's breeding value in the same unit, 1 plus its inbreeding.
    """

    birds: Nodes
    starts: Nodes
    parents: Nodes
    weights: Matrix
    within: Matrix
    own: Matrix

    @property
    def unknowns(self) -> int:
        """Number of unknowns."""
        return len(self.within)

    def inverse(self) -> sparse.csc_array:
        """Inverse of the relationship matrix of all unknowns, shape (unknowns, unknowns)."""
        from scipy import sparse

        rows, columns, values = self.inverse_entries()
        shape = (self.unknowns, self.unknowns)
        return sparse.csc_array(sparse.coo_array((values, (rows, columns)), shape=shape))

    def dense_inverse(self) -> Matrix:
        """Return ``inverse`` written out, for flocks where that is quicker than loading scipy.

        Every trait needs it; it is worked out once, and what is returned is the caller's own.
        """
        return self._written_out.copy()

    @cached_property
    def _written_out(self) -> Matrix:
        rows, columns, values = self.inverse_entries()
        size = self.unknowns
        cells = added_up(rows * size + columns, values, size**2)
        return cells.reshape(size, size)

    def inverse_entries(self) -> Entries:
        """Entries of the inverse, to be added up where rows and columns repeat."""
        return outer_entries(*self.differences(), 1 / self.within)

    def differences(self) -> Entries:
        """Matrix I − W, which leads from unknowns to their own parts: starts, columns, values."""
        own = np.arange(self.unknowns)
        places = self.starts[:-1]
        return (
            self.starts + np.arange(self.unknowns + 1),
            np.insert(self.parents, places, own),
            np.insert(-self.weights, places, 1.0),
        )


def kindred_of(ancestry: Ancestry) -> Kindred:
    """Unknowns of a pedigree and how each comes from the ones before it.

    Notes
    -----
    A parent that is drawn anew for each chick is no unknown: its chicks have the mean of the
    possible parents, and the spread between these goes to the chick's own part (average
    relationship, Henderson 1988, J Anim Sci 66:551). The one unknown parent of a clutch is an
    unknown V, since its chicks have it in common: Var(V) = Σ p A(c, c), less pᵀAp which it has
    of its candidates; a pool counts there as one bird of it. The relationship of pools, twice
    their base kinship, is factored as L Lᵀ, and the columns of L are the roots.
    Own parts below ``WITHIN_MIN`` are raised to it.

    Raises
    ------
    ValueError
        If the ancestry is that of the Z: scores are taken to depend on the autosomes.

    Examples
    --------
    A chick of full sibs has less of its own than its parents have, 7/16 and not a half:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> line = kindred_of(ancestry_of_parents([-1, -1, 0, 0, 2, 4], [-1, -1, 1, 1, 3, 3]))
    >>> line.within.tolist()
    [1.0, 1.0, 0.5, 0.5, 0.5, 0.4375]
    >>> line.own.tolist()
    [1.0, 1.0, 1.0, 1.0, 1.25, 1.375]
    >>> line.dense_inverse()[5].tolist() == line.inverse().toarray()[5].tolist()
    True
    """
    if ancestry.dam_shares is not None:
        raise ValueError("merit is worked out from autosomal descent, not from that of the Z")
    roots = _factor(2 * ancestry.bases)
    spread = _spread(ancestry)
    numbers = _numbers(ancestry, np.flatnonzero(spread.clutches > NOTHING), roots.shape[1])
    starts, parents, weights = _parental(ancestry, roots, numbers)
    within = np.ones(len(starts) - 1)
    within[numbers.birds] = spread.birds
    within[numbers.clutches] = spread.clutches[numbers.drawn_once]
    return Kindred(
        birds=numbers.birds,
        starts=starts,
        parents=parents,
        weights=weights,
        within=np.maximum(within, WITHIN_MIN),
        own=spread.own,
    )


def outer_entries(starts: Nodes, columns: Nodes, values: Matrix, scales: Matrix) -> Entries:
    """Entries of Mᵀ diag(scales) M, M a sparse matrix given row by row; they may repeat.

    Examples
    --------
    >>> outer_entries(np.array([0, 2]), np.array([0, 3]), np.array([1.0, -0.5]), np.array([2.0]))
    (array([0, 0, 3, 3]), array([0, 3, 0, 3]), array([ 2. , -1. , -1. ,  0.5]))
    """
    counts = np.diff(starts)
    row = np.repeat(np.arange(len(counts)), counts)
    firsts = np.repeat(np.arange(len(row)), counts[row])
    seconds = spans(starts[row], counts[row])
    products = values[firsts] * values[seconds] * scales[row[firsts]]
    return columns[firsts], columns[seconds], products


def added_up(places: Nodes, values: Matrix, size: int) -> Matrix:
    """Sums of the values that go to each place 0 … size − 1.

    Examples
    --------
    >>> added_up(np.array([1, 1, 0]), np.array([0.5, 0.25, 2.0]), 3)
    array([2.  , 0.75, 0.  ])
    """
    # without any value numpy counts in whole numbers
    sums: Matrix = np.bincount(places, values, size).astype(np.float64, copy=False)
    return sums


def spans(starts: Nodes, counts: Nodes) -> Nodes:
    """Numbers from each start on, as many as counted, one span after the other.

    Examples
    --------
    >>> spans(np.array([5, 0, 7]), np.array([2, 3, 1]))
    array([5, 6, 0, 1, 2, 7])
    """
    before: Nodes = np.repeat(starts - (np.cumsum(counts) - counts), counts)
    return before + np.arange(len(before))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spread:
    """Variances in genetic units: what birds and clutches have alone, what birds have in all."""

    birds: Matrix
    clutches: Matrix
    """By mixture, shape (mixtures,); 0 where the parent is drawn for each chick."""
    own: Matrix


def _spread(ancestry: Ancestry) -> _Spread:
    birds, mixtures = len(ancestry.sires), len(ancestry.drawn)
    mixed = ancestry.first_mixture + np.arange(mixtures)
    of = np.repeat(np.arange(mixtures), np.diff(ancestry.starts))
    kinship = kinship_of_pairs(
        ancestry,
        np.concatenate((ancestry.sires, mixed, mixed[of])),
        np.concatenate((ancestry.dams, mixed, ancestry.members)),
    )
    own = 1 + kinship[:birds]
    of_mixtures = 2 * kinship[birds : birds + mixtures]
    told = added_up(of, 2 * ancestry.chances * kinship[birds + mixtures :], mixtures)
    selves = np.concatenate((2 * ancestry.bases.diagonal(), own, of_mixtures))
    return _Spread(
        birds=1 - (selves[ancestry.sires] + selves[ancestry.dams]) / 4,
        clutches=np.where(ancestry.drawn == Drawn.FOR_EACH, 0.0, of_mixtures - told),
        own=own,
    )


def _factor(values: Matrix) -> Matrix:
    """L with L Lᵀ = values, a column for each dimension, largest pivot first (Cholesky).

    Pools that have nothing in common share no column.
    """
    left = values.copy()
    columns: list[Matrix] = []
    while left.diagonal().max(initial=0.0) > NOTHING:
        at = int(left.diagonal().argmax())
        columns.append(left[:, at] / left[at, at] ** 0.5)
        left -= np.outer(columns[-1], columns[-1])
    return np.array(columns).reshape(-1, len(values)).T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Numbers:
    """Which unknowns birds and unknown parents of clutches are: a clutch before its first chick.

    ``drawn_once`` are the mixtures that are such parents.
    """

    birds: Nodes
    clutches: Nodes
    drawn_once: Nodes


def _numbers(ancestry: Ancestry, drawn_once: Nodes, roots: int) -> _Numbers:
    count = len(ancestry.sires)
    first_chick = np.full(ancestry.size, count)
    for side in (ancestry.sires, ancestry.dams):
        np.minimum.at(first_chick, side, np.arange(count))
    keys = np.concatenate(
        (2 * np.arange(count) + 1, 2 * first_chick[ancestry.first_mixture + drawn_once])
    )
    ranks = np.empty(len(keys), dtype=np.int64)
    ranks[np.argsort(keys, kind="stable")] = roots + np.arange(len(keys))
    return _Numbers(birds=ranks[:count], clutches=ranks[count:], drawn_once=drawn_once)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sums:
    """A weighted sum of unknowns for each node, one after the other."""

    starts: Nodes
    terms: Nodes
    weights: Matrix

    def of(self, nodes: Nodes, factors: Matrix) -> Entries:
        """Terms of some nodes' sums times factors: which of ``nodes``, unknowns and weights."""
        counts = self.starts[nodes + 1] - self.starts[nodes]
        at = spans(self.starts[nodes], counts)
        which = np.repeat(np.arange(len(nodes)), counts)
        return which, self.terms[at], self.weights[at] * factors[which]


def _sums(rows: Nodes, terms: Nodes, weights: Matrix, size: int) -> _Sums:
    """Sums out of entries in any order; what repeats is added up."""
    width = int(terms.max(initial=0)) + 1
    cells, where = np.unique(rows * width + terms, return_inverse=True)
    starts = np.searchsorted(cells // width, np.arange(size + 1))
    return _Sums(starts=starts, terms=cells % width, weights=added_up(where, weights, len(cells)))


def _parental(ancestry: Ancestry, roots: Matrix, numbers: _Numbers) -> Entries:
    """Weights of parents, unknown by unknown: starts, parents, weights."""
    nodes = _sums_of_nodes(ancestry, roots, numbers)
    of = np.repeat(np.arange(len(ancestry.drawn)), np.diff(ancestry.starts))
    clutch_of = np.full(len(ancestry.drawn), -1)
    clutch_of[numbers.drawn_once] = numbers.clutches
    chosen = clutch_of[of] >= 0
    owners = np.concatenate((numbers.birds, numbers.birds, clutch_of[of][chosen]))
    which, terms, weights = nodes.of(
        np.concatenate((ancestry.sires, ancestry.dams, ancestry.members[chosen])),
        np.concatenate((np.full(2 * len(numbers.birds), 0.5), ancestry.chances[chosen])),
    )
    size = roots.shape[1] + len(numbers.birds) + len(numbers.clutches)
    parental = _sums(owners[which], terms, weights, size)
    return parental.starts, parental.terms, parental.weights


def _sums_of_nodes(ancestry: Ancestry, roots: Matrix, numbers: _Numbers) -> _Sums:
    """What each node is in unknowns: a pool of roots, a mixture of its possible parents."""
    pools, columns = np.nonzero(roots)
    simple = _sums(
        np.concatenate((pools, ancestry.birds)),
        np.concatenate((columns, numbers.birds)),
        np.concatenate((roots[pools, columns], np.ones(len(numbers.birds)))),
        ancestry.first_mixture,
    )
    of = np.repeat(np.arange(len(ancestry.drawn)), np.diff(ancestry.starts))
    for_each = ~np.isin(of, numbers.drawn_once)
    which, terms, weights = simple.of(ancestry.members[for_each], ancestry.chances[for_each])
    rows = np.repeat(np.arange(ancestry.first_mixture), np.diff(simple.starts))
    return _sums(
        np.concatenate(
            (
                rows,
                of[for_each][which] + ancestry.first_mixture,
                numbers.drawn_once + ancestry.first_mixture,
            )
        ),
        np.concatenate((simple.terms, terms, numbers.clutches)),
        np.concatenate((simple.weights, weights, np.ones(len(numbers.clutches)))),
        ancestry.size,
    )
