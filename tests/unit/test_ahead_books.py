"""The books in simulation: what a keeper would have written, faultless, and no more."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker.ahead.books import (
    Chick,
    Year,
    a_year_on,
    after_grading,
    hatched_in,
    without_long_gone,
)
from matchmaker.flock.flock import build_flock, check_flock
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.tables.records import Sex, Status
from tests.ahead_flocks import BIRDS, PENS, SEEN, example, played, watched
from tests.builders import chick, cock, hen, judged
from tests.keepers_flocks import flock_at_random

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.ahead.birds import Birds
    from matchmaker.flock.flock import Flock
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord
    from tests.ahead_flocks import Season

QUIET = Year(chicks=(), lost={}, looks=(), scores={}, sexed={})


def books(path: Path, *more: Mapping[str, str], settings: str = "", **tables: object) -> Flock:
    told: dict[str, Any] = {"seen": SEEN, "pens": PENS, **tables}
    return judged(path / "f", (*BIRDS, *more), settings, **told).study.flock


def record(tables: FolderTables, band: str) -> BirdRecord:
    (found,) = (one for one in tables.birds if one.bird == band)
    return found


def ancestors(tables: FolderTables, bands: set[str]) -> set[str]:
    """Birds and their possible forebears, by the books."""
    parents = {
        one.bird: {band for cell in (one.sire, one.dam) for band, _ in cell.candidates}
        for one in tables.birds
    }
    found: set[str] = set()
    while bands - found:
        found |= bands
        bands = {parent for band in found for parent in parents[band]}
    return found


def test_a_quiet_year_moves_dates_and_nothing_else(tmp_path: Path) -> None:
    settings = "[year]\npen_up = 2027-02-10\ncollect_from = 2027-02-20\n"
    wishes = [
        {"bird": "AC0", "with": "AH0", "wish": "apart", "why": "fights"},
        {"bird": "AC0", "with": "AH1", "wish": "together", "why": "like each other"},
        {"bird": "P0", "with": "", "wish": "rest", "why": "moults"},
    ]
    flock = books(tmp_path, settings=settings, wishes=wishes)
    before, after = flock.tables, a_year_on(flock, QUIET)
    assert before.settings is not None
    assert after.settings is not None
    assert after.settings.season == 2028
    assert after.settings.pen_up == dt.date(2028, 2, 10)
    assert after.settings.collect_from == dt.date(2028, 2, 20)
    assert after.settings.today == dt.date(2028, 2, 9)
    assert [row.wish for row in after.wishes] == ["apart"]
    assert (after.birds, after.seen, after.scores) == (before.birds, before.seen, before.scores)
    assert (after.moves, after.eggs, after.plan) == ((), (), ())
    plain = after.settings.model_copy(
        update={"season": 2027, "today": before.settings.today, "year": before.settings.year}
    )
    assert plain == before.settings


def test_pens_of_a_part_of_the_season_move_with_it(tmp_path: Path) -> None:
    pens = ({"pen": "1", "hens_max": "4", "from": "2027-02-01", "until": "2027-03-08"},)
    (pen,) = a_year_on(books(tmp_path, pens=pens), QUIET).pens
    assert (pen.first_day, pen.last_day) == (dt.date(2028, 2, 1), dt.date(2028, 3, 8))


def test_chicks_enter_as_young_birds_with_the_dams_they_may_have(tmp_path: Path) -> None:
    flock = books(tmp_path)
    chicks = (
        Chick(band="N1", sex=Sex.HEN, line="Pure", cock="S0", mates=("P0",)),
        Chick(band="N2", sex=Sex.COCK, line="Alder", cock="AC0", mates=("P1", "P2", "P3")),
    )
    after = a_year_on(flock, replace(QUIET, chicks=chicks))
    one, two = record(after, "N1"), record(after, "N2")
    assert one.hatched == two.hatched == hatched_in(flock.settings)
    assert {one.status, two.status} == {Status.YOUNG}
    assert (one.line, one.sex, one.dam.candidates) == ("Pure", Sex.HEN, (("P0", 1.0),))
    assert two.sire.candidates == (("AC0", 1.0),)
    assert two.dam.candidates == (("P1", 1 / 3), ("P2", 1 / 3), ("P3", 1 / 3))
    assert after.birds[:-2] == flock.tables.birds


def test_who_died_is_gone_from_the_day_or_from_the_last_egg(tmp_path: Path) -> None:
    after = a_year_on(books(tmp_path), replace(QUIET, lost={"P0": 3, "P1": 120, "S0": 364}))
    assert [record(after, band).status for band in ("P0", "P1", "S0", "S1")] == [
        *([Status.DEAD] * 3),
        Status.BREEDER,
    ]
    assert record(after, "P0").left_on == dt.date(2027, 3, 12)  # 21 days before 2 April
    assert record(after, "P1").left_on == dt.date(2027, 2, 1) + dt.timedelta(days=120)
    assert record(after, "S0").left_on == dt.date(2028, 1, 31)


def test_a_bird_young_last_spring_is_young_no_more(tmp_path: Path) -> None:
    """Nor is one kept apart for a time that ran out within the year."""
    more = (
        chick("N", "hen", "S0", "P0", "Pure", status="young"),
        hen("Q", status="quarantine", release_on="2027-05-01"),
        hen("R", status="quarantine"),
        hen("X", status="spare"),
    )
    after = a_year_on(books(tmp_path, *more), QUIET)
    assert [record(after, band).status for band in ("N", "Q", "R", "X")] == [
        Status.BREEDER,
        Status.BREEDER,
        Status.BREEDER,
        Status.SPARE,
    ]


def test_the_sex_of_a_chick_is_seen_within_the_year(tmp_path: Path) -> None:
    flock = books(tmp_path, chick("U", "", "S0", "P0", "Pure"))
    sexed = {"U": Sex.COCK, "P0": Sex.COCK}
    after = a_year_on(flock, replace(QUIET, sexed=sexed))
    assert (record(after, "U").sex, record(after, "P0").sex) == (Sex.COCK, Sex.HEN)


def test_looks_and_scores_are_added_to_those_before(tmp_path: Path) -> None:
    flock = books(tmp_path, scores=[{"bird": "P0", "date": "2026-05-01", "eggs": "51"}])
    year = replace(QUIET, looks=[("Y0", "O", "blue")], scores={"Y0": {"eggs": 44.0}})
    before, after = flock.tables, a_year_on(flock, year)
    assert (after.seen[:-1], after.scores[:-1]) == (before.seen, before.scores)
    eve = dt.date(2028, 1, 31)
    assert (after.seen[-1].bird, after.seen[-1].what, after.seen[-1].date) == (
        "Y0",
        (("blue", 1),),
        eve,
    )
    assert (after.scores[-1].traits, after.scores[-1].date) == ({"eggs": 44.0}, eve)


def test_who_is_let_go_is_sold_on_the_eve_and_who_is_kept_breeds(tmp_path: Path) -> None:
    more = (
        chick("N", "hen", "S0", "P0", "Pure", status="young"),
        chick("M", "hen", "S0", "P0", "Pure", status="young"),
    )
    settings = 'today = 2027-01-31\nseason = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
    tables = judged(tmp_path / "f", (*BIRDS, *more), top=settings).study.flock.tables
    after = after_grading(tables, {"N", "P0"}, {"P1", "M"})
    assert {
        band: (record(after, band).status, record(after, band).left_on)
        for band in ("N", "M", "P0", "P1")
    } == {
        "N": (Status.BREEDER, None),
        "M": (Status.SOLD, dt.date(2027, 1, 31)),
        "P0": (Status.BREEDER, None),
        "P1": (Status.SOLD, dt.date(2027, 1, 31)),
    }


def test_only_who_is_long_gone_and_nobodys_forebear_leaves_the_books(tmp_path: Path) -> None:
    gone = {"hatched": "2021-03-01", "status": "sold", "left_on": "2024-05-01"}
    more = (
        hen("old dam", hatched="2020-03-01", status="dead", left_on="2024-07-01"),
        cock("his sire", hatched="2019-03-01", status="dead"),
        chick("its sire", "cock", "his sire", "", "Pure", **gone),
        chick("its child", "hen", "its sire", "old dam|other dam", "Pure", hatched="2024-04-01"),
        hen("other dam", hatched="2020-03-01", status="dead", left_on="2024-07-02"),
        hen("no kin", status="dead", left_on="2025-05-01"),
        hen("no day", status="sold"),
        hen("of late", status="dead", left_on="2026-12-01"),
    )
    flock = books(
        tmp_path,
        *more,
        scores=[{"bird": band, "eggs": "50"} for band in ("no kin", "old dam")],
        wishes=[{"bird": "no kin", "with": "AC0", "wish": "apart", "why": "x"}],
    )
    before = flock.tables
    after = without_long_gone(before, flock.pedigree, dt.date(2026, 2, 1))
    left = {one.bird for one in before.birds} - {one.bird for one in after.birds}
    assert left == {"no kin", "no day"}
    assert [row.bird for row in after.scores] == ["old dam"]
    assert after.wishes == ()
    assert after.seen == before.seen


def test_who_may_be_an_unwritten_parent_stays(tmp_path: Path) -> None:
    """Any hen of the line that was there may be the dam, gone or not: kinship must not change."""
    gone = {"hatched": "2023-03-01", "status": "dead", "left_on": "2026-04-15"}
    more = (
        hen("G0", **gone),
        hen("G1", **gone),
        chick("N", "hen", "S0", "", "Pure"),
        *(chick(f"M{at}", "hen", "", f"P{at}", "Pure") for at in range(2)),
    )
    flock = books(tmp_path, *more)
    assert any("parents unknown" in one for one in flock.defaults)
    after = build_flock(without_long_gone(flock.tables, flock.pedigree, dt.date(2026, 6, 1)))
    assert {"G0", "G1"} <= {bird.band for bird in after.birds}
    bands = [bird.band for bird in flock.living]
    before = kinship_matrix(flock.pedigree, bands).values
    np.testing.assert_array_equal(before, kinship_matrix(after.pedigree, bands).values)


@pytest.fixture(scope="module")
def seasons(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, list[Season]]]:
    """Random small flocks under the plan and the keeper's ways, and the three examples."""
    found = []
    path = tmp_path_factory.mktemp("random")
    for seed, names in enumerate((("plan", "random"), ("by-eye", "rotation"), ("random",))):
        player = watched(flock_at_random(path / str(seed), seed), names, seasons=4)
        found += [
            (f"{seed} {name}", played(player, replicate=at, policy=at)[1])
            for at, name in enumerate(names)
        ]
    for name, number in (("tarn-croft", 2), ("skarn-farm", 2), ("holm-fen", 1)):
        player = watched(example(name), ("random",), seasons=number, replicates=1)
        found.append((name, played(player)[1]))
    return found


def test_nobody_could_find_a_fault_in_the_books(seasons: list[tuple[str, list[Season]]]) -> None:
    for name, some in seasons:
        for season in some:
            faults, doubts = check_flock(season.spring.study.flock.tables)
            assert faults == (), name
            old = {one.kind for one in check_flock(some[0].table.study.flock.tables)[1]}
            asked = {"long-unseen"}  # who is kept for years without a chick is asked after
            assert {one.kind for one in doubts} <= old | asked, name
            build_flock(season.spring.study.flock.tables)


def test_every_living_bird_stands_in_the_books_and_the_other_way_round(
    seasons: list[tuple[str, list[Season]]],
) -> None:
    for name, some in seasons:
        for season in some:
            flock = season.spring.study.flock
            assert {bird.band for bird in flock.living} == set(season.grown.bands), name
            assert len(set(season.grown.bands)) == len(season.grown.bands)
            assert [bird.sex for bird in flock.living] == [
                season.grown.sexes()[bird.band] for bird in flock.living
            ]
            rebuilt = build_flock(flock.tables)
            assert {bird.band for bird in rebuilt.living} == set(season.grown.bands)


def test_nobody_is_lost_who_is_a_forebear_of_the_living(
    seasons: list[tuple[str, list[Season]]],
) -> None:
    for _, some in seasons:
        told = set[str]()
        for season in some:
            tables = season.spring.study.flock.tables
            told = {one.bird for one in tables.birds}
            assert ancestors(tables, set(season.grown.bands)) <= told
        first = ancestors(
            some[0].table.study.flock.tables, set(some[0].world.bands) & set(some[-1].grown.bands)
        )
        assert first <= told


def test_what_is_written_of_a_bird_never_changes(seasons: list[tuple[str, list[Season]]]) -> None:
    """Evidence and scores of a bird in the books, its parents, its day of hatching, its line."""
    for name, some in seasons:
        for season in some:
            before, after = season.table.study.flock.tables, season.spring.study.flock.tables
            kept = {one.bird for one in after.birds}
            for rows in ("scores", "seen"):
                old = [row for row in getattr(before, rows) if row.bird in kept]
                assert [row for row in getattr(after, rows) if row in old] == old, name
            lasting = ("hatched", "sire", "dam", "line", "breed", "seen", "defects")
            for one in before.birds:
                if one.bird in kept:
                    now = record(after, one.bird)
                    assert [getattr(one, cell) for cell in lasting] == [
                        getattr(now, cell) for cell in lasting
                    ], name
                    assert one.sex in (None, now.sex)


def test_dams_are_unsure_exactly_where_eggs_are_not_told_apart(
    seasons: list[tuple[str, list[Season]]],
) -> None:
    unsure = 0
    for name, some in seasons:
        for season in some:
            flock = season.table.study.flock
            known = {pen.pen for pen in flock.tables.pens if pen.dam_known}
            old = {one.bird for one in flock.tables.birds}
            new = [one for one in season.spring.study.flock.tables.birds if one.bird not in old]
            for one in new:
                (sire, _), *others = one.sire.candidates
                assert not others
                pens = [pen for pen in season.pens if pen.cock == sire]
                dams = {band for band, _ in one.dam.candidates}
                mine = [pen for pen in pens if dams <= {pair.hen for pair in pen.pairs}]
                assert mine, name
                if len(dams) > 1:
                    unsure += 1
                    assert not any(pen.pen in known for pen in mine), name
    assert unsure > 50


def hidden(birds: Birds) -> Birds:
    """The birds with what nobody sees made other: where on the strands they are whose."""
    rng = np.random.default_rng(5)
    return replace(birds, bits=birds.bits[rng.permutation(len(birds))])


def test_truth_that_nobody_sees_leaves_no_mark_in_the_books(tmp_path: Path) -> None:
    """A flock without scores: strands elsewhere, other breeding values, and the books are equal."""
    player = watched(judged(tmp_path / "f", BIRDS, seen=SEEN, pens=PENS), ("random",), seasons=3)
    past = player.past
    once = [season.spring.study.flock.tables for season in played(player)[1]]

    class Other:
        """The same past, but for what no look and no score tells."""

        def truth(self, replicate: int) -> object:
            truth = past.truth(replicate)
            return replace(truth, birds=hidden(truth.birds))

    object.__setattr__(player, "past", Other())
    again = [season.spring.study.flock.tables for season in played(player)[1]]
    assert [one.birds for one in once] == [one.birds for one in again]
    assert [one.seen for one in once] == [one.seen for one in again]
    assert len(once[-1].birds) > len(BIRDS)


def test_bands_of_chicks_are_those_of_no_bird_in_the_books(tmp_path: Path) -> None:
    """The keeper himself may band as the simulation would."""
    more = [
        chick(f"Pure-2027-{at:03}", "hen", "S0", "P0", "Pure", hatched="2026-04-01")
        for at in range(1, 30)
    ]
    table = judged(tmp_path / "f", (*BIRDS, *more), seen=SEEN, pens=PENS)
    (season,) = played(watched(table, seasons=1))[1]
    bands = [one.bird for one in season.spring.study.flock.tables.birds]
    assert len(bands) == len(set(bands))
    assert len(bands) > len(BIRDS) + len(more)
