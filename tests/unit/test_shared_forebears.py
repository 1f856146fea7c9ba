"""Through whom a bird is inbred: parts that sum to its inbreeding, and where they stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths import Shared
from matchmaker.genetics.kin.shared_forebears import shared_forebears
from tests.cli.run import EXAMPLES_FOLDER
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

COUSINS = pedigree(
    "GC cock recurrent recurrent",
    "GH hen recurrent recurrent",
    "S1 cock GC GH",
    "S2 hen GC GH",
    "M1 hen recurrent recurrent",
    "M2 cock recurrent recurrent",
    "K1 cock S1 M1",
    "K2 hen M2 S2",
    "X cock K1 K2",
    "B hen K1 S2",
)


def parts(flock: Pedigree, bird: str) -> dict[str, float]:
    return {one.band: one.inbreeding for one in shared_forebears(flock, bird)}


def test_first_cousins_share_both_grandparents() -> None:
    """A sixteenth in all: a textbook value, common practice."""
    assert parts(COUSINS, "X") == {"GC": 1 / 32, "GH": 1 / 32}


def test_each_stands_where_the_shortest_ways_lead() -> None:
    ways = {one.band: one.ways for one in shared_forebears(COUSINS, "X")}
    assert ways["GH"] == (("sire", "sire", "dam"), ("dam", "dam", "dam"))


def test_a_parent_may_itself_be_the_forebear() -> None:
    flock = pedigree("S cock recurrent recurrent", "D hen S recurrent", "X hen S D")
    (one,) = shared_forebears(flock, "X")
    assert (one.band, one.inbreeding) == ("S", 0.25)
    assert one.ways == (("sire",), ("dam", "sire"))


def test_possible_parents_count_by_their_chances() -> None:
    flock = pedigree(
        "S cock recurrent recurrent",
        "T cock recurrent recurrent",
        "D hen S recurrent",
        "X hen S:0.6|T:0.4 D",
    )
    assert parts(flock, "X") == pytest.approx({"S": 0.15})


def test_founders_have_nothing_to_share() -> None:
    assert shared_forebears(COUSINS, "GC") == ()


@pytest.mark.parametrize("name", ["holm-fen", "skarn-farm"])
def test_the_parts_sum_to_the_inbreeding(name: str) -> None:
    flock = verbs.read(EXAMPLES_FOLDER / name)
    certain = [
        bird.band
        for bird in flock.birds
        if all(len(cell.candidates) == 1 for cell in (bird.record.sire, bird.record.dam))
    ]
    inbreeding = kinship_matrix(flock.pedigree, certain).inbreeding()
    for band in certain[::7]:
        found = shared_forebears(flock.pedigree, band)
        assert sum(one.inbreeding for one in found) == pytest.approx(inbreeding[band], abs=1e-12)
        assert all(one.band or one.shared is not Shared.BIRD for one in found)
