"""Heritabilities, repeatabilities and inbreeding depression of laying hens, as defaults.

Egg number: Iranian native fowl (two studies, 0.40 and 0.22), Venturini et al. 2012 (0.04 to 0.14
by periods of three weeks), three layer lines 2018 (0.08 to 0.10 for the whole lay, above 0.35 for
its first two months). Egg weight: the same native fowl (0.64, 0.57), three Leghorn strains (0.48,
repeatability 0.74), Wolc et al. 2012 (0.74), a study of egg and yolk weight (0.50). Shell colour:
Guo et al. 2020 (light 0.65, red 0.42, yellow 0.60). Shell quality: three Leghorn strains (0.36).
Age at first egg and body weight at 12 weeks: native fowl (0.49, 0.47; 0.68, 0.53), weight at 12 to
16 weeks 0.45 elsewhere. Fertility 0.13 to 0.15, hatch of fertile eggs 0.27 to 0.30: Cavero et al.
2011. Hatch as a trait of the hen 0.087, lasting surroundings 0.221: Rozempolska-Rucinska et al.
2013. Depression for every 10 % of inbreeding: hatch −6 to −7 %, laying −3 %, shell quality, body
weight and egg weight about −1 % (White Leghorns 1991); 3 days later in a native fowl.
"""

from __future__ import annotations

from statistics import fmean, median

import pytest

from matchmaker.genetics.traits.published import published_traits
from matchmaker.settings import YearSettings

READ: dict[str, tuple[float, ...]] = {
    "egg number": (0.40, 0.22, fmean((0.04, 0.14)), fmean((0.08, 0.10)), 0.35),
    "egg weight": (0.64, 0.57, 0.48, 0.74, 0.50),
    "age at first egg": (0.49, 0.47),
    "body weight": (0.68, 0.53, 0.45),
    "shell colour": (0.65, 0.42, 0.60),
    "shell quality": (0.36,),
    "fertility": (0.13, 0.15),
    "hatch of fertile": (0.27, 0.30, 0.087),
}
"""Heritabilities as printed; of a range its middle, of "above 0.35" that figure."""


@pytest.mark.parametrize("trait", READ)
def test_the_default_is_the_middle_of_the_values_read(trait: str) -> None:
    assert published_traits()[trait].h2 == pytest.approx(median(READ[trait]), abs=0.005)


@pytest.mark.parametrize("trait", sorted(READ.keys() - {"egg number"}))
def test_the_range_shown_is_the_range_read(trait: str) -> None:
    found = published_traits()[trait]
    assert found.lowest == pytest.approx(min(READ[trait]), abs=0.005)
    assert found.highest == pytest.approx(max(READ[trait]), abs=0.005)


def test_the_range_of_egg_number_holds_its_shortest_counts() -> None:
    found = published_traits()["egg number"]
    assert (found.lowest, found.highest) == (0.04, 0.40)


def test_no_default_for_breast_measures_is_above_the_one_value_read() -> None:
    assert published_traits()["breast and shank measures"].h2 < 0.72


def test_repeatabilities_read() -> None:
    assert published_traits()["egg weight"].repeatability == 0.74
    hatch = published_traits()["hatch of fertile"]
    assert hatch.repeatability - hatch.h2 == pytest.approx(0.221, abs=0.005)


def test_a_repeatability_that_was_not_read_is_the_heritability_and_a_fifth() -> None:
    """What lasts in a bird and is not passed on is taken as 0.20: own choice, and said so."""
    unread = [one for one in published_traits().values() if "0.20" in one.repeatability_how]
    assert len(unread) == 9
    assert all(one.repeatability == pytest.approx(one.h2 + 0.20) for one in unread)


@pytest.mark.parametrize(
    ("trait", "percent"),
    [("egg number", -3), ("egg weight", -1), ("body weight", -1), ("shell quality", -1)],
)
def test_depression_read(trait: str, percent: float) -> None:
    assert published_traits()[trait].depression_percent == percent


def test_age_at_first_egg_rises_by_three_days() -> None:
    """In per cent of 165 days, a mean from memory."""
    percent = published_traits()["age at first egg"].depression_percent
    assert percent / 100 * 165 == pytest.approx(3, abs=0.05)


def test_hatch_falls_among_the_chicks_raised_and_not_twice() -> None:
    assert 0.6 <= YearSettings().depression <= 0.7
    assert published_traits()["hatch of fertile"].depression_percent == 0
