"""Figures of hatching: Fasenko 2007, Poult Sci 86:1020; Sonaiya & Swan, FAO 2004; Damerow; Emery.

Read: abstract of Fasenko (storage beyond 7 days harms; setter, then hatcher); Sonaiya & Swan 2004,
Small-scale poultry production (21 days); pages of Damerow, Storey's Guide to Raising Chickens (14
hours of light for 4 to 6 weeks before eggs are collected); Emery, Encyclopedia of Country Living,
as reproduced (hatch of eggs set at home: 50 % poor, 70 average, 85 to 90 very good); village
flocks, Livestock Res Rural Dev 23:9 (45 to 86 %); two training texts (first candling at day 6 to
7, embryos surely seen on days 8 to 12). What lies within them is own arithmetic.
"""

from __future__ import annotations

import datetime as dt

import pytest

from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.season.dates import CANDLE_DAYS, CONDITION_DAYS, MOVE_DAYS
from matchmaker.season.lots import weeks_of
from matchmaker.season.shrinkage import PRIOR_EGGS, shrink
from matchmaker.settings import YearSettings

POOR, AVERAGE, VERY_GOOD = 0.50, 0.70, (0.85, 0.90)
VILLAGES = (0.45, 0.86)


def test_days_of_incubation() -> None:
    assert HATCH_DAYS == 21
    assert HATCH_DAYS - MOVE_DAYS == 3
    assert 6 <= CANDLE_DAYS <= 7
    assert 28 <= CONDITION_DAYS <= 42


@pytest.mark.parametrize("days", range(1, 40))
def test_no_egg_is_stored_for_more_than_seven_days(days: int) -> None:
    first = dt.date(2027, 2, 8)
    found = weeks_of(first, first + dt.timedelta(days=days - 1))
    assert max((week.set_on - week.first).days for week in found) <= 7
    assert sum((week.last - week.first).days + 1 for week in found) == days


def test_the_usual_figures_give_an_average_home_hatch() -> None:
    year = YearSettings()
    hatch = year.fertility * year.hatch_of_fertile
    assert POOR < hatch < VERY_GOOD[0]
    assert abs(hatch - AVERAGE) < 0.03


def test_what_other_flocks_reach_is_thought_possible() -> None:
    """Two SDs about the product of the two usual rates reach as far as villages and homes do."""
    year = YearSettings()
    rates = [shrink({}, taken).flock for taken in (year.fertility, year.hatch_of_fertile)]
    mean = rates[0].value * rates[1].value
    spread = mean * sum((one.spread / one.value) ** 2 for one in rates) ** 0.5
    assert mean - 2 * spread == pytest.approx((POOR + VILLAGES[0]) / 2, abs=0.03)
    assert mean + 2 * spread == pytest.approx((VILLAGES[1] + VERY_GOOD[1]) / 2, abs=0.03)
    assert pytest.approx(18) == PRIOR_EGGS
