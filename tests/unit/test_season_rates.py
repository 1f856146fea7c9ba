"""How rates follow from the books: shrinkage, whose sets, what is left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.season.rates import Rate, rates
from matchmaker.season.shrinkage import shrink
from tests.builders import TOP, Row, chick, cock, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.rates import Rates

BIRDS = [
    cock("SC"),
    cock("SD"),
    hen("SM", lay_per_week="5"),
    hen("SN", lay_per_week="5"),
]


def eggs(count: int, fertile: str = "", hatched: str = "", **cells: str) -> Row:
    return {
        "pen": "Orchard",
        "collected_from": "2026-03-01",
        "collected_to": "2026-03-07",
        "set_on": "2026-03-08",
        "eggs": str(count),
        "fertile": fertile,
        "hatched": hatched,
        **cells,
    }


def rated(
    path: Path, settings: str = "", birds: list[Row] | None = None, **tables: list[Row]
) -> Rates:
    folder = write_flock(path, birds or BIRDS, settings, TOP, **tables)
    return rates(verbs.read(folder))


class TestShrinkage:
    def test_without_counts_the_rate_is_what_was_taken(self) -> None:
        assert shrink({}, 0.85).flock.value == 0.85
        assert shrink({"C1": [(0, 0)]}, 0.7).flock.value == 0.7

    def test_with_many_counts_it_is_the_flocks_own(self) -> None:
        found = shrink({"": [(300, 180)] * 60}, 0.85, by_group=False).flock
        assert found.value == pytest.approx(0.6, abs=0.005)
        assert found.spread < 0.01

    def test_more_counts_lead_further_from_what_was_taken(self) -> None:
        values = [
            shrink({"": [(20, 10)] * sets}, 0.85, by_group=False).flock.value
            for sets in (0, 1, 3, 10, 40)
        ]
        assert values == sorted(values, reverse=True)
        assert 0.5 < values[-1] < 0.54

    def test_sets_that_differ_count_for_less_than_sets_that_agree(self) -> None:
        agree = shrink({"": [(40, 24)] * 8}, 0.85, by_group=False).flock
        differ = shrink({"": [(40, 8), (40, 40)] * 4}, 0.85, by_group=False).flock
        assert differ.spread > 1.5 * agree.spread

    def test_a_cock_is_shrunk_towards_the_flock(self) -> None:
        others = {f"C{number}": [(30, 27)] * 3 for number in range(6)}
        found = shrink({**others, "bad": [(30, 12)] * 3}, 0.85)
        assert 0.4 < found.groups["bad"].value < 0.6 < found.flock.value
        one = shrink({**others, "bad": [(10, 4)]}, 0.85).groups["bad"]
        assert found.groups["bad"].value < one.value < found.flock.value
        assert one.spread > found.groups["bad"].spread

    def test_rates_of_nothing_and_of_everything_are_possible(self) -> None:
        assert shrink({"": [(50, 0)] * 99}, 1.0, by_group=False).flock.value < 0.1
        assert shrink({"": [(50, 50)] * 99}, 0.0, by_group=False).flock.value > 0.9


class TestBooks:
    def test_nothing_written_leaves_the_usual_figures(self, tmp_path: Path) -> None:
        found = rated(tmp_path, "[year]\nfertility = 0.7\n", birds=[cock("SC"), hen("SM")])
        assert found.fertility.words == "0.7, your settings; nothing was counted"
        assert found.rearing.words == "0.9, the usual figure; nothing was counted"
        assert found.raised == pytest.approx(0.7 * 0.8 * 0.9)
        assert not any(one.differs for one in found.all)

    def test_lay_is_that_of_the_hens_whose_figure_is_written(self, tmp_path: Path) -> None:
        lay = rated(tmp_path).lay
        assert lay.value == pytest.approx((4 / 0.25 + 2 * 5) / (1 / 0.25 + 2))
        assert lay.words == "4.33, from 2 hens; 4 was taken"

    def test_a_set_belongs_to_its_cock_or_to_the_only_one_in_the_pen(self, tmp_path: Path) -> None:
        moves: list[Row] = [
            {"bird": "SD", "pen": "Yard", "moved_in": "2026-02-01", "moved_out": "2026-05-01"},
            {"bird": "SM", "pen": "Yard", "moved_in": "2026-02-01", "moved_out": "2026-05-01"},
        ]
        found = rated(
            tmp_path,
            moves=moves,
            eggs=[
                eggs(30, "28", "20", cock="SC"),
                eggs(7, "1", "1", pen="Yard"),
                eggs(20, "18", "12"),
            ],
        )
        assert set(found.cocks) == {"SC", "SD"}
        assert found.cocks["SC"].value > found.fertility.value > found.cocks["SD"].value
        assert (found.fertility.sets, found.fertility.tries) == (3, 57)

    def test_sets_without_candling_tell_nothing(self, tmp_path: Path) -> None:
        found = rated(tmp_path, eggs=[eggs(20, "18", "12"), eggs(20, "", "9"), eggs(20)])
        assert (found.fertility.sets, found.fertility.left_out) == (1, 2)
        assert (found.hatch_of_fertile.tries, found.hatch_of_fertile.hits) == (18, 12)

    def test_more_eggs_than_hens_can_lay_are_told(self, tmp_path: Path) -> None:
        moves: list[Row] = [
            {"bird": bird, "pen": "Orchard", "moved_in": "2026-02-01", "moved_out": "2026-05-01"}
            for bird in ("SC", "SM", "SN")
        ]
        found = rated(tmp_path, moves=moves, eggs=[eggs(10), eggs(15), eggs(5, hen="SM")])
        assert found.too_many == (3,)
        assert found.most_laid == (5.0, 4)

    def test_raised_is_not_taken_for_survival(self, tmp_path: Path) -> None:
        found = rated(tmp_path, eggs=[eggs(20, "18", "12", raised="3")])
        assert found.rearing.sets == 0

    def test_losses_are_dead_chicks_among_those_banded(self, tmp_path: Path) -> None:
        young: list[Row] = [
            chick(f"K{number}", "hen", "SC", "SM", "Pure", hatched="2026-04-01")
            for number in range(8)
        ]
        dead = {"status": "dead", "left_on": "2026-04-20"}
        sold = {"status": "sold", "left_on": "2026-05-01"}
        young += [chick("K8", "hen", "SC", "SM", "Pure", hatched="2026-04-01", **dead)]
        young += [chick("K9", "hen", "SC", "SM", "Pure", hatched="2026-04-01", **sold)]
        found = rated(
            tmp_path,
            "",
            [*BIRDS, *young],
            seen=[{"bird": "SM", "locus": "O", "what": "white", "date": "2026-12-01"}],
        )
        assert (found.rearing.tries, found.rearing.hits, found.rearing.sets) == (10, 9, 1)
        assert found.rearing.words.endswith("from 1 hatch day, 10 banded chicks; 0.9 was taken")

    @pytest.mark.parametrize(
        ("day", "died", "kept"),
        [
            ("2026-04-01", "2026-04-20", {"status": "sold", "left_on": "2026-05-27"}),
            ("2026-10-01", "2026-10-20", {}),
        ],
        ids=["sold at eight weeks", "too young yet"],
    )
    def test_those_not_seen_for_16_weeks_weigh_against_the_dead(
        self, tmp_path: Path, day: str, died: str, kept: dict[str, str]
    ) -> None:
        """Two of twenty die in the third week: that is not a flock that loses all its chicks."""
        dead = {"status": "dead", "left_on": died}
        young = [
            chick(f"K{n}", "hen", "SC", "SM", "Pure", hatched=day, **(dead if n < 2 else kept))
            for n in range(20)
        ]
        found = rated(
            tmp_path,
            "",
            [*BIRDS, *young],
            seen=[{"bird": "SM", "locus": "O", "what": "white", "date": "2026-12-01"}],
        )
        assert (found.rearing.tries, found.rearing.hits) == (20, 18)

    def test_the_dead_without_a_date_have_not_lived_for_16_weeks(self, tmp_path: Path) -> None:
        fates = [{"status": "dead", "left_on": "2026-04-20"}, *[{"status": "dead"}] * 5, *[{}] * 4]
        young = [chick(f"K{n}", "hen", "SC", "SM", "Pure", **fate) for n, fate in enumerate(fates)]
        found = rated(
            tmp_path,
            "",
            [*BIRDS, *young],
            seen=[{"bird": "SM", "locus": "O", "what": "white", "date": "2026-12-01"}],
        )
        assert (found.rearing.tries, found.rearing.hits) == (5, 4)

    def test_where_no_death_was_ever_written_nothing_is_known(self, tmp_path: Path) -> None:
        young = [chick(f"K{number}", "hen", "SC", "SM", "Pure") for number in range(8)]
        assert rated(tmp_path, birds=[*BIRDS, *young]).rearing.sets == 0

    def test_a_rate_far_from_what_was_taken_says_so(self, tmp_path: Path) -> None:
        found = rated(tmp_path, eggs=[eggs(40, "36", "12")] * 12)
        hatch = found.hatch_of_fertile
        assert hatch.differs
        assert 0.3 < hatch.low < hatch.value < hatch.high < 0.8
        assert not found.fertility.differs

    def test_many_sets_shrink_what_one_bad_set_can_do(self, tmp_path: Path) -> None:
        found = rated(tmp_path)
        assert found.raised_spread(1) > found.raised_spread(10) > 0


def test_words_tell_sets_and_eggs() -> None:
    rate = Rate(
        key="fertility", value=0.826, low=0.8, high=0.86, spread=0.02, taken=0.85, given=True,
        tries=412, hits=342, sets=23,
    )  # fmt: skip
    assert rate.words == "0.83, from 23 sets, 412 eggs; 0.85 was taken"
