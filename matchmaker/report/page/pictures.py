"""The pictures, each with its table and a caption that says what to see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.report.page.view import Further
    from matchmaker.reporting import SeasonReport


def pictures_view(report: SeasonReport, further: Further) -> View:
    """The pictures, each with its table and a caption that says what to see."""
    return View(values={}, data={})
