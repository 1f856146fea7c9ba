"""Is the written plan that of this season? An older one would give its chicks wrong parents."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.flock.flock import Flock
    from matchmaker.tables.records import PlanRecord


def why_not_this_season(flock: Flock, in_open_row: Callable[[PlanRecord], bool]) -> str:
    """Return why the written plan is not that of this season; "" if it is, or there is none.

    ``in_open_row`` tells whether a row of matings that is open takes a pair of the plan.
    """
    birds, up = flock.by_band(), flock.settings.pen_up
    for row in flock.tables.plan:
        for band in (row.cock, row.hen):
            left = birds[band].record.left_on
            if not birds[band].alive_here and (left is None or left < up):
                since = f" since {left}" if left else ""
                return f"{band} (row {row.row}) is {birds[band].record.status}{since}"
        if not in_open_row(row):
            return (
                f"no row of matings that is open this season takes {row.hen} with {row.cock} "
                f"(row {row.row})"
            )
    return ""
