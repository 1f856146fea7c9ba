"""A whole season of a small flock: whose pens, from when on eggs count, weeks, what is set."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import pytest

from matchmaker import verbs
from matchmaker.errors import NoPlanError
from matchmaker.report.days import day_text
from matchmaker.report.season_dates import due_words
from matchmaker.season.dates import Task, late_limits, untold
from matchmaker.season.lots import Laid
from matchmaker.season.standing import Source
from matchmaker.season.surplus import surpluses
from matchmaker.tables.records import Sex
from tests.season_flocks import guide_of, small_flock

if TYPE_CHECKING:
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.lots import Lot
    from tests.builders import Row

TARN_CROFT = Path(__file__).parents[2] / "examples" / "tarn-croft"


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def stay(bird: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


def tasks(guide: SeasonGuide, task: Task) -> list[dt.date]:
    return [due.day for due in guide.dates if due.task is task]


@pytest.fixture(scope="module")
def guide(tmp_path_factory: pytest.TempPathFactory) -> SeasonGuide:
    return guide_of(small_flock(tmp_path_factory.mktemp("guide")))


class TestPens:
    def test_a_written_plan_of_this_season_is_taken(self, guide: SeasonGuide) -> None:
        assert guide.pens.source is Source.PLAN
        assert guide.pens.hens == ("A1", "A2", "S1", "S2", "S3")

    def test_a_plan_with_a_bird_that_left_is_not(self, tmp_path: Path) -> None:
        folder = small_flock(tmp_path)
        text = (folder / "birds.csv").read_text(encoding="utf-8")
        lines = [
            f"{line}," if not line.startswith(("bird", "S1")) else
            f"{line},status" if line.startswith("bird") else f"{line},sold"
            for line in text.splitlines()
        ]  # fmt: skip
        (folder / "birds.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        found = guide_of(folder)
        assert found.pens.source is Source.BEST
        assert found.pens.not_the_plan == "S1 (row 4) is sold"

    def test_a_plan_of_pairs_that_no_row_takes_is_not(self, tmp_path: Path) -> None:
        plan: list[Row] = [{"pen": "Yard", "line": "Pure", "cock": "SD", "hen": "A1"}]
        settings = (
            '[[matings]]\nname = "pure"\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\n'
            'purpose = "hold"\n'
        )
        found = guide_of(small_flock(tmp_path, settings=settings, plan=plan))
        assert found.pens.source is Source.BEST
        assert "no row of matings that is open this season takes A1 with SD" in (
            found.pens.not_the_plan
        )

    def test_without_a_plan_the_best_is_made(self, tmp_path: Path) -> None:
        found = guide_of(small_flock(tmp_path, plan=[]))
        assert found.pens.source is Source.BEST
        assert found.pens.not_the_plan == ""
        assert found.rows

    def test_without_any_pair_there_is_no_season(self, tmp_path: Path) -> None:
        folder = small_flock(tmp_path, plan=[], settings="[limits]\nage_min_days = 2000\n")
        with pytest.raises(NoPlanError):
            guide_of(folder)

    def test_moves_of_this_season_go_before_the_plan(self, tmp_path: Path) -> None:
        moves = [stay(bird, "Yard", "2027-02-10") for bird in ("SC", "A1")]
        found = guide_of(small_flock(tmp_path, moves=moves))
        assert found.pens.source is Source.MOVES
        assert {lot.hens for lot, _ in found.rows} == {("A1",)}
        assert tasks(found, Task.PEN_UP) == [day("2027-02-10")]
        assert found.weeks[0].first == day("2027-02-08")
        first = min(lot.week.number for lot, _ in found.rows)
        assert first == 2


class TestTurns:
    PENS: ClassVar[list[Row]] = [
        {"pen": "Orchard", "hens_max": "4", "dam_known": "yes", "until": "2027-03-14"},
        {"pen": "Orchard", "hens_max": "4", "dam_known": "yes", "from": "2027-03-15"},
        {"pen": "Yard", "hens_max": "4", "dam_known": "no"},
    ]

    def test_cocks_that_follow_each_other_have_their_own_eggs(self, tmp_path: Path) -> None:
        found = guide_of(small_flock(tmp_path, plan=[], pens=self.PENS))
        spans = {(stay.first, stay.last) for stay in found.pens.stays if stay.pen == "Orchard"}
        assert spans <= {
            (day("2027-02-01"), day("2027-03-14")),
            (day("2027-03-15"), day("2027-04-19")),
        }
        for one in found.safe:
            clock = found.pens.diary.clock(one.hens[0])
            assert one.since is not None
            assert clock.sires(one.since) == (one.cock,)

    def test_a_hen_who_stays_has_safe_eggs_of_the_cock_who_follows(self, tmp_path: Path) -> None:
        moves = [
            stay("SC", "Orchard", "2027-02-01", "2027-03-20"),
            stay("SD", "Orchard", "2027-04-02"),
            stay("A1", "Orchard", "2027-02-01"),
            stay("A2", "Orchard", "2027-02-01", "2027-03-25"),
        ]
        guide = guide_of(small_flock(tmp_path, moves=moves))
        assert {(one.cock, one.hens): one.since for one in guide.safe} == {
            ("SC", ("A1", "A2")): day("2027-02-08"),
            ("SD", ("A1",)): day("2027-04-10"),  # 21 days after the other cock, SC, left
        }
        assert {(pair.hen, pair.cock) for pair in guide.pens.pairs} == {
            ("A1", "SC"),
            ("A2", "SC"),
            ("A1", "SD"),
        }

    def test_of_a_written_plan_the_first_turn_is_meant(self, tmp_path: Path) -> None:
        found = guide_of(small_flock(tmp_path, pens=self.PENS))
        assert found.pens.source is Source.PLAN
        (last,) = {stay.last for stay in found.pens.stays if stay.pen == "Orchard"}
        assert last == day("2027-03-14")
        weeks = [lot.week for lot in _lots(found) if lot.pen == "Orchard"]
        assert max(week.first for week in weeks) == day("2027-03-08")


def _lots(guide: SeasonGuide) -> tuple[Lot, ...]:
    return Laid(pens=guide.pens, rates=guide.rates).lots


class TestSafeEggs:
    def test_a_pen_is_safe_a_week_after_it_is_made_up(self, guide: SeasonGuide) -> None:
        assert {(one.pen, one.since) for one in guide.safe} == {
            ("Orchard", day("2027-02-08")),
            ("Yard", day("2027-02-08")),
        }
        assert tasks(guide, Task.SAFE) == [day("2027-02-08")]

    def test_a_hen_that_was_with_another_cock_waits(self, tmp_path: Path) -> None:
        moves = [stay(bird, "Orchard", "2027-01-01", "2027-01-29") for bird in ("SD", "A1")]
        found = guide_of(small_flock(tmp_path, moves=moves))
        by_hen = {hen: one for one in found.safe for hen in one.hens}
        assert found.pens.source is Source.PLAN
        assert by_hen["A1"].since == day("2027-02-19")
        assert by_hen["A1"].waits_for == (("A1", "SD", day("2027-01-29")),)
        assert by_hen["A2"].since == day("2027-02-08")

    def test_where_eggs_are_not_told_apart_all_wait_for_her(self, tmp_path: Path) -> None:
        moves = [stay(bird, "Orchard", "2027-01-01", "2027-01-29") for bird in ("SD", "A1")]
        found = guide_of(small_flock(tmp_path, told="no", moves=moves))
        by_hen = {hen: one for one in found.safe for hen in one.hens}
        assert by_hen["A2"].since == day("2027-02-19")
        assert by_hen["A2"].waits_for == (("A1", "SD", day("2027-01-29")),)

    def test_two_cocks_in_a_pen_make_no_egg_safe(self, tmp_path: Path) -> None:
        moves = [stay(bird, "Yard", "2027-02-01") for bird in ("SC", "SD", "A1")]
        found = guide_of(small_flock(tmp_path, moves=moves))
        assert [one.since for one in found.safe] == [None, None]
        assert found.rows == ()
        assert all(one.eggs == 0 for one in found.lines)


class TestWeeks:
    def test_no_egg_is_stored_for_more_than_a_week(self, guide: SeasonGuide) -> None:
        for week in guide.weeks:
            assert (week.set_on - week.first).days <= 7
        ends = [week.last + dt.timedelta(days=1) for week in guide.weeks[:-1]]
        assert ends == [week.first for week in guide.weeks[1:]]

    def test_hens_lay_no_more_than_they_can(self, guide: SeasonGuide) -> None:
        lots = [lot for lot, _ in guide.rows]
        whole = {week.number: 0.0 for week in guide.weeks}
        for lot in lots:
            whole[lot.week.number] += sum(one.eggs for one in lot.portions)
        lay = guide.rates.lay.value
        assert all(eggs <= 5 * lay + 1e-9 for eggs in whole.values())

    def test_eggs_are_counted_by_hen_only_where_they_are_told_apart(
        self, guide: SeasonGuide
    ) -> None:
        assert {(lot.pen, lot.hen) for lot, _ in guide.rows} == {
            ("Orchard", "A1"),
            ("Orchard", "A2"),
            ("Yard", ""),
        }

    def test_a_cock_of_low_fertility_takes_more_eggs(
        self, guide: SeasonGuide, tmp_path: Path
    ) -> None:
        folder = small_flock(tmp_path)
        text = (folder / "birds.csv").read_text(encoding="utf-8").splitlines()
        text = [
            f"{text[0]},fertility",
            *(f"{x},{'0.5' if x[:2] == 'SC' else ''}" for x in text[1:]),
        ]
        (folder / "birds.csv").write_text("\n".join(text) + "\n", encoding="utf-8")
        poor = {one.goal.line: one for one in guide_of(folder).lines}
        usual = {one.goal.line: one for one in guide.lines}
        assert poor["Alder"].eggs > usual["Alder"].eggs
        assert poor["Pure"].eggs == usual["Pure"].eggs


class TestDates:
    def test_a_set_goes_through_its_21_days(self, guide: SeasonGuide) -> None:
        first = guide.sets[0]
        assert first.set_on == day("2027-02-15")
        assert tasks(guide, Task.CANDLE)[0] == day("2027-02-22")
        assert tasks(guide, Task.MOVE)[0] == day("2027-03-05")
        assert tasks(guide, Task.HATCH)[0] == day("2027-03-08") == first.hatches
        assert tasks(guide, Task.GRADE)[0] == day("2027-05-03")

    def test_blue_shells_are_read_in_pullets_and_tested_in_cocks(self, guide: SeasonGuide) -> None:
        (read,) = [due for due in guide.dates if due.task is Task.READ]
        assert read.day == guide.sets[0].hatches + dt.timedelta(days=180)
        assert untold(guide.pens) == (("O", "cock"),)
        assert tasks(guide, Task.SAMPLES) == [day("2027-10-15")]

    def test_what_goes_on_hatch_by_hatch_says_until_when(self, guide: SeasonGuide) -> None:
        last = max(one.hatches for one in guide.sets)
        graded = last + dt.timedelta(weeks=8)
        shown = [due_words(due, guide.table) for due in guide.dates if due.task is Task.GRADE]
        assert shown[0].startswith(f"Grade at 8 weeks, hatch by hatch until {day_text(graded)}: ")

    def test_breeders_are_chosen_when_the_last_pullets_have_shown(self, guide: SeasonGuide) -> None:
        last = max(one.hatches for one in guide.sets)
        (read,) = [due for due in guide.dates if due.task is Task.READ]
        assert read.last == last + dt.timedelta(days=180)
        assert tasks(guide, Task.CHOOSE) == [read.last]

    def test_no_test_is_asked_for_where_all_sons_carry(self) -> None:
        found = verbs.season(TARN_CROFT)
        sons = {
            copies
            for brood in found.broods
            for locus, sex, copies in brood.classes
            if (locus, sex, brood.line) == ("choc", Sex.COCK, "Chocolate")
        }
        assert sons == {1}
        assert untold(found.pens) == ()
        assert not tasks(found, Task.SAMPLES)

    def test_the_last_hatch_for_what_pullets_must_show(self, guide: SeasonGuide) -> None:
        limits = {key: latest for key, latest, _ in late_limits(guide.table)}
        assert limits["O"] == day("2027-07-05")
        assert limits["age"] == day("2027-08-05")
        assert day("2027-06-14") in tasks(guide, Task.LAST_SET)

    def test_keys_tell_all_dates_apart(self, guide: SeasonGuide) -> None:
        keys = [due.key for due in guide.dates]
        assert len(set(keys)) == len(keys)
        assert [due.day for due in guide.dates] == sorted(due.day for due in guide.dates)

    def test_a_season_begun_on_a_leap_day_has_a_next_one(self, tmp_path: Path) -> None:
        folder = small_flock(tmp_path, pen_up="2028-02-29", today="2028-01-20")
        text = (folder / "matchmaker.toml").read_text(encoding="utf-8")
        (folder / "matchmaker.toml").write_text(text.replace("2027", "2028", 1), encoding="utf-8")
        limits = {key: latest for key, latest, _ in late_limits(guide_of(folder).table)}
        assert limits["age"] == day("2029-02-28") - dt.timedelta(days=180)


class TestAlreadySet:
    EGGS: ClassVar[list[Row]] = [
        {"pen": "Orchard", "hen": "A1", "collected_from": "2027-02-08",
         "collected_to": "2027-02-14", "set_on": "2027-02-15", "eggs": "4", "fertile": "4",
         "hatched": "4"},
        {"pen": "Orchard", "hen": "A2", "collected_from": "2027-02-08",
         "collected_to": "2027-02-14", "set_on": "2027-02-16", "eggs": "4", "fertile": "3"},
        {"pen": "Yard", "set_on": "2027-02-15", "eggs": "12"},
        {"pen": "Yard", "set_on": "2027-02-05", "eggs": "3"},
    ]  # fmt: skip

    def test_sets_of_the_book_count_as_what_they_became(self, tmp_path: Path) -> None:
        found = guide_of(small_flock(tmp_path, today="2027-03-10", eggs=self.EGGS))
        assert found.doubtful == (5,)
        alder = next(one for one in found.lines if one.goal.line == "Alder")
        assert alder.done == 8
        assert min(lot.week.set_on for lot, _ in found.rows) >= day("2027-03-10")
        assert [(one.number, one.total) for one in found.sets if one.done] == [
            ("1", 16),
            ("1a", 4),
        ]
        brood = next(one for one in found.broods if one.line == "Alder")
        alone = guide_of(small_flock(tmp_path / "x", today="2027-03-10"))
        other = next(one for one in alone.lines if one.goal.line == "Alder")
        assert alder.eggs < other.eggs
        assert brood.eggs == alder.eggs + 8

    def test_what_hatched_is_what_is_told(self, tmp_path: Path) -> None:
        done: list[Row] = [{**self.EGGS[0], "hatched": "1"}]
        folder = small_flock(
            tmp_path, today="2027-03-10", year="collect_until = 2027-03-01\n", eggs=done
        )
        found = guide_of(folder)
        (brood,) = found.broods
        assert brood.eggs == 4
        assert brood.hatched == pytest.approx(1.0)
        chance = found.table.by_birds["A1", "SC"][0].wanted_by_sex
        assert chance is not None
        assert brood.wanted[Sex.HEN] == pytest.approx(chance[Sex.HEN] * found.rates.rearing.value)


class TestChicks:
    def test_half_of_all_are_cockerels_and_classes_sum_to_all(self, guide: SeasonGuide) -> None:
        for brood in guide.broods:
            for sex in Sex:
                whole = sum(n for (_, of, _), n in brood.classes.items() if of is sex)
                assert whole == pytest.approx(brood.raised / 2)
            assert sum(brood.wanted.values()) <= brood.raised + 1e-9

    def test_expected_chicks_are_those_of_the_lines(self, guide: SeasonGuide) -> None:
        for one in guide.lines:
            wanted = sum(
                sum(brood.wanted.values()) for brood in guide.broods if brood.line == one.goal.line
            )
            assert wanted == pytest.approx(one.expected, rel=1e-6)

    def test_cockerels_nobody_needs_are_counted(self, guide: SeasonGuide) -> None:
        alder, pure = surpluses(guide.broods)
        chance = guide.table.by_birds["A1", "SC"][0].wanted_by_sex
        assert chance is not None
        assert alder.unwanted == pytest.approx(alder.hatched * (1 - 2 * chance[Sex.COCK]))
        assert pure.unwanted == 0
        assert pure.needed == 3
        assert pure.later == pytest.approx(pure.wanted - 3)


def test_a_test_mating_gets_the_eggs_that_settle_it(tmp_path: Path) -> None:
    settings = (
        '[[matings]]\nname = "prove"\nhens = "Alder"\ncocks = "Pure"\nchicks = ""\n'
        'purpose = "test"\ntests = "hen"\n'
        '[[matings]]\nname = "pure"\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\n'
        'purpose = "hold"\n'
    )
    found = guide_of(small_flock(tmp_path, settings=settings))
    tests = [one for one in found.lines if one.goal.tested]
    assert [one.goal.tested for one in tests] == ["A1", "A2"]
    assert all(one.goal.main.count > 1 for one in tests)
    assert {lot.tested for lot, _ in found.rows} == {"", "A1", "A2"}
    brood = next(one for one in found.broods if one.tested == "A1")
    assert sum(brood.wanted.values()) == 0
