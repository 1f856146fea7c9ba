"""Forebears and kin as a keeper names them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.kin.forebears import parents, relation, roles
from matchmaker.tables.records import Sex
from tests.builders import bird, chick, cock, flock_of, hen
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from matchmaker.flock.flock import Flock

FAMILY = pedigree(
    "GC cock recurrent recurrent",
    "GH hen recurrent recurrent",
    "H2 hen recurrent recurrent",
    "S cock GC GH",
    "D hen GC H2",
    "X cock S D",
    "Y hen S D",
    "Z hen S H2",
    "K hen X Z",
    "W hen GC|S H2",
)


@pytest.mark.parametrize(
    ("other", "sex", "words"),
    [
        ("S", Sex.COCK, "sire"),
        ("D", Sex.HEN, "dam"),
        ("Y", Sex.HEN, "full sister"),
        ("Z", Sex.HEN, "half sister"),
        ("K", Sex.HEN, "daughter"),
        ("K", None, "chick"),
        ("GC", Sex.COCK, "sire's sire"),
        ("H2", Sex.HEN, "dam's dam"),
        ("W", Sex.HEN, ""),
    ],
)
def test_a_relative_is_named_by_what_it_is(other: str, sex: Sex | None, words: str) -> None:
    assert relation(FAMILY, "X", other, sex) == words


def test_one_of_two_sires_is_a_possible_sire() -> None:
    assert relation(FAMILY, "W", "S", Sex.COCK) == "possible sire"


def test_every_way_to_a_forebear_is_found_the_shortest_first() -> None:
    assert roles(FAMILY, "K")["S"] == (("sire", "sire"), ("dam", "sire"))
    assert roles(FAMILY, "K")["H2"] == (("dam", "dam"), ("sire", "dam", "dam"))


def test_ways_are_followed_some_generations_only() -> None:
    chain = ["C0 cock recurrent recurrent", *(f"C{n} cock C{n - 1} recurrent" for n in range(1, 9))]
    assert set(roles(pedigree(*chain), "C8")) == {"C7", "C6", "C5", "C4", "C3"}


def test_an_unlikely_parent_makes_no_way() -> None:
    flock = pedigree("A cock donor recurrent", "B cock donor recurrent", "X hen A:0.9|B:0.1 donor")
    assert set(roles(flock, "X")) == {"A"}


@pytest.fixture(scope="module")
def flock(tmp_path_factory: pytest.TempPathFactory) -> Flock:
    birds = (
        cock("C1"),
        cock("C2"),
        hen("H1"),
        hen("H2", sire="", dam="", source="Moorside"),
        chick("A", "cock", "C1", "H1", "Pure"),
        chick("B", "hen", "C1:0.7|C2:0.3", "H2", "Pure"),
        chick("U", "hen", "C1", "", "Pure"),
        bird("K", "hen", "Pure", sire="A", dam="B", hatched="2027-01-05"),
    )
    return flock_of(tmp_path_factory.mktemp("forebears"), birds)


def test_grandparents_stand_under_each_parent(flock: Flock) -> None:
    sire, dam = parents(flock, "K")
    assert (sire.candidates, dam.candidates) == ((("A", 1.0),), (("B", 1.0),))
    ((band, above),) = dam.above
    assert band == "B"
    assert above[0].candidates == (("C1", 0.7), ("C2", 0.3))


def test_each_likely_parent_has_its_own_parents(flock: Flock) -> None:
    assert [band for band, _ in parents(flock, "B")[0].above] == ["C1", "C2"]


def test_no_deeper_than_asked(flock: Flock) -> None:
    assert all(parent.above == () for parent in parents(flock, "K", depth=1))


def test_a_founder_is_written_or_assumed(flock: Flock) -> None:
    written, assumed = parents(flock, "H1")[0], parents(flock, "H2")[0]
    assert (written.breeds, written.source, written.assumed) == (("sussex",), "", False)
    assert (assumed.breeds, assumed.source, assumed.assumed) == (("sussex",), "Moorside", True)


def test_an_unwritten_parent_is_any_bird_then_alive(flock: Flock) -> None:
    dam = parents(flock, "U")[1]
    assert dam.assumed
    assert [band for band, _ in dam.candidates] == ["H1", "H2"]


def test_an_unknown_band_is_refused(flock: Flock) -> None:
    with pytest.raises(KeyError):
        parents(flock, "nobody")
