"""Every hen with every cock, to look up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport


def pairs_view(report: SeasonReport) -> View:
    """Every hen with every cock, to look up."""
    return View(values={}, data={})
