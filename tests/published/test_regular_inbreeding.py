"""Inbreeding under regular mating, generation by generation.

Half sibs: recurrence F'' = (1 + 6F' + F) / 8, read in an encyclopedia article on quantitative
genetics that cites Crow & Kimura, pp. 132-143, and Falconer 1996, pp. 82-92. Full sibs: 25, 37.5
and 50 per cent read in a breeder's table. The longer decimals of Falconer & Mackay 1996, Table
5.1, and the recurrences F'' = (1 + 2F' + F) / 4 for full sibs and F' = (1 + F_A + 2F) / 4 for
matings back to one parent A are from memory; the digits below were worked out apart from this
project, exactly, by recurrence and by pedigree. Generation 0 are chicks of unrelated parents:
some books call the first inbred generation 1, others count from the founders.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from matchmaker.flock.pedigree import Pool
from matchmaker.genetics.kin.kinship import kinship_matrix
from tests.published.pedigrees import Parents, inbreeding, pedigree_of

if TYPE_CHECKING:
    from collections.abc import Callable

GENERATIONS = 10
FOUNDERS: list[Parents] = [("C", "", ""), ("H", "", ""), ("H0", "C", "H")]


def full_sibs() -> list[Parents]:
    """Brother by sister, again and again."""
    rows: list[Parents] = [*FOUNDERS, ("C0", "C", "H")]
    for born in range(1, GENERATIONS + 1):
        rows += [(f"{sex}{born}", f"C{born - 1}", f"H{born - 1}") for sex in "CH"]
    return rows


def younger_parent() -> list[Parents]:
    """Each chick is mated to the younger of its parents."""
    chain = ["H", "H0"]
    rows = [("H", "", ""), ("C", "", ""), ("H0", "H", "C")]
    for born in range(1, GENERATIONS + 1):
        rows.append((f"H{born}", chain[-2], chain[-1]))
        chain.append(f"H{born}")
    return rows


def half_sisters() -> list[Parents]:
    """One cock on his half sisters, each of another dam; column ``born`` gives the next cock."""
    columns = range(GENERATIONS + 2)
    rows: list[Parents] = [("C", "", ""), *((f"H.{at}", "", "") for at in columns)]
    cock, dam = "C", "H."
    for born in range(GENERATIONS + 1):
        rows += [(f"H{born}.{at}", cock, f"{dam}{at}") for at in columns]
        rows += [(f"C{born}", cock, f"{dam}{born}"), (f"H{born}", cock, f"{dam}{born}")]
        cock, dam = f"C{born}", f"H{born}."
    return rows


def back_to_one() -> list[Parents]:
    """Chicks back to one cock, generation after generation."""
    return [
        *FOUNDERS,
        *((f"H{born}", "C", f"H{born - 1}") for born in range(1, GENERATIONS + 1)),
    ]


def decimals(line: str) -> list[Fraction]:
    return [Fraction(one) for one in line.split()]


def to_four(values: list[Fraction]) -> list[Fraction]:
    """Round to four decimals, halves away from zero as the print does."""
    return [Fraction(int(one * 10_000 + Fraction(1, 2)), 10_000) for one in values]


SERIES: dict[str, tuple[Callable[[], list[Parents]], str]] = {
    "full sibs": (
        full_sibs,
        "0 .2500 .3750 .5000 .5938 .6719 .7344 .7852 .8262 .8594 .8862",
    ),
    "chick by younger parent": (
        younger_parent,
        "0 .2500 .3750 .5000 .5938 .6719 .7344 .7852 .8262 .8594 .8862",
    ),
    "cock by half sisters": (
        half_sisters,
        "0 .1250 .2188 .3047 .3809 .4487 .5092 .5630 .6109 .6535 .6915",
    ),
    "back to one non-inbred cock": (
        back_to_one,
        "0 .2500 .3750 .4375 .4688 .4844 .4922 .4961 .4980 .4990 .4995",
    ),
}
"""By system of mating: its pedigree, and inbreeding by generation."""


def by_generation(scheme: Callable[[], list[Parents]]) -> list[Fraction]:
    """Inbreeding of the generations 0 to 10 of a system, by the engine."""
    found = inbreeding(scheme())
    return [found[f"H{born}"] for born in range(GENERATIONS + 1)]


@pytest.mark.parametrize("system", SERIES)
def test_series(system: str) -> None:
    scheme, printed = SERIES[system]
    assert to_four(by_generation(scheme)) == decimals(printed)


def test_half_sisters_follow_the_recurrence_exactly() -> None:
    values = by_generation(half_sisters)
    assert values[:3] == [0, Fraction(1, 8), Fraction(7, 32)]
    for older, old, new in zip(values, values[1:], values[2:], strict=False):
        assert new == (1 + 6 * old + older) / 8


def test_back_to_a_fully_inbred_cock() -> None:
    """The cock's own gametes are all alike: a pool whose base kinship is one."""
    plain = pedigree_of(back_to_one())
    inbred = replace(
        plain,
        pools=(Pool("any"), Pool("inbred")),
        bases=((0.0, 0.0), (0.0, 1.0)),
        sires=tuple(
            ((1, 1.0),) if bird == "C" else tuple((node + (node > 0), p) for node, p in links)
            for bird, links in zip(plain.birds, plain.sires, strict=True)
        ),
        dams=tuple(
            ((1, 1.0),) if bird == "C" else tuple((node + (node > 0), p) for node, p in links)
            for bird, links in zip(plain.birds, plain.dams, strict=True)
        ),
    )
    found = kinship_matrix(inbred).inbreeding()
    values = [Fraction(found[f"H{born}"]) for born in range(GENERATIONS + 1)]
    assert found["C"] == 1.0
    assert to_four(values) == decimals(
        "0 .5000 .7500 .8750 .9375 .9688 .9844 .9922 .9961 .9980 .9990"
    )
