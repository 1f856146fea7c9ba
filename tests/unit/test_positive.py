"""Inverses of positive definite matrices, against numpy's own."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.traits.positive import SMALL, inverse_of_positive


@pytest.mark.parametrize("size", [0, 1, 2, SMALL, SMALL + 1, 2 * SMALL + 1, 301])
def test_the_inverse_is_that_of_numpy(size: int) -> None:
    parts = np.random.default_rng(size).normal(size=(size, size))
    values = parts @ parts.T + np.eye(size)
    found = inverse_of_positive(values)
    np.testing.assert_allclose(found, np.linalg.inv(values), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(found @ values, np.eye(size), atol=1e-9)


def test_rows_of_very_different_size_are_inverted_as_well() -> None:
    scale = np.logspace(-4, 4, 150)
    parts = np.random.default_rng(3).normal(size=(150, 150))
    values = (parts @ parts.T / 150 + np.eye(150)) * scale[:, None] * scale
    within = inverse_of_positive(values) * scale[:, None] * scale
    exact = np.linalg.inv(values) * scale[:, None] * scale
    np.testing.assert_allclose(within, exact, atol=1e-10)


def test_what_has_no_inverse_is_refused() -> None:
    with pytest.raises(np.linalg.LinAlgError):
        inverse_of_positive(np.zeros((SMALL + 2, SMALL + 2)))
