"""The season at a glance: what the plan gains and costs, what binds, how the lines stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport


def glance_view(report: SeasonReport) -> View:
    """The season at a glance: what the plan gains and costs, what binds, how the lines stand."""
    return View(values={}, data={})
