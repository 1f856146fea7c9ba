"""How far true shares stray from the expected one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given

from matchmaker.genetics.shares import two_locus
from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.genetics.shares.spread import (
    ShareRange,
    carrier_shares,
    share_ranges,
    share_spread,
    z_share_ranges,
)
from tests.descent_helpers import backcross_chain
from tests.descent_helpers import pedigree as flock
from tests.strategies import Shape, pedigrees

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

ONE_MORGAN = GenomeMap(lengths={"1": 100.0, "Z": 100.0})


def test_pure_birds_and_first_crosses_do_not_vary() -> None:
    found = share_spread(backcross_chain(0), "recurrent", ["R", "D", "X0"])
    assert found == {"R": 0.0, "D": 0.0, "X0": 0.0}


def test_the_donors_share_varies_as_the_recurrents() -> None:
    pedigree = backcross_chain(3)
    ours = share_spread(pedigree, "recurrent", pedigree.birds)
    theirs = share_spread(pedigree, "donor", pedigree.birds)
    assert ours == pytest.approx(theirs, abs=1e-8)


def test_one_long_genome_varies_less_than_a_short_one() -> None:
    pedigree = backcross_chain(1)
    long, short = (
        share_spread(pedigree, "donor", ["X1"], GenomeMap(lengths={"1": length}))["X1"]
        for length in (300.0, 50.0)
    )
    assert long < short


def test_not_knowing_the_sire_adds_to_the_spread() -> None:
    """Of a pure or a donor cock, equally likely: ± 25 per cent from that alone."""
    pedigree = flock(
        "R cock recurrent recurrent",
        "D cock donor donor",
        "H hen recurrent recurrent",
        "X hen R|D H",
    )
    found = share_ranges(pedigree, "recurrent", ["X"])["X"]
    assert (found.share, found.deviation) == pytest.approx((0.75, 0.25))


def test_a_clutch_shares_its_doubt() -> None:
    """Two chicks sired apart even out; two of one clutch do not, and no more does their chick."""
    birds = ["R cock recurrent recurrent", "D cock donor donor", "H hen recurrent recurrent"]
    chick = "Y hen X1 X2"
    apart = flock(*birds, "X1 cock R|D H", "X2 hen R|D H", chick)
    clutch = flock(*birds, "X1 cock R|D H 1", "X2 hen R|D H 1", chick)
    spread = [share_spread(one, "donor", ["Y"], ONE_MORGAN)["Y"] for one in (apart, clutch)]
    assert spread[0] < spread[1]


def test_a_crossbred_founder_is_as_uneven_as_a_cross_of_first_crosses() -> None:
    """Each side as a gamete of a first cross, which is what a backcross has on one side."""
    found = share_spread(flock("A cock donor|recurrent donor|recurrent"), "donor", ["A"])["A"]
    backcross = share_spread(backcross_chain(1), "donor", ["X1"])["X1"]
    assert found == pytest.approx(2**0.5 * backcross)


def test_range_is_two_deviations_and_cut_at_the_ends() -> None:
    plain, high = ShareRange(0.75, 0.03), ShareRange(0.99, 0.01)
    assert (plain.low, plain.high) == pytest.approx((0.6912, 0.8088), abs=1e-4)
    assert high.high == 1.0
    assert ShareRange(0.01, 0.01).low == 0.0


def test_a_daughter_of_a_donor_cock_has_his_z_alone() -> None:
    pedigree = flock("D cock donor donor", "R hen recurrent recurrent", "A hen D R", "B cock D R")
    found = z_share_ranges(pedigree, "donor", ["A", "B"])
    assert found == {"A": ShareRange(1.0, 0.0), "B": ShareRange(0.5, 0.0)}


def test_a_hen_hands_her_z_on_whole() -> None:
    """A son has his dam's Z as it was: its spread halves, since he has another."""
    pedigree = flock(
        "D cock donor donor",
        "H hen recurrent recurrent",
        "F cock D H",
        "A hen F H",
        "R cock recurrent recurrent",
        "B cock R A",
    )
    found = z_share_ranges(pedigree, "donor", ["A", "B"], ONE_MORGAN)
    assert found["B"].deviation == pytest.approx(found["A"].deviation / 2)
    assert found["B"].share == found["A"].share / 2 == 0.25


def test_an_unsexed_chick_is_half_of_each_on_the_z() -> None:
    pedigree = flock("D cock donor donor", "R hen recurrent recurrent", "X ? D R")
    found = z_share_ranges(pedigree, "donor", ["X"])["X"]
    assert (found.share, found.deviation) == pytest.approx((0.75, 0.25))


def test_carriers_keep_more_of_the_donor() -> None:
    pedigree = backcross_chain(3)
    plain = recurrent_shares(pedigree, "recurrent")
    found = carrier_shares(pedigree, "recurrent", ["X1", "X2", "X3"], (50.0, 50.0))
    assert all(found[bird] < plain[bird] for bird in found)


def test_a_bird_without_donor_cannot_carry() -> None:
    assert carrier_shares(backcross_chain(1), "recurrent", ["R"], (50.0, 50.0)) == {"R": 1.0}


def test_tables_too_large_are_done_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    pedigree = backcross_chain(6)
    whole = share_spread(pedigree, "donor", pedigree.birds)
    monkeypatch.setattr(two_locus, "BLOCK_BYTES", 1)
    assert share_spread(pedigree, "donor", pedigree.birds) == whole


def test_nobody_is_nobody() -> None:
    assert share_spread(backcross_chain(1), "donor", []) == {}


@given(pedigrees(Shape(birds=12, founders=4)))
def test_shares_are_those_of_the_pedigree_and_spread_stays_possible(pedigree: Pedigree) -> None:
    """A share p varies by no more than one that is all or nothing: p (1 − p)."""
    expected = recurrent_shares(pedigree, "sussex")
    for bird, found in share_ranges(pedigree, "sussex", pedigree.birds).items():
        assert found.share == pytest.approx(expected[bird], abs=1e-12)
        assert found.deviation**2 <= found.share * (1 - found.share) + 1e-12


@given(pedigrees(Shape(birds=12, founders=4)))
def test_descendants_change_nothing(pedigree: Pedigree) -> None:
    alone = share_spread(pedigree, "sussex", pedigree.birds[:6])
    among = share_spread(pedigree, "sussex", pedigree.birds)
    assert alone == pytest.approx({bird: among[bird] for bird in alone}, abs=1e-7)
