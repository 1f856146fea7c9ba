"""The restricted likelihood of one trait's scores at any heritability and repeatability."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.traits.equations import design, surroundings, variance_of_scores
from matchmaker.genetics.traits.records import Heredity

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.records import Records


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spectrum:
    """The restricted likelihood as a function of h² alone, in directions without covariance.

    A part ``lasting`` of all that is not genes lasts within a bird. With λ = h² / (1 − h²) scores
    have variance (1 − h²)(1 + λ dᵢ) along direction i, dᵢ being ``sizes``; ``squares`` are what the
    scores hold along each, ``whole`` what they hold in all without genes. ``left`` scores are left
    once levels and slopes are estimated; ``determinants`` do not depend on h².
    """

    lasting: float
    sizes: Matrix
    squares: Matrix
    whole: float
    left: int
    determinants: float

    def at(self, h2: float) -> float:
        """Restricted log-likelihood, largest over the variance of scores, without constants.

        −½ (log|V| + log|XᵀV⁻¹X| + (n − rank X) log σ²ₚ), V in units of σ²ₚ.
        """
        sizes = 1 + h2 / (1 - h2) * self.sizes
        genes = self.left * np.log(1 - h2) + np.log(sizes).sum()
        variance = self.left * np.log(self.variance(h2))
        return float(-0.5 * (self.determinants + genes + variance))

    def variance(self, h2: float) -> float:
        """Variance of single scores at this h²: yᵀPy over the scores left."""
        ratio = h2 / (1 - h2)
        explained = ratio * float((self.squares / (1 + ratio * self.sizes)).sum())
        return (self.whole - explained) / (1 - h2) / self.left


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likelihood:
    """What is the same at every h² and repeatability.

    ``root`` (shape (scored, scored)) is a factor of the scored birds' relationships, A = L Lᵀ;
    ``columns`` (shape (records, fixed)) are orthonormal and span levels and slopes, which are
    already taken out of ``values``; ``determinant`` is log|XᵀX|.
    """

    values: Matrix
    columns: Matrix
    root: Matrix
    records: Records
    determinant: float

    def spectrum(self, lasting: float) -> Spectrum:
        """The likelihood where this part of all that is not genes lasts within a bird.

        Notes
        -----
        With R the covariance without genes and P₀ its projection beside levels and slopes, the
        directions are the eigenvectors of LᵀZᵀP₀ZL, and log|V| + log|XᵀV⁻¹X| = log|R| +
        log|XᵀR⁻¹X| + Σ log(1 + λ dᵢ).
        """
        around = surroundings(self.records, Heredity(h2=0.0, repeatability=lasting))
        divided = around.divide(self.columns)
        information = self.columns.T @ divided
        errors = np.linalg.inv(information)
        sums = self.root.T @ around.sums(divided)
        weights = around.counts * around.pull
        inner = self.root.T @ (weights[:, None] * self.root) - sums @ errors @ sums.T
        pulled = around.divide(self.values) - divided @ (errors @ (divided.T @ self.values))
        sizes, directions = np.linalg.eigh(inner)
        toward = directions.T @ (self.root.T @ around.sums(pulled))
        levels = np.linalg.slogdet(information)[1] + self.determinant
        return Spectrum(
            lasting=lasting,
            sizes=np.maximum(sizes, 0.0),
            squares=toward**2,
            whole=float(self.values @ pulled),
            left=len(self.values) - self.columns.shape[1],
            determinants=float(around.log_determinant() + levels),
        )


def likelihood_of(kindred: Kindred, records: Records) -> Likelihood | None:
    """Return the likelihood, or ``None`` if scores do not differ within their groups.

    Examples
    --------
    Two strangers: how heritable a trait is makes no difference to their scores.

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Records
    >>> eggs = Records.of_one_group("eggs", [0, 1], [50.0, 54.0])
    >>> found = likelihood_of(kindred_of(ancestry_of_parents([-1, -1], [-1, -1])), eggs)
    >>> [round(found.spectrum(0.0).at(h2), 6) for h2 in (0.1, 0.8)]
    [-1.386294, -1.386294]
    """
    fixed = design(records)
    columns, triangle = np.linalg.qr(fixed)
    values = records.values - columns @ (columns.T @ records.values)
    squares = float(values @ values)
    if variance_of_scores(records.values, squares, fixed.shape[1]) == 0:
        return None
    scored = kindred.birds[np.unique(records.birds)]
    related = np.linalg.inv(kindred.dense_inverse())[np.ix_(scored, scored)]
    return Likelihood(
        values=values,
        columns=columns,
        root=np.linalg.cholesky((related + related.T) / 2),
        records=records,
        determinant=2 * float(np.log(np.abs(triangle.diagonal())).sum()),
    )
