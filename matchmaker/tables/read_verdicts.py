"""Read which young birds are kept: the file that the grading wrote and the keeper mended."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.tables.findings import Findings
from matchmaker.tables.given_file import find_given, open_given, stop_at_faults
from matchmaker.tables.reading import Hints
from matchmaker.tables.rows import read_records
from matchmaker.tables.schema import Column, Kind, Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from matchmaker.tables.folder import FolderTables


class Verdict(StrEnum):
    """What is to become of a young bird."""

    KEEP = "keep"
    WAIT = "wait"
    LET_GO = "let go"


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRecord:
    """One row of the file: a bird and what was decided about it."""

    row: int
    bird: str
    verdict: str


GRADED: Final = Table(
    name="graded",
    record=VerdictRecord,
    columns=(
        Column(name="bird", kind=Kind.BAND, meaning="the band", synonyms=("band",), required=True),
        Column(
            name="verdict", kind=Kind.TEXT, meaning="keep, wait or let go", synonyms=("decision",)
        ),
    ),
    needed=("bird", "verdict"),
)


def read_verdicts(file: Path, tables: FolderTables) -> Mapping[str, Verdict]:
    """Return the verdict on each bird of a file that ``grade --csv`` wrote.

    Other columns are the keeper's own. A file that is not here is looked for in the folder.

    Raises
    ------
    UsageError
        If there is no such file, or its name is not one of a table.
    InputError
        With every row that names no bird of the flock, or no verdict, or a bird twice.
    """
    file = find_given(file, tables.folder, hint=": matchmaker grade --csv FILE writes one")
    findings = Findings()
    _, sheet = open_given(file, GRADED, Hints(), findings)
    records = [] if sheet is None else read_records(sheet, Hints(), findings)
    rows = [record for record in records if isinstance(record, VerdictRecord)]
    if sheet is not None:
        findings.faults += _faults(file.name, sheet.headers, rows, tables)
    stop_at_faults(findings)
    return {row.bird: Verdict(row.verdict.casefold()) for row in rows}


def _faults(
    file: str, headers: Mapping[str, str], rows: list[VerdictRecord], tables: FolderTables
) -> Iterator[Fault]:
    known = {record.bird for record in tables.birds}
    first: dict[str, int] = {}

    def fault(row: VerdictRecord, column: str, kind: str, problem: str, mend: str) -> Fault:
        return Fault(
            kind=kind,
            file=file,
            row=row.row,
            column=headers.get(column),
            value=getattr(row, column),
            problem=problem,
            mend=mend,
        )

    for row in rows:
        at = first.setdefault(row.bird, row.row)
        if row.bird not in known:
            told = f"{row.bird} is not in the table of birds"
            yield fault(row, "bird", "unknown-bird", told, "mend the band, or delete the row")
        if at != row.row:
            told = f"{row.bird} stands in row {at} already"
            yield fault(row, "bird", "twice", told, "keep one of the two rows")
        if row.verdict.casefold() not in set(Verdict):
            told = f"{row.verdict or 'an empty cell'} is no verdict"
            yield fault(row, "verdict", "no-verdict", told, "write keep, wait or let go")
