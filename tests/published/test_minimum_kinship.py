"""The least kinship of parents chosen from the six animals of Mrode (Henderson's example).

The pedigree is printed; the least kinship on it is own exact arithmetic.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.plan.arithmetic.group_arithmetic import squared_kinship
from matchmaker.plan.posing.pedigree_terms import terms_of_pedigree
from matchmaker.plan.program.squares import squares_of
from tests.published.pedigrees import pedigree_of, printed

ANIMALS = ("1", "2", "3", "4", "5", "6")
PEDIGREE = pedigree_of(printed("1 - -", "2 - -", "3 1 2", "4 1 -", "5 4 3", "6 5 2"))
KINSHIP = kinship_matrix(PEDIGREE).values
TERMS = terms_of_pedigree(PEDIGREE, ANIMALS)
SLOTS = 8
EQUAL, LEAST, LEAST_OF_EIGHT = 149 / 576, 3 / 14, 7 / 32
"""Kinship of equal parts of all six, of the best parts, and of the best eighths."""


def test_equal_parts() -> None:
    """Equal parts of all six: 149/576."""
    assert squared_kinship(TERMS, dict.fromkeys(ANIMALS, 1)) / 36 == pytest.approx(EQUAL)


def test_least_with_any_parts() -> None:
    """Parts (2/7, 3/7, 0, 2/7, 0, 0) have 3/14, and nobody has less kinship with them than that."""
    chosen = [0, 1, 3]
    raw = np.linalg.solve(KINSHIP[np.ix_(chosen, chosen)], np.ones(3))
    parts = np.zeros(6)
    parts[chosen] = raw / raw.sum()
    assert parts == pytest.approx([2 / 7, 3 / 7, 0, 2 / 7, 0, 0])
    assert parts @ KINSHIP @ parts == pytest.approx(LEAST)
    assert (KINSHIP @ parts >= LEAST - 1e-12).all()


def _by_squares(counts: dict[str, int]) -> float:
    amounts: list[float] = []
    total = 0.0
    for square in squares_of(TERMS, ANIMALS):
        amount = sum(
            weight * (counts[part] if isinstance(part, str) else amounts[part])
            for part, weight in square.parts.items()
        )
        assert amount / square.step == pytest.approx(round(amount / square.step))
        amounts.append(amount)
        total += square.mass * amount**2
    return total


def test_least_with_eight_places() -> None:
    """In eighths the least is 7/32, by four choices and no other; squares and matrix agree."""
    found = {}
    for first in product(range(SLOTS + 1), repeat=5):
        if sum(first) <= SLOTS:
            counts = (*first, SLOTS - sum(first))
            named = dict(zip(ANIMALS, counts, strict=True))
            kinship = squared_kinship(TERMS, named) / SLOTS**2
            assert kinship == pytest.approx(np.array(counts) @ KINSHIP @ np.array(counts) / 64)
            assert _by_squares(named) / SLOTS**2 == pytest.approx(kinship)
            found[counts] = kinship
    least = min(found.values())
    assert least == pytest.approx(LEAST_OF_EIGHT)
    assert {counts for counts, kinship in found.items() if kinship < least + 1e-9} == {
        (2, 3, 0, 3, 0, 0),
        (2, 3, 1, 2, 0, 0),
        (2, 4, 0, 2, 0, 0),
        (3, 3, 0, 2, 0, 0),
    }
