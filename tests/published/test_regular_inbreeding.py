"""Inbreeding under regular mating, generation by generation.

Half sibs: recurrence F'' = (1 + 6F' + F) / 8, read in an encyclopedia article on quantitative
genetics that cites Crow & Kimura, pp. 132-143, and Falconer 1996, pp. 82-92. Full sibs: 25, 37.5
and 50 per cent read in a breeder's table; recurrence F'' = (1 + 2F' + F) / 4. The longer decimals
of Falconer & Mackay 1996, Table 5.1, are from memory and stand here only where recurrence and
pedigree, both exact, were worked out apart and agree with them. Generation 0 are chicks of
unrelated parents.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.pedigrees import Parents, inbreeding

GENERATIONS = 10
PARENTS: list[Parents] = [("C", "", ""), ("H", "", "")]


def full_sibs() -> list[Parents]:
    """Brother by sister, again and again."""
    rows = [*PARENTS, ("C0", "C", "H"), ("H0", "C", "H")]
    for born in range(1, GENERATIONS + 1):
        rows += [(f"{sex}{born}", f"C{born - 1}", f"H{born - 1}") for sex in "CH"]
    return rows


def younger_parent() -> list[Parents]:
    """Each generation's chick is mated to its younger parent."""
    rows = [*PARENTS, ("H0", "C", "H")]
    chain = ["C", "H0"]
    for born in range(1, GENERATIONS + 1):
        rows.append((f"H{born}", chain[-2], chain[-1]))
        chain.append(f"H{born}")
    return rows


def half_sibs() -> list[Parents]:
    """One cock on three half sisters; each hen's daughter follows her, a son of one the cock."""
    rows: list[Parents] = [("D", "", ""), ("E", "", ""), ("G1", "", ""), ("G2", "", "")]
    rows += [("C0", "D", "E"), ("H0.1", "D", "G1"), ("H0.2", "D", "G2")]
    for born in range(1, GENERATIONS + 1):
        cock, first, second = (f"{who}" for who in _parents(born))
        rows += [
            (f"C{born}", cock, first),
            (f"H{born}.1", cock, second),
            (f"H{born}.2", cock, f"H{born - 1}.3"),
            (f"H{born}.3", cock, f"H{born - 1}.4"),
        ]
    return rows


def _parents(born: int) -> tuple[str, str, str]:
    return (f"C{born - 1}", f"H{born - 1}.1", f"H{born - 1}.2")


def back_to_one(inbred: Fraction | None = None) -> list[Parents]:
    """Chicks back to one non-inbred cock, generation after generation."""
    del inbred
    rows = [*PARENTS, ("H0", "C", "H")]
    return rows + [(f"H{born}", "C", f"H{born - 1}") for born in range(1, GENERATIONS + 1)]


def series(rows: list[Parents]) -> list[Fraction]:
    found = inbreeding(rows)
    return [found[f"H{born}"] for born in range(GENERATIONS + 1)]


FULL = ".2500 .3750 .5000 .5938 .6719 .7344 .7852 .8262 .8594 .8862"


def decimals(line: str) -> list[Fraction]:
    return [Fraction(one) for one in line.split()]


def to_four(found: list[Fraction]) -> list[Fraction]:
    return [Fraction(int(one * 10_000 + Fraction(1, 2)), 10_000) for one in found]


@pytest.mark.parametrize("scheme", [full_sibs, younger_parent])
def test_full_sibs_and_younger_parents_give_one_series(scheme: object) -> None:
    assert callable(scheme)
    assert to_four(series(scheme())[1:]) == decimals(FULL)
