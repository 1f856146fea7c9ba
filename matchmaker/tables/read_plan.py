"""Read a plan that lies outside the flock folder, by the same rules as ``plan.csv``."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from matchmaker.tables.columns import PLAN
from matchmaker.tables.findings import Findings
from matchmaker.tables.folder import FolderTables
from matchmaker.tables.given_file import find_given, open_given, stop_at_faults
from matchmaker.tables.reading import Hints
from matchmaker.tables.records import PlanRecord
from matchmaker.tables.rows import read_records
from matchmaker.tables.together import between_tables

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.tables.header import Sheet


def read_plan(file: Path, tables: FolderTables) -> tuple[PlanRecord, ...]:
    """Return the rows of a plan, their bands checked against the birds of a flock folder.

    A file that is not here is looked for in the flock's folder.

    Raises
    ------
    UsageError
        If there is no such file, or its name is not one of a table.
    InputError
        With every fault of the file.
    """
    file = find_given(file, tables.folder)
    findings = Findings()
    _, sheet = open_given(file, PLAN, Hints(), findings)
    rows = _rows(sheet, findings) if sheet is not None else ()
    if sheet is not None:
        findings.faults += _unknown_names(tables, sheet, rows)
    stop_at_faults(findings)
    return rows


def _rows(sheet: Sheet, findings: Findings) -> tuple[PlanRecord, ...]:
    records = read_records(sheet, Hints(), findings)
    return tuple(record for record in records if isinstance(record, PlanRecord))


def _unknown_names(tables: FolderTables, sheet: Sheet, rows: tuple[PlanRecord, ...]) -> list[Fault]:
    """Tell of bands no bird has and, as this plan is for the pens there are, of unknown pens."""
    alone = FolderTables(folder=tables.folder, settings=None, birds=tables.birds, pens=tables.pens)
    with_plan = dataclasses.replace(
        alone, plan=rows, files={"plan": sheet.file}, headers={"plan": sheet.headers}
    )
    found = Findings()
    between_tables(with_plan, found)
    return [*found.faults, *found.doubts]
