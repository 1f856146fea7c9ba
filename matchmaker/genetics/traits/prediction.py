"""What the scores of one trait say of every bird's genes, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.records import Heredity


class Solved(Protocol):
    """A solved animal model that answers further questions, whatever its size."""

    def errors(self, birds: Nodes) -> Matrix:
        """(Co)variances of prediction errors of some birds, in squared units, shape (m, m)."""
        ...

    def spread(self, birds: Nodes, given: Matrix, slopes: Matrix) -> float:
        """Variance of the error of a sum of predictions and slopes, in squared units.

        The sum is ``given`` (shape (m,)) times the predictions of ``birds`` and ``slopes`` (shape
        (covariates,)) times the regressions on the covariates.
        """
        ...

    def weights(self, bird: int) -> Matrix:
        """What each score adds to a bird's prediction per unit of deviation, shape (records,).

        Deviations are scores less their group's level and what the covariates explain; the
        prediction is the sum of weights times deviations.
        """
        ...


@runtime_checkable
class Precise(Protocol):
    """A model of one trait that also says how its scores foretell each other."""

    def precisions(self) -> Matrix:
        """One over the variance of each score given all others, in units⁻², shape (records,)."""
        ...

    def projected(self, record: int) -> Matrix:
        """Column of P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹ that belongs to a score, shape (records,)."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prediction:
    """Predicted breeding values of one trait for all birds of the pedigree, in its order.

    ``values`` (shape (birds,)) are in the trait's unit, ``reliability`` (shape (birds,)) is the
    squared correlation of prediction and true breeding value, 0 to 1. ``levels`` are those of the
    contemporary groups, ``slopes`` the regressions on the covariates with ``slope_errors`` their
    standard errors, ``deviations`` (shape (records,)) the scores less both. ``phenotypic_sd`` is
    that of single scores within groups.
    """

    trait: str
    heredity: Heredity
    phenotypic_sd: float
    values: Matrix
    reliability: Matrix
    levels: Matrix
    slopes: Matrix
    slope_errors: Matrix
    deviations: Matrix
    solved: Solved

    @property
    def genetic_sd(self) -> float:
        """Standard deviation of breeding values of unrelated birds, in the trait's unit."""
        return float(self.phenotypic_sd * self.heredity.h2**0.5)
