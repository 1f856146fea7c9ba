"""The pictures, each with its table and a caption that says what to see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.chart_ahead import ahead_picture
from matchmaker.report.page.chart_frontier import frontier_picture
from matchmaker.report.page.chart_inbreeding import inbreeding_picture
from matchmaker.report.page.chart_lines import lines_picture
from matchmaker.report.page.chart_shares import shares_picture
from matchmaker.report.page.kin_pictures import living, overview
from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.report.page.view import Further
    from matchmaker.reporting import SeasonReport


def pictures_view(report: SeasonReport, further: Further) -> View:
    """The pictures, each with its table and a caption that says what to see."""
    maps = {"overview": overview(report), "living": living(report)}
    plan = report.plan
    return View(
        values={
            **maps,
            "all": (
                lines_picture(plan),
                shares_picture(plan),
                inbreeding_picture(plan),
                frontier_picture(plan, further.frontier),
                ahead_picture(plan, further.ahead),
            ),
        },
        data={f"kin-{key}": one.map.data() for key, one in maps.items() if one is not None},
    )
