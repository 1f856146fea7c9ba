"""Settings and tables that are read and checked but do not bind this version's plan yet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

NOT_BINDING: Final = (
    "limits.mean_inbreeding_max",
    "limits.sire_share_max",
    "limits.group_kinship_max",
    "limits.kinship_price",
    "year.incubator_per_week",
)
"""Limits on the whole plan that a later version will bind."""

NOT_READ_TABLES: Final = ("moves", "eggs")
"""Tables that only the work around the standing pens needs."""


def unused_settings(tables: FolderTables) -> list[Fault]:
    """One doubt for each limit, table or period that is given and does not bind the plan yet."""
    if tables.settings is None:
        return []
    doubts = [
        tables.setting_fault(
            key,
            kind="not-used-yet",
            problem="read, but it does not bind the plan in this version",
            mend="look at the plan with it in mind",
        )
        for key in _given(tables.settings)
    ]
    doubts += [
        tables.fault(
            table,
            None,
            None,
            kind="not-used-yet",
            problem="read and checked, but the plan does not use it in this version",
            mend="nothing needs doing",
        )
        for table in NOT_READ_TABLES
        if getattr(tables, table)
    ]
    return doubts + [
        tables.fault(
            "pens",
            pen.row,
            "from" if pen.first_day else "until",
            kind="not-used-yet",
            value=str(pen.first_day or pen.last_day),
            problem=f"pen {pen.pen} has a period; this version plans one season-long turn per pen",
            mend="list the pen once, without a period",
        )
        for pen in tables.pens
        if pen.first_day or pen.last_day
    ]


def _given(settings: Settings) -> Iterator[str]:
    for key in NOT_BINDING:
        section, name = key.split(".")
        if getattr(getattr(settings, section), name) is not None:
            yield key
