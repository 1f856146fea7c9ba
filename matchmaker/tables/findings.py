"""Where faults and doubts are gathered, so that none hides another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NotRequired, TypedDict

if TYPE_CHECKING:
    from matchmaker.errors import CellMend, Fault


class Place(TypedDict):
    """Where a finding stands: the file, its row and the header as the keeper wrote it."""

    file: str
    row: int | None
    column: str | None


class Words(TypedDict):
    """What a finding says: its kind, the value it is about, what is wrong and how to mend it."""

    kind: str
    value: NotRequired[str]
    problem: str
    mend: str
    mends: NotRequired[tuple[CellMend, ...]]
    safe: NotRequired[bool]
    birds: NotRequired[tuple[str, ...]]


@dataclass(slots=True)
class Findings:
    """Faults stop the planning, doubts do not; both are gathered to the end."""

    faults: list[Fault] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)
