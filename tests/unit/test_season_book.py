"""Sets that stand in the book: every egg is counted once, and none whose cock is not certain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.report.season_rates import rate_remarks
from matchmaker.season.lots import shared_out
from tests.season_flocks import guide_of, small_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.setting import Reached
    from tests.builders import Row

TODAY = "2027-03-10"


def book(pen: str = "Orchard", **cells: str) -> Row:
    days = {"collected_from": "2027-02-08", "collected_to": "2027-02-14", "set_on": "2027-02-15"}
    return {"pen": pen, **days, **cells}


def stay(bird: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


def alder(guide: SeasonGuide) -> Reached:
    return next(one for one in guide.lines if one.goal.line == "Alder")


class TestPenWithTrapNests:
    """Two hens' eggs are told apart there, and the keeper wrote a set down for the pen."""

    def test_a_single_egg_is_not_lost(self, tmp_path: Path) -> None:
        found = guide_of(small_flock(tmp_path, today=TODAY, eggs=[book(eggs="1")]))
        assert found.doubtful == ()
        assert alder(found).done == 1

    def test_chicks_add_up_to_those_that_hatched(self, tmp_path: Path) -> None:
        row = book(eggs="7", fertile="3", hatched="1")
        until = "collect_until = 2027-03-01\n"
        found = guide_of(small_flock(tmp_path, today=TODAY, year=until, eggs=[row]))
        assert alder(found).done == 7
        brood = next(one for one in found.broods if one.line == "Alder")
        assert brood.eggs == 7
        assert brood.hatched == pytest.approx(1.0)
        assert sum(brood.wanted.values()) == pytest.approx(alder(found).expected)


def test_every_set_of_a_week_has_a_number_of_its_own(tmp_path: Path) -> None:
    rows = [book(set_on=f"2027-02-{day}", eggs="3") for day in range(15, 26)]
    found = guide_of(small_flock(tmp_path, today=TODAY, eggs=rows))
    done = [one.number for one in found.sets if one.done]
    assert done == ["1", *(f"1{letter}" for letter in "abcdefghij")]
    keys = [due.key for due in found.dates]
    assert len(keys) == len(set(keys))


class TestEggsOfTwoCocks:
    MOVES = (
        stay("SC", "Orchard", "2027-02-01"),
        stay("A1", "Orchard", "2027-02-01"),
        stay("A2", "Orchard", "2027-02-01"),
        stay("SD", "Yard", "2027-01-01"),
        stay("A1", "Yard", "2027-01-01", "2027-01-22"),
        stay("S1", "Yard", "2027-02-01"),
    )

    @pytest.mark.parametrize(("hen", "eggs", "counted"), [("A1", 7, 3), ("A2", 7, 7), ("", 14, 10)])
    def test_only_days_after_the_clean_out_count(
        self, tmp_path: Path, hen: str, eggs: int, counted: int
    ) -> None:
        row = book(hen=hen, eggs=str(eggs))
        found = guide_of(small_flock(tmp_path, today=TODAY, moves=[*self.MOVES], eggs=[row]))
        assert found.doubtful == ()
        assert alder(found).done == counted
        told = f"eggs.csv, row 2: about {eggs - counted} of the {eggs} eggs count for no line"
        assert (told in " ".join(rate_remarks(found))) is (counted < eggs)

    def test_so_do_the_chicks(self, tmp_path: Path) -> None:
        row = book(hen="A1", eggs="7", fertile="7", hatched="7")
        until = "collect_until = 2027-03-01\n"
        flock = small_flock(tmp_path, today=TODAY, year=until, moves=[*self.MOVES], eggs=[row])
        (brood,) = guide_of(flock).broods
        assert brood.hatched == pytest.approx(3.0)


class TestRooms:
    def test_eggs_of_nobody_s_certainty_take_room_too(self, tmp_path: Path) -> None:
        moves = [
            stay("SC", "Yard", "2027-02-01"),
            stay("A1", "Yard", "2027-02-01"),
            stay("SD", "Orchard", "2027-02-01"),
            stay("SC", "Orchard", "2027-02-01", "2027-02-26"),
            stay("S1", "Orchard", "2027-02-01"),
        ]
        row = book(eggs="12", hatched="10")
        year = "rearing_room = 12\n"
        flock = small_flock(tmp_path, today=TODAY, year=year, moves=moves, eggs=[row])
        found = guide_of(flock)
        assert found.doubtful == (2,)
        raised = sum(brood.raised for brood in found.broods)
        assert raised + 10 * found.rates.rearing.value <= 12 + 1e-9

    def test_a_pen_whose_doubtful_eggs_are_set_gives_none_of_that_week_again(
        self, tmp_path: Path
    ) -> None:
        moves = [
            stay("SC", "Orchard", "2027-02-01"),
            stay("A1", "Orchard", "2027-02-01"),
            stay("S2", "Orchard", "2027-02-01"),
            stay("SD", "Yard", "2027-01-01"),
            stay("A1", "Yard", "2027-01-01", "2027-01-27"),
        ]
        row = book(hen="A1", eggs="4")
        found = guide_of(small_flock(tmp_path, today="2027-02-15", moves=moves, eggs=[row]))
        assert found.doubtful == (2,)
        assert not [one for one in found.sets if not one.done and str(one.set_on) == "2027-02-15"]

    def test_fertile_eggs_are_not_doubted_again(self, tmp_path: Path) -> None:
        row = book(eggs="12", fertile="10")
        year = "rearing_room = 11\nfertility = 0.5\n"
        found = guide_of(small_flock(tmp_path, today=TODAY, year=year, eggs=[row]))
        raised = sum(brood.raised for brood in found.broods)
        assert 9 < raised <= 11 + 1e-9


def test_what_is_shared_out_adds_up() -> None:
    for whole in range(12):
        for parts in ([1.0], [1.0, 1.0, 1.0], [0.2, 0.7, 3.1], [5.0, 0.0]):
            found = shared_out(whole, parts)
            assert sum(found) == whole
            assert all(
                abs(one - whole * part / sum(parts)) < 1
                for one, part in zip(found, parts, strict=True)
            )
