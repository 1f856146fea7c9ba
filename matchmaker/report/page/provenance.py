"""Where the page comes from: tables, settings, proof, the keeper's own changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport
    from matchmaker.report.page.view import Further


def provenance_view(report: SeasonReport, further: Further) -> View:
    """Where the page comes from: tables, settings, proof, the keeper's own changes."""
    return View(values={}, data={})
