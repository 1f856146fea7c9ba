"""Heterozygosity between breeds, by hand and in each kind of uncertain parentage."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.genetics.traits.heterozygosity import breed_likeness, heterozygosity_of

ARAUCANA, SUSSEX, HILL = 0, 1, 2
POOLS = (Pool("araucana"), Pool("sussex"), Pool("sussex", "Hill"))


def one(node: int) -> Links:
    return ((node, 1.0),)


def pedigree(*parents: tuple[Links, Links], clutches: tuple[int | None, ...] = ()) -> Pedigree:
    """Return a pedigree of these birds: nodes 3, 4, ... by their sires and dams."""
    return Pedigree(
        pools=POOLS,
        bases=((0.1, 0.0, 0.0), (0.0, 0.05, 0.05), (0.0, 0.05, 0.25)),
        birds=tuple(f"B{at}" for at in range(len(parents))),
        sexes=(None,) * len(parents),
        sires=tuple(sire for sire, _ in parents),
        dams=tuple(dam for _, dam in parents),
        clutches=clutches,
    )


FOUNDERS = (
    (one(ARAUCANA), one(ARAUCANA)),  # node 3
    (one(SUSSEX), one(SUSSEX)),  # 4
    (one(HILL), one(HILL)),  # 5
)


def last(*parents: tuple[Links, Links], clutches: tuple[int | None, ...] = ()) -> float:
    """Return the heterozygosity of the last bird behind the founders."""
    clutches = (None, None, None, *clutches) if clutches else ()
    return float(heterozygosity_of(pedigree(*FOUNDERS, *parents, clutches=clutches))[-1])


F1 = (one(3), one(4))


@pytest.mark.parametrize(
    ("parents", "heterozygosity"),
    [
        ([F1], 1),
        ([F1, (one(6), one(4))], 1 / 2),
        ([F1, (one(6), one(4)), (one(5), one(7))], 1 / 4),
        ([F1, F1, (one(6), one(7))], 1 / 2),
        ([(one(4), one(5))], 0),
        ([F1, (one(6), one(6))], 1 / 2),
        ([F1, (one(6), one(4)), (one(7), one(7))], 1 / 4),
        ([F1, (one(6), one(4)), (one(6), one(4)), (one(7), one(8))], 3 / 8),
    ],
    ids=[
        "F1",
        "BC1",
        "BC2",
        "F2",
        "two sources of a breed",
        "selfed F1",
        "selfed BC1",
        "sibs of BC1",
    ],
)
def test_crosses_by_hand(parents: list[tuple[Links, Links]], heterozygosity: float) -> None:
    assert last(*parents) == heterozygosity


def test_base_kinship_of_breeds_does_not_count() -> None:
    family = pedigree(*FOUNDERS, F1, (one(6), one(4)))
    related = replace(family, bases=((0.5,) * 3,) * 3)
    assert heterozygosity_of(family).tolist() == heterozygosity_of(related).tolist()


def test_a_sire_of_two_is_half_of_each() -> None:
    """By an Araucana or a Sussex, from a Sussex hen: crossed in half of the cases."""
    assert last((((3, 0.5), (4, 0.5)), one(4))) == 1 / 2


def test_both_parents_uncertain_each_for_itself() -> None:
    either = ((3, 0.5), (4, 0.5))
    assert last((either, either)) == 1 / 2


def test_sibs_of_one_clutch_share_their_sire() -> None:
    """Out of two sibs whose one sire is an Araucana or a Sussex, their dam a Sussex.

    By a Sussex nothing is crossed; by an Araucana the sibs are first crosses, their chicks 1/2.
    Had each its own sire it would be: alike 5/8, for a quarter of the sibs is Araucana.
    """
    either = ((3, 0.5), (4, 0.5))
    sibs = (either, one(4))
    assert last(sibs, sibs, (one(6), one(7)), clutches=(0, 0, None)) == 1 / 4
    assert last(sibs, sibs, (one(6), one(7))) == 3 / 8


def test_crossbred_founders_are_drawn_from_both_breeds() -> None:
    mixed = ((ARAUCANA, 0.25), (SUSSEX, 0.75))
    assert last((mixed, mixed)) == pytest.approx(2 * 0.25 * 0.75)


def test_pure_backcrosses_lose_it_with_the_missing_share() -> None:
    family = pedigree(*FOUNDERS, F1, (one(6), one(4)), (one(7), one(5)), (one(8), one(4)))
    shares = np.array(list(recurrent_shares(family, "sussex").values()))
    crossed = heterozygosity_of(family)[3:]
    assert crossed.tolist() == (2 * (1 - shares[3:])).tolist()


def test_likeness_of_a_pair_is_what_its_chicks_have() -> None:
    parents = [*FOUNDERS, F1, (one(6), one(4)), (((6, 0.5), (7, 0.5)), one(5))]
    family = pedigree(*parents)
    likeness = breed_likeness(family, family.birds)
    for hen in range(6):
        for cock in range(6):
            chick = pedigree(*parents, (one(3 + cock), one(3 + hen)))
            assert 1 - likeness[hen, cock] == heterozygosity_of(chick)[-1]


def test_likeness_is_in_the_order_asked() -> None:
    family = pedigree(*FOUNDERS, F1)
    asked = breed_likeness(family, ["B3", "B0", "B1"])
    assert asked.tolist() == [[0.5, 0.5, 0.5], [0.5, 1.0, 0.0], [0.5, 0.0, 1.0]]
