"""Eggs and chicks that make a number of one class sure: Sedcole 1977, Crop Sci 17:667, from memory.

Sedcole's table was not at hand: its numbers are the exact binomial ones, worked out apart from this
project, as are those for a carrier mated to a bird without the allele, where one egg in four that
hatches is a female carrier.
"""

from __future__ import annotations

import pytest

from matchmaker.season.reaching import Tally, survival
from tests.season_flocks import eggs_for

SURE = survival(1.0, 0.0)

SEDCOLE = {
    1 / 2: ((5, 7), (8, 11), (11, 14), (13, 17), (16, 19), (18, 22)),
    1 / 4: ((11, 17), (18, 24), (23, 31), (29, 37), (34, 43), (40, 49)),
    1 / 8: ((23, 35), (37, 51), (49, 64), (60, 77), (71, 89), (82, 101)),
    1 / 16: ((47, 72), (75, 104), (99, 132), (122, 158), (144, 182), (166, 206)),
}
"""Chicks for at least 1 to 6 of a class, with 95 and with 99 %."""

MORE = {1 / 2: ((8, 23, 27), (10, 28, 33), (15, 40, 45)), 1 / 8: ((10, 123, 146), (15, 172, 198))}
"""(How many, chicks with 95 %, with 99 %)."""

FEMALE_CARRIERS = {
    (0.90, 0.80): (16, 24, 41),
    (0.85, 0.75): (18, 27, 47),
    (0.80, 0.70): (20, 31, 53),
    (0.95, 0.90): (13, 20, 34),
}
"""By fertility and hatch of fertile: eggs for one at 95 and 99 %, for four at 95 %."""


@pytest.mark.parametrize("chance", SEDCOLE)
def test_chicks_for_at_least_so_many_of_a_class(chance: float) -> None:
    for wanted, printed in enumerate(SEDCOLE[chance], start=1):
        assert tuple(eggs_for(wanted, sure, chance, SURE) for sure in (0.95, 0.99)) == printed
    for wanted, *more in MORE.get(chance, ()):
        assert [eggs_for(wanted, sure, chance, SURE) for sure in (0.95, 0.99)] == more


def test_rarer_classes() -> None:
    assert [eggs_for(1, sure, 1 / 32, SURE) for sure in (0.95, 0.99)] == [95, 146]
    assert [eggs_for(1, sure, 1 / 64, SURE) for sure in (0.95, 0.99)] == [191, 293]


@pytest.mark.parametrize("rates", FEMALE_CARRIERS)
def test_eggs_for_female_carriers(rates: tuple[float, float]) -> None:
    shared = survival(rates[0] * rates[1], 0.0)
    asked = ((1, 0.95), (1, 0.99), (4, 0.95))
    assert (
        tuple(eggs_for(wanted, sure, 0.25, shared) for wanted, sure in asked)
        == FEMALE_CARRIERS[rates]
    )


def test_a_gene_on_the_z_of_the_hen_never_gives_a_daughter_that_carries() -> None:
    tally = Tally(1, survival(0.72, 0.0))
    for _ in range(1000):
        tally.add(0.0)
    assert (tally.eggs, tally.chance) == (1000, 0.0)
