"""One trait's scores, made ready for the animal model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes


@dataclass(frozen=True, slots=True, kw_only=True)
class Heredity:
    """How heritable single scores of a trait are, and how repeatable on one bird.

    0 ≤ ``h2`` ≤ ``repeatability`` < 1, both as shares of the variance of single scores.
    """

    h2: float
    repeatability: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Records:
    """Scores of one trait: whose, how much, among which contemporaries.

    ``birds`` (shape (records,)) are numbers of birds in the order of the pedigree, ``values`` the
    scores in the trait's unit, odd ones pulled in, less the effect of the bird's own inbreeding,
    ``groups`` numbers of contemporary groups from 0 on, each with a score at least, and
    ``covariates`` (shape (records, covariates)) what is regressed on within groups, with their
    names in ``names``. Groups and covariates are linearly independent.
    """

    trait: str
    birds: Nodes
    values: Matrix
    groups: Nodes
    covariates: Matrix
    names: tuple[str, ...] = ()

    @classmethod
    def of_one_group(cls, trait: str, birds: ArrayLike, values: ArrayLike) -> Records:
        """Scores of birds that are all contemporaries, regressed on nothing.

        Examples
        --------
        >>> Records.of_one_group("eggs", [0, 1], [50.0, 54.0]).groups
        array([0, 0])
        """
        owners = np.asarray(birds, dtype=np.int64)
        return cls(
            trait=trait,
            birds=owners,
            values=np.asarray(values, dtype=np.float64),
            groups=np.zeros(len(owners), dtype=np.int64),
            covariates=np.empty((len(owners), 0)),
        )

    @property
    def group_count(self) -> int:
        """Number of contemporary groups."""
        return int(self.groups.max(initial=-1)) + 1
