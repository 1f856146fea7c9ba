"""Which line the chicks of a set join."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.pairs.crossings import Purpose, line_steps, open_crossings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.told import Told
    from matchmaker.pairs.crossings import Crossing


class LineFrom(StrEnum):
    """Who says which line the chicks join."""

    KEEPER = "as you say"
    PLAN = "by the plan"
    PEN = "by the table of pens"
    CROSSING = "by the only crossing open for these parents"
    TEST = "a test mating, whose chicks join no line"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChicksLine:
    """The line, "" for none, and who says so."""

    line: str
    by: LineFrom


def line_of_chicks(
    told: Told, flock: Flock, parents: Parents, loci: Mapping[str, Locus]
) -> ChicksLine:
    """Return the line: as told, as planned for the pen and its hens, else as the pen or a row says.

    Raises
    ------
    UsageError, InputError
        If that leaves several lines, or none.
    """
    if told.line:
        return ChicksLine(line=told.line, by=LineFrom.KEEPER)
    dams, sires = ({band for band, _ in side} for side in (parents.dams, parents.sires))
    rows = [row for row in flock.tables.plan if row.pen == told.pen and row.hen in dams]
    planned = {row.line for row in rows if row.line and row.cock in sires}
    of_pen = {pen.line for pen in flock.tables.pens if pen.pen == told.pen and pen.line}
    open_rows = list(_crossings(flock, loci, dams, sires))
    crossed = {one.chicks for one in open_rows if one.purpose is not Purpose.TEST}
    ways = ((planned, LineFrom.PLAN), (of_pen, LineFrom.PEN), (crossed, LineFrom.CROSSING))
    for lines, by in ways:
        if len(lines) == 1:
            return ChicksLine(line=lines.pop(), by=by)
        if lines:
            told.refuse(
                "line",
                "",
                f"the chicks of {told.name} may join {' or '.join(sorted(lines))}",
                f"say which line they join ({told.called('line')}), or name the hen "
                f"({told.called('dam')}) where the eggs are told apart",
            )
    if not open_rows:
        told.refuse(
            "line",
            "",
            f"neither the plan nor a crossing says which line the chicks of {told.name} join",
            f"say which line they join ({told.called('line')})",
        )
    return ChicksLine(line="", by=LineFrom.TEST)


def _crossings(
    flock: Flock, loci: Mapping[str, Locus], dams: set[str], sires: set[str]
) -> tuple[Crossing, ...]:
    """The open rows that one of the hens with one of the cocks is in."""
    settings, birds = flock.settings, flock.by_band()
    steps = line_steps(flock, recurrent_shares(flock.pedigree, settings.recurrent))
    hens, cocks = ({birds[band].line for band in side} for side in (dams, sires))
    return tuple(
        one
        for one in open_crossings(settings, steps, loci)
        if hens & set(one.hens) and cocks & set(one.cocks)
    )
