"""From a flock without a plan to edits of its files, and how they are said."""

from __future__ import annotations

import io
import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.plan.no_plan.closed_rows import as_written, assumed_rows, closed_rows
from matchmaker.plan.no_plan.diagnosis import WayOut, diagnose
from matchmaker.plan.no_plan.repair import Act, Edit, repaired
from matchmaker.plan.no_plan.ways import Trial
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.season.season_plan import NO_PAIR
from matchmaker.report.diagnosis import conflict_entry, fact_sentences, print_diagnosis
from matchmaker.report.screen import console_for
from matchmaker.report.ways import edit_sentence, toml_rows, way_sentence
from tests.builders import chick, cock, dna, hen, judged, only, rules
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.no_plan.diagnosis import Diagnosis

OLD = {"hatched": "2024-03-01", "status": "dead"}
PARENTS = [
    cock("S0", **OLD),
    hen("D0", **OLD),
    cock("X1", "Alder", "araucana", **OLD),
    hen("X2", "Alder", "araucana", **OLD),
]
FLOCK = [
    *PARENTS,
    cock("C1"),
    hen("H1"),
    chick("A1", "cock", "X1", "X2", "Alder"),
    chick("A2", "hen", "X1", "X2", "Alder"),
    chick("A3", "hen", "X1", "X2", "Alder"),
]
"""A pure pair, and a line of three full sibs, all of them carriers."""

SEEN = [
    *(dna(bird, "O", 1) for bird in ("A1", "A2", "A3")),
    *(dna(bird, "O", 0) for bird in ("C1", "H1")),
]


FREQUENCY = "\n[loci.O.frequency]\naraucana = 0.5\n"


def flock(path: Path, settings: str = "", **tables: Any) -> PairTable:
    return judged(path, FLOCK, settings + FREQUENCY, seen=SEEN, **tables)


def diagnosis_of(table: PairTable) -> Diagnosis:
    posed = pose_problem(table, fresh=True)
    conflict = find_conflict(posed) if posed.candidates else (NO_PAIR,)
    return diagnose(table, posed, conflict)


def screen(table: PairTable, found: Diagnosis) -> str:
    stream = io.StringIO()
    print_diagnosis(console_for(stream), table, found)
    return plain(stream.getvalue())


def test_every_derived_row_written_out_means_the_same(tmp_path: Path) -> None:
    """Rows that are written take the place of those assumed: written out, nothing changes."""
    table = flock(tmp_path / "a")
    text = "\n" + toml_rows(assumed_rows(table))
    written = flock(tmp_path / "b", text)
    assert [pair.key for pair in written.allowed] == [pair.key for pair in table.allowed]
    assert [pair.value for pair in written.allowed] == [pair.value for pair in table.allowed]
    assert [rules(pair) for pair in written.pairs] == [rules(pair) for pair in table.pairs]


def test_a_row_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    table = flock(tmp_path)
    rows = [as_written(crossing) for crossing in table.crossings]
    read = tomllib.loads(toml_rows(rows))["matings"]
    assert [type(rows[0]).model_validate(row) for row in read] == rows


def test_closed_rows_are_those_that_no_row_opens(tmp_path: Path) -> None:
    assert [row.name for row in closed_rows(flock(tmp_path))] == ["Alder hens with Alder cocks"]


def test_an_edit_is_made_to_the_tables_as_it_is_said(tmp_path: Path) -> None:
    table = flock(
        tmp_path,
        "\n[limits]\nkinship_max = 0.0\n",
        wishes=[{"bird": "A2", "with": "C1", "wish": "apart"}],
    )
    assert "wished-apart" in rules(only(table, "A2", "C1"))
    apart = Edit(act=Act.DELETE, file="wishes.csv", table="wishes", row=2)
    cap = Edit(
        act=Act.WRITE, file="matchmaker.toml", key=("lines", "Alder", "kinship_max"), after=0.2
    )
    again = repaired(table, [apart, cap])
    assert rules(only(again, "A2", "C1")) == []
    assert table.study.flock.settings.line("Alder").kinship_max is None


def test_a_crossing_that_is_closed_is_opened_with_all_rows_written_out(tmp_path: Path) -> None:
    """Alder wants three hens; the pure cock may have one of its two, its own cock the other."""
    few = {"C1": "1"}
    birds = [{**row, "hens_max": few.get(row["bird"], "")} for row in FLOCK]
    settings = "\n[lines.Alder]\nhens_min = 3\nkinship_max = 0.25\n" + FREQUENCY
    pens = [{"pen": pen, "hens_max": "4", "dam_known": "yes"} for pen in ("1", "2")]
    table = judged(tmp_path, birds, settings, seen=SEEN, pens=pens)
    found = diagnosis_of(table)
    (opened,) = (way for way in found.ways if way.edits[0].act is Act.OPEN_ROW)
    names = [row.name for row in opened.edits[0].matings]
    assert names[-1] == "Alder hens with Alder cocks"
    assert names[:-1] == [row.name for row in table.crossings]


def test_where_no_pair_is_allowed_it_is_said_which_rule_rejects(tmp_path: Path) -> None:
    table = flock(tmp_path, "\n[limits]\nage_min_days = 5000\n")
    found = diagnosis_of(table)
    assert found.ways == ()
    text = screen(table, found)
    assert "birds too young" in text
    assert "No rule that may be loosened gives a plan" in text


def test_birds_that_are_gone_or_kept_apart_from_others_are_never_let_in(tmp_path: Path) -> None:
    birds = [cock("C1", status="sold"), hen("H1"), hen("H2"), cock("C2", status="quarantine")]
    assert diagnosis_of(judged(tmp_path, birds)).ways == ()


def test_lethal_chicks_are_never_let_in(tmp_path: Path) -> None:
    """Two carriers of creeper: a quarter of their chicks would die."""
    birds = [cock("C1"), hen("H1")]
    seen = [dna("C1", "Cp", 1), dna("H1", "Cp", 1)]
    table = judged(tmp_path, birds, "\n[loci.Cp.frequency]\nsussex = 0.1\n", seen=seen)
    assert "lethal-chicks" in rules(only(table, "H1", "C1"))
    assert diagnosis_of(table).ways == ()


def test_a_cap_is_never_offered_above_full_sibs(tmp_path: Path) -> None:
    """A sire with his daughter out of his own daughter."""
    birds = [
        cock("C1", hatched="2022-03-01"),
        hen("G0", hatched="2022-03-01", status="dead"),
        hen("D1", hatched="2023-03-01", status="dead", sire="C1", dam="G0"),
        hen("H1", hatched="2025-03-01", sire="C1", dam="D1"),
    ]
    table = judged(tmp_path, birds)
    assert only(table, "H1", "C1").kinship > 0.25
    assert diagnosis_of(table).ways == ()


def test_the_cap_of_a_line_is_said_with_the_figure_that_is_needed(tmp_path: Path) -> None:
    birds = [
        *PARENTS[:2],
        chick("C1", "cock", "S0", "D0", "Pure"),
        chick("H1", "hen", "S0", "D0", "Pure"),
    ]
    table = judged(tmp_path, birds)
    found = diagnosis_of(table)
    (edit,) = next(way.edits for way in found.ways if way.edits[0].act is Act.WRITE)
    assert (edit.key, edit.before, edit.after) == (("lines", "Pure", "kinship_max"), 0.125, 0.25)
    related = "its one cock C1 is too closely related to 1 of 1 hen (0.250, limit 0.125)"
    assert any(related in sentence for sentence in fact_sentences(found.circumstances))
    entry = conflict_entry(table, found)
    assert 0.25 in [way["rules"][0]["to"] for way in entry["relax"]]
    assert any("Close inbreeding" in caution for caution in entry["cautions"])
    assert "kinship_max = 0.25 (now 0.125)" in screen(table, found)


@pytest.mark.parametrize(
    ("edit", "sentence"),
    [
        (
            Edit(
                act=Act.WRITE,
                file="s",
                key=("lines", "Oak", "hens_min"),
                about="Oak",
                before=6,
                after=3,
            ),
            "ask line Oak for 3 hens at least: in s under [lines.Oak] write hens_min = 3 (now 6)",
        ),
        (
            Edit(
                act=Act.CELL,
                file="pens.csv",
                table="pens",
                row=4,
                column="hens_max",
                about="3",
                before=6,
                after=7,
            ),
            "give pen 3 7 places: in pens.csv, row 4 (3), write hens_max = 7 (now 6)",
        ),
        (
            Edit(
                act=Act.CELL,
                file="pens.csv",
                table="pens",
                row=4,
                column="open",
                about="3",
                before=False,
                after=True,
            ),
            "open pen 3: in pens.csv, row 4 (3), write open = yes (now no)",
        ),
        (
            Edit(
                act=Act.CELL,
                file="pens.csv",
                table="pens",
                row=8,
                column="line",
                about="7",
                before="Sussex",
                after="",
            ),
            "let pen 7 breed for any line: in pens.csv, row 8 (7), empty line (now Sussex)",
        ),
        (
            Edit(act=Act.DELETE, file="wishes.csv", table="wishes", row=4, about="A1 apart H1"),
            "give up a wish: delete row 4 of wishes.csv (A1 apart H1)",
        ),
        (
            Edit(act=Act.ASK, before=24, after=21),
            "ask for 21 pairs, not 24: --matings 21",
        ),
    ],
)
def test_sentences(edit: Edit, sentence: str) -> None:
    assert edit_sentence(edit) == sentence


def test_several_pairs_allowed_are_said_together() -> None:
    edits = tuple(
        Edit(
            act=Act.ADD,
            file="wishes.csv",
            table="wishes",
            about=f"{one} C1",
            cells=(("bird", one), ("with", "C1"), ("wish", "allow"), ("why", "way out")),
        )
        for one in ("H1", "H2")
    )
    way = WayOut(loosened=(), edits=edits, trial=Trial(value=1.0, pairs=1, proved=True))
    assert way_sentence(way) == (
        "allow 2 pairs: in wishes.csv add these rows (columns bird,with,wish,why): "
        "H1,C1,allow,way out; H2,C1,allow,way out"
    )
