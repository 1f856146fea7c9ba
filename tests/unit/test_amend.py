"""A table changed in place: the changes and nothing else, in the keeper's own writing."""

from __future__ import annotations

import csv
import dataclasses
import datetime as dt
import io
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.errors import UsageError
from matchmaker.settings import Settings
from matchmaker.tables.amend import Amendment, written_date
from matchmaker.tables.dates import read_date
from matchmaker.tables.read import read_folder
from matchmaker.tables.reading import Hints
from tests.one_table import amend_table
from tests.unit.tables_helpers import folder, read, xlsx

if TYPE_CHECKING:
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import MoveRecord

MOVES = "bird,pen,moved_in,moved_out\nH1,Yard,2026-01-01,\nC1,Yard,2026-01-01,\n"
OUT = Amendment(cells={(2, "moved_out"): "2026-02-01"})
NEW = {"bird": "H1", "pen": "Orchard", "moved_in": "2026-02-01"}


def _after(path: Path, moves: str | bytes, amendment: Amendment) -> bytes:
    """Return what the table holds after the amendment, the folder read anew without a fault."""
    tables = read(path, moves=moves)
    written, copy = amend_table(path, "moves", amendment, tables)
    before = moves.encode() if isinstance(moves, str) else moves
    assert copy is not None
    assert copy.read_bytes() == before
    assert read_folder(path).faults == ()
    return written.read_bytes()


def test_a_cell_is_filled_and_a_row_added(tmp_path: Path) -> None:
    both = dataclasses.replace(OUT, added=[NEW])
    assert _after(tmp_path, MOVES, both).decode() == (
        "bird,pen,moved_in,moved_out\nH1,Yard,2026-01-01,2026-02-01\nC1,Yard,2026-01-01,\n"
        "H1,Orchard,2026-02-01,\n"
    )


def test_rows_are_taken_out(tmp_path: Path) -> None:
    after = _after(tmp_path, MOVES, Amendment(removed=frozenset({2})))
    assert after.decode() == "bird,pen,moved_in,moved_out\nC1,Yard,2026-01-01,\n"


def test_all_that_is_not_changed_stays_as_it_is_written(tmp_path: Path) -> None:
    """Own headers and separator, rows above the header, blanks, quotes, columns nobody reads."""
    moves = (
        'sep=;\r\n;My moves;;\r\n\r\nremark;"Ring";House;from\r\n'
        '"calm; tame";"H1";Yard;2026-01-01\r\n;;;\r\n\r\n"two\nlines";C1; Yard ;2026-01-01\r\n'
    )
    # row 1 is the title (a first line sep= is not counted), the header is row 3
    after = _after(tmp_path, moves, Amendment(cells={(4, "pen"): "Orchard"}, added=[NEW]))
    expected = moves.replace('"calm; tame";"H1";Yard', '"calm; tame";H1;Orchard')
    assert after.decode() == expected + ";H1;Orchard;2026-02-01\r\n"


def test_a_column_that_is_not_there_is_added(tmp_path: Path) -> None:
    moves = "band,coop,note\nH1,Yard,calm\nC1,Yard\n"
    after = _after(tmp_path, moves, dataclasses.replace(OUT, added=[{"bird": "C2", "pen": "Yard"}]))
    assert after.decode() == (
        "band,coop,note,moved_out\nH1,Yard,calm,2026-02-01\nC1,Yard\nC2,Yard,,\n"
    )


def test_an_empty_text_needs_no_column(tmp_path: Path) -> None:
    moves = "bird,pen\nH1,Yard\n"
    after = _after(tmp_path, moves, Amendment(cells={(2, "moved_out"): ""}))
    assert after.decode() == moves


def test_a_last_row_without_a_line_end_gets_one(tmp_path: Path) -> None:
    after = _after(
        tmp_path, "bird\tpen\r\nH1\tYard", Amendment(added=[{"bird": "C1", "pen": "Yard"}])
    )
    assert after.decode() == "bird\tpen\r\nH1\tYard\r\nC1\tYard\r\n"


@pytest.mark.parametrize(
    ("encoding", "marked"),
    [("utf-8", False), ("utf-8-sig", True), ("utf-16", True), ("cp1252", True)],
)
def test_letters_are_kept_whatever_they_were_written_in(
    tmp_path: Path, encoding: str, *, marked: bool
) -> None:
    text = MOVES.replace("moved_out\n", "moved_out,note\n").replace("01,\nC1", "01,,Grünköpfig\nC1")
    after = _after(tmp_path, text.encode(encoding), OUT)
    expected = text.replace("01,,G", "01,2026-02-01,G")
    assert after == expected.encode("utf-8-sig" if marked else "utf-8")


@pytest.mark.parametrize("band", ["-7", "=7", "+7", "@7", "'7", "-a b", '"7"', "a;b"])
def test_a_band_reads_back_as_it_was(tmp_path: Path, band: str) -> None:
    birds = io.StringIO()
    csv.writer(birds).writerows([["bird", "sex", "breed"], [band, "hen", "sussex"]])
    tables = read(tmp_path, birds=birds.getvalue())
    amend_table(tmp_path, "moves", Amendment(added=[{"bird": band, "pen": "Yard"}]), tables)
    (once,) = read_folder(tmp_path).moves
    again = Amendment(cells={(2, "moved_in"): "2026-01-01"}, added=[{"bird": band, "pen": "Yard"}])
    amend_table(tmp_path, "moves", again, read_folder(tmp_path))
    assert (once.bird, [move.bird for move in read_folder(tmp_path).moves]) == (band, [band, band])


def test_a_table_that_is_not_there_is_made(tmp_path: Path) -> None:
    written, copy = amend_table(tmp_path, "moves", Amendment(added=[NEW]), read(tmp_path))
    assert (written, copy) == (tmp_path / "moves.csv", None)
    expected = "bird,pen,moved_in,moved_out\nH1,Orchard,2026-02-01,\n"
    assert written.read_text(encoding="utf-8") == expected


def test_the_kept_copy_bears_the_stamp(tmp_path: Path) -> None:
    _, copy = amend_table(tmp_path, "moves", OUT, read(tmp_path, moves=MOVES), stamp="now")
    assert copy == tmp_path / "moves.csv.now.bak"


def test_a_workbook_is_not_written_to(tmp_path: Path) -> None:
    folder(tmp_path)
    book = tmp_path / "moves.xlsx"
    book.write_bytes(xlsx({"moves": [["bird", "pen"], ["H1", "Yard"]]}))
    before = book.read_bytes()
    with pytest.raises(UsageError, match=r"save the sheet as moves\.csv and delete moves\.xlsx"):
        amend_table(tmp_path, "moves", OUT, read_folder(tmp_path))
    assert book.read_bytes() == before
    assert not (tmp_path / "moves.csv").exists()


@pytest.mark.parametrize(
    ("read_as", "now"), [(MOVES, MOVES + "H2,Yard,,\n"), (None, MOVES), (MOVES, None)]
)
def test_a_table_changed_meanwhile_is_left_alone(
    tmp_path: Path, read_as: str | None, now: str | None
) -> None:
    tables = read(tmp_path, **({} if read_as is None else {"moves": read_as}))
    file = tmp_path / "moves.csv"
    if now is None:
        file.unlink()
    else:
        file.write_text(now, encoding="utf-8")
    with pytest.raises(UsageError, match=r"moves\.csv was changed .* run it again"):
        amend_table(tmp_path, "moves", OUT, tables)
    assert (file.read_text(encoding="utf-8") if file.exists() else None) == now


@pytest.mark.parametrize("moves", ['bird,pen\nH1,"Ya"rd\n', "one,two\nH1,Yard\n", "a\0b"])
def test_a_table_that_cannot_be_read_is_left_alone(tmp_path: Path, moves: str) -> None:
    tables = read(tmp_path, moves=moves)
    with pytest.raises(UsageError, match=r"cannot be changed: .*;"):
        amend_table(tmp_path, "moves", OUT, tables)
    assert (tmp_path / "moves.csv").read_text(encoding="utf-8") == moves


@pytest.mark.parametrize(
    "amendment",
    [
        Amendment(cells={(9, "pen"): "Yard"}),
        Amendment(cells={(1, "pen"): "Yard"}),
        Amendment(removed=frozenset({4})),
        Amendment(added=[{"house": "Yard"}]),
    ],
)
def test_a_change_that_has_no_place_is_an_error(tmp_path: Path, amendment: Amendment) -> None:
    tables = read(tmp_path, moves=MOVES)
    with pytest.raises(ValueError, match=r"moves\.csv has no row or column (9|1|4|house)$"):
        amend_table(tmp_path, "moves", amendment, tables)


@given(st.dates(dt.date(1950, 1, 1), dt.date(2200, 12, 31)))
def test_a_written_date_reads_back(day: dt.date) -> None:
    for form in ("iso", "day-first", "month-first"):
        found = Settings.model_validate(
            {"season": 2027, "recurrent": "sussex", "target": {"O": 2}, "dates": form}
        )
        reading = read_date(written_date(day, found), Hints(dates=form))
        assert (reading.value, reading.issue) == (day, None)


BANDS = st.sampled_from(["H1", "C1", "-7", "=1+1", "ö 9", "7, 8", 'so "called"', "a;b"])
DAYS = st.sampled_from(["", "2026-01-01", "2026-02-03"])
STAYS = st.fixed_dictionaries(
    {"bird": BANDS, "pen": st.sampled_from(["Yard", "Orchard"]), "moved_in": DAYS}
)
HEADERS = {"bird": "Ring no", "pen": "House", "moved_in": "from", "moved_out": "Date out"}


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A table as a keeper may have written it, and what is to change in it."""

    content: bytes
    amendment: Amendment


@st.composite
def drawn(draw: st.DrawFn) -> Drawn:
    columns = draw(st.permutations(["bird", "pen", "moved_in", "note"]))
    columns += draw(st.sampled_from([[], ["moved_out"]]))
    above = draw(st.lists(st.sampled_from([[], ["", "My moves"]]), max_size=2))
    stays = draw(st.lists(st.none() | STAYS, min_size=1, max_size=6))
    rows = [[HEADERS.get(column, column) for column in columns]]
    for stay in stays:
        cells = {
            **(stay or {}),
            "note": draw(st.sampled_from(["", "calm, tame", "two\nlines"])),
        }
        rows.append([] if stay is None else [cells.get(column, "") for column in columns])
    stream = io.StringIO()
    writer = csv.writer(
        stream,
        delimiter=draw(st.sampled_from([",", ";", "\t"])),
        lineterminator=draw(st.sampled_from(["\n", "\r\n"])),
        quoting=draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])),
    )
    writer.writerows([*above, *rows])
    text = stream.getvalue()
    if draw(st.booleans()):
        text = text.rstrip("\r\n")
    filled = [len(above) + 2 + at for at, stay in enumerate(stays) if stay]
    some = st.sets(st.sampled_from(filled), max_size=2) if filled else st.just(set[int]())
    change: dict[tuple[int, str], str] = {}
    change |= {(row, "moved_out"): "2026-03-04" for row in draw(some)}
    change |= {(row, "pen"): "Orchard" for row in draw(some)}
    added = draw(st.lists(STAYS, max_size=2))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]))
    removed = frozenset(draw(some))
    return Drawn(text.encode(encoding), Amendment(cells=change, added=added, removed=removed))


def _expected(tables: FolderTables, amendment: Amendment) -> list[tuple[object, ...]]:
    """Return the old records with the changes made on them one by one."""
    records: list[tuple[object, ...]] = []
    for move in tables.moves:
        cells = {c: text for (row, c), text in amendment.cells.items() if row == move.row}
        out = dt.date.fromisoformat(cells["moved_out"]) if "moved_out" in cells else move.moved_out
        if move.row not in amendment.removed:
            records.append((move.bird, cells.get("pen", move.pen), move.moved_in, out))
    for row in amendment.added:
        since = dt.date.fromisoformat(row["moved_in"]) if row["moved_in"] else None
        records.append((row["bird"], row["pen"], since, None))
    return records


def _said(move: MoveRecord) -> tuple[object, ...]:
    return (move.bird, move.pen, move.moved_in, move.moved_out)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(drawn())
def test_reading_back_gives_the_old_records_and_the_changes(found: Drawn) -> None:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place)
        tables = read(path, moves=found.content)
        amend_table(path, "moves", found.amendment, tables)
        after = read_folder(path)
        assert [_said(move) for move in after.moves] == _expected(tables, found.amendment)
        assert after.extras == tables.extras
        told = [(fault.kind, fault.problem) for fault in after.faults if fault.file == "moves.csv"]
        assert [kind for kind, _ in told if kind != "unknown-bird"] == []
