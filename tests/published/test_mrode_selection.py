"""Breeding values of eight calves, printed to eight digits with reliabilities and errors.

Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., CABI, example 3.1:
five gains, the sexes as groups, variances 20 of the genes and 40 of the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import _solve
from matchmaker.genetics.traits.records import Heredity, Records
from tests.published.pedigrees import pedigree_of, printed

if TYPE_CHECKING:
    from matchmaker.genetics.traits.prediction import Prediction

EXAMPLE_3_1 = printed("1 - -", "2 - -", "3 - -", "4 1 -", "5 3 2", "6 1 2", "7 4 5", "8 3 6")
GENETIC, RESIDUAL = 20.0, 40.0
GAINS = Records(
    trait="gain",
    birds=np.array([3, 4, 5, 6, 7]),
    values=np.array([4.5, 2.9, 3.9, 3.5, 5.0]),
    groups=np.array([0, 1, 1, 0, 0]),
    covariates=np.empty((5, 0)),
)


LEVELS = (4.35850, 3.40443)
VALUES = (
    0.09844458,
    -0.01877010,
    -0.04108420,
    -0.00866312,
    -0.18573210,
    0.17687209,
    -0.24945855,
    0.18261469,
)
ERRORS = (0.47109, 0.49210, 0.45646, 0.42768, 0.42811, 0.44228, 0.44186, 0.42236)
"""Error variances, in units of the residual."""
RELIABILITIES = (0.0578, 0.0158, 0.0871, 0.1446, 0.1438, 0.1154, 0.1163, 0.1553)


def example_solved() -> Prediction:
    """The example as the engine solves it."""
    share = GENETIC / (GENETIC + RESIDUAL)
    heredity = Heredity(h2=share, repeatability=share)
    kindred = kindred_of(ancestry_of(pedigree_of(EXAMPLE_3_1)))
    return _solve(kindred, GAINS, heredity, variance=GENETIC + RESIDUAL)


def errors_in_units(solved: Prediction) -> list[float]:
    """Error variances of all animals in units of the residual."""
    found: list[float] = (solved.solved.errors(np.arange(8)).diagonal() / RESIDUAL).tolist()
    return found


@pytest.fixture
def solved() -> Prediction:
    return example_solved()


def test_levels_of_males_and_females(solved: Prediction) -> None:
    assert tuple(solved.levels.round(5).tolist()) == LEVELS


def test_breeding_values_to_eight_digits(solved: Prediction) -> None:
    assert solved.values.round(8) == pytest.approx(VALUES, abs=1.01e-8)


def test_error_variances_in_units_of_the_residual(solved: Prediction) -> None:
    assert errors_in_units(solved) == pytest.approx(ERRORS, abs=5.1e-6)


def test_reliabilities(solved: Prediction) -> None:
    assert tuple(solved.reliability.round(4).tolist()) == RELIABILITIES


def test_standard_error_of_the_first_prediction(solved: Prediction) -> None:
    error = solved.solved.errors(np.array([0]))[0, 0] ** 0.5
    assert round(error, 3) == 4.341
