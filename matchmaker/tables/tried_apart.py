"""Books of old or odd kinds, tried in a process of their own: a damaged one can end the process."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from io import BytesIO
from typing import Final

from matchmaker.tables.extent import PACKING_BROKEN, BookProblem

MEMORY_MAX: Final = 2_000_000_000
"""Bytes that the trial may use, where the system can be told so."""

SECONDS_MAX: Final = 30.0
"""An old book has at most 65,536 rows of 256 cells, which are read in a few seconds."""

_OLD: Final = b"\xd0\xcf\x11\xe0"
"""What every XLS book begins with."""

_CELLS: Final = re.compile(rb"<(?:\w+:)?(?:c|row)[\s/>]")
_PLACED: Final = re.compile(
    rb'<(?:c(?: [a-z]+="[^"<]*")*? r="[A-Z]{1,3}[0-9]{1,7}"'
    rb'|row(?: [A-Za-z0-9:]+="[^"<]*")*? r="[0-9]{1,7}")'
)
_SHEETS: Final = re.compile(rb"<[^>]*/worksheet[\"'][^>]*>")
_AT_HOME: Final = re.compile(rb'Target="(?:/xl/)?worksheets/[\w-]+\.xml"')

_TRIAL: Final = """
import io, sys
try:
    import resource
    resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[1]),) * 2)
except (ImportError, ValueError, OSError):
    pass
from python_calamine import CalamineWorkbook
with CalamineWorkbook.from_filelike(io.BytesIO(sys.stdin.buffer.read())) as book:
    for name in book.sheet_names:
        book.get_sheet_by_name(name).total_height
"""


def refuse_fatal(content: bytes) -> None:
    """Refuse a book over which the reader of books would end this process, or never end.

    The reader makes room for all the cells that a book speaks of; where that is more than there
    is, it gives up at once, and no fault can be told. A trial beside us can be watched. A book
    whose cells all stand in plain places was measured before (``extent``) and needs no trial.

    Raises
    ------
    BookProblem
        If the trial dies or takes too long. What it can tell in words is left to the reading.
    """
    if not sys.executable or not _needs_trial(content):
        return
    try:
        done = subprocess.run(  # noqa: S603  this Python with these words, whatever the book holds
            [sys.executable, "-c", _TRIAL, str(MEMORY_MAX)],
            input=content,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=SECONDS_MAX,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise BookProblem(f"it takes longer than {SECONDS_MAX:g} seconds to read") from error
    if done.returncode not in {0, 1}:  # 1 is a refusal, told in words when it is read
        raise BookProblem("it is damaged, and speaks of more cells than there is room for")


def _needs_trial(content: bytes) -> bool:
    """Whether a book is of an old kind, or holds cells whose places nobody has measured."""
    if content.startswith(_OLD):
        return True
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            return _is_odd(packed)
    except PACKING_BROKEN:
        return zipfile.is_zipfile(BytesIO(content))


def _is_odd(packed: zipfile.ZipFile) -> bool:
    names = packed.namelist()
    if "content.xml" in names and not any(name.startswith("xl/") for name in names):
        return False
    sheets = _SHEETS.findall(packed.read("xl/_rels/workbook.xml.rels"))
    if not sheets or not all(map(_AT_HOME.search, sheets)) or len(set(names)) < len(names):
        return True
    parts = [packed.read(name) for name in names if name.startswith("xl/worksheets/")]
    return any(len(_CELLS.findall(part)) != len(_PLACED.findall(part)) for part in parts)
