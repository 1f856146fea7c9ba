"""The flock: lines, sexes, living birds, today and what was assumed."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import InputError
from matchmaker.flock.flock import flock_of_sound
from matchmaker.tables.records import Sex
from tests.builders import bird, chick, cock, flock_of, hen

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

OLD = (cock("SC"), hen("SH"))


def line(path: Path, *rows: Row, band: str = "Y") -> str:
    return flock_of(path, [*OLD, *rows]).by_band()[band].line


def test_sound_tables_give_the_same_flock_unchecked(tmp_path: Path) -> None:
    found = flock_of(tmp_path, [*OLD, chick("Y", "hen", "SC", "SH", "Alder")])
    assert flock_of_sound(found.tables, found.settings) == found


def test_a_written_line_stands(tmp_path: Path) -> None:
    assert line(tmp_path, chick("Y", "hen", "SC", "SH", "Alder")) == "Alder"


def test_without_a_line_a_bird_is_of_its_dams(tmp_path: Path) -> None:
    assert line(tmp_path, hen("A", "Alder"), chick("Y", "hen", "SC", "A", "")) == "Alder"


def test_lines_follow_the_dams_as_far_back_as_needed(tmp_path: Path) -> None:
    rows = [
        hen("A", "Alder"),
        chick("M", "hen", "SC", "A", "", hatched="2026-03-01"),
        chick("Y", "hen", "SC", "M", "", hatched="2027-03-01"),
    ]
    assert line(tmp_path, *rows) == "Alder"


def test_with_two_possible_dams_the_breed_gives_the_line(tmp_path: Path) -> None:
    row = chick("Y", "hen", "SC", "SH|A", "", breed="sussex")
    assert line(tmp_path, hen("A", "Alder"), row) == "sussex"


@pytest.mark.parametrize("breed", ["", "sussex:0.5|araucana:0.5"])
def test_without_line_dam_and_single_breed_it_is_of_the_flock(tmp_path: Path, breed: str) -> None:
    assert line(tmp_path, bird("Y", "hen", "", breed)) == "flock"


def test_lines_taken_from_elsewhere_are_listed(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, chick("Y", "hen", "SC", "SH", "")])
    assert "no line written, taken from the dam, else the breed: Y" in flock.defaults


def test_sex_is_settled_by_chicks(tmp_path: Path) -> None:
    rows = [*OLD, bird("U", "", "Pure", "sussex"), chick("Y", "hen", "U", "SH", "Pure")]
    flock = flock_of(tmp_path, rows)
    assert flock.by_band()["U"].sex is Sex.COCK
    assert "sex settled by being a parent: U" in flock.defaults


def test_sex_stays_open_where_nothing_settles_it(tmp_path: Path) -> None:
    assert flock_of(tmp_path, [*OLD, bird("U", "", "Pure", "sussex")]).by_band()["U"].sex is None


@pytest.mark.parametrize(
    ("status", "living"),
    [
        ("breeder", True),
        ("young", True),
        ("spare", True),
        ("quarantine", True),
        ("sold", False),
        ("dead", False),
        ("culled", False),
    ],
)
def test_who_is_living(tmp_path: Path, status: str, living: bool) -> None:  # noqa: FBT001
    flock = flock_of(tmp_path, [*OLD, hen("A", status=status)])
    assert [found.band for found in flock.living] == ["A", "SC", "SH"][not living :]


def test_today_is_the_newest_date_written(tmp_path: Path) -> None:
    rows = [*OLD, hen("A", status="sold", left_on="2026-11-03")]
    assert flock_of(tmp_path, rows).today == dt.date(2026, 11, 3)


def test_today_as_set_goes_before(tmp_path: Path) -> None:
    settings = "today = 2026-12-24\n"
    assert flock_of(tmp_path, OLD, settings).today == dt.date(2026, 12, 24)


def test_without_any_date_today_is_the_day_of_penning(tmp_path: Path) -> None:
    rows = [cock("SC", hatched=""), hen("SH", hatched="")]
    assert flock_of(tmp_path, rows).today == dt.date(2027, 2, 1)


def test_a_year_alone_counts_from_may_day(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("A", hatched="2025")])
    assert flock.by_band()["A"].age_on(dt.date(2025, 5, 31)) == 30
    assert "only the year of hatching known, taken as 1 May: A" in flock.defaults


def test_age_without_a_date_is_unknown(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("A", hatched="")])
    assert flock.by_band()["A"].age_on(dt.date(2027, 1, 1)) is None


def test_many_bands_are_listed_in_short(tmp_path: Path) -> None:
    rows = [hen(f"A{at}", hatched="2025") for at in range(8)]
    flock = flock_of(tmp_path, [*OLD, *rows])
    assert flock.defaults == (
        "only the year of hatching known, taken as 1 May: A0, A1, A2, A3, A4, A5 and 2 more",
    )


def test_a_source_without_a_base_is_told(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("A", source="Hill")])
    assert flock.defaults == (
        "birds of one source taken as related by 0.0625 (first cousins): Hill",
    )


def test_of_a_closely_bred_breed_its_own_base_is_told(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.1\n"
    flock = flock_of(tmp_path, [*OLD, hen("A", source="Hill")], settings)
    (said,) = flock.defaults
    assert said.startswith("birds of one source taken as related by 0.0625 (first cousins), or as")
    assert said.endswith("all of their breed where that is more: Hill")


def test_a_faulty_folder_makes_no_flock(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        flock_of(tmp_path, [*OLD, chick("Y", "hen", "SH", "X9", "Pure")])
    assert [fault.kind for fault in caught.value.faults] == ["unknown-parent", "parent-sex"]
