"""What the sections of the page are given and give."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.report.documents import Document


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """Documents of longer work to show beside the plan, as their commands print them.

    ``frontier`` is one of ``plan --frontier``, ``ahead`` one of ``ahead`` (with or without other
    policies beside the plan).
    """

    frontier: Document | None = None
    ahead: Document | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What a section shows: values for its template, and data for its scripts by name."""

    values: Mapping[str, Any] = field(default_factory=dict)
    data: Mapping[str, Any] = field(default_factory=dict)
