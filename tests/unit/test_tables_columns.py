from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.columns import TABLES
from matchmaker.tables.read import read_folder
from matchmaker.tables.schema import Table, plain
from tests.unit.tables_helpers import BIRDS, SETTINGS, birds, folder, places, read

if TYPE_CHECKING:
    from pathlib import Path

FILLED_BESIDE = {
    "birds": {"row", "hatched_is_year", "seen"},
    "seen": {"row"},
    "scores": {"row", "traits"},
}


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_columns_and_record_fields_are_the_same(table: Table) -> None:
    fields = {field.name for field in dataclasses.fields(table.record)}
    joined_with_what = {"count"} if table.name == "seen" else set()
    columns = {column.attribute for column in table.columns} - joined_with_what
    assert fields - FILLED_BESIDE.get(table.name, {"row"}) == columns


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_no_spelling_means_two_columns(table: Table) -> None:
    spelled = [
        spelling
        for column in table.columns
        for spelling in {plain(word) for word in (column.name, *column.synonyms)}
    ]
    assert sorted(spelled) == sorted(set(spelled))


@pytest.mark.parametrize(
    "header",
    ["Ring,Sex,Born,Father,Mother", "LEG BAND,sex,Hatch date,sire,dam", "Id,SEX,hatched,Sire,Dam"],
)
def test_headers_in_the_keeper_s_words(tmp_path: Path, header: str) -> None:
    table = birds("C1,cock,2025-03-01,founder,founder", header=header)
    (bird,) = read(tmp_path, birds=table).birds
    assert (bird.bird, bird.sex, str(bird.hatched)) == ("C1", "cock", "2025-03-01")


def test_the_last_day_of_a_stay_and_of_a_pen_go_by_one_word(tmp_path: Path) -> None:
    tables = read(
        tmp_path,
        birds=birds("C1,cock,,"),
        pens="pen,hens_max,from,until\nA,8,2027-02-01,2027-04-01\n",
        moves="bird,pen,from,until\nC1,A,2027-02-03,2027-03-01\n",
    )
    assert str(tables.pens[0].last_day) == "2027-04-01"
    assert str(tables.moves[0].moved_out) == "2027-03-01"


def test_findings_name_the_header_as_written(tmp_path: Path) -> None:
    tables = read(tmp_path, birds=birds("C1,2,,", header="Ring,Sex (m/f),Father,Mother"))
    assert places(tables.doubts)[0] == (
        "column-not-read",
        "birds.csv",
        1,
        "Sex (m/f)",
        "Sex (m/f)",
    )
    assert ("missing-column", "birds.csv", 1, None, "sex") in places(tables.faults)
    tables = read(tmp_path, birds=birds("C1,2,,", header="Ring,Gender,Father,Mother"))
    assert ("sex-number", "birds.csv", 2, "Gender", "2") in places(tables.faults)


def test_two_columns_of_one_meaning_are_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,house,hens_max\nA,B,8\n")
    assert places(tables.faults) == [("duplicate-column", "pens.csv", 1, "house", "house")]
    assert tables.pens[0].pen == "A"


@pytest.mark.parametrize("header", ["bird,weight,Weight", "bird,date,weight,weight"])
def test_a_trait_twice_is_a_fault(tmp_path: Path, header: str) -> None:
    settings = SETTINGS + '[traits.weight]\ndirection = "up"\n'
    tables = read(tmp_path, settings=settings, scores=header + "\nC1\n")
    assert [fault.kind for fault in tables.faults] == ["duplicate-column"]


def test_an_unread_column_close_to_a_known_one_is_doubted(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,hens_max,damm_known,colour\nA,8,yes,red\n")
    assert places(tables.doubts) == [("column-not-read", "pens.csv", 1, "damm_known", "damm_known")]
    assert tables.doubts[0].mend == "did you mean dam_known?"
    assert tables.extras["pens"] == ("damm_known", "colour")


def test_a_table_without_a_header_is_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="A,8\nB,6\n")
    assert places(tables.faults) == [("no-header", "pens.csv", 1, None, "A, 8")]


def test_an_empty_table_is_a_fault(tmp_path: Path) -> None:
    assert places(read(tmp_path, pens="").faults) == [("no-header", "pens.csv", None, None, "")]


def test_a_needed_column_is_asked_for(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,hens_maxx\nA,8\n")
    assert places(tables.faults) == [("missing-column", "pens.csv", 1, None, "hens_max")]
    assert tables.faults[0].mend == "rename hens_maxx to hens_max"


def test_a_table_of_birds_without_parents_is_doubted(tmp_path: Path) -> None:
    tables = read(tmp_path, birds=birds("C1,m", header="bird,sex"))
    assert places(tables.doubts) == [
        ("column-not-given", "birds.csv", 1, None, "dam"),
        ("column-not-given", "birds.csv", 1, None, "sire"),
    ]


def test_a_cell_beyond_the_header_is_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, birds=BIRDS + "H3,hen,,,,Alder,,,left,over\n")
    assert places(tables.faults) == [("stray-cell", "birds.csv", 6, None, "left")]
    assert tables.birds[-1].bird == "H3"


class TestLocusColumns:
    def test_target_and_own_loci_are_columns(self, tmp_path: Path) -> None:
        settings = SETTINGS + '[loci.zz]\ninheritance = "autosomal"\n'
        table = birds("H1,hen,,,blue,seen it", "H2,hen,,,?,", header="bird,sex,sire,dam,O,zz")
        tables = read(tmp_path, settings=settings, birds=table)
        assert tables.loci_columns == ("O", "zz")
        assert [bird.seen for bird in tables.birds] == [{"O": "blue", "zz": "seen it"}, {}]

    def test_symbols_of_the_catalogue_are_columns_if_given(self, tmp_path: Path) -> None:
        folder(tmp_path, birds=birds("H1,hen,,,pea", header="bird,sex,sire,dam,P"))
        assert read_folder(tmp_path).extras["birds"] == ("P",)
        tables = read_folder(tmp_path, known_loci=frozenset({"P"}))
        assert (tables.loci_columns, tables.birds[0].seen) == (("P",), {"P": "pea"})

    def test_a_symbol_spelled_as_a_column_is_a_locus_beside_that_column(
        self, tmp_path: Path
    ) -> None:
        folder(tmp_path, birds=birds("H1,hen,,,yes", header="bird,sex,sire,dam,Id"))
        tables = read_folder(tmp_path, known_loci=frozenset({"Id"}))
        assert (tables.faults, tables.loci_columns) == ((), ("Id",))

    def test_a_locus_in_other_letters_is_doubted(self, tmp_path: Path) -> None:
        tables = read(tmp_path, birds=birds("H1,hen,,,blue", header="bird,sex,sire,dam,o"))
        assert places(tables.doubts) == [("column-not-read", "birds.csv", 1, "o", "o")]
        assert tables.doubts[0].mend == "did you mean O?"


class TestTraitColumns:
    SETTINGS = SETTINGS + '[traits.weight]\ndirection = "up"\nunit = "kg"\n'

    def test_every_other_column_of_scores_is_a_trait(self, tmp_path: Path) -> None:
        table = "bird,date,group,weight,comb,notes\nC1,2026-03-01,spring,2.5,4,tame\nH1,,,,3,\n"
        tables = read(tmp_path, settings=self.SETTINGS, scores=table)
        assert tables.traits == ("weight", "comb")
        assert [score.traits for score in tables.scores] == [
            {"weight": 2.5, "comb": 4.0},
            {"comb": 3.0},
        ]

    @pytest.mark.parametrize("header", ["Weight", "weight (kg)", "WEIGHT [kg]"])
    def test_a_trait_keeps_its_configured_name(self, tmp_path: Path, header: str) -> None:
        tables = read(tmp_path, settings=self.SETTINGS, scores=f"bird,{header}\nC1,2.5 kg\n")
        assert (tables.faults, tables.traits) == ((), ("weight",))
        assert tables.headers["scores"]["weight"] == header

    def test_a_score_in_another_unit_is_a_fault(self, tmp_path: Path) -> None:
        tables = read(tmp_path, settings=self.SETTINGS, scores="bird,weight\nC1,5 lb\nH1,2\n")
        assert places(tables.faults) == [("other-unit", "scores.csv", 2, "weight", "5 lb")]
        assert [score.traits for score in tables.scores] == [{}, {"weight": 2.0}]

    def test_a_column_of_words_is_no_trait(self, tmp_path: Path) -> None:
        tables = read(tmp_path, scores="bird,judge\nC1,Ann\nH1,Ben\n")
        assert (tables.traits, tables.extras["scores"]) == ((), ("judge",))
        assert places(tables.doubts) == [("column-not-read", "scores.csv", 1, "judge", "judge")]

    def test_a_word_in_a_column_of_numbers_is_a_fault(self, tmp_path: Path) -> None:
        tables = read(tmp_path, settings=self.SETTINGS, scores="bird,weight\nC1,heavy\nH1,2\n")
        assert places(tables.faults) == [("bad-number", "scores.csv", 2, "weight", "heavy")]
