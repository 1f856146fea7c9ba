"""Pedigrees to draw: of any bird, and of what a pair has in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.view import View

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport


def family_view(report: SeasonReport) -> View:
    """Pedigrees to draw: of any bird, and of what a pair has in common."""
    return View(values={}, data={})
