"""What the plan command was asked for, and which of its options go together."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from matchmaker.cli.options import refuse_beside

if TYPE_CHECKING:
    from pathlib import Path

_BESIDE_ANY = frozenset({"json", "force"})

_BESIDE = {
    "score": frozenset(),
    "frontier": frozenset({"csv", "matings", "time_limit"}),
    "one_more": frozenset({"csv", "time_limit", "matings", "fresh"}),
    "alternatives": frozenset({"csv", "time_limit", "matings", "fresh"}),
    "at": frozenset({"csv", "matings", "time_limit", "write", "problem", "pen_up"}),
    "robust": frozenset({"csv", "time_limit", "matings", "fresh", "write", "problem", "pen_up"}),
    "near": frozenset({"csv", "matings", "write", "problem", "pen_up"}),
    "pen_up": frozenset(
        {"csv", "fresh", "near", "at", "matings", "robust", "time_limit", "write", "problem"}
    ),
}
"""Of the options that choose what is done, those that mean something beside each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChoice:
    """The options of ``plan`` as given."""

    write: bool = False
    pen_up: str | None = None
    fresh: bool = False
    near: Path | None = None
    frontier: bool = False
    at: int | None = None
    alternatives: int | None = None
    one_more: bool = False
    robust: bool = False
    matings: int | None = None
    time_limit: float | None = None
    score: Path | None = None
    problem: Path | None = None
    json: bool = False
    csv: Path | None = None
    force: bool = False

    def check(self) -> None:
        """Refuse options of which one would have no effect.

        Raises
        ------
        UsageError
            Naming them.
        """
        for option, beside in _BESIDE.items():
            if getattr(self, option):
                useful = beside | _BESIDE_ANY | {option}
                others = {
                    option_name(one.name): getattr(self, one.name)
                    for one in fields(self)
                    if one.name not in useful
                }
                refuse_beside(option_name(option), others)


def option_name(field: str) -> str:
    """The option as it is typed.

    >>> option_name("one_more")
    '--one-more'
    """
    return "--" + field.replace("_", "-")
