"""Where faults and doubts are gathered, so that none hides another."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, NotRequired, TypedDict

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

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


MANY: Final = 6
"""Of more findings of a kind and column than these, one is told for all: nobody reads hundreds."""

EXAMPLES: Final = 4
"""So many of them are named with their rows."""


def summed_up(found: Iterable[Fault], problem: str, mend: str) -> Iterator[Fault]:
    """Yield findings as they are, or, where they are many, one for all of them.

    They must be of one kind and column. What the tables prove is told apart from what they do
    not. ``problem`` and ``mend`` are the words for all; the first few are named behind.
    """
    every = list(found)
    if len(every) <= MANY:
        yield from every
        return
    for safe in (True, False):
        alike = [one for one in every if one.safe is safe]
        if alike:
            yield _joined(alike, problem, mend)


def listed(names: Sequence[str], most: int) -> str:
    """Return the first few names of a row, and how many more there are.

    Examples
    --------
    >>> listed(["C04", "C07"], 3), listed(["C04", "C07", "H1"], 2)
    ('C04, C07', 'C04, C07 and 1 more')
    """
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _joined(found: Sequence[Fault], problem: str, mend: str) -> Fault:
    named = [f"row {one.row} {one.value}".strip() for one in found]
    return replace(
        found[0],
        value="",
        problem=f"{len(found)} {problem}: {listed(named, EXAMPLES)}",
        mend=mend,
        mends=tuple(cell for one in found for cell in one.mends),
        birds=tuple(dict.fromkeys(band for one in found for band in one.birds)),
    )
