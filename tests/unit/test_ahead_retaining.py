"""Who is kept from spring to spring: as grade chooses, sizes kept, no line lost for nothing."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead.places import LEAST_FACTOR, Size, size_of
from matchmaker.ahead.retaining import OLDEST, retain
from matchmaker.grade.choosing import Pool, choose
from matchmaker.grade.places import Places
from matchmaker.grade.prospect import prospects_of
from matchmaker.grade.young import families
from matchmaker.pairs.table import judge_pairs, revalued
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.quick import quick_plan
from matchmaker.tables.records import Sex, Status
from tests.ahead_flocks import BIRDS, PENS, SEEN, played, watched
from tests.builders import chick, cock, hen, judged
from tests.keepers_flocks import flock_at_random

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from tests.ahead_flocks import Season
    from tests.builders import Row

PULLETS = tuple(
    chick(f"N{at}", "hen", f"S{at % 2}", f"P{at % 4}", "Pure", status="young") for at in range(9)
)

EGGS = '[traits.eggs]\ndirection = "up"\nweight = 0.5\nh2 = 0.5\nsex = "hen"\n'
SCORES = [
    {"bird": f"{line}{at}", "date": "2026-05-01", "eggs": str(30 + 10 * at)}
    for line in ("P", "AH")
    for at in range(4)
]


def flock(path: Path, *more: Row, birds: tuple[Row, ...] = BIRDS, settings: str = "") -> PairTable:
    return judged(path / "f", (*birds, *more), settings, seen=SEEN, pens=PENS)


def wanted(**numbers: int) -> Size:
    """Places for hens of the lines named, and for any number of all other birds."""
    size = {(line, sex): 50 for line in ("Pure", "Alder") for sex in Sex}
    return Size(wanted=size | {(line, Sex.HEN): number for line, number in numbers.items()})


def left(table: PairTable, size: Size, line: str = "Pure", sex: Sex = Sex.HEN) -> list[str]:
    spring = retain(table, size)
    return [
        bird.band
        for bird in table.study.flock.living
        if bird.band not in spring.gone and (bird.line, bird.sex) == (line, sex)
    ]


def test_the_young_kept_are_those_that_grade_would_choose(tmp_path: Path) -> None:
    table = flock(tmp_path, *PULLETS)
    young = [bird for bird in table.study.flock.living if bird.record.status is Status.YOUNG]
    for number in (2, 4, 6):
        old = min(4, number - -(-number // 2))
        pool = Pool(
            prospects=prospects_of(young, table),
            places={
                ("Pure", Sex.HEN): Places(
                    line="Pure", sex=Sex.HEN, penned=0, wanted=number, old=old
                )
            },
            choices={},
            families=families(young),
        )
        found = left(table, wanted(Pure=number))
        assert {band for band in found if band[0] == "N"} == set(choose(pool).grounds)


def test_half_of_the_places_go_to_young_birds_the_rest_to_the_best_of_the_old(
    tmp_path: Path,
) -> None:
    young = tuple(chick(f"N{at}", "hen", "S0", f"P{at}", "Pure", status="young") for at in range(4))
    birds = [row for row in BIRDS if row["bird"] != "S1"]
    table = judged(tmp_path / "f", (*birds, cock("T"), *young), EGGS, seen=SEEN, scores=SCORES)
    found = left(table, wanted(Pure=6))
    assert sum(band[0] == "N" for band in found) == 4, "one of each family"
    assert [band for band in found if band[0] == "P"] == ["P2", "P3"]
    assert sum(band[0] == "P" for band in left(table, wanted(Pure=8))) == 4


def test_more_young_than_half_where_the_old_are_too_few(tmp_path: Path) -> None:
    found = left(flock(tmp_path, *PULLETS), wanted(Pure=12))
    assert len(found) == 12
    assert {f"P{at}" for at in range(4)} < set(found)


def test_birds_above_four_years_go_unless_they_are_the_last(tmp_path: Path) -> None:
    assert OLDEST == 4 * 365
    aged = tuple(
        {**row, "hatched": "2022-03-01"} if row["bird"][0] == "P" else row for row in BIRDS
    )
    last = flock(tmp_path / "last", birds=aged)
    assert left(last, wanted(Pure=3)) == ["P0", "P1", "P2"]
    young = flock(tmp_path / "young", *PULLETS, birds=aged)
    assert {band[0] for band in left(young, wanted(Pure=3))} == {"N"}
    defects = tuple({**row, "defects": "wry tail"} if row["bird"] == "P0" else row for row in aged)
    assert left(flock(tmp_path / "unfit", birds=defects), wanted(Pure=9)) == ["P1", "P2", "P3"]


def test_a_bird_without_a_mate_this_spring_keeps_a_free_place(tmp_path: Path) -> None:
    """The only cock is their father: nobody of the line can be bred, and nobody is let go."""
    birds = (
        *(row for row in BIRDS if row["bird"][0] == "A"),
        cock("S", hatched="2024-03-01"),
        *(chick(f"D{at}", "hen", "S", "M", "Pure", hatched="2025-04-01") for at in range(3)),
        hen("M", hatched="2024-03-01", status="dead", left_on="2026-05-01"),
        chick("Y", "hen", "S", "M", "Pure", status="young"),
        chick("Z", "hen", "S", "M", "Pure", status="young", defects="wry tail"),
    )
    table = flock(tmp_path, birds=birds)
    assert not [pair for pair in table.allowed if pair.line == "Pure"]
    assert left(table, wanted(Pure=4)) == ["D0", "D1", "D2", "Y"]
    assert len(left(table, wanted(Pure=2))) == 2
    assert left(table, wanted(), sex=Sex.COCK) == ["S"]


def test_of_the_flock_that_is_left_everybody_breeds_and_pairs_are_valued_anew(
    tmp_path: Path,
) -> None:
    told = judged(tmp_path / "f", (*BIRDS, *PULLETS), EGGS, seen=SEEN, pens=PENS, scores=SCORES)
    for size in (wanted(Pure=5), wanted(Pure=6, Alder=3), wanted(Pure=20)):
        spring = retain(told, size)
        flock_left = spring.table.study.flock
        assert Status.YOUNG not in {bird.record.status for bird in flock_left.living}
        bands = {bird.band for bird in flock_left.living}
        assert bands == {bird.band for bird in told.study.flock.living} - spring.gone
        assert {pair.key for pair in spring.table.pairs} == {
            pair.key for pair in told.pairs if {pair.hen, pair.cock} <= bands
        }
        anew = revalued(spring.table, spring.table.study)
        assert spring.table.needs == anew.needs
        assert [pair.value for pair in spring.table.pairs] == pytest.approx(
            [pair.value for pair in anew.pairs]
        )


@pytest.fixture(scope="module")
def seasons(tmp_path_factory: pytest.TempPathFactory) -> list[list[Season]]:
    path = tmp_path_factory.mktemp("random")
    return [
        played(watched(flock_at_random(path / str(seed), seed), ("random",), seasons=5))[1]
        for seed in range(4)
    ]


def test_who_was_let_go_or_died_is_in_no_later_pen(seasons: list[list[Season]]) -> None:
    for some in seasons:
        gone: set[str] = set()
        for season in some:
            penned = {
                band for pen in season.pens for pair in pen.pairs for band in (pair.hen, pair.cock)
            }
            assert penned <= set(season.world.bands)
            assert not penned & gone
            living = {bird.band for bird in season.spring.study.flock.living}
            gone |= {one.bird for one in season.spring.study.flock.tables.birds} - living


def test_no_line_and_sex_is_emptied_while_it_has_a_usable_bird(
    seasons: list[list[Season]],
) -> None:
    let_go = 0
    for some in seasons:
        for season in some:
            study = season.spring.study
            here = Counter((bird.line, bird.sex) for bird in study.flock.living)
            sold = [
                bird
                for bird in study.flock.birds
                if bird.record.status is Status.SOLD
                and bird.record.left_on == study.flock.settings.today
            ]
            usable = [one for one in prospects_of(sold, season.spring) if not one.lasting]
            let_go += len(usable)
            assert all(here[one.place] for one in usable)
    assert let_go > 50


def test_sizes_stay_what_they_were(seasons: list[list[Season]]) -> None:
    """On the mean: a family may have one more, a bird that may not carry counts for less than one,
    and where chicks were too few there are fewer."""
    kept = room = 0
    for some in seasons:
        table = some[0].table
        wanted_ = sum(size_of(table, ()).wanted.values())
        for season in some:
            kept += len(season.grown.bands)
            room += wanted_
            assert len(season.grown.bands) <= 1.4 * wanted_
    assert kept <= 1.1 * room


def test_a_flock_keeps_its_size_or_what_its_pens_and_lines_need(tmp_path: Path) -> None:
    table = flock(tmp_path, settings="[lines.Pure]\nfamilies = 6\n")
    birds = table.study.flock
    assert size_of(table, ()).wanted == {
        ("Alder", Sex.COCK): 2,
        ("Alder", Sex.HEN): 6,
        ("Pure", Sex.COCK): 2,
        ("Pure", Sex.HEN): 6,
    }
    pens = quick_plan(pose_problem(table, fresh=True)).pens
    hens = {pair.hen for pen in pens for pair in pen.pairs}
    in_pens = Counter(bird.line for bird in birds.living if bird.band in hens)
    found = size_of(table, pens).wanted
    assert found["Alder", Sex.HEN] == max(6, -(-LEAST_FACTOR * in_pens["Alder"] // 1))


def test_lines_to_come_have_room(tmp_path: Path) -> None:
    """The first cross of a written scheme founds a line, which lives on."""
    rows = """
[lines.First]
families = 3
chicks_wanted = 20
[[matings]]
name = "first cross"
hens = "Pure"
cocks = "Donor"
chicks = "First"
purpose = "backcross"
keep = {O = [1]}
"""
    birds = (
        *(row for row in BIRDS if row["line"] == "Pure"),
        *(cock(f"D{at}", "Donor", "araucana", O="blue") for at in range(2)),
    )
    table = judged(tmp_path / "f", birds, rows, pens=PENS)
    size = size_of(table, ()).wanted
    assert (size["First", Sex.HEN], size["First", Sex.COCK]) == (3, 2)
    tally, _ = played(watched(table, seasons=1))
    first = sorted(["Donor", "First", "Pure"]).index("First")
    assert tally.birds[:, first].tolist() == [0, 5]
    assert tally.carriers[1, first] == 5


def test_pairs_that_the_rules_reject_need_not_be_looked_at(tmp_path: Path) -> None:
    for seed in range(4):
        study = flock_at_random(tmp_path / str(seed), seed).study
        tables = [judge_pairs(study, open_only=True, allowed_only=only) for only in (False, True)]
        whole, allowed = (retain(table, size_of(table, ())).gone for table in tables)
        assert whole == allowed


def test_places_for_young_birds_are_half_of_all_at_least() -> None:
    size = Size(wanted={("Pure", Sex.HEN): 9, ("Pure", Sex.COCK): 3})
    found = size.places({("Pure", Sex.HEN): 7, ("Pure", Sex.COCK): 1})
    assert [(one.old, one.young) for one in found.values()] == [(1, 2), (4, 5)]
    assert [one.sex for one in found.values()] == [Sex.COCK, Sex.HEN]
