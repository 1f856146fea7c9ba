"""A picture of one drawing in which each line of the flock is a curve."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.drawing import draw
from matchmaker.report.page.figure import Picture
from matchmaker.report.page.legend import HOLLOW, samples

if TYPE_CHECKING:
    from matchmaker.report.page.drawing import Plot
    from matchmaker.report.page.figure import Table


def line_picture(plot: Plot, sentences: tuple[str, ...], table: Table) -> Picture:
    """The picture of a plot with its legend; hollow points are the chicks of this plan."""
    return Picture(
        key=plot.key,
        title=plot.title,
        sentences=sentences,
        drawings=(draw(plot),),
        legend=(*samples(plot.curves), HOLLOW),
        tables=(table,),
    )
