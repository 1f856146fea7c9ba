"""The donor's piece around its allele."""

from __future__ import annotations

from math import exp

import pytest

from matchmaker.genetics.loci.locus import Locus
from matchmaker.genetics.shares.genome_map import chicken_map
from matchmaker.genetics.shares.segment import (
    DonorSegment,
    GenePlace,
    donor_segment,
    donor_segments,
    place_of,
    side_length,
)
from tests.descent_helpers import backcross_chain
from tests.descent_helpers import pedigree as flock

PLAIN = Locus(symbol="X", name="X")
ON_Z = Locus(symbol="S", name="S", z_linked=True)
TESTED = (0.0, 1.0, 0.0)
"""Copies of a bird that a laboratory found to have one."""


def meioses(bird: str, *lines: str, locus: Locus = PLAIN) -> tuple[float, ...]:
    found = donor_segment(flock(*lines), bird, locus, "recurrent")
    assert found is not None
    return found.meioses


def test_only_crosses_with_the_recurrent_breed_cut() -> None:
    found = donor_segments(backcross_chain(3), ["D", "X0", "X1", "X3"], PLAIN, "recurrent")
    counts = {bird: piece.meioses for bird, piece in found.items()}
    assert counts == {"D": (1.0,), "X0": (1.0,), "X1": (0.0, 1.0), "X3": (0.0, 0.0, 0.0, 1.0)}


def test_a_bird_that_cannot_carry_has_no_piece() -> None:
    assert "R" not in donor_segments(backcross_chain(1), ["R", "X1"], PLAIN, "recurrent")


def test_carrying_is_the_chance_by_pedigree() -> None:
    found = donor_segments(backcross_chain(2), ["X0", "X1", "X2"], PLAIN, "recurrent")
    assert [piece.carrying for piece in found.values()] == [1.0, 0.5, 0.25]


def test_a_cross_of_two_first_crosses() -> None:
    """A copy of a chick of two first crosses has one meiosis behind it, whichever side it is."""
    rows = ["R cock recurrent recurrent", "D hen donor donor", "F cock R D", "G hen R D"]
    assert meioses("I", *rows, "I cock F G") == (0.0, 1.0)


def test_a_meiosis_between_two_donor_strands_cuts_nothing() -> None:
    """The second-generation cock has two copies with 1/3 of the chance that he gives one."""
    rows = [
        "R cock recurrent recurrent",
        "D hen donor donor",
        "F cock R D",
        "G hen R D",
        "I cock F G",
        "H hen recurrent recurrent",
        "K hen I H",
    ]
    assert meioses("K", *rows) == pytest.approx((0.0, 0.5, 0.5))


def test_a_tested_parent_counts_as_tested() -> None:
    rows = flock(
        "R cock recurrent recurrent",
        "D hen donor donor",
        "F cock R D",
        "G hen R D",
        "I cock F G",
        "H hen recurrent recurrent",
        "K hen I H",
    )
    one = donor_segment(rows, "K", PLAIN, "recurrent", {"I": TESTED})
    two = donor_segment(rows, "K", PLAIN, "recurrent", {"I": (0.0, 0.0, 1.0)})
    assert one is not None
    assert two is not None
    assert (one.meioses, two.meioses) == ((0.0, 0.0, 1.0), (0.0, 1.0))
    assert (one.carrying, two.carrying) == (0.5, 1.0)


def test_a_parent_found_free_of_it_cannot_have_given_it() -> None:
    """Of a first cross and a second backcross, one tested free, the other gave it."""
    rows = flock(
        "R cock recurrent recurrent",
        "D hen donor donor",
        "F cock R D",
        "B hen F D",
        "C cock R B",
        "H hen recurrent recurrent",
        "X hen F|C H",
    )
    free = (1.0, 0.0, 0.0)
    plain = donor_segment(rows, "X", PLAIN, "recurrent")
    without = donor_segment(rows, "X", PLAIN, "recurrent", {"C": free})
    assert plain is not None
    assert without is not None
    assert without.meioses == (0.0, 1.0)
    assert plain.mean_meioses > 1


def test_a_bird_tested_free_has_no_piece() -> None:
    found = donor_segment(backcross_chain(1), "X1", PLAIN, "recurrent", {"X1": (1.0, 0.0, 0.0)})
    assert found is None


def test_copies_that_the_donor_cannot_have_brought_drag_nothing() -> None:
    found = donor_segment(backcross_chain(1), "R", PLAIN, "recurrent", {"R": TESTED})
    assert found is None


def test_one_copy_more_than_the_donor_can_have_brought() -> None:
    """Two copies in a first cross: one must be the recurrent's own, the other is followed."""
    copies = {"X0": (0.0, 0.0, 1.0)}
    found = donor_segment(backcross_chain(1), "X1", PLAIN, "recurrent", copies)
    assert found is not None
    assert found.meioses == (0.0, 1.0)


def test_a_donor_with_the_allele_on_one_strand_is_of_its_breed_on_both() -> None:
    locus = Locus(symbol="X", name="X", donor_frequency=0.5)
    found = donor_segments(backcross_chain(1), ["D", "X0", "X1"], locus, "recurrent")
    assert [piece.meioses for piece in found.values()] == [(1.0,), (1.0,), (0.0, 1.0)]
    assert [piece.carrying for piece in found.values()] == [0.75, 0.5, 0.25]


def test_the_allele_of_the_recurrent_breed_itself_is_not_followed() -> None:
    locus = Locus(symbol="X", name="X", frequency={"recurrent": 0.5})
    found = donor_segment(backcross_chain(1), "R", locus, "recurrent")
    assert found is None


def test_a_hens_meiosis_cuts_nothing_on_the_z() -> None:
    rows = [
        "D cock donor donor",
        "R hen recurrent recurrent",
        "S cock recurrent recurrent",
        "F cock D R",
        "A hen F R",
        "B cock S A",
    ]
    assert meioses("A", *rows, locus=ON_Z) == (0.0, 1.0)
    assert meioses("B", *rows, locus=ON_Z) == (0.0, 1.0)


def test_a_daughter_has_nothing_of_her_dams_z() -> None:
    rows = flock("D hen donor donor", "R cock recurrent recurrent", "A hen R D", "B cock R D")
    found = donor_segments(rows, ["A", "B"], ON_Z, "recurrent")
    assert list(found) == ["B"]
    assert found["B"].carrying == 1.0


def test_an_unsexed_chick_is_half_of_each_on_the_z() -> None:
    rows = flock("D hen donor donor", "R cock recurrent recurrent", "X ? R D")
    found = donor_segment(rows, "X", ON_Z, "recurrent")
    assert found is not None
    assert found.carrying == 0.5


def test_a_tested_hen_hands_on_her_z() -> None:
    rows = flock(
        "D cock donor donor",
        "R hen recurrent recurrent",
        "S cock recurrent recurrent",
        "F cock D R",
        "A hen F R",
        "B cock S A",
    )
    found = donor_segment(rows, "B", ON_Z, "recurrent", {"A": TESTED})
    assert found is not None
    assert (found.carrying, found.meioses) == (1.0, (0.0, 1.0))


def test_length_is_averaged_over_the_meioses() -> None:
    place = GenePlace("", (50.0, 20.0))
    piece = DonorSegment(place=place, meioses=(0.25, 0.0, 0.75), carrying=1.0)
    first = 0.25 * 50 + 0.75 * 50 * (1 - exp(-1.0))
    second = 0.25 * 20 + 0.75 * 50 * (1 - exp(-0.4))
    assert piece.sides == pytest.approx((first, second))
    assert piece.length == pytest.approx(first + second)
    assert piece.mean_meioses == 1.5


def test_sides_shrink_with_every_meiosis() -> None:
    lengths = [side_length(count, 80.0) for count in range(10)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[0] == 80.0


def test_a_gene_on_a_known_chromosome_sits_in_its_middle() -> None:
    arm = chicken_map().lengths["1"] / 2
    assert place_of(Locus(symbol="X", name="X", chromosome="1")) == GenePlace("1", (arm, arm))


def test_an_unknown_chromosome_is_one_morgan_long() -> None:
    assert place_of(Locus(symbol="X", name="X", chromosome="99")) == GenePlace("", (50.0, 50.0))
