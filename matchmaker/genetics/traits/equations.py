"""Sums over the scores of one trait that every way of solving its equations needs.

Everything is in units of the variance of single scores: the genes have h² of it, the lasting
surroundings of a bird t − h², and 1 − t differs from score to score of one bird.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.records import Heredity, Records


NOTHING: Final = 1e-18
"""Squared deviations below this part of the squared scores are rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surroundings:
    """Covariance R of scores given the genes: alike within a bird by t − h², none between birds.

    ``scored`` are the numbers of the birds with scores, ascending; ``place`` (shape (records,))
    leads from scores to them, ``counts`` (shape (scored,)) are how many scores each has.
    ``lasting`` is t − h², ``passing`` 1 − t, shape (scored,).
    """

    scored: Nodes
    place: Nodes
    counts: Nodes
    lasting: Matrix
    passing: Matrix

    @property
    def pull(self) -> Matrix:
        """What a unit in one score weighs in the sum for its bird, 1ᵀR⁻¹, shape (scored,)."""
        return np.asarray(1 / (self.passing + self.counts * self.lasting))

    @property
    def own(self) -> Matrix:
        """Diagonal of R⁻¹, shape (records,)."""
        return np.asarray(((1 - self.lasting * self.pull) / self.passing)[self.place])

    def sums(self, values: Matrix) -> Matrix:
        """Sums of ``values`` (shape (records, …)) over the scores of each bird."""
        found = np.zeros((len(self.scored), *values.shape[1:]))
        np.add.at(found, self.place, values)
        return found

    def divide(self, values: Matrix) -> Matrix:
        """R⁻¹ times ``values`` (shape (records, …)), bird by bird.

        What a bird's scores have in common is absorbed, not solved for (Sherman & Morrison 1950,
        from memory).
        """
        shared = (self.lasting * self.pull * self.sums(values).T).T
        return np.asarray(((values - shared[self.place]).T / self.passing[self.place]).T)

    def log_determinant(self) -> float:
        """Logarithm of the determinant of R."""
        first = np.log(self.passing + self.counts * self.lasting)
        return float(np.sum(first + (self.counts - 1) * np.log(self.passing)))


def surroundings(records: Records, heredity: Heredity) -> Surroundings:
    """Covariance of scores given the genes.

    Examples
    --------
    A hen scored twice, h² = 0.3, repeatability 0.5: R is 0.7 on the diagonal, 0.2 beside it.

    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> eggs = Records.of_one_group("eggs", [4, 4], [50.0, 54.0])
    >>> given = surroundings(eggs, Heredity(h2=0.3, repeatability=0.5))
    >>> np.linalg.inv(given.divide(np.eye(2))).round(9).tolist()
    [[0.7, 0.2], [0.2, 0.7]]
    """
    scored, place, counts = np.unique(records.birds, return_inverse=True, return_counts=True)
    return Surroundings(
        scored=scored,
        place=place,
        counts=counts,
        lasting=np.full(len(scored), heredity.repeatability - heredity.h2),
        passing=np.full(len(scored), 1 - heredity.repeatability),
    )


def variance_of_scores(values: Matrix, squares: float, estimated: int) -> float:
    """Variance of single scores, 0 if nothing is left once levels and slopes are estimated.

    ``values`` (shape (records,)) are the scores, ``squares`` is yᵀPy and ``estimated`` the number
    of levels and slopes.

    Examples
    --------
    >>> variance_of_scores(np.array([50.0, 54.0, 52.0]), 8.0, 1)
    4.0
    >>> variance_of_scores(np.array([50.0]), 0.0, 1)
    0.0
    """
    left = len(values) - estimated
    return 0.0 if left <= 0 or squares <= NOTHING * float(values @ values) else squares / left


def design(records: Records) -> Matrix:
    """What each score is compared by: a column for each group, then the covariates.

    Shape (records, groups + covariates).

    Examples
    --------
    >>> from matchmaker.genetics.traits.records import Records
    >>> design(
    ...     Records(
    ...         trait="eggs",
    ...         birds=np.array([0, 1]),
    ...         values=np.array([50.0, 54.0]),
    ...         groups=np.array([0, 1]),
    ...         covariates=np.array([[0.5], [0.75]]),
    ...     )
    ... ).tolist()
    [[1.0, 0.0, 0.5], [0.0, 1.0, 0.75]]
    """
    groups = np.zeros((len(records.groups), records.group_count))
    groups[np.arange(len(records.groups)), records.groups] = 1
    return np.hstack((groups, records.covariates))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """The equations of a small flock, solved whole.

    ``effects`` are the levels and slopes, ``deviations`` (shape (records,)) the scores less what
    these explain, ``values`` (shape (birds,)) the breeding values, ``rest`` (shape (records,)) is
    V⁻¹ times the deviations.

    ``given`` (shape (birds, birds)) is what the errors of breeding values would be if levels and
    slopes were known, ``fixed`` (shape (fixed, fixed)) how the estimates of those err, and
    ``moved`` (shape (birds, fixed)) how far a breeding value moves with each. ``known`` (shape
    (records, fixed)) is V⁻¹X.
    """

    around: Surroundings

    effects: Matrix
    deviations: Matrix
    values: Matrix
    rest: Matrix
    given: Matrix
    fixed: Matrix
    moved: Matrix
    known: Matrix

    def errors(self, firsts: Nodes, seconds: Nodes) -> Matrix:
        """Covariances of the errors of some birds with those of others, shape (firsts, seconds)."""
        known = self.given[np.ix_(firsts, seconds)]
        return np.asarray(known + self.moved[firsts] @ self.fixed @ self.moved[seconds].T)

    def errors_each(self, firsts: Nodes, seconds: Nodes) -> Matrix:
        """Covariances of the errors of two birds at a time, shape (firsts,)."""
        levels = ((self.moved[firsts] @ self.fixed) * self.moved[seconds]).sum(axis=1)
        return np.asarray(self.given[firsts, seconds] + levels)

    def spread(self, birds: Nodes, given: Matrix, effects: Matrix) -> float:
        """Variance of the error of ``given`` times breeding values and ``effects`` times estimates.

        Shapes (birds,), (birds,) and (fixed,).
        """
        moved = self.moved[birds].T @ given + effects
        known = given @ self.given[np.ix_(birds, birds)] @ given
        return float(known + moved @ self.fixed @ moved)

    def of_other(self, columns: Matrix, values: Matrix) -> tuple[Matrix, Matrix]:
        """Breeding values (birds, n) and effects (fixed, n) that other scores would have given.

        ``columns`` are those the equations were solved with, ``values`` (shape (records, n)) n sets
        of scores of the same birds.
        """
        around = self.around
        owners = around.scored[around.place]
        toward = around.divide(values)
        explained = self.given[:, around.scored] @ around.sums(toward)
        effects = self.fixed @ (columns.T @ (toward - around.divide(explained[owners])))
        return explained + self.moved @ effects, effects

    def precisions(self) -> Matrix:
        """One over the variance of each score given all others, Pᵢᵢ, shape (records,)."""
        around = self.around
        owners = around.scored[around.place]
        genes = around.pull[around.place] ** 2 * self.given[owners, owners]
        levels = ((self.known @ self.fixed) * self.known).sum(axis=1)
        return np.asarray(around.own - genes - levels)

    def projected(self, record: int) -> Matrix:
        """Column of P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹ that belongs to one score, shape (records,)."""
        around = self.around
        owners, pull = around.scored[around.place], around.pull[around.place]
        own = np.zeros(len(pull))
        own[record] = 1
        genes = pull[record] * pull * self.given[owners, owners[record]]
        return np.asarray(
            around.divide(own) - genes - self.known @ (self.fixed @ self.known[record])
        )


def solution(given: Matrix, around: Surroundings, columns: Matrix, values: Matrix) -> Solution:
    """Levels, slopes and breeding values, with all that is asked about their errors.

    ``given`` is (ZᵀR⁻¹Z + precision of breeding values)⁻¹, shape (birds, birds). Levels and slopes
    are solved for last, by their Schur complement XᵀV⁻¹X.

    Examples
    --------
    Two strangers with a score each, h² = 0.5: half of the difference is in their genes.

    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> eggs = Records.of_one_group("eggs", [0, 1], [50.0, 54.0])
    >>> around = surroundings(eggs, Heredity(h2=0.5, repeatability=0.5))
    >>> found = solution(np.eye(2) / (2 + 2), around, design(eggs), eggs.values)
    >>> found.effects.tolist(), found.values.tolist()
    ([52.0], [-1.0, 1.0])
    """
    owners = around.scored[around.place]
    sums = around.pull[:, None] * around.sums(columns)
    moved = -given[:, around.scored] @ sums
    fixed = _inverse(columns.T @ around.divide(columns) + sums.T @ moved[around.scored])
    toward = around.divide(values)
    explained = given[:, around.scored] @ around.sums(toward)
    effects = fixed @ (columns.T @ (toward - around.divide(explained[owners])))
    deviations = values - columns @ effects
    predicted = explained + moved @ effects
    return Solution(
        around=around,
        effects=effects,
        deviations=deviations,
        values=predicted,
        rest=around.divide(deviations - predicted[owners]),
        given=given,
        fixed=fixed,
        moved=moved,
        known=around.divide(columns + moved[owners]),
    )


def _inverse(values: Matrix) -> Matrix:
    """Inverse, or what comes nearest where columns depend on each other; of nothing, nothing."""
    return np.linalg.pinv(values, rcond=1e-10, hermitian=True) if values.size else values
