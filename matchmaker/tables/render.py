"""Records as the cells of their table: what ``read`` reads, written back."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from matchmaker.tables.columns import TABLES
from matchmaker.tables.records import (
    BirdRecord,
    Origin,
    Parentage,
    ScoreRecord,
    SeenRecord,
)
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def table_rows(table: str, records: Sequence[object]) -> tuple[list[str], list[list[str]]]:
    """Return header and rows of a table: every declared column, then its loci or traits."""
    columns = TABLES[table].columns
    extras = list(dict.fromkeys(name for record in records for name in _extras(record)))
    rows = [
        [_cell(record, column) for column in columns]
        + [str(_extras(record).get(name, "")) for name in extras]
        for record in records
    ]
    return [column.name for column in columns] + extras, rows


def _extras(record: object) -> Mapping[str, object]:
    if isinstance(record, BirdRecord):
        return record.seen
    return record.traits if isinstance(record, ScoreRecord) else {}


def _cell(record: object, column: Column) -> str:
    if isinstance(record, SeenRecord) and column.name in {"what", "count"}:
        return _what(record) if column.name == "what" else _count(record)
    value = getattr(record, column.attribute)
    if isinstance(record, BirdRecord) and column.name == "hatched" and record.hatched_is_year:
        return f"{value.year:04d}"
    if column.kind is Kind.BREED:
        return _weighted(tuple(value.items()))
    return _text(value)


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Parentage):
        return _parent(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return ", ".join(value) if isinstance(value, tuple) else str(value)


def _parent(parentage: Parentage) -> str:
    if parentage.origin is Origin.KNOWN:
        return _weighted(parentage.candidates)
    return "founder" if parentage.origin is Origin.FOUNDER else ""


def _weighted(weights: tuple[tuple[str, float], ...]) -> str:
    if len(weights) == 1:
        return weights[0][0]
    return "|".join(f"{name}:{weight!r}" for name, weight in weights)


def _what(record: SeenRecord) -> str:
    if len(record.what) == 1:
        return record.what[0][0]
    return ", ".join(f"{count} {name}" for name, count in record.what)


def _count(record: SeenRecord) -> str:
    return str(record.what[0][1]) if len(record.what) == 1 and not record.bird else ""
