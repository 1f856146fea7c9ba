"""Rows for CSV files, and the documents they are taken from."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import Fault
from matchmaker.mends.effects import Effects
from matchmaker.mends.reach import Reach, reach_of
from matchmaker.report.check_document import check_document
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import (
    as_json,
    faults_document,
    no_plan_document,
    pairs_document,
    plan_document,
)
from matchmaker.report.findings import Shown
from matchmaker.report.flock_document import flock_document
from matchmaker.report.sheets import (
    findings_sheet,
    flock_sheet,
    kinship_sheet,
    pairs_sheet,
    plan_records,
    plan_sheet,
)
from tests.builders import HOME, HOME_SEEN, bird, hen, write_flock
from tests.scored_flocks import scored

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

FAULT = Fault(
    kind="bad-sex",
    file="birds.csv",
    row=4,
    column="sex",
    value="maybe",
    problem="maybe is not understood here",
    mend="write cock or hen",
)
BIRDS = (*HOME, bird("U", "", "Alder", sire="SC", dam="AH", hatched="2026-10-01"), hen("SI"))


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return verbs.plan(write_flock(tmp_path_factory.mktemp("sheets"), BIRDS, seen=HOME_SEEN))


def test_findings_are_told_apart_by_their_weight() -> None:
    found = [Reach(fault=FAULT, stops=stops, touched={"H1": 0.5}) for stops in (True, False)]
    sheet = findings_sheet(found, Effects())
    assert [row[0] for row in sheet.rows] == ["fault", "doubt"]
    told = dict(zip(sheet.header, sheet.rows[0], strict=True))
    assert (told["mend"], told["touches"], told["weight"]) == ("write cock or hen", 1, 0.5)


def test_the_flock_is_one_living_bird_a_row(plan: SeasonPlan) -> None:
    sheet = flock_sheet(plan.table)
    rows = {str(row[0]): dict(zip(sheet.header, row, strict=True)) for row in sheet.rows}
    assert rows.keys() == {"SC", "SH", "AC", "AH", "U", "SI"}
    assert rows["AC"]["carries_O"] == pytest.approx(1)
    assert rows["U"]["carries_O"] == pytest.approx(0.5)
    assert rows["U"]["recurrent_share"] == pytest.approx(0.75)


def test_one_bird_is_one_row(plan: SeasonPlan) -> None:
    assert [row[0] for row in flock_sheet(plan.table, "AH").rows] == ["AH"]


def test_kinship_is_a_square_with_bands_on_both_sides(plan: SeasonPlan) -> None:
    sheet = kinship_sheet(plan.table.study.kinship, ["SC", "U"])
    assert sheet.header == ("bird", "SC", "U")
    assert [row[0] for row in sheet.rows] == ["SC", "U"]
    assert sheet.rows[0][2] == sheet.rows[1][1] == pytest.approx(0.25)


def test_pairs_are_all_there_with_their_reasons(plan: SeasonPlan) -> None:
    sheet = pairs_sheet(plan.table)
    rows = [dict(zip(sheet.header, row, strict=True)) for row in sheet.rows]
    assert len(rows) == len(plan.table.pairs)
    for row in rows:
        assert (row["allowed"] == "yes") == (row["detail"] == "")
        assert (row["rules"] == "") == (row["detail"] == "")


def test_the_plan_is_one_hen_a_row(plan: SeasonPlan) -> None:
    sheet = plan_sheet(plan)
    records = plan_records(plan)
    at = {name: sheet.header.index(name) for name in ("pen", "line", "cock", "hen")}
    assert [tuple(row[place] for place in at.values()) for row in sheet.rows] == [
        (record.pen, record.line, record.cock, record.hen) for record in records
    ]
    assert len(records) == sum(len(pen.pairs) for pen in plan.pens) > 0


def test_documents_are_json_with_every_letter() -> None:
    text = as_json({"bird": "Žluťas", "carrier": "×"})
    assert "Žluťas" in text
    assert text.endswith("}\n")


def test_documents_hold_no_number_that_json_lacks() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json({"merit": float("nan")})


def test_every_document_can_be_written(plan: SeasonPlan) -> None:
    documents = [
        flock_document(plan.table),
        pairs_document(plan.table),
        plan_document(plan),
        no_plan_document(plan.table, {"rows": ["wish in row 2"], "relax": []}),
        faults_document(None, [FAULT], "plan"),
    ]
    names = [json.loads(as_json(one))["schema"].split("/")[1] for one in documents]
    assert names == ["flock", "pairs", "plan", "plan", "plan"]


def test_a_bird_of_unknown_sex_may_have_any_number_of_copies(plan: SeasonPlan) -> None:
    (one,) = flock_document(plan.table, "U")["birds"]
    assert one["sex"] is None
    assert one["genotypes"]["O"].keys() == {"0", "1", "2"}


def test_the_defaults_are_in_every_document(plan: SeasonPlan) -> None:
    defaults = list(defaults_of(plan.table))
    assert any("kinship limit 0.125" in one for one in defaults)
    assert any("pure for O" in one for one in defaults)
    assert plan_document(plan)["defaults"] == pairs_document(plan.table)["defaults"] == defaults


def test_default_numbers_of_chicks_have_the_digits_they_deserve(plan: SeasonPlan) -> None:
    (text,) = [one for one in defaults_of(plan.table) if one.startswith("chicks wanted")]
    numbers = [part.split()[-1] for part in text.split(": ")[1].split(", ")]
    assert all(len(number.replace(".", "")) <= 2 for number in numbers)


def test_crossings_of_a_sound_folder_are_in_its_document(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder = write_flock(tmp_path_factory.mktemp("check"), BIRDS, seen=HOME_SEEN)
    found = verbs.check(folder)
    document = check_document(found, Shown(reaches=reach_of(found)))
    assert document["breeders"] == ["AC", "AH", "SC", "SH", "SI", "U"]
    assert [row["row"] for row in document["crossings"]] == [
        "Pure pure",
        "Alder hens",
        "Alder cocks",
    ]
    assert document["faults"] == []


def test_birds_carry_what_their_genes_count(tmp_path: Path) -> None:
    table = scored(tmp_path)
    sheet = flock_sheet(table)
    rows = {str(row[0]): dict(zip(sheet.header, row, strict=True)) for row in sheet.rows}
    forecast = table.study.forecast
    for trait in forecast.traits:
        for band in ("H0", "S1"):
            at = forecast.position(band)
            figures = {
                "genes": trait.values[at],
                "level": trait.levels[at],
                "reliability": trait.reliability[at],
            }
            for what, figure in figures.items():
                shown = rows[band][f"{what}_{trait.aim.trait}"]
                assert shown == round(float(figure), 6)
                assert len(f"{shown}".partition(".")[2]) <= 6
