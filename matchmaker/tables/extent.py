"""How far the sheets of a book reach, found before a reader makes room for every cell."""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from io import BytesIO
from typing import TYPE_CHECKING, Final
from xml.parsers import expat

if TYPE_CHECKING:
    from collections.abc import Iterator

CELLS_MAX: Final = 4_000_000
"""Cells in a sheet; one stray cell in the last row of a book would otherwise fill the memory."""

UNPACKED_MAX: Final = 200_000_000
"""Bytes that a book may unpack to, against files made to fill the memory."""

PARTS_MAX: Final = 5_000
"""Parts that a book may be packed of: a spreadsheet makes a few for each sheet and picture."""

PACKING_BROKEN: Final = (
    *(zipfile.BadZipFile, zlib.error, struct.error),
    *(KeyError, RuntimeError, ValueError, EOFError),
)
"""What the unpacking of a damaged or locked book raises."""

_BEFORE_NAMES: Final = 26
"""Bytes of what stands before a packed part, up to the lengths of its name and of what follows."""

_CELL: Final = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]{1,3})([0-9]{1,7})["']""")
_ODS_ROW: Final = re.compile(rb"<table:table-row\b([^>]*)>(.*?)</table:table-row>", re.DOTALL)
_REPEATED: Final = re.compile(rb"""number-(?:rows|columns)-repeated\s*=\s*["']([0-9]+)["']""")


class BookProblem(Exception):  # noqa: N818  a reason to be told, never seen outside this room
    """Why a book cannot be read, in words."""


def refuse_huge(content: bytes) -> None:
    """Refuse a packed book that would unpack, or spread its cells, beyond reason.

    Raises
    ------
    BookProblem
        If it does, or if the packing is damaged.
    """
    if not zipfile.is_zipfile(BytesIO(content)):
        return  # an old book, or a broken one, of which the reader of books will tell
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            _look_into(packed, content)
    except PACKING_BROKEN as error:
        raise BookProblem(str(error)) from error


def refuse_many_cells(height: int, width: int) -> None:
    """Refuse a sheet of so many rows and columns that no flock's table can need them."""
    if height * width > CELLS_MAX:
        raise BookProblem(f"a cell stands far out, in row {height} or column {width}; delete it")


def _look_into(packed: zipfile.ZipFile, content: bytes) -> None:
    parts = packed.infolist()
    if len(parts) > PARTS_MAX:
        raise BookProblem("it is packed of far more parts than a flock's table")
    if sum(part.file_size for part in parts) > UNPACKED_MAX:
        raise BookProblem("it unpacks to far more than a flock's table")
    for part in parts:  # a sheet may stand under any name
        text = _unpacked(packed, part, content)
        rows = part.filename == "content.xml"
        if rows:
            _refuse_broken(text)
        refuse_many_cells(*(_extent_of_rows(text) if rows else _extent_of_cells(text)))


def _refuse_broken(content: bytes) -> None:
    """Refuse content that is cut off or broken: the reader would fill the memory."""
    try:
        expat.ParserCreate().Parse(content, True)  # noqa: FBT003  the last argument has no name
    except expat.ExpatError as error:
        raise BookProblem(f"its content is damaged ({error})") from error


def _unpacked(packed: zipfile.ZipFile, part: zipfile.ZipInfo, content: bytes) -> bytes:
    """Return a part, and refuse one that is longer than the packing says.

    Python stops at the length that is told; the reader of books goes on to the end.
    """
    if part.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise BookProblem("it is packed in a way that no spreadsheet uses")
    if part.compress_type == zipfile.ZIP_DEFLATED and _goes_on(part, content):
        raise BookProblem("it unpacks to more than it says")
    return packed.read(part)


def _goes_on(part: zipfile.ZipInfo, content: bytes) -> bool:
    """Whether the packed bytes of a part make more than the length that is told of it."""
    name, extra = struct.unpack_from("<HH", content, part.header_offset + _BEFORE_NAMES)
    start = part.header_offset + _BEFORE_NAMES + 4 + name + extra
    packed = content[start : start + part.compress_size]
    unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
    return len(unpacker.decompress(packed, part.file_size + 1)) > part.file_size


def _extent_of_cells(sheet: bytes) -> tuple[int, int]:
    """Return the last row and column that an XLSX sheet names."""
    height = width = 0
    for letters, row in _CELL.findall(sheet):
        height = max(height, int(row))
        width = max(width, _column_number(letters))
    return height, width


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - ord("A") + 1
    return number


def _extent_of_rows(sheets: bytes) -> tuple[int, int]:
    """Return the rows and the columns that the filled rows of an ODS book spread to."""
    height = width = 0
    for head, body in _ODS_ROW.findall(sheets):
        if b"<text:p" in body or b"office:value" in body:
            height += _repeats(head)
            width = max(width, *_cell_spans(body))
    return height, width


def _cell_spans(body: bytes) -> Iterator[int]:
    """Columns that a row reaches to; the empty cells that end it do not count."""
    filled = body[: max(body.rfind(b"<text:p"), body.rfind(b"office:value")) + 1]
    yield sum(_repeats(cell) for cell in filled.split(b"<table:table-cell")[1:])
    yield 1


def _repeats(tag: bytes) -> int:
    found = _REPEATED.search(tag)
    return int(found[1][:9]) if found else 1
