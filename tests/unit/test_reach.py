"""Which breeders rest on a finding, with what part, and in what order findings come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.checking import Check
from matchmaker.errors import CellMend, Fault
from matchmaker.mends.reach import reach_of
from tests.builders import HOME, HOME_SEEN, TOP, bird, checked, chick, cock, hen

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

FAMILY: tuple[Row, ...] = (
    cock("F", status="dead"),
    cock("G"),
    hen("M"),
    chick("A", "hen", "F", "M", "Pure", hatched="2025-04-01"),
    chick("B", "hen", "F:0.5|G:0.5", "M", "Pure", hatched="2025-04-01"),
    chick("C", "cock", "G", "A", "Pure", hatched="2026-04-01", source="Hill"),
)
"""F, who is dead, has a chick A and perhaps B; A has a chick C."""

SETTINGS = "[lines.Alder]\nimportance = 2\n[sources.Hill]\nbase = 0.125\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Check:
    tables: dict[str, Any] = {
        "seen": [
            *HOME_SEEN,
            {"pen": "Orchard", "locus": "O", "what": "3 blue", "date": "2026-05-01"},
        ],
        "moves": [
            {"bird": "G", "pen": "Orchard", "moved_in": "2026-02-01", "moved_out": "2026-06-01"},
            {"bird": "M", "pen": "Orchard", "moved_in": "2026-02-01", "moved_out": "2026-03-01"},
            {"bird": "A", "pen": "Orchard", "moved_in": "2026-02-01", "moved_out": "2026-06-01"},
            {"bird": "B", "pen": "Orchard", "moved_in": "2026-07-01", "moved_out": "2026-08-01"},
        ],
        "wishes": [{"bird": "A", "with": "G", "wish": "apart", "why": ""}],
    }
    path = tmp_path_factory.mktemp("reach")
    return checked(path, [*HOME, *FAMILY], SETTINGS, TOP, **tables)


def touched(folder: Check, table: str, at: int, column: str, **more: Any) -> dict[str, float]:
    """Return what a made-up doubt about a row touches; rows count from the first record, 0."""
    place = folder.tables.place(table, at + 2, column)
    made = Fault(**{**place, "kind": "made-up", "problem": "p", "mend": "m", **more})
    return only_reach(folder, made)


def only_reach(folder: Check, made: Fault) -> dict[str, float]:
    found = Check(tables=folder.tables, faults=(), doubts=(made,), table=folder.table)
    (reach,) = reach_of(found).found
    return dict(reach.touched)


FOUNDER, DAUGHTER, PERHAPS = 4, 7, 8
"""Rows of birds: F, A and B, after the four of ``HOME``."""


def test_a_founders_breed_moves_what_descends_from_it_half_a_generation(folder: Check) -> None:
    found = touched(folder, "birds", FOUNDER, "breed")
    assert found == {"A": 0.5, "B": 0.25, "C": 0.25}


def test_a_parents_cell_moves_the_chick_wholly(folder: Check) -> None:
    assert touched(folder, "birds", DAUGHTER, "sire") == {"A": 1.0, "C": 0.5}


def test_an_egg_rate_moves_the_hen_alone(folder: Check) -> None:
    assert touched(folder, "birds", DAUGHTER, "lay_per_week") == {"A": 1.0}


def test_the_dead_move_nobody_by_what_is_theirs_alone(folder: Check) -> None:
    assert touched(folder, "birds", FOUNDER, "fertility") == {}


def test_what_was_seen_on_a_bird_speaks_of_its_forebears_too(folder: Check) -> None:
    found = touched(folder, "birds", PERHAPS, "O", birds=("B",), file="seen.csv")
    assert found["B"] == 1.0
    assert found["M"] == 0.5
    assert found["G"] == 0.25
    assert found["A"] == 0.25  # by the dam: half up, half down


def test_chicks_of_a_pen_speak_of_those_who_were_in_it_then(folder: Check) -> None:
    found = touched(folder, "seen", 2, "what")
    assert found["G"] == 1.0  # the only cock
    assert found["M"] == found["A"] == 0.5  # one of two hens
    assert found["B"] < 0.5  # in the pen too late: a relative


def test_a_cocks_stay_moves_the_hens_that_were_with_him(folder: Check) -> None:
    assert touched(folder, "moves", 0, "moved_in") == dict.fromkeys("AGM", 1.0)
    assert touched(folder, "moves", 1, "moved_in") == {"M": 1.0}


def test_cells_that_a_mend_would_write_elsewhere_count_too(folder: Check) -> None:
    mend = CellMend(table="birds", row=PERHAPS + 2, column="line", was="Pure", becomes="Pine")
    assert touched(folder, "birds", DAUGHTER, "lay_per_week", mends=(mend,)) == {"A": 1.0, "B": 1.0}


def test_a_wish_moves_both(folder: Check) -> None:
    assert touched(folder, "wishes", 0, "with") == {"A": 1.0, "G": 1.0}


def test_a_pen_is_one_of_the_pens_for_every_bird(folder: Check) -> None:
    found = touched(folder, "pens", 0, "hens_max")
    assert found == dict.fromkeys(reach_of(folder).breeders, 0.5)


@pytest.mark.parametrize(
    ("key", "bands"),
    [("lines.Alder.importance", {"AC", "AH"}), ("sources.Hill.base", {"C"})],
)
def test_a_setting_of_a_part_moves_that_part(folder: Check, key: str, bands: set[str]) -> None:
    place = folder.tables.setting_place(key)
    assert only_reach(folder, Fault(**place, kind="k", problem="p", mend="m")).keys() == bands


@pytest.mark.parametrize("key", ["limits.kinship_max", "season", "matings, entry 1, hens"])
def test_any_other_setting_moves_all(folder: Check, key: str) -> None:
    place = folder.tables.setting_place(key)
    found = only_reach(folder, Fault(**place, kind="k", problem="p", mend="m"))
    assert found == dict.fromkeys(reach_of(folder).breeders, 1.0)


def test_a_missing_column_of_birds_moves_all_and_a_row_nobody_kept_its_own_bird(
    folder: Check,
) -> None:
    assert len(touched(folder, "birds", -1, "sire")) == len(reach_of(folder).breeders)
    assert touched(folder, "birds", 500, "bird", value="C") == {"C": 1.0}
    assert touched(folder, "birds", 500, "bird", value="nobody") == {}


def test_the_dead_and_the_culled_are_no_breeders(folder: Check) -> None:
    assert reach_of(folder).breeders == ("A", "AC", "AH", "B", "C", "G", "M", "SC", "SH")


def test_faults_come_first_settings_before_cells_then_what_weighs_most(folder: Check) -> None:
    def made(kind: str, row: int, column: str, file: str = "birds.csv") -> Fault:
        return Fault(kind=kind, file=file, row=row, column=column, problem="p", mend="m")

    found = Check(
        tables=folder.tables,
        faults=(made("cell", 6, "breed"), made("key", 1, "season", "matchmaker.toml")),
        doubts=(
            made("light", 9, "lay_per_week"),
            made("title", 1, "", "birds.csv"),
            made("heavy", 8, "sire"),
            made("header-row", 1, ""),
        ),
        table=folder.table,
    )
    told = [(reach.stops, reach.fault.kind) for reach in reach_of(found).found]
    assert told == [
        (True, "key"),
        (True, "cell"),
        (False, "title"),
        (False, "heavy"),
        (False, "light"),
        (False, "header-row"),
    ]


def test_a_loop_of_parents_comes_to_an_end(tmp_path: Path) -> None:
    loop = (
        cock("X", sire="Y", dam="M"),
        cock("Y", sire="X", dam="M"),
        hen("M"),
    )
    found = reach_of(checked(tmp_path, loop))
    (reach,) = [one for one in found.found if one.fault.kind == "ancestor-loop"]
    assert {"X", "Y"} <= reach.touched.keys()
    assert all(0 < part <= 1 for part in reach.touched.values())


def test_while_faults_stand_those_written_as_breeders_count(tmp_path: Path) -> None:
    birds = (
        *HOME,
        bird("Z", "perhaps", "Pure", "sussex"),
        cock("Q", status="sold"),
        hen("V", status="spare"),
    )
    found = reach_of(checked(tmp_path, birds))
    assert found.breeders == ("AC", "AH", "SC", "SH", "V", "Z")
