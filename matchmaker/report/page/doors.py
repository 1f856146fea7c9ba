"""The pen sheets: a page for the door of each pen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport


def doors_view(report: SeasonReport) -> View:
    """The pen sheets: a page for the door of each pen."""
    return View(values={}, data={})
