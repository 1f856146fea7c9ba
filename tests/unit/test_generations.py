"""Generation numbers, the rate of inbreeding and the generation interval."""

from __future__ import annotations

import datetime as dt

import pytest

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin.generations import (
    generation_interval,
    generation_numbers,
    inbreeding_rate,
    inbreeding_since_founders,
)
from tests.descent_helpers import backcross_chain
from tests.descent_helpers import pedigree as flock


def full_sib_matings(generations: int) -> Pedigree:
    lines = ["C0 cock recurrent recurrent", "H0 hen recurrent recurrent"]
    for at in range(1, generations + 1):
        lines += [f"C{at} cock C{at - 1} H{at - 1}", f"H{at} hen C{at - 1} H{at - 1}"]
    return flock(*lines)


def test_founders_stand_at_0_and_their_chicks_at_1() -> None:
    found = generation_numbers(backcross_chain(1))
    assert [found[bird] for bird in ("R", "D", "X0", "X1")] == [0.0, 0.0, 1.0, 1.5]


def test_an_unwritten_parent_adds_nothing() -> None:
    pedigree = flock("A cock recurrent recurrent", "B hen A recurrent", "C cock recurrent B")
    assert generation_numbers(pedigree) == {"A": 0.0, "B": 0.5, "C": 0.75}


def test_uncertain_parents_count_by_their_chances() -> None:
    pedigree = flock(
        "A cock recurrent recurrent",
        "H hen recurrent recurrent",
        "B cock A H",
        "C hen A:0.75|B:0.25 H",
    )
    assert generation_numbers(pedigree)["C"] == 1.125


def test_as_by_counting_ancestors() -> None:
    """The sum of one half to the power n over all ancestors n generations back."""
    pedigree = full_sib_matings(3)
    ancestors = [2 * 0.5, 4 * 0.25, 8 * 0.125]
    assert generation_numbers(pedigree)["C3"] == sum(ancestors)


def test_inbreeding_rises_as_individual_rates_say() -> None:
    """F of a bird after t generations at its own rate is its own F again."""
    pedigree = full_sib_matings(5)
    inbreeding = inbreeding_since_founders(pedigree, ["C5"])["C5"]
    rate = inbreeding_rate(pedigree, ["C5"]).per_generation
    assert rate is not None
    assert 1 - (1 - rate) ** 4 == pytest.approx(inbreeding)


def test_full_sibs_for_long_lose_as_the_series_says() -> None:
    """Asymptotic rate (3 − √5) / 4 = .190983 (Falconer & Mackay 1996, from memory)."""
    rate = inbreeding_rate(full_sib_matings(30), ["C30"]).per_generation
    assert rate == pytest.approx((3 - 5**0.5) / 4, rel=0.01)


def test_no_inbreeding_yet_has_no_bound_on_the_size() -> None:
    pedigree = flock(
        *(
            f"{band} {sex} recurrent recurrent"
            for band, sex in zip("ABCD", ["cock", "hen"] * 2, strict=True)
        ),
        "E cock A B",
        "F hen C D",
        "G hen E F",
    )
    found = inbreeding_rate(pedigree, ["G"])
    assert found.per_generation == 0.0
    assert found.effective_size is None


def test_founders_and_their_chicks_tell_nothing_of_the_rate() -> None:
    found = inbreeding_rate(full_sib_matings(1), ["C0", "H0", "C1"])
    assert (found.per_generation, found.effective_size, found.birds) == (None, None, 0)


def test_effective_size_is_half_the_inverse_of_the_rate() -> None:
    found = inbreeding_rate(full_sib_matings(2), ["C2"])
    assert (found.per_generation, found.effective_size) == (0.25, 2.0)


def test_mean_inbreeding_by_generation() -> None:
    pedigree = full_sib_matings(3)
    rows = inbreeding_rate(pedigree, pedigree.birds).by_generation
    assert [(row.generation, row.birds, row.inbreeding) for row in rows] == [
        (0, 2, 0.0),
        (1, 2, 0.0),
        (2, 2, 0.25),
        (3, 2, 0.375),
    ]


def test_relatedness_of_founders_is_not_inbreeding_since() -> None:
    pedigree = Pedigree(
        pools=(Pool("sussex", "Hill"),),
        bases=((0.25,),),
        birds=("A", "B", "C", "D", "E"),
        sexes=(None,) * 5,
        sires=(((0, 1.0),), ((0, 1.0),), ((1, 1.0),), ((1, 1.0),), ((3, 1.0),)),
        dams=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),), ((2, 1.0),), ((4, 1.0),)),
    )
    assert inbreeding_since_founders(pedigree, ["A", "E"]) == {"A": 0.0, "E": 0.25}


DATES = {
    "A": dt.date(2022, 4, 1),
    "B": dt.date(2024, 4, 1),
    "H": dt.date(2025, 4, 1),
    "C": dt.date(2026, 4, 1),
}
TWO_SIRES = flock(
    "A cock recurrent recurrent",
    "B cock recurrent recurrent",
    "H hen recurrent recurrent",
    "C hen A:0.25|B:0.75 H",
)


def test_interval_weighs_the_parents_by_their_chances() -> None:
    found = generation_interval(TWO_SIRES, DATES, ["C"])
    assert found.sires == pytest.approx(0.25 * 4 + 0.75 * 2, abs=0.01)
    assert found.dams == pytest.approx(1, abs=0.01)
    assert found.years == pytest.approx(1.75, abs=0.01)


def test_parents_without_a_date_are_left_out() -> None:
    dates: dict[str, dt.date | None] = {**DATES, "A": None}
    found = generation_interval(TWO_SIRES, dates, ["C"])
    assert found.sires == pytest.approx(2, abs=0.01)


def test_one_sex_known_stands_for_both() -> None:
    dates = {band: date for band, date in DATES.items() if band in "HC"}
    found = generation_interval(TWO_SIRES, dates, ["C"])
    assert found.sires is None
    assert found.years == found.dams


def test_founders_have_no_interval() -> None:
    assert generation_interval(TWO_SIRES, DATES, ["A", "B"]).years is None


def test_a_bird_less_than_two_generations_deep_tells_nothing_of_the_rate() -> None:
    """A daughter of a founder dam, put back to her sire: deep enough to be inbred, not to rate."""
    pool = ((0, 1.0),)
    flock = Pedigree(
        pools=(Pool("sussex"),),
        bases=((0.0,),),
        birds=("S", "D", "B"),
        sexes=(None,) * 3,
        sires=(pool, ((1, 1.0),), ((1, 1.0),)),
        dams=(pool, pool, ((2, 1.0),)),
    )
    assert inbreeding_rate(flock, ["B"]).per_generation is None
