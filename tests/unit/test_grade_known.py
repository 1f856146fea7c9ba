"""What was known on a day: evidence, scores, hatches and departures by their dates."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.errors import UsageError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.grade.known import eve_of, known_on
from matchmaker.grade.spring import next_spring, set_for
from matchmaker.settings import Settings
from matchmaker.tables.dates import years_on
from matchmaker.tables.read import read_folder
from matchmaker.tables.records import Sex, Status
from tests.builders import chick, cock, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

BIRDS = (
    cock("S0"),
    hen("P0"),
    chick("A1", "hen", "S0", "P0", "Alder", O="blue", defects="wry tail"),
    chick("A2", "cock", "S0", "P0", "Alder", status="sold", left_on="2026-09-01"),
    chick("A3", "cock", "S0", "P0", "Alder", status="sold"),
    chick("A4", "hen", "S0", "A1", "Alder", hatched="2026-12-05"),
    chick("A5", "hen", "S0", "A4", "Alder", hatched=""),
    chick("A6", "hen", "S0", "P0", "Alder", hatched="2026", O="blue"),
    hen("X0", hatched="", O="white"),
)
SEEN = (
    {"date": "2026-04-01", "bird": "A1", "locus": "P", "what": "pea", "how": "day-old"},
    {"date": "2026-10-20", "bird": "A1", "locus": "O", "what": "blue", "how": "adult"},
    {"date": "", "bird": "A2", "locus": "O", "what": "1 copy", "how": "dna"},
    {"date": "", "bird": "X0", "locus": "O", "what": "white", "how": "adult"},
    {"date": "", "bird": "A6", "locus": "O", "what": "blue", "how": "adult"},
    {"date": "2026-12-20", "bird": "A4", "locus": "P", "what": "pea", "how": "adult"},
    {"date": "2026-06-01", "hen": "P0", "cock": "S0", "locus": "P", "what": "2 pea, 1 single"},
)
SCORES = (
    {"bird": "A1", "date": "2026-08-01", "weight": "2000"},
    {"bird": "A1", "date": "2026-10-01", "weight": "2200"},
    {"bird": "A4", "date": "2027-01-02", "weight": "700"},
)
MOVES = (
    {"bird": "P0", "pen": "Yard", "moved_in": "2026-02-01", "moved_out": "2026-08-10"},
    {"bird": "S0", "pen": "Yard", "moved_in": "2026-11-01", "moved_out": ""},
)
EGGS = (
    {"pen": "Yard", "set_on": "2026-03-10", "eggs": "10"},
    {"pen": "Yard", "set_on": "2026-11-14", "eggs": "9"},
)
WISHES = (
    {"bird": "A4", "with": "S0", "wish": "apart"},
    {"bird": "P0", "with": "Yard", "wish": "together"},
    {"bird": "P0", "with": "", "wish": "rest"},
)
PLAN = ({"pen": "Yard", "cock": "S0", "hen": "A4"}, {"pen": "Yard", "cock": "S0", "hen": "P0"})


@pytest.fixture(scope="module")
def tables(tmp_path_factory: pytest.TempPathFactory) -> FolderTables:
    more: dict[str, Any] = {
        "seen": SEEN, "scores": SCORES, "moves": MOVES, "eggs": EGGS, "wishes": WISHES, "plan": PLAN
    }  # fmt: skip
    folder = write_flock(tmp_path_factory.mktemp("known") / "flock", BIRDS, **more)
    found = read_folder(folder, known_loci=frozenset(catalogue()))
    assert not found.faults
    return found


def on(tables: FolderTables, day: str) -> FolderTables:
    return known_on(tables, dt.date.fromisoformat(day), catalogue())


def bird(tables: FolderTables, band: str) -> BirdRecord:
    (found,) = (record for record in tables.birds if record.bird == band)
    return found


def test_a_bird_hatched_later_is_not_there_nor_are_its_chicks(tables: FolderTables) -> None:
    bands = {record.bird for record in on(tables, "2026-08-15").birds}
    assert bands == {"S0", "P0", "A1", "A2", "A3", "A6", "X0"}
    assert "A5" in {record.bird for record in on(tables, "2026-12-05").birds}


def test_what_was_seen_later_is_not_known(tables: FolderTables) -> None:
    known = on(tables, "2026-10-19").seen
    assert [(row.bird, row.locus) for row in known if row.bird == "A1"] == [("A1", "P")]
    assert len([row for row in on(tables, "2026-10-20").seen if row.bird == "A1"]) == 2


def test_counts_of_chicks_and_tests_without_a_date_stay(tables: FolderTables) -> None:
    known = on(tables, "2026-08-15").seen
    assert ("", "P0") in {(row.bird, row.hen) for row in known}
    assert {"A2", "X0"} <= {row.bird for row in known}


def test_a_count_of_several_possible_parents_is_known_once_all_of_them_are_there(
    tmp_path: Path,
) -> None:
    birds = (*BIRDS[:2], hen("P1"), hen("P2", hatched="2026-12-01"))
    counts = [
        {"hen": hens, "cock": "S0", "locus": "P", "what": "3 single", "date": "2026-06-01"}
        for hens in ("P0|P1", "P0:0.7|P1:0.3", "P0|P2")
    ]
    folder = write_flock(tmp_path / "flock", birds, seen=counts)
    known = on(read_folder(folder, known_loci=frozenset(catalogue())), "2026-08-15").seen
    assert [row.hen for row in known] == ["P0|P1", "P0:0.7|P1:0.3"]


def test_a_look_without_a_date_is_known_from_the_age_at_which_it_shows(
    tables: FolderTables,
) -> None:
    early, late = on(tables, "2026-09-27"), on(tables, "2026-09-28")
    assert bird(early, "A1").seen == {}
    assert bird(late, "A1").seen == {"O": "blue"}
    assert "A6" not in {row.bird for row in on(tables, "2026-10-27").seen}
    assert "A6" in {row.bird for row in on(tables, "2026-10-28").seen}
    assert bird(early, "X0").seen == {"O": "white"}


def test_scores_and_moves_and_eggs_by_their_dates(tables: FolderTables) -> None:
    known = on(tables, "2026-08-05")
    assert [row.traits for row in known.scores] == [{"weight": 2000.0}]
    assert [(row.bird, row.moved_out) for row in known.moves] == [("P0", None)]
    assert len(known.eggs) == 1
    assert len(on(tables, "2027-01-02").scores) == 3


def test_a_bird_that_left_later_is_still_here(tables: FolderTables) -> None:
    assert bird(on(tables, "2026-08-31"), "A2").status is Status.BREEDER
    assert bird(on(tables, "2026-09-01"), "A2").status is Status.SOLD
    assert bird(on(tables, "2026-08-31"), "A3").status is Status.SOLD


def test_the_sex_is_told_at_eight_weeks(tables: FolderTables) -> None:
    assert bird(on(tables, "2026-05-26"), "A1").sex is None
    assert bird(on(tables, "2026-05-27"), "A1").sex is Sex.HEN


def test_defects_count_as_known(tables: FolderTables) -> None:
    assert bird(on(tables, "2026-05-01"), "A1").defects == ("wry tail",)


def test_wishes_and_plan_of_birds_that_are_there(tables: FolderTables) -> None:
    known = on(tables, "2026-08-15")
    assert [row.wish for row in known.wishes] == ["together", "rest"]
    assert [row.hen for row in known.plan] == ["P0"]
    young = on(tables, "2026-12-10")
    assert [row.wish for row in young.wishes] == ["together", "rest"]  # A4's sex is not told yet


def test_from_the_day_of_the_last_word_all_counts_as_written(tables: FolderTables) -> None:
    for day in ("2027-01-02", "2027-06-01"):
        known = on(tables, day)
        assert (known.birds, known.seen, known.scores) == (
            tables.birds, tables.seen, tables.scores
        )  # fmt: skip
        assert known.settings is not None
        assert known.settings.today == dt.date.fromisoformat(day)
        assert not eve_of(tables, dt.date.fromisoformat(day)).looks_back


DAYS = [dt.date(2026, 1, 1) + dt.timedelta(days=9 * step) for step in range(45)]


def test_a_later_day_never_takes_back_what_was_seen(tables: FolderTables) -> None:
    before: FolderTables | None = None
    for day in DAYS:
        known = known_on(tables, day, catalogue())
        if before is not None:
            assert set(map(str, before.seen)) <= set(map(str, known.seen))
            assert set(map(str, before.scores)) <= set(map(str, known.scores))
            was = {record.bird: record for record in before.birds}
            now = {record.bird: record for record in known.birds}
            assert set(was) <= set(now)
            for band, record in was.items():
                assert set(record.seen) <= set(now[band].seen)
                assert record.sex in {None, now[band].sex}
        before = known


class TestSpring:
    settings = Settings(season=2027, recurrent="sussex", target={"O": 2})

    @pytest.mark.parametrize(
        ("day", "season"),
        [
            ("2026-02-02", 2027),
            ("2027-02-01", 2027),
            ("2027-02-02", 2028),
            ("2025-06-01", 2026),
            ("2027-12-31", 2028),
        ],
    )
    def test_the_next_pens(self, day: str, season: int) -> None:
        spring = next_spring(self.settings, dt.date.fromisoformat(day))
        assert (spring.season, spring.moved) == (season, season - 2027)
        assert spring.before < dt.date.fromisoformat(day) <= spring.pen_up
        assert spring.before == years_on(spring.pen_up, -1)

    def test_pens_made_up_before_new_year(self) -> None:
        settings = self.settings.model_copy(
            update={"year": self.settings.year.model_copy(update={"pen_up": dt.date(2026, 12, 28)})}
        )
        spring = next_spring(settings, dt.date(2026, 12, 29))
        assert (spring.season, spring.pen_up) == (2028, dt.date(2027, 12, 28))

    def test_a_day_far_off_is_refused(self) -> None:
        with pytest.raises(UsageError, match="no day near the season 2027"):
            next_spring(self.settings, dt.date(1907, 3, 1))

    def test_the_folder_for_another_spring(self, tmp_path: Path) -> None:
        settings = (
            "[year]\npen_up = 2027-02-05\ncollect_until = 2027-05-01\n"
            '[rotation]\norder = ["Alder", "Pure"]\nopen = true\n'
        )
        pens = [
            {"pen": "Yard", "hens_max": "5", "from": "2027-02-05", "until": "2027-03-05"},
            {"pen": "Barn", "hens_max": "5"},
        ]
        wishes = [
            {"bird": "A1", "with": "S0", "wish": "apart"},
            {"bird": "P0", "with": "", "wish": "rest"},
        ]
        folder = write_flock(tmp_path, BIRDS, settings, pens=pens, wishes=wishes)
        tables = read_folder(folder, known_loci=frozenset(catalogue()))
        assert tables.settings is not None
        moved = set_for(tables, next_spring(tables.settings, dt.date(2027, 3, 1)))
        assert moved.settings is not None
        assert moved.settings.rotation is not None
        assert (moved.settings.season, moved.settings.rotation.open) == (2028, None)
        assert str(moved.settings.pen_up) == "2028-02-05"
        assert str(moved.settings.collect_until) == "2028-05-01"
        assert [str(pen.first_day) for pen in moved.pens] == ["2028-02-05", "None"]
        assert [str(pen.last_day) for pen in moved.pens] == ["2028-03-05", "None"]
        assert [row.wish for row in moved.wishes] == ["apart"]
        assert set_for(tables, next_spring(tables.settings, dt.date(2027, 1, 1))) is tables
