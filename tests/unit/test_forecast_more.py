"""What the scores can tell apart, and what an estimate leans on (all numbers invented)."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.traits.forecast import _usable
from matchmaker.genetics.traits.records import Heredity
from matchmaker.genetics.traits.scores import Told, tell_apart
from tests.unit.trait_flocks import by_sires

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(("crossbred", "told"), [(1, Told.CONFOUNDED), (3, Told.BOTH)])
def test_one_bird_does_not_tell_vigour_from_breed(crossbred: int, told: Told) -> None:
    """By first crosses and backcrosses and some of a second generation, share and vigour a half."""
    backcrosses = [[1.0, 0.0], [0.5, 1.0], [0.75, 0.5]] * 3
    columns = np.array(backcrosses + [[0.5, 0.5]] * crossbred)
    assert tell_apart(np.zeros(len(columns), dtype=np.int64), columns) is told


def test_an_estimate_leans_on_the_trait_that_this_one_is_like(tmp_path: Path) -> None:
    """Of egg weight 0.57 is published, of egg number 0.22; the scores are the same."""
    settings = '[traits.eggs]\ndirection = "up"\nh2 = "estimate"\nlike = '
    number, weight = (
        by_sires(tmp_path / like, f'{settings}"egg {like}"\n', 2).trait("eggs").estimate
        for like in ("number", "weight")
    )
    assert number is not None
    assert weight is not None
    assert (number.h2, number.low, number.high) == (weight.h2, weight.low, weight.high)
    assert number.leaning + 0.1 < weight.leaning < 0.57
    # with repeated scores, what lasts is added to the h² that is used, and not to the peak
    assumed = Heredity(h2=0.57, repeatability=0.8)
    told = replace(weight, leaning=0.4, lasting=0.5, repeatability=0.9)
    assert _usable(told, assumed, repeated=True) == Heredity(h2=0.4, repeatability=0.7)
    assert _usable(told, assumed, repeated=False) == Heredity(h2=0.4, repeatability=0.8)
