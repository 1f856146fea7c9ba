"""Faults and doubts of the pedigree, each found through a written folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import Row, bird, checked, cock, hen, of_kind, where

if TYPE_CHECKING:
    from pathlib import Path

OLD = (cock("SC"), hen("SH"))


def only_fault(path: Path, kind: str, *rows: Row, settings: str = "") -> tuple[object, ...]:
    """Return place, problem and mend of the only fault there is."""
    (fault,) = checked(path, [*OLD, *rows], settings).faults
    assert fault.kind == kind
    return (*where(fault), fault.problem, fault.mend)


def young(band: str, sire: str = "SC", dam: str = "SH", **cells: str) -> Row:
    row = {"sire": sire, "dam": dam, "hatched": "2026-04-01", **cells}
    return bird(band, row.pop("sex", "hen"), "Pure", **row)


def test_an_unknown_parent_is_met_with_the_likeliest_band(tmp_path: Path) -> None:
    assert only_fault(tmp_path, "unknown-parent", young("Y1", dam="SHH")) == (
        "birds.csv",
        4,
        "dam",
        "SHH",
        "no bird SHH is in the list",
        (
            "did you mean SH? Otherwise add a row for SHH, write founder, or leave the cell empty "
            "if nobody knows"
        ),
    )


def test_an_unknown_parent_like_no_other_is_to_be_added(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, "unknown-parent", young("Y1", sire="9999"))
    assert fault[-1] == (
        "add a row for 9999, write founder, or leave the cell empty if nobody knows"
    )


def test_a_hen_cannot_be_a_sire(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, "parent-sex", hen("SH2"), young("Y1", sire="SH2"))
    assert fault == (
        "birds.csv",
        5,
        "sire",
        "SH2",
        "SH2 is a hen (row 4) and cannot be a sire",
        "mend the sex of the parent or put the right band here",
    )


def test_one_of_several_possible_parents_may_be_at_fault(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, "parent-sex", hen("SH2"), young("Y1", sire="SC|SH2"))
    assert fault[:4] == ("birds.csv", 5, "sire", "SH2")


def test_a_parent_hatched_too_late(tmp_path: Path) -> None:
    late = hen("H3", hatched="2026-01-01")
    fault = only_fault(tmp_path, "parent-too-late", late, young("Y1", dam="H3"))
    assert fault == (
        "birds.csv",
        5,
        "dam",
        "H3",
        "H3 hatched on 2026-01-01 (row 4), too late to have a chick hatched on 2026-04-01",
        "check the two hatch dates; a parent is at least 21 weeks older than its chick",
    )


@pytest.mark.parametrize(("hatched", "faults"), [("2025-11-05", 0), ("2025-11-06", 1)])
def test_a_parent_is_at_least_147_days_older(tmp_path: Path, hatched: str, faults: int) -> None:
    """2025-11-05 is 147 days before 2026-04-01."""
    found = checked(tmp_path, [*OLD, hen("H3", hatched=hatched), young("Y1", dam="H3")])
    assert len(of_kind(found.faults, "parent-too-late")) == faults


def test_a_hen_that_had_left_cannot_be_the_dam(tmp_path: Path) -> None:
    gone = hen("H3", status="sold", left_on="2026-02-01")
    fault = only_fault(tmp_path, "parent-gone", gone, young("Y1", dam="H3"))
    assert fault == (
        "birds.csv",
        5,
        "dam",
        "H3",
        "H3 left on 2026-02-01 (row 4), too long before a chick hatched on 2026-04-01",
        "check both dates; after 35 days no chick can still be this bird's",
    )


@pytest.mark.parametrize(
    ("sex", "left", "faults"),
    [
        pytest.param("cock", "2026-01-24", 0, id="67 days: stored sperm and stored eggs"),
        pytest.param("cock", "2026-01-23", 1, id="68 days after a cock"),
        pytest.param("hen", "2026-02-25", 0, id="35 days: stored eggs"),
        pytest.param("hen", "2026-02-24", 1, id="36 days after a hen"),
    ],
)
def test_chicks_can_hatch_for_a_while_after_a_parent_left(
    tmp_path: Path, sex: str, left: str, faults: int
) -> None:
    gone = bird("G", sex, "Pure", "sussex", status="dead", left_on=left)
    parents = {"sire": "G"} if sex == "cock" else {"dam": "G"}
    found = checked(tmp_path, [*OLD, gone, young("Y1", **parents)])
    assert len(of_kind(found.faults, "parent-gone")) == faults


def test_one_bird_cannot_be_both_parents(tmp_path: Path) -> None:
    unsexed = bird("U", "", "Pure", "sussex")
    found = checked(tmp_path, [*OLD, unsexed, young("Y1", sire="U", dam="U")])
    (fault,) = of_kind(found.faults, "same-parent")
    assert where(fault) == ("birds.csv", 5, "dam", "U")
    assert fault.problem == "U is written as sire and as dam of Y1"


def test_a_bird_of_no_written_sex_cannot_have_both_roles(tmp_path: Path) -> None:
    unsexed = bird("U", "", "Pure", "sussex")
    fault = only_fault(tmp_path, "two-roles", unsexed, young("Y1", sire="U"), young("Y2", dam="U"))
    assert fault[:4] == ("birds.csv", 4, "sex", "U")
    assert fault[4] == "U has no sex written and is sire of some chicks, dam of others"


def undated(band: str, sex: str, sire: str, dam: str) -> Row:
    return bird(band, sex, "Pure", sire=sire, dam=dam, hatched="")


def test_a_loop_of_ancestors_is_printed(tmp_path: Path) -> None:
    rows = (
        undated("A", "hen", "SC", "C"),
        undated("B", "hen", "SC", "A"),
        undated("C", "hen", "SC", "B"),
    )
    fault = only_fault(tmp_path, "ancestor-loop", *rows)
    assert fault == (
        "birds.csv",
        4,
        "dam",
        "C",
        "A is its own ancestor: A → B → C → A (each is written as a parent of the next)",
        "one of these parents is wrong; start with the one hatched last",
    )


def test_a_bird_may_not_be_its_own_sire(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, "ancestor-loop", undated("A", "cock", "A", "SH"))
    assert fault[:5] == (
        "birds.csv",
        4,
        "sire",
        "A",
        "A is its own ancestor: A → A (each is written as a parent of the next)",
    )


@pytest.mark.parametrize("turn", [1, -1])
def test_two_loops_are_told_apart_although_one_leads_to_the_other(
    tmp_path: Path, turn: int
) -> None:
    rows = (
        undated("D", "hen", "SC|E", "N"),
        undated("E", "cock", "SC", "D"),
        undated("M", "cock", "SC", "N"),
        undated("N", "hen", "M", "SH"),
    )
    found = checked(tmp_path, [*OLD, *rows[::turn]])
    loops = [fault.problem.split(" (")[0] for fault in of_kind(found.faults, "ancestor-loop")]
    assert sorted(loops) == [
        "D is its own ancestor: D → E → D",
        "M is its own ancestor: M → N → M",
    ]


def test_a_source_cannot_be_less_related_than_its_breed(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.05\n[sources.Hill]\nbase = 0.02\n"
    fault = only_fault(tmp_path, "source-base", hen("H3", source="Hill"), settings=settings)
    assert fault == (
        "matchmaker.toml",
        7,
        "sources.Hill.base",
        "0.02",
        (
            "birds of source Hill cannot be less related than birds of the breed sussex at large "
            "(base 0.05)"
        ),
        "raise it to at least 0.05",
    )


def test_a_source_as_related_as_its_breed_is_sound(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.05\n[sources.Hill]\nbase = 0.05\n"
    assert checked(tmp_path, [*OLD, hen("H3", source="Hill")], settings).faults == ()


def test_no_fault_hides_another(tmp_path: Path) -> None:
    rows = [
        *OLD,
        hen("Y1", sire="SC", dam="NOBODY", hatched="2026-04-01", breed=""),
        hen("Y2", sire="SH", dam="SH", hatched="2026-04-01", breed=""),
        hen("Y3", sire="SC", dam="Y1", hatched="2026-05-01", breed=""),
        cock("X", status="sold", left_on="2025-12-01"),
        hen("Y4", sire="X", dam="SH", hatched="2026-05-01", breed=""),
        undated("A", "hen", "SC", "B"),
        undated("B", "hen", "SC", "A"),
        bird("U", "", "Pure", "sussex"),
        young("Y5", sire="U"),
        young("Y6", dam="U"),
        hen("S1", source="Hill"),
    ]
    settings = "[breeds.sussex]\nbase = 0.05\n[sources.Hill]\nbase = 0.02\n"
    found = checked(tmp_path, rows, settings)
    assert [(fault.kind, fault.row) for fault in found.faults] == [
        ("unknown-parent", 4),
        ("parent-sex", 5),
        ("parent-too-late", 6),
        ("parent-gone", 8),
        ("ancestor-loop", 9),
        ("two-roles", 11),
        ("source-base", 7),
    ]


@pytest.mark.parametrize(
    ("hatched", "doubts"), [("2025-09-24", 0), ("2025-09-25", 1), ("2025-11-05", 1)]
)
def test_a_parent_under_27_weeks_is_doubted(tmp_path: Path, hatched: str, doubts: int) -> None:
    """2025-09-24 is 189 days before 2026-04-01."""
    found = checked(tmp_path, [*OLD, hen("H3", hatched=hatched), young("Y1", dam="H3")])
    assert len(of_kind(found.doubts, "young-parent")) == doubts


def test_the_doubt_on_a_young_parent_names_cell_and_age(tmp_path: Path) -> None:
    late = hen("H3", hatched="2025-10-01")
    found = checked(tmp_path, [*OLD, late, young("Y1", dam="H3")])
    (doubt,) = of_kind(found.doubts, "young-parent")
    assert (*where(doubt), doubt.problem, doubt.mend) == (
        "birds.csv",
        5,
        "dam",
        "H3",
        "H3 was only 26 weeks old when Y1 hatched",
        "check both hatch dates and the band of the parent",
    )


@pytest.mark.parametrize(
    ("parent", "offspring", "kinds"),
    [
        pytest.param("2026", "2026", [], id="same year: may be January and December"),
        pytest.param("2027", "2026", ["parent-too-late"], id="a year too late"),
        pytest.param("2026", "2026-05-20", ["parent-too-late"], id="139 days from New Year"),
        pytest.param("2026", "2026-06-01", [], id="151 days from New Year"),
        pytest.param("2026-08-07", "2026", ["parent-too-late"], id="146 days to the year's end"),
        pytest.param("2026-08-06", "2026", [], id="147 days to the year's end"),
    ],
)
def test_a_year_alone_is_faulted_only_where_no_day_of_it_can_be_right(
    tmp_path: Path, parent: str, offspring: str, kinds: list[str]
) -> None:
    rows = [*OLD, hen("H3", hatched=parent), young("Y1", dam="H3", hatched=offspring)]
    assert [fault.kind for fault in checked(tmp_path, rows).faults] == kinds


@pytest.mark.parametrize(
    ("left", "kinds"),
    [
        pytest.param("2025-12-01", [], id="31 days before New Year"),
        pytest.param("2025-11-01", ["parent-gone"], id="61 days before New Year"),
    ],
)
def test_a_chick_of_a_known_year_may_be_of_its_first_day(
    tmp_path: Path, left: str, kinds: list[str]
) -> None:
    gone = hen("H3", status="dead", left_on=left)
    rows = [*OLD, gone, young("Y1", dam="H3", hatched="2026")]
    assert [fault.kind for fault in checked(tmp_path, rows).faults] == kinds


def test_a_fault_between_years_names_the_years(tmp_path: Path) -> None:
    fault = only_fault(
        tmp_path,
        "parent-too-late",
        hen("H3", hatched="2027"),
        young("Y1", dam="H3", hatched="2026"),
    )
    assert fault[4] == "H3 hatched in 2027 (row 4), too late to have a chick hatched in 2026"


def test_a_parent_without_a_date_is_no_older_than_its_own_parents_allow(tmp_path: Path) -> None:
    """Its sire hatched on 2025-03-01; 147 days later is 2025-07-26, and another 147 2025-12-20."""
    middle = undated("M", "hen", "SC", "SH")
    late = young("Y1", dam="M", hatched="2025-12-19")
    assert only_fault(tmp_path / "late", "parent-too-late", middle, late) == (
        "birds.csv",
        5,
        "dam",
        "M",
        (
            "M has no hatch date (row 4), but by its own parents it cannot have hatched before "
            "2025-07-26: too late to have a chick hatched on 2025-12-19"
        ),
        "check the dates of its parents and of the chick, and the bands",
    )
    just = young("Y1", dam="M", hatched="2025-12-20")
    assert checked(tmp_path / "just", [*OLD, middle, just]).faults == ()


def test_birds_without_dates_cannot_knot_unknown_parents_into_a_loop(tmp_path: Path) -> None:
    """Dams drawn from the line go by dates, so no undated bird may lead back in time."""
    rows = [
        young("W1", dam="", hatched="2027-01-01"),
        undated("U1", "hen", "SC", "W1"),
        young("Q2", dam="U1", hatched="2026-02-01"),
        young("W2", dam="", hatched="2026-06-01"),
        undated("U2", "hen", "SC", "W2"),
        young("Q1", dam="U2", hatched="2025-12-01"),
    ]
    faults = checked(tmp_path, [*OLD, *rows]).faults
    assert [(fault.kind, fault.row) for fault in faults] == [
        ("parent-too-late", 6),
        ("parent-too-late", 9),
    ]


def test_birds_without_dates_are_not_suspected(tmp_path: Path) -> None:
    rows = [*OLD, hen("H3", hatched=""), young("Y1", dam="H3", hatched="")]
    assert checked(tmp_path, rows).faults == ()


@pytest.mark.parametrize(
    ("cells", "column", "problem"),
    [
        ({"sire": "SC|SC2"}, "sire", "Y2 and Y1 (row 5) are of one clutch but not of one sire"),
        (
            {"hatched": "2025-12-30"},
            "hatched",
            "Y2 and Y1 (row 5) are of one clutch but hatched in different years",
        ),
    ],
)
def test_a_clutch_has_one_sire_one_dam_and_one_year(
    tmp_path: Path, cells: dict[str, str], column: str, problem: str
) -> None:
    rows = (cock("SC2"), young("Y1", clutch="a"), young("Y2", clutch="a", **cells))
    assert only_fault(tmp_path, "clutch-in-two", *rows) == (
        "birds.csv",
        6,
        column,
        "a",
        problem,
        f"write the same {column} in both rows, or give them different clutches",
    )


def test_possible_parents_of_a_clutch_may_be_written_in_any_order(tmp_path: Path) -> None:
    rows = [
        cock("SC2"),
        *(young(b, sire=s, clutch="a") for b, s in (("Y1", "SC|SC2"), ("Y2", "SC2|SC"))),
    ]
    assert checked(tmp_path, [*OLD, *rows]).faults == ()


def test_sire_and_dam_in_each_others_place_are_told_once(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, [*OLD, young("Y1", sire="SH", dam="SC")], "").faults
    assert fault.problem == (
        "SH is a hen and SC a cock: the sire and the dam of Y1 stand in each other's place"
    )
    assert [(one.column, one.becomes) for one in fault.mends] == [("sire", "SC"), ("dam", "SH")]
    assert not fault.safe


def test_a_cock_as_sire_and_dam_is_wrong_as_the_dam_alone(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, [*OLD, young("Y1", dam="SC")], "").faults
    assert (fault.kind, fault.column, fault.value) == ("parent-sex", "dam", "SC")


def test_a_sex_with_a_question_mark_is_no_sure_one(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, [*OLD, young("Y1", sex="cockerel?")], "").faults
    assert fault.mend == (
        "write it without the question mark once it is sure; till then write cock or hen, or leave "
        "the cell empty while it is unknown"
    )
    assert fault.mends == ()
