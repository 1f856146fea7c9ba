"""Which crossings are open, where chicks go and which are kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.report.wording import crossing_sentence
from matchmaker.tables.records import Sex
from tests.builders import HOME, HOME_SEEN, checked, cock, dna, hen, judged, of_kind, only, where

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

THREE_LINES = (
    *HOME,
    cock("BC", "Birch", "sussex:0.75|araucana:0.25"),
    hen("BH", "Birch", "sussex:0.75|araucana:0.25"),
)
"""The pure line and two backcross lines beside it."""

ROW = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
BOTH = (Sex.COCK, Sex.HEN)


def crossings(
    path: Path, settings: str = "", birds: tuple[Row, ...] = THREE_LINES
) -> dict[str, Crossing]:
    return {row.name: row for row in judged(path, birds, settings).crossings}


def sentences(path: Path, settings: str = "") -> list[str]:
    return [crossing_sentence(row) for row in crossings(path, settings).values()]


def test_rows_derived_for_three_lines(tmp_path: Path) -> None:
    assert sentences(tmp_path) == [
        "Pure hens × Pure cocks: chicks join Pure (keep pure); kept are chicks with 0 copies of O",
        (
            "Alder hens × Pure cocks: chicks join Alder (backcross); kept are chicks with 1 or 2 "
            "copies of O"
        ),
        (
            "Pure hens × Alder cocks: chicks join Alder (backcross); kept are chicks with 1 or 2 "
            "copies of O"
        ),
        (
            "Birch hens × Pure cocks: chicks join Birch (backcross); kept are chicks with 1 or 2 "
            "copies of O"
        ),
        (
            "Pure hens × Birch cocks: chicks join Birch (backcross); kept are chicks with 1 or 2 "
            "copies of O"
        ),
    ]


def test_only_the_backcross_line_must_carry(tmp_path: Path) -> None:
    found = crossings(tmp_path)
    assert found["Alder hens"].carrier_lines == ("Alder",)
    assert found["Alder cocks"].carrier_lines == ("Alder",)
    assert found["Pure pure"].carrier_lines == ()


def test_lines_at_the_intercross_are_crossed_with_each_other(tmp_path: Path) -> None:
    settings = '[lines.Alder]\nstep = "intercross"\n[lines.Birch]\nstep = "intercross"\n'
    found = crossings(tmp_path, settings)
    assert list(found) == ["Pure pure", "Alder intercross", "Birch intercross"]
    row = found["Alder intercross"]
    assert (row.hens, row.cocks, row.chicks) == (("Alder",), ("Birch",), "Alder")
    assert row.keep == {sex: {"O": (2,)} for sex in BOTH}
    assert row.carrier_lines == ("Alder", "Birch")


def test_one_line_at_the_intercross_is_crossed_with_itself(tmp_path: Path) -> None:
    found = crossings(tmp_path, '[lines.Alder]\nstep = "intercross"\n')
    assert found["Alder intercross"].cocks == ("Alder",)
    assert "Birch hens" in found


def test_a_line_set_to_hold_keeps_birds_without_the_allele(tmp_path: Path) -> None:
    found = crossings(tmp_path, '[lines.Birch]\nstep = "hold"\n')
    assert found["Birch pure"].keep == {sex: {"O": (0,)} for sex in BOTH}
    assert found["Alder hens"].cocks == ("Birch", "Pure")


def test_a_line_of_pure_birds_set_to_backcross_is_no_hold_line(tmp_path: Path) -> None:
    found = crossings(tmp_path, '[lines.Pure]\nstep = "backcross"\n')
    assert found == {}


def test_a_line_with_one_crossbred_living_bird_is_not_pure(tmp_path: Path) -> None:
    rows = (*HOME, hen("X", "Other"), hen("Y", "Other", "sussex:0.999|araucana:0.001"))
    assert "Other hens" in crossings(tmp_path, birds=rows)


def test_the_dead_do_not_decide_what_a_line_is(tmp_path: Path) -> None:
    gone = hen("Y", "Other", "araucana", status="dead")
    assert "Other pure" in crossings(tmp_path, birds=(*HOME, hen("X", "Other"), gone))


def test_a_target_of_one_copy_keeps_one_copy(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 1}\n'
    (row,) = [row for row in judged(tmp_path, HOME, top=top).crossings if row.name == "Alder hens"]
    assert row.keep == {sex: {"O": (1,)} for sex in BOTH}


def test_an_allele_to_be_lost_is_left_to_further_backcrossing(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 0}\n'
    settings = '[lines.Birch]\nstep = "intercross"\n'
    found = {row.name: row for row in judged(tmp_path, THREE_LINES, settings, top).crossings}
    assert found["Alder hens"].keep[Sex.HEN] == {"O": (1, 2)}
    assert found["Birch intercross"].keep[Sex.HEN] == {"O": (2,), "P": (0,)}
    assert found["Pure pure"].keep[Sex.HEN] == {"O": (0,), "P": (0,)}


def test_daughters_can_have_one_copy_of_a_z_linked_allele(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {S = 2}\n'
    settings = '[lines.Birch]\nstep = "intercross"\n'
    found = {row.name: row for row in judged(tmp_path, THREE_LINES, settings, top).crossings}
    assert found["Alder hens"].keep == {Sex.COCK: {"S": (1, 2)}, Sex.HEN: {"S": (1,)}}
    assert found["Birch intercross"].keep == {Sex.COCK: {"S": (2,)}, Sex.HEN: {"S": (1,)}}


def test_written_rows_replace_the_derived_ones(tmp_path: Path) -> None:
    settings = ROW + 'name = "back"\nkeep = {O = [1], P = [0, 1]}\nrecognise = "sight"\n'
    found = crossings(tmp_path, settings)
    assert list(found) == ["back"]
    row = found["back"]
    assert row.keep == {sex: {"O": (1,), "P": (0, 1)} for sex in BOTH}
    assert (row.purpose, row.by_sight, row.loci) == (Purpose.BACKCROSS, True, ("O", "P"))


def test_a_written_row_without_a_name_is_called_by_its_lines(tmp_path: Path) -> None:
    settings = ROW.replace('"Pure"', '["Pure", "Birch"]')
    assert list(crossings(tmp_path, settings)) == ["Alder hens × Pure + Birch cocks (1)"]


def test_a_written_backcross_needs_no_carriers_from_pure_lines(tmp_path: Path) -> None:
    settings = ROW.replace('"Pure"', '["Pure", "Birch"]') + 'name = "back"\n'
    assert crossings(tmp_path, settings)["back"].carrier_lines == ("Alder",)


@pytest.mark.parametrize("purpose", ["intercross", "hold"])
def test_elsewhere_both_sides_must_carry_what_is_kept(tmp_path: Path, purpose: str) -> None:
    settings = ROW.replace("backcross", purpose) + 'name = "row"\n'
    assert crossings(tmp_path, settings)["row"].carrier_lines == ("Alder", "Pure")


def test_keep_by_sex(tmp_path: Path) -> None:
    settings = ROW + 'name = "row"\nkeep = {cock = {O = [2]}, hen = {O = [1, 2], P = [0]}}\n'
    row = crossings(tmp_path, settings)["row"]
    assert row.keep == {Sex.COCK: {"O": (2,)}, Sex.HEN: {"O": (1, 2), "P": (0,)}}
    assert crossing_sentence(row).endswith(
        "kept are sons with 2 copies of O and daughters with 1 or 2 copies of O and 0 copies of P"
    )


@pytest.mark.parametrize(
    ("sex", "sexes", "words"),
    [
        ("cock", (Sex.COCK,), "kept are sons with 1 copy of O"),
        ("hen", (Sex.HEN,), "kept are daughters with 1 copy of O"),
        ("both", BOTH, "kept are chicks with 1 copy of O"),
    ],
)
def test_one_sex_may_be_kept(tmp_path: Path, sex: str, sexes: tuple[Sex, ...], words: str) -> None:
    settings = ROW + f'name = "row"\nkeep = {{O = [1]}}\nkeep_sex = "{sex}"\n'
    row = crossings(tmp_path, settings)["row"]
    assert row.sexes == sexes
    assert crossing_sentence(row).endswith(words)


def test_a_locus_that_only_the_other_sex_is_kept_by_does_not_count(tmp_path: Path) -> None:
    settings = ROW + 'name = "row"\nkeep = {cock = {O = [2]}, hen = {P = [0]}}\n'
    assert crossings(tmp_path, settings + 'keep_sex = "hen"\n')["row"].loci == ("P",)


def test_what_is_not_asked_for_is_free(tmp_path: Path) -> None:
    row = crossings(tmp_path, ROW + 'name = "row"\n')["row"]
    assert row.loci == ()
    assert crossing_sentence(row).endswith("all chicks are kept")
    assert not row.needs_copy("O")


@pytest.mark.parametrize(
    ("keep", "needs"),
    [
        ("{O = [1, 2]}", True),
        ("{O = [0, 1]}", False),
        ("{cock = {O = [1]}, hen = {O = [0]}}", False),
    ],
)
def test_parents_must_carry_only_what_every_kept_chick_has(
    tmp_path: Path,
    keep: str,
    needs: bool,  # noqa: FBT001
) -> None:
    row = crossings(tmp_path, ROW + f'name = "row"\nkeep = {keep}\n')["row"]
    assert row.needs_copy("O") is needs


@pytest.mark.parametrize(
    ("every", "start", "is_open"),
    [(1, 2020, True), (2, 2025, True), (2, 2026, False), (3, 2024, True), (3, 2025, False)],
)
def test_rows_take_turns(tmp_path: Path, every: int, start: int, is_open: bool) -> None:  # noqa: FBT001
    settings = ROW + f'name = "row"\nevery = {every}\nfrom = {start}\n'
    found = checked(tmp_path, HOME, settings)
    assert [row.name for row in found.crossings] == ["row"] * is_open
    closed = [fault.problem for fault in of_kind(found.doubts, "row-closed")]
    assert closed == ["this row is not open in 2027"] * (not is_open)


def test_a_turn_needs_a_start(tmp_path: Path) -> None:
    (fault,) = checked(tmp_path, HOME, ROW + "every = 2\n").faults
    assert where(fault) == ("matchmaker.toml", 9, "matings, entry 1, every", "2")
    assert fault.problem == "a row open every few seasons must say from which season on"
    assert fault.mend == "add from = 2027 (a season in which it is open)"


def test_two_rows_of_one_name_are_a_fault(tmp_path: Path) -> None:
    named = ROW + 'name = "row"\n'
    (fault,) = checked(tmp_path, HOME, named + named).faults
    assert fault.kind == "duplicate-row"
    assert where(fault) == ("matchmaker.toml", 15, "matings, entry 2, name", "row")


def test_rows_without_a_name_never_clash(tmp_path: Path) -> None:
    assert checked(tmp_path, HOME, ROW + ROW).faults == ()


def test_test_matings_take_their_turn_like_other_rows(tmp_path: Path) -> None:
    test = ROW.replace('chicks = "Alder"\n', "").replace("backcross", "test")
    settings = ROW + test + 'name = "proof"\ntests = "hen"\n'
    found = checked(tmp_path / "now", HOME, settings)
    assert [row.purpose for row in found.crossings] == [Purpose.BACKCROSS, Purpose.TEST]
    found = checked(tmp_path / "later", HOME, settings + "every = 2\nfrom = 2026\n")
    (doubt,) = of_kind(found.doubts, "row-closed")
    assert where(doubt) == ("matchmaker.toml", 9, "matings, entry 2", "proof")
    assert [row.purpose for row in found.crossings] == [Purpose.BACKCROSS]


def test_without_a_pure_line_there_is_a_doubt(tmp_path: Path) -> None:
    birds = [row for row in HOME if row["line"] == "Alder"]
    found = checked(tmp_path, birds, seen=HOME_SEEN)
    (doubt,) = of_kind(found.doubts, "no-recurrent-line")
    assert where(doubt) == ("matchmaker.toml", 2, "recurrent", "sussex")
    assert found.crossings == ()


def test_a_pair_stands_once_in_each_row_that_opens_it(tmp_path: Path) -> None:
    rows = "".join(ROW + f'name = "row {at}"\nkeep = {{O = [{at}]}}\n' for at in (0, 1))
    found = judged(tmp_path, HOME, rows, seen=HOME_SEEN)
    pairs = found.by_birds["AH", "SC"]
    assert [pair.crossing and pair.crossing.name for pair in pairs] == ["row 0", "row 1"]
    assert only(found, "SH", "SC").crossing is None


def test_several_backcross_lines_do_not_mix(tmp_path: Path) -> None:
    seen = [*HOME_SEEN, dna("BC", "O", 1), dna("BH", "O", 1)]
    found = judged(tmp_path, THREE_LINES, seen=seen)
    assert only(found, "AH", "BC").crossing is None
    assert only(found, "SH", "BC").line == "Birch"


def test_closing_a_row_leaves_the_worth_of_others_alone(tmp_path: Path) -> None:
    """Worth is measured against all rows of a line; a row whose turn it is not must not lift it."""
    turn = (
        '[[matings]]\nhens = "Alder"\ncocks = "Alder"\nchicks = "Alder"\npurpose = "intercross"\n'
    )
    turn += 'name = "turn"\nevery = 2\n'
    worth = []
    for at, start in enumerate((2025, 2026)):
        settings = f'{ROW}name = "other"\n{turn}from = {start}\n'
        found = judged(tmp_path / str(at), HOME, settings)
        assert [row.name for row in found.scheme] == ["other", "turn"]
        assert len(found.crossings) == 2 - at
        worth.append({p.key: p.worth for p in found.pairs if p.key[2] == "other"})
    assert worth[0]
    assert worth[0] == worth[1]
