"""Mends written on a copy: which can be, what each cell becomes, and what comes of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.errors import CellMend, Fault, UsageError, WouldOverwriteError
from matchmaker.mends.bench import Why, Written, workbench
from matchmaker.mends.effects import Effect, measure
from matchmaker.mends.mended import (
    MARK,
    Mended,
    copy_beside,
    mend_safely,
    write_copy,
)
from matchmaker.mends.sound import safe_mends
from matchmaker.tables.write_together import write_together
from tests.builders import HOME, HOME_SEEN, chick, hen, write_flock
from tests.unit.tables_helpers import xlsx

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.checking import Check

BIRDS = (*HOME, hen("SI"), chick("K", "hen", "SC", "SH", "Pure"))
SCORES = ({"bird": "SH", "Weight (kg)": "2.5"}, {"bird": "SI", "Weight (kg)": "25"})
SETTINGS = '[traits.weight]\nunit = "kg"\nweight = 0.2\ndirection = "up"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_flock(tmp_path / "fen", BIRDS, SETTINGS, seen=HOME_SEEN, scores=SCORES)


def found_with(folder: Path, *made: Fault) -> Check:
    """Return a check of the folder that found these as well, as doubts."""
    found = verbs.check(folder)
    assert found.faults == ()
    return replace(found, doubts=(*found.doubts, *made))


def doubt(*mends: CellMend, safe: bool = True, kind: str = "made-up") -> Fault:
    one = mends[0]
    return Fault(
        kind=kind,
        file=f"{one.table}.csv",
        row=one.row,
        column=one.column,
        value=one.was,
        problem="p",
        mend="m",
        mends=mends,
        safe=safe,
    )


def cell(row: int, column: str, was: str, becomes: str | None, table: str = "birds") -> CellMend:
    return CellMend(table=table, row=row, column=column, was=was, becomes=becomes)


HATCHED = cell(6, "hatched", "2025-03-01", "2025-02-11")


def mended(folder: Path, *made: Fault, **options: Any) -> Mended:
    return mend_safely(found_with(folder, *made), books=True, seconds=20, **options)


def whys(answer: Mended) -> dict[str, Why]:
    return {left.fault.kind: left.why for left in answer.left}


def test_a_safe_mend_is_written_and_nothing_else_changes(folder: Path) -> None:
    before = (folder / "birds.csv").read_bytes()
    answer = mended(folder, doubt(HATCHED))
    write_together(answer.files, answer.before.tables.inputs, stamp="then")
    after = (folder / "birds.csv").read_bytes()
    row = b"SI,hen,Pure,sussex,"
    assert after == before.replace(row + b"2025-03-01", row + b"2025-02-11")
    assert before != after
    assert (folder / "birds.csv.then.bak").read_bytes() == before
    assert answer.written == (
        Written(
            file="birds.csv",
            row=6,
            column="hatched",
            was="2025-03-01",
            becomes="2025-02-11",
        ),
    )
    assert verbs.check(folder).doubts == answer.after.doubts


def test_a_row_is_taken_out_and_told_whole(folder: Path) -> None:
    answer = mended(folder, doubt(cell(7, "", "", None)))
    (one,) = answer.written
    assert (one.row, one.column, one.becomes) == (7, "", None)
    assert one.was.startswith("K, hen, ")
    assert "K" not in {record.bird for record in answer.after.tables.birds}


def test_a_traits_cell_is_found_by_the_name_of_the_trait(folder: Path) -> None:
    answer = mended(folder, doubt(cell(3, "weight", "25", "2.5", "scores")))
    assert answer.texts["scores.csv"] == "bird,Weight (kg)\nSH,2.5\nSI,2.5\n"
    assert answer.written[0].column == "Weight (kg)"


def test_what_is_not_safe_or_cannot_be_written_is_left_with_the_reason(folder: Path) -> None:
    answer = mended(
        folder,
        doubt(cell(2, "line", "Pure", "Alder"), safe=False, kind="unsafe"),
        doubt(cell(2, "hatched", "2025-03-02", "2025-03-01"), kind="stale"),
        doubt(cell(70, "hatched", "", "2025-03-01"), kind="nowhere"),
        doubt(cell(3, "season", "2027", "2026", "matchmaker"), kind="settings"),
        doubt(cell(3, "moved_in", "", "2026-01-01", "moves"), kind="no-table"),
        doubt(cell(3, "sex", "hen", "cocks"), kind="worse"),
    )
    assert answer.written == ()
    assert whys(answer) == {
        "unsafe": Why.NOT_SAFE,
        "stale": Why.STALE,
        "nowhere": Why.STALE,
        "settings": Why.SETTINGS,
        "no-table": Why.NO_TABLE,
        "worse": Why.WORSE,
    }


def test_of_two_mends_for_one_cell_neither_is_written_and_alike_ones_once(folder: Path) -> None:
    other = replace(HATCHED, becomes="2025-02-12")
    answer = mended(
        folder,
        doubt(HATCHED, kind="one"),
        doubt(other, kind="two"),
        doubt(cell(5, "line", "Alder", "Pure"), kind="cell-of-a-row-gone"),
        doubt(cell(5, "", "", None), kind="row-gone"),
    )
    assert answer.written == ()
    assert set(whys(answer).values()) == {Why.CLASH}
    assert len(whys(answer)) == 4
    alike = mended(folder, doubt(HATCHED, kind="one"), doubt(HATCHED, kind="same"))
    assert len(alike.written) == 1


def test_a_mend_of_several_cells_is_written_whole_or_not_at_all(folder: Path) -> None:
    stale = cell(2, "line", "Pine", "Pure")
    assert mended(folder, doubt(HATCHED, stale)).written == ()


def test_the_good_half_is_kept_where_one_mend_would_lead_to_a_fault(folder: Path) -> None:
    answer = mended(folder, doubt(HATCHED), doubt(cell(3, "sex", "hen", "?!"), kind="worse"))
    assert [one.becomes for one in answer.written] == [HATCHED.becomes]
    assert [one.kind for one in answer.applied] == ["made-up"]


def test_a_file_with_a_stray_quotation_mark_is_not_touched(folder: Path) -> None:
    path = folder / "birds.csv"
    with path.open("a", encoding="utf-8") as stream:
        stream.write('"X,hen\n')
    found = verbs.check(folder)
    assert [fault.kind for fault in found.faults] == ["broken-row"]
    answer = mend_safely(replace(found, doubts=(doubt(HATCHED),)), books=True, seconds=1)
    assert whys(answer) == {"made-up": Why.BROKEN}


def test_without_room_for_a_copy_that_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = found_with(folder, doubt(HATCHED))
    monkeypatch.setattr("tempfile.tempdir", str(folder / "nowhere"))
    with pytest.raises(UsageError, match="no copy to try mends on can be made in"):
        mend_safely(found, books=True, seconds=1)


def test_so_many_tries_and_no_more(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = [doubt(cell(row, "sex", sex, "?!"), kind=f"worse {row}") for row, sex in SEXES.items()]
    found = found_with(folder, *made)
    tried: list[Check] = []

    def always_worse(_: Check, after: Check) -> bool:
        tried.append(after)
        return True

    monkeypatch.setattr("matchmaker.mends.sound.worse", always_worse)
    with workbench(found) as bench:
        kept, left = safe_mends(bench, found, tries=4)
    assert kept == ()
    assert len(tried) == 4
    assert {one.why for one in left} == {Why.WORSE, Why.UNTRIED}
    assert len(left) == len(made)


SEXES = {2: "cock", 3: "hen", 4: "cock", 5: "hen", 6: "hen"}


def as_book(folder: Path, *more: list[list[object]]) -> None:
    """Turn the table of the birds into a workbook; ``more`` are other sheets."""
    path = folder / "birds.csv"
    rows: list[list[object]] = [
        list(line.split(",")) for line in path.read_text(encoding="utf-8").splitlines()
    ]
    sheets = {"birds": rows, **{f"more {at}": sheet for at, sheet in enumerate(more)}}
    path.unlink()
    (folder / "birds.xlsx").write_bytes(xlsx(sheets))


def test_a_book_of_one_sheet_is_a_csv_table_in_the_copy_alone(folder: Path) -> None:
    as_book(folder)
    found = found_with(folder, doubt(HATCHED))
    answer = mend_safely(found, books=True, seconds=20)
    target = copy_beside(folder)
    write_copy(answer, target, force=False)
    assert answer.books == {"birds": "birds.xlsx"}
    assert not (target / "birds.xlsx").exists()
    assert (folder / "birds.xlsx").exists()
    assert verbs.check(target).tables.birds == answer.after.tables.birds
    in_place = mend_safely(found, books=False, seconds=20)
    assert whys(in_place) == {"made-up": Why.BOOK}


def test_a_book_with_more_in_it_is_left_alone(folder: Path) -> None:
    as_book(folder, [["something", "else"]])
    assert whys(mended(folder, doubt(HATCHED))) == {"made-up": Why.BOOK}


def test_a_copy_is_replaced_only_if_nobody_has_changed_it(folder: Path) -> None:
    answer = mended(folder, doubt(HATCHED))
    target = copy_beside(folder)
    write_copy(answer, target, force=False)
    with pytest.raises(WouldOverwriteError, match="--force"):
        write_copy(answer, target, force=False)
    write_copy(answer, target, force=True)
    (target / "mine.txt").write_text("a note", encoding="utf-8")
    with pytest.raises(WouldOverwriteError, match="move it away"):
        write_copy(answer, target, force=True)
    assert (target / "mine.txt").exists()
    assert sorted(path.name for path in folder.parent.iterdir()) == ["fen", "fen-mended"]


@pytest.mark.parametrize("mark", ["", "[]", '{"files": {"x": 1}}', '{"files": 3}'])
def test_what_only_looks_like_a_copy_is_never_replaced(folder: Path, mark: str) -> None:
    target = copy_beside(folder)
    target.mkdir()
    (target / MARK).write_text(mark, encoding="utf-8")
    with pytest.raises(WouldOverwriteError):
        write_copy(mended(folder, doubt(HATCHED)), target, force=True)


def test_a_table_changed_meanwhile_is_left_alone(folder: Path) -> None:
    found = found_with(folder, doubt(HATCHED))
    (folder / "birds.csv").write_text("bird,sex\nX,hen\n", encoding="utf-8")
    with pytest.raises(UsageError, match="was changed"):
        mend_safely(found, books=True, seconds=1)


def measured(folder: Path, *made: Fault, seconds: float = 20) -> tuple[Effect | None, ...]:
    found = found_with(folder, *made)
    with workbench(found) as bench:
        effects = measure(bench, found, made, seconds=seconds)
    return tuple(effects.of.get(one) for one in made)


def test_a_mend_that_moves_nothing_keeps_the_plan(folder: Path) -> None:
    (effect,) = measured(folder, doubt(cell(4, "hens_max", "", "200")))
    assert effect is not None
    assert effect.kept == effect.pairs == effect.pairs_after > 0
    assert effect.gain == 0.0


def test_a_hen_who_is_gone_leaves_the_plan_without_her_pair(folder: Path) -> None:
    found = verbs.check(folder)
    assert found.table is not None
    plan = verbs.plan(found.table)
    pairs = {(pair.hen, pair.cock) for pen in plan.pens for pair in pen.pairs}
    gone = next(record for record in found.tables.birds if record.bird in dict(pairs))
    (effect,) = measured(folder, doubt(cell(gone.row, "status", "", "dead")))
    assert effect is not None
    assert effect.pairs == len(pairs)
    assert effect.kept <= len(pairs) - 1
    mended_plan = verbs.plan(_with_cell(folder, gone.row, "dead"))
    before, after = (one.solution.proof.best_value for one in (plan, mended_plan))
    assert effect.gain == pytest.approx(after - before)
    assert after < before


def _with_cell(folder: Path, row: int, status: str) -> Path:
    """Write the status of a bird by hand: the table has no such column."""
    path = folder / "birds.csv"
    lines: Sequence[str] = path.read_text(encoding="utf-8").splitlines()
    told = [
        f"{line},{'status' if at == 1 else status if at == row else ''}"
        for at, line in enumerate(lines, 1)
    ]
    path.write_text("\n".join(told) + "\n", encoding="utf-8")
    return folder


def test_a_mend_that_stops_the_plan_says_by_how_many_faults(folder: Path) -> None:
    (effect,) = measured(folder, doubt(cell(3, "sex", "hen", "?!")))
    assert effect is not None
    assert (effect.faults, effect.worth, effect.gain) == (1, None, None)


def test_without_time_nothing_is_measured_and_it_is_said(folder: Path) -> None:
    found = found_with(folder, made := doubt(HATCHED))
    with workbench(found) as bench:
        effects = measure(bench, found, [made], seconds=0.0)
    assert effects.left_out == (made,)
    assert effects.of == {}
