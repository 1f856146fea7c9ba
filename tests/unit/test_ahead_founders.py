from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.founders import founder_labels
from matchmaker.flock.pedigree import Pedigree, Pool

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

DRAWS = 6000


def pools(bases: Sequence[Sequence[float]], *named: Pool) -> Pedigree:
    return Pedigree(
        pools=named, bases=tuple(map(tuple, bases)), birds=(), sexes=(), sires=(), dams=()
    )


def alike(pedigree: Pedigree, out_of: Sequence[int], seed: int = 1) -> NDArray[np.float64]:
    """How often the gametes of each two places have one label, over many draws."""
    rng = np.random.default_rng(seed)
    drawn = np.array([founder_labels(pedigree, out_of, rng) for _ in range(DRAWS)])
    return np.asarray((drawn[:, :, None] == drawn[:, None, :]).mean(axis=0))


SEVERAL = pools(
    [[0.25, 0.1, 0.0, 0.0], [0.1, 0.1, 0.0, 0.0], [0.0, 0.0, 0.0625, 0.0], [0.0, 0.0, 0.0, 0.0]],
    Pool("sussex", "Hill"),
    Pool("sussex", "Vale"),
    Pool("araucana"),
    Pool("marans"),
)
"""Two pools of one breed, the one no closer than the breed is; a closed breed; an open one."""


def test_two_gametes_are_alike_as_often_as_their_pools_say_whenever_they_are_drawn() -> None:
    out_of = [0, 1, 2, 3, 0, 1, 2, 3, 0]
    found = alike(SEVERAL, out_of)
    expected = np.array([[SEVERAL.bases[one][two] for two in out_of] for one in out_of])
    np.fill_diagonal(expected, 1.0)
    error = np.sqrt(expected * (1 - expected) / DRAWS)
    assert (np.abs(found - expected) <= 5 * error).all()


def test_the_only_pool_of_a_breed_has_its_own_base() -> None:
    found = alike(pools([[0.3]], Pool("sussex")), [0, 0, 0])
    assert found[np.triu_indices(3, 1)] == pytest.approx(0.3, abs=5 * (0.21 / DRAWS) ** 0.5)


def test_pools_as_close_as_one_bird_give_one_label() -> None:
    one = pools([[1.0, 1.0], [1.0, 1.0]], Pool("sussex", "Hill"), Pool("sussex", "Vale"))
    assert founder_labels(one, [0, 1, 0], np.random.default_rng(1)).tolist() == [0, 0, 0]


def test_labels_are_numbered_as_they_come() -> None:
    found = founder_labels(SEVERAL, [3] * 5, np.random.default_rng(1))
    assert found.tolist() == [0, 1, 2, 3, 4]


def test_no_founder_has_no_label() -> None:
    assert len(founder_labels(SEVERAL, [], np.random.default_rng(1))) == 0
