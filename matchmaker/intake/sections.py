"""Rows under headings of their own: the cocks and the hens of one list, the birds pen by pen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.intake.asides import HEADING, HEADS
from matchmaker.intake.header_words import header_scores
from matchmaker.intake.said import naming

if TYPE_CHECKING:
    from matchmaker.intake.model import Block, Outside

_NAMED: Final = 0.65
"""A header names what a heading says from this score on."""

_TABLES: Final = {"sex": "birds", "pen": "moves"}


def sections(block: Block) -> tuple[Block, ...]:
    """Return the block, cut at each heading that says what no column of it does.

    Every part has the same header; its heading is outside, with the reason ``HEADS``.
    """
    starts = [one.row for one in block.outside if _tells(one, block)]
    spans = [
        (start, end)
        for start, end in zip([0, *starts], [*starts, None], strict=True)
        if any(_within(row.row, start, end) for row in block.rows)
    ]
    if not starts or not spans:
        return (block,)
    return tuple(_part(block, spans, at) for at in range(len(spans)))


def heading_of(block: Block) -> str:
    """Return the heading whose rows the block holds, "" if there is none."""
    return next((one.text for one in block.outside if one.why == HEADS), "")


def _tells(one: Outside, block: Block) -> bool:
    said = naming(one.text) if one.why == HEADING else None
    if said is None:
        return False
    table, column = _TABLES[said[0]], said[0]
    return not any(
        dict(header_scores(header, table)).get(column, 0.0) >= _NAMED
        for header in block.headers
        if header
    )


def _within(row: int, start: int, end: int | None) -> bool:
    return row >= start and (end is None or row < end)


def _part(block: Block, spans: list[tuple[int, int | None]], at: int) -> Block:
    """Return one part; what stands outside and in no part goes with the part before it."""
    start, end = spans[at]
    last = spans[at + 1][0] if at + 1 < len(spans) else None
    outside = [one for one in block.outside if _within(one.row, start if at else 0, last)]
    return replace(
        block,
        rows=tuple(row for row in block.rows if _within(row.row, start, end)),
        outside=tuple(replace(one, why=HEADS) if one.row == start else one for one in outside),
        merged=tuple(one for one in block.merged if _within(one.first, start, end)),
    )
