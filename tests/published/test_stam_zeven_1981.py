"""Stam & Zeven 1981, Euphytica 30:227: the donor's piece around the gene that is moved.

The abstract was read: on a chromosome of 100 cM, 32 cM of the donor are left after six
backcrosses. That holds for a gene in the middle. The other generations and the carriers'
recurrent share in a genome of 31 equal chromosomes are our own arithmetic, from the formula of
Naveira & Barbadilla 1992 and Hospital 2001 (abstracts only).
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.loci.locus import Locus
from matchmaker.genetics.shares.segment import donor_segments, side_length
from matchmaker.genetics.shares.spread import carrier_shares
from tests.descent_helpers import backcross_chain
from tests.published.test_hill_1993 import EVEN

CHAIN = backcross_chain(6)
BIRDS = [f"X{at}" for at in range(1, 7)]
LENGTHS = (78.69, 63.21, 51.79, 43.23, 36.72, 31.67)
"""cM of the donor about a gene in the middle of 100 cM, by backcross."""

SHARES = (0.74487, 0.86811, 0.93036, 0.96200, 0.97823, 0.98667)
"""Recurrent share of carriers over 31 equal chromosomes, by backcross."""

PRINTED_LENGTH = 32
"""cM after six backcrosses, as the abstract has it."""

LOCUS = Locus(symbol="X", name="A gene whose chromosome nobody knows")


def test_32_centimorgans_after_six_backcrosses() -> None:
    found = donor_segments(CHAIN, ["X6"], LOCUS, "recurrent")["X6"]
    assert found.place.arms == (50.0, 50.0)
    assert round(found.length) == PRINTED_LENGTH


def test_every_backcross() -> None:
    found = donor_segments(CHAIN, BIRDS, LOCUS, "recurrent")
    assert tuple(round(found[bird].length, 2) for bird in BIRDS) == LENGTHS


def test_long_chromosome() -> None:
    """200 / t cM where the ends are far."""
    for backcrosses in range(1, 7):
        length = 2 * side_length(backcrosses, 2000.0)
        assert length == pytest.approx(200 / backcrosses, rel=1e-6)


def test_averaged_over_the_place_of_the_gene() -> None:
    """27.79 cM after six backcrosses if the gene may sit anywhere on 100 cM."""
    places = [(at + 0.5) / 10 for at in range(1000)]
    lengths = [side_length(6, place) + side_length(6, 100 - place) for place in places]
    assert sum(lengths) / len(lengths) == pytest.approx(27.79, abs=0.005)


def test_recurrent_share_of_carriers() -> None:
    arm = 3054 / 31 / 2
    found = carrier_shares(CHAIN, "recurrent", BIRDS, (arm, arm), EVEN)
    assert tuple(round(found[bird], 5) for bird in BIRDS) == SHARES
