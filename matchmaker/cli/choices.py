"""What the plan command was asked for, and which of its options go together."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from matchmaker.cli.options import refuse_beside, refuse_without
from matchmaker.cli.output import Output

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

_BESIDE_ANY = frozenset({"json", "force"})

_OF_LOOK_AHEAD = frozenset({"replicates", "seed", "workers", "cluster"})
"""Options that say how ``look_ahead`` is done."""

_BESIDE = {
    "score": frozenset(),
    "frontier": frozenset({"csv", "matings", "time_limit"}),
    "one_more": frozenset({"csv", "time_limit", "matings", "fresh"}),
    "alternatives": frozenset({"csv", "time_limit", "matings", "fresh"}),
    "at": frozenset({"csv", "matings", "time_limit", "write", "problem", "pen_up"}),
    "robust": frozenset({"csv", "time_limit", "matings", "fresh", "write", "problem", "pen_up"}),
    "look_ahead": _OF_LOOK_AHEAD
    | {"csv", "time_limit", "matings", "fresh", "write", "problem", "pen_up"},
    "near": frozenset({"csv", "matings", "write", "problem", "pen_up"}),
    "pen_up": _OF_LOOK_AHEAD
    | {"csv", "fresh", "near", "at", "matings", "robust", "look_ahead"}
    | {"time_limit", "write", "problem"},
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
    look_ahead: int | None = None
    replicates: int | None = None
    seed: int | None = None
    workers: int | None = None
    cluster: str = ""
    matings: int | None = None
    time_limit: float | None = None
    score: Path | None = None
    problem: Path | None = None
    json: bool = False
    csv: Path | None = None
    force: bool = False

    @property
    def output(self) -> Output:
        """How the answer leaves the program."""
        return Output(json=self.json, csv=self.csv, force=self.force)

    def check(self) -> None:
        """Refuse options of which one would have no effect.

        Raises
        ------
        UsageError
            Naming them.
        """
        for option, beside in _BESIDE.items():
            if self._given({option})[option_name(option)]:
                useful = beside | _BESIDE_ANY | {option}
                others = {one.name for one in fields(self)} - useful
                refuse_beside(option_name(option), self._given(others))
        if self.look_ahead is None:
            refuse_without("--look-ahead", self._given(_OF_LOOK_AHEAD))
        elif self.cluster:
            refuse_beside("--cluster", self._given({"workers"}))

    def _given(self, names: Collection[str]) -> Mapping[str, bool]:
        """Which of these options are given; a 0 is."""
        return {
            option_name(one.name): getattr(self, one.name) != one.default
            for one in fields(self)
            if one.name in names
        }


def option_name(field: str) -> str:
    """The option as it is typed.

    >>> option_name("one_more")
    '--one-more'
    """
    return "--" + field.replace("_", "-")
