"""Predicted breeding values in large flocks: the same answers as ``model``, in sparse steps.

Birds without chicks are left out of the equations (``absorbed``), the rest are factored once
(``factor``), levels and slopes are solved for last (Schur complement). Reliabilities are exact at
any size: each parent's error variance, and the covariance of each two mates, come out of the factor
(``selected_inverse``), and those of birds without chicks follow from their parents'.

Memory grows with the birds, with parents × contemporary groups, and with the square of the largest
front: an eighth to a quarter of all parents where thousands breed and mate at random. So it is not
the birds that set the limit but how many of them breed at a time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy import sparse

from matchmaker.genetics.traits.absorbed import Absorbed, Sums, absorb, sums_of
from matchmaker.genetics.traits.equations import variance_of_scores
from matchmaker.genetics.traits.factor import Factor
from matchmaker.genetics.traits.kindred import added_up, spans
from matchmaker.genetics.traits.model import reliabilities
from matchmaker.genetics.traits.prediction import Prediction

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.records import Heredity, Records

ROWS_AT_ONCE: Final = 16_384
"""Birds whose ties to levels and slopes are written out at one time."""

DEPENDENT: Final = 1e-10
"""A direction of levels and slopes with less information than this share is not estimated."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Large:
    """A large flock's equations solved, in units of ``variance``, that of single scores.

    ``ties`` (shape (parents, fixed)) times their own transpose is what the uncertainty of levels
    and slopes adds to the errors of parents, ``roots`` (shape (fixed, fixed)) times its own
    transpose the covariance of their estimates. ``given`` (shape (unknowns,)) is the error variance
    of each if levels and slopes were known. Without heritability nothing is predicted.
    """

    variance: float
    birds: Nodes
    owners: Nodes
    columns: sparse.csr_array
    heredity: Heredity
    sums: Sums
    system: Absorbed
    factor: Factor
    roots: Matrix
    ties: Matrix
    given: Matrix

    def errors(self, birds: Nodes) -> Matrix:
        """(Co)variances of prediction errors of some birds, in squared units, shape (m, m)."""
        if self.heredity.h2 == 0:
            return np.zeros((len(birds), len(birds)))
        unknowns = self.birds[birds]
        follow = self.system.follow[unknowns]
        alike = unknowns[:, np.newaxis] == unknowns
        known = follow @ self.factor.solve(follow.toarray().T)
        levels = self.level_ties(unknowns)
        alone = np.where(alike, self.system.alone[unknowns], 0.0)
        return np.asarray(self.variance * (known + alone + levels @ levels.T))

    def spread(self, birds: Nodes, given: Matrix, slopes: Matrix) -> float:
        """Variance of the error of a sum of predictions and slopes, in squared units."""
        effects = np.zeros(len(self.roots))
        effects[len(effects) - len(slopes) :] = slopes
        own = effects @ self.roots
        shared = own @ (self.level_ties(self.birds[birds]).T @ given) if self.heredity.h2 else 0.0
        return float(given @ self.errors(birds) @ given + self.variance * (own @ own - 2 * shared))

    def weights(self, bird: int) -> Matrix:
        """What each score adds to a bird's prediction per unit of deviation, shape (records,)."""
        return self._weights(int(self.birds[bird]))

    def precisions(self) -> Matrix:
        """One over the variance of each score given all others, in units⁻², shape (records,)."""
        pull = self.sums.pull[self.owners]
        found = (1 - self._lasting * pull) / self._passing
        if self.heredity.h2 > 0:
            found -= pull**2 * self.given[self.owners]
        for some in self._parts():
            found[some] -= (self._level_pulls(some) ** 2).sum(axis=1)
        return np.asarray(found / self.variance)

    def projected(self, record: int) -> Matrix:
        """How all scores pull at what one is expected to be, in units⁻², shape (records,)."""
        owner = int(self.owners[record])
        pull = self.sums.pull[owner]
        found = np.where(self.owners == owner, -self._lasting * pull, 0.0)
        found[record] += 1
        found = found / self._passing - pull * self._weights(owner)
        level = self._level_pulls(slice(record, record + 1))[0]
        for some in self._parts():
            found[some] -= self._level_pulls(some) @ level
        return np.asarray(found / self.variance)

    @property
    def _lasting(self) -> float:
        return self.heredity.repeatability - self.heredity.h2

    @property
    def _passing(self) -> float:
        return 1 - self.heredity.repeatability

    def _parts(self) -> list[slice]:
        """Records that are written out at one time."""
        starts = range(0, len(self.owners), ROWS_AT_ONCE)
        return [slice(start, start + ROWS_AT_ONCE) for start in starts]

    def _weights(self, unknown: int) -> Matrix:
        if self.heredity.h2 == 0:
            return np.zeros(len(self.owners))
        asked = np.zeros(len(self.given))
        asked[unknown] = 1.0
        row = self.system.spread(self.factor.solve(self.system.gathered(asked)), asked)
        return np.asarray((row * self.sums.pull)[self.owners])

    def _level_pulls(self, records: slice) -> Matrix:
        """V⁻¹X of some records times ``roots``, shape (some, fixed)."""
        owners = self.owners[records]
        common = self._lasting * (self.sums.effects[owners] @ self.roots)
        found = (self.columns[records] @ self.roots - common) / self._passing
        if self.heredity.h2 > 0:
            found -= self.sums.pull[owners, np.newaxis] * self.level_ties(owners)
        return np.asarray(found)

    def level_ties(self, unknowns: Nodes) -> Matrix:
        """Rows whose products are what levels and slopes add to errors, shape (some, fixed)."""
        system = self.system
        scored = system.alone[unknowns, np.newaxis] * (self.sums.effects[unknowns] @ self.roots)
        return np.asarray(scored + system.follow[unknowns] @ self.ties)

    def error_variances(self) -> Matrix:
        """Variance of the prediction error of every bird, in squared units, shape (birds,)."""
        found = self.given[self.birds]
        for start in range(0, len(found), ROWS_AT_ONCE):
            some = slice(start, start + ROWS_AT_ONCE)
            found[some] += (self.level_ties(self.birds[some]) ** 2).sum(axis=1)
        return np.asarray(self.variance * found)


def predict_large(kindred: Kindred, records: Records, heredity: Heredity) -> Prediction:
    """Predict the breeding values of a large flock for one trait, and how far to trust them.

    Notes
    -----
    With B the equations of breeding values, Q what ties them to levels and slopes, the latter have
    the equations E = XᵀR⁻¹X − QᵀB⁻¹Q, and the errors of breeding values are B⁻¹ + B⁻¹Q E⁻¹ QᵀB⁻¹.
    The variance of single scores is as in ``model.predict``.

    Examples
    --------
    Four hens of one hatch, the first two of them sisters:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> flock = ancestry_of_parents([-1, -1, 0, 0, -1, -1], [-1, -1, 1, 1, -1, -1])
    >>> eggs = Records.of_one_group("eggs", [2, 3, 4, 5], [58.0, 50.0, 50.0, 48.0])
    >>> found = predict_large(kindred_of(flock), eggs, Heredity(h2=0.25, repeatability=0.25))
    >>> found.levels.round(2).tolist()
    [51.35]
    >>> found.values.round(2).tolist()
    [0.59, 0.59, 1.45, 0.31, -0.34, -0.84]
    >>> found.reliability.round(2).tolist()
    [0.06, 0.06, 0.17, 0.17, 0.18, 0.18]
    """
    centred = _centred(records)
    found = _solve(kindred, records, heredity, centred)
    groups = records.group_count
    slopes = found.effects[groups:]
    levels = found.effects[:groups] + centred.level_means - centred.covariate_means @ slopes
    explained = levels[records.groups] + records.covariates @ slopes
    genetic = heredity.h2 * found.solved.variance
    spread = found.solved.roots[groups:]
    return Prediction(
        trait=records.trait,
        heredity=heredity,
        phenotypic_sd=found.solved.variance**0.5,
        values=found.values if genetic else np.zeros(len(kindred.birds)),
        reliability=reliabilities(found.solved.error_variances(), kindred.own, genetic),
        levels=levels,
        slopes=slopes,
        slope_errors=np.sqrt(found.solved.variance * (spread**2).sum(axis=1)),
        deviations=records.values - explained,
        solved=found.solved,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Centred:
    """Scores and covariates less their means within groups, which keeps the sums small."""

    values: Matrix
    columns: sparse.csr_array
    level_means: Matrix
    covariate_means: Matrix


def _centred(records: Records) -> _Centred:
    count, groups = records.group_count, records.groups
    rows = np.arange(len(groups))
    members = sparse.csr_array((np.ones(len(groups)), (rows, groups)), shape=(len(groups), count))
    sizes = np.bincount(groups, minlength=count)
    level_means: Matrix = np.asarray(members.T @ records.values) / sizes
    covariate_means: Matrix = np.asarray(members.T @ records.covariates) / sizes[:, np.newaxis]
    covariates = records.covariates - covariate_means[groups]
    return _Centred(
        values=records.values - level_means[groups],
        columns=sparse.csr_array(sparse.hstack((members, sparse.csr_array(covariates)))),
        level_means=level_means,
        covariate_means=covariate_means,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """Levels and slopes of centred scores, breeding values of birds, and the rest."""

    effects: Matrix
    values: Matrix
    solved: Large


def _solve(kindred: Kindred, records: Records, heredity: Heredity, centred: _Centred) -> _Found:
    owners = kindred.birds[records.birds]
    sums = sums_of(owners, centred.values, centred.columns, heredity, kindred.unknowns)
    genes = heredity.h2 > 0  # without, scores tell nothing of them, in whatever unit they are
    system = absorb(kindred, heredity.h2 or 1.0, genes * sums.information)
    scores, effects = genes * sums.scores, genes * sums.effects
    factor = Factor(system.matrix)
    moved = factor.solve((system.follow.T @ effects).toarray())
    gathered = system.gathered(scores)
    known = factor.solve(gathered)
    alone = effects.T @ sparse.diags_array(system.alone)
    told = sums.fixed_scores - alone @ scores - moved.T @ gathered
    roots = _roots(sums.fixed - (alone @ effects).toarray() - moved.T @ (system.follow.T @ effects))
    found = roots @ (roots.T @ told)
    squares = sums.square - scores @ (system.alone * scores) - known @ gathered - found @ told
    solved = Large(
        variance=variance_of_scores(records.values, float(squares), centred.columns.shape[1]),
        birds=kindred.birds,
        owners=owners,
        columns=centred.columns,
        heredity=heredity,
        sums=sums,
        system=system,
        factor=factor,
        roots=roots,
        ties=moved @ roots,
        given=_given(system, factor),
    )
    values = system.spread(known - moved @ found, scores - effects @ found)
    return _Found(effects=found, values=values[kindred.birds], solved=solved)


def _roots(equations: Matrix) -> Matrix:
    """K with K Kᵀ the inverse of the equations, as far as they have one."""
    scale = 1 / np.sqrt(equations.diagonal())
    values, vectors = np.linalg.eigh(equations * scale * scale[:, np.newaxis])
    kept = values > DEPENDENT * values.max(initial=0.0)
    return np.asarray(scale[:, np.newaxis] * vectors[:, kept] / np.sqrt(values[kept]))


def _given(system: Absorbed, factor: Factor) -> Matrix:
    """Error variance of every unknown if levels and slopes were known, shape (unknowns,)."""
    follow = system.follow
    starts, names = follow.indptr.astype(np.int64), follow.indices.astype(np.int64)
    counts = np.diff(starts)
    row = np.repeat(np.arange(len(counts)), counts)
    firsts = np.repeat(np.arange(len(row)), counts[row])
    seconds = spans(starts[row], counts[row])
    half = names[firsts] >= names[seconds]
    firsts, seconds = firsts[half], seconds[half]
    found = factor.inverse_at(names[firsts], names[seconds])
    twice = np.where(names[firsts] == names[seconds], 1.0, 2.0)
    products = twice * follow.data[firsts] * follow.data[seconds] * found
    return np.asarray(system.alone + added_up(row[firsts], products, len(counts)))
