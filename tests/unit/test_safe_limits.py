"""Files made to hurt: each is refused in words, soon, and nothing else is ever opened."""

from __future__ import annotations

import os
import struct
import sys
import time
import zipfile
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables import extent
from matchmaker.tables.configuration import read_configuration
from matchmaker.tables.extent import BookProblem, refuse_huge
from matchmaker.tables.read import read_folder
from tests.cli.run import run_here
from tests.unit import tables_helpers
from tests.unit.tables_helpers import BIRDS, SETTINGS

if TYPE_CHECKING:
    from collections.abc import Iterator

SOON = 10.0
"""Seconds of processor time, on a slow machine."""

PROJECT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tables_helpers.folder(tmp_path)


@pytest.fixture(autouse=True)
def soon() -> Iterator[None]:
    begun = time.process_time()
    yield
    assert time.process_time() - begun < SOON


def problems(folder: Path) -> str:
    """All faults in short."""
    return "; ".join(f"{one.file}: {one.problem}" for one in read_folder(folder).faults)


@pytest.mark.parametrize("name", ["birds.csv", "moves.xlsx", "matchmaker.toml"])
def test_a_file_of_two_gigabytes_is_not_even_read(folder: Path, name: str) -> None:
    with (folder / name).open("wb") as stream:
        stream.truncate(2_000_000_000)  # takes no room: it is empty
    assert f"{name}: the file is larger than 50 MB" in problems(folder)


@pytest.mark.parametrize("name", ["birds.csv", "wishes.csv", "moves.ods", "matchmaker.toml"])
def test_a_pipe_is_not_waited_for(folder: Path, name: str) -> None:
    (folder / name).unlink(missing_ok=True)
    os.mkfifo(folder / name)
    assert f"{name}: this is not a file" in problems(folder)
    ran = run_here("plan", "--pen-up", "2027-02-08", "--in", folder)
    assert (ran.code, "this is not a file" in ran.err) == (3, True)


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/stdin"])
def test_a_device_is_not_read(folder: Path, device: str) -> None:
    (folder / "wishes.csv").symlink_to(device)
    assert "wishes.csv: this is not a file" in problems(folder)


def test_a_folder_named_as_a_table_is_told(folder: Path) -> None:
    (folder / "seen.csv").mkdir()
    assert "seen.csv: this is not a file" in problems(folder)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        pytest.param("x" * 5_000_000, "cell of this row is far too long", id="long line"),
        pytest.param('"' * 2_000_001, "cell of this row is far too long", id="quotation marks"),
        pytest.param("\n" * 400_000, "more than 300000 lines", id="blank lines"),
        pytest.param("C1" + "," * 1_000_000 + "x", "more cells than the header", id="columns"),
    ],
)
def test_a_text_beyond_reason_is_told(folder: Path, text: str, told: str) -> None:
    (folder / "birds.csv").write_text(BIRDS + text)
    assert told in problems(folder)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x = " + "[" * 5000 + "]" * 5000, "nested too deep"),
        ("x = " + "{a=" * 3000 + "1" + "}" * 3000, "nested too deep"),
        (".".join(["a"] * 20_000) + " = 1", "line 4: a name has far too many parts"),
        ("[" + ".".join(['"a b"'] * 20_000) + "]", "line 4: a name has far too many parts"),
        ("x = {" + ".".join(["'a'"] * 20_000) + " = 1}", "line 4: a name has far too many"),
        ("x = " + "9" * 10_000, "thousands of digits"),
        ("# " + "x" * 300_000, "longer than 200,000 letters"),
        ("x = " + "a" * 150_000, "cannot be read here"),
    ],
)
def test_settings_beyond_reason_are_told(text: str, told: str) -> None:
    (fault,) = read_configuration((SETTINGS + text).encode()).faults
    assert told in (f"line {fault.row}: " if fault.row else "") + fault.problem


def test_dots_in_a_remark_are_no_name() -> None:
    assert read_configuration(f"# {'.' * 80}\n{SETTINGS}".encode()).faults == ()


SHEET = "xl/worksheets/sheet1.xml"


def packed(parts: dict[str, bytes]) -> bytes:
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in parts.items():
            book.writestr(name, content)
    return stream.getvalue()


def lying(book: bytes, size: int, crc: int) -> bytes:
    """The same book, which says that its part is shorter, with the sum of that shorter part."""
    made = bytearray(book)
    for mark, at in ((b"PK\x03\x04", 14), (b"PK\x01\x02", 16)):
        start = made.find(mark) + at
        struct.pack_into("<I", made, start, crc)
        struct.pack_into("<I", made, start + 8, size)
    return bytes(made)


def test_a_book_that_unpacks_to_more_than_it_says_is_refused() -> None:
    honest = packed({SHEET: b"<a/>" + b" " * 5_000_000})
    refuse_huge(honest)
    with pytest.raises(BookProblem, match="unpacks to more than it says"):
        refuse_huge(lying(honest, 4, zipfile.crc32(b"<a/>")))  # type: ignore[attr-defined]


def test_books_within_a_book_and_many_parts_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    inner = packed({SHEET: b" " * 1_000_000})
    refuse_huge(packed({f"{at}.xlsx": inner for at in range(20)}))  # never unpacked twice
    monkeypatch.setattr(extent, "PARTS_MAX", 20)
    with pytest.raises(BookProblem, match="far more parts"):
        refuse_huge(packed({str(at): b"" for at in range(21)}))
    monkeypatch.setattr(extent, "UNPACKED_MAX", 999_999)
    with pytest.raises(BookProblem, match="unpacks to far more"):
        refuse_huge(inner)


@pytest.mark.parametrize("name", [SHEET, "xl/other", "anything.bin"])
@pytest.mark.parametrize("cell", [b'<c r="XFD1048576">', b"<c  r = 'XFD1048576'>"])
def test_a_cell_far_out_is_found_in_whatever_part_it_stands(name: str, cell: bytes) -> None:
    with pytest.raises(BookProblem, match="stands far out, in row 1048576 or column 16384"):
        refuse_huge(packed({name: b'<sheetData><row><c r="A1"/>' + cell + b"</c></row>"}))


def test_a_place_in_small_letters_is_read_as_one_in_capitals() -> None:
    refuse_huge(packed({SHEET: b'<sheetData><row><c r="d200000"/></row>'}))


def test_words_that_stand_for_other_words_are_not_spelt_out(folder: Path) -> None:
    """A tenfold of a tenfold, nine times: a reader that spells it out needs gigabytes."""
    book = tables_helpers.xlsx({"birds": [["bird", "sex"], ["C1", "cock"]]})
    steps = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    stream = BytesIO()
    with zipfile.ZipFile(BytesIO(book)) as old, zipfile.ZipFile(stream, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "xl/sharedStrings.xml":
                head = f'<!DOCTYPE sst [<!ENTITY l0 "lol">{steps}]>'.encode()
                text = text.replace(b"<sst", head + b"<sst", 1).replace(b"cock", b"&l9;", 1)
                assert b"&l9;" in text
            new.writestr(name, text)
    (folder / "birds.csv").unlink()
    (folder / "birds.xlsx").write_bytes(stream.getvalue())
    told = problems(folder)
    assert "birds.xlsx: " in told
    assert len(told) < 2000


OUTSIDE: tuple[str, ...] = (
    "../../etc/passwd",
    "/etc/passwd",
    "file:///etc/passwd",
    "=WEBSERVICE('http://x/')",
)
OUTSIDE += (
    "='/etc/[passwd]Sheet1'!A1",
    "\\\\host\\share\\a.csv",
    "{{config}}",
    "$(cat /etc/passwd)",
)


def test_what_stands_in_cells_never_opens_another_file(folder: Path) -> None:
    """Every opening that the whole check makes is watched, as the system tells it."""
    rows: list[list[object]] = [["bird", "sex", "sire", "dam", "line", "source", "notes"]]
    rows += [["B" + str(at), "hen", *[word] * 5] for at, word in enumerate(OUTSIDE)]
    rows += [[word, "hen", "", "", "", "", ""] for word in OUTSIDE]
    (folder / "birds.csv").unlink()
    (folder / "birds.xlsx").write_bytes(tables_helpers.xlsx({"birds": rows}))
    (folder / "pens.csv").write_text("pen,hens_max\n../x,5\n/etc/passwd,4\n")
    with (folder / "matchmaker.toml").open("a") as stream:
        stream.write('[lines."../../etc/passwd"]\nimportance = 1\n')
    opened: list[str] = []
    _watch(opened)
    try:
        run_here("check", "--in", folder)
    finally:
        _LISTENING.clear()
    known = (str(folder), str(PROJECT), sys.prefix, sys.base_prefix, "/proc", "/dev", "/sys")
    assert any(name.endswith("birds.xlsx") for name in opened)
    assert [name for name in opened if not name.startswith(known)] == []


_LISTENING: list[list[str]] = []


def _watch(opened: list[str]) -> None:
    """Note what is opened; a hook cannot be taken off again, so it listens only when asked."""
    _LISTENING.append(opened)
    if not getattr(sys, "_watches_openings", False):
        sys._watches_openings = True  # type: ignore[attr-defined]
        sys.addaudithook(_heard)


def _heard(event: str, words: tuple[object, ...]) -> None:
    if _LISTENING and event in {
        "open",
        "os.open",
        "socket.connect",
        "subprocess.Popen",
        "os.system",
    }:
        for opened in _LISTENING:
            opened.append(
                os.fsdecode(words[0]) if isinstance(words[0], str | bytes) else str(words)
            )
