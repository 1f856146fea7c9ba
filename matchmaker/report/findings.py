"""Faults and doubts as one list: each with its place, what rests on it and how to mend it."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.mends.effects import Effects
from matchmaker.mends.reach import Reach
from matchmaker.report.finding_words import (
    counted_findings,
    effect_text,
    mend_texts,
    place_text,
    together_text,
    touches_text,
)
from matchmaker.report.screen import say

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from matchmaker.mends.effects import Effect
    from matchmaker.mends.reach import Reaches

FEW: Final = 2
"""So many doubts that touch nobody are shown like the others; of more only the number is said."""

WITHOUT_PLAN: Final = "While faults stop the plan most mends cannot be weighed alone."

DOUBTS_MAX: Final = 20
"""Doubts shown, those alike counted once, unless all are asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What is shown of a check: its findings in order, their measured effects, and whether all."""

    reaches: Reaches
    effects: Effects = field(default_factory=Effects)
    everything: bool = False


@dataclass(frozen=True, slots=True)
class _Alike:
    """Findings that differ by their rows alone; ``whole`` touches whatever one of them does."""

    reaches: list[Reach]
    whole: Reach


def print_findings(console: Console, shown: Shown) -> None:
    """One list: faults, then doubts, what changes most in the plan first."""
    found = shown.reaches.found
    if not found:
        return
    groups = _together(found)
    say(console, f"{counted_findings(found)}:", style="bold")
    mixed = len({reach.stops for reach in found}) > 1
    listed = groups if shown.everything else _foremost(groups)
    for group in listed:
        _print_alike(console, group, shown, mixed=mixed)
    if shown.effects.together is not None:
        say(console, f"{WITHOUT_PLAN} {together_text(shown.effects.together)}.", indent=2)
    _print_rest(console, [group for group in groups if group not in listed])
    _print_safe(console, found)
    console.print()


def _together(found: Iterable[Reach]) -> list[_Alike]:
    """Join the findings that differ by their rows alone, and put the groups in order anew."""
    alike: dict[tuple[object, ...], list[Reach]] = defaultdict(list)
    for reach in found:
        fault = reach.fault
        mends = tuple((one.table, one.column, one.was, one.becomes) for one in fault.mends)
        place = (reach.stops, fault.file, fault.column or "", fault.value or "")
        alike[*place, fault.problem, fault.mend, fault.safe, mends].append(reach)
    for reaches in alike.values():
        reaches.sort(key=lambda reach: reach.fault.order)
    groups = [_Alike(reaches, _joined(reaches)) for reaches in alike.values()]
    return sorted(groups, key=lambda group: group.whole.order)


def _joined(reaches: list[Reach]) -> Reach:
    touched: dict[str, float] = {}
    for reach in reaches:
        for band, part in reach.touched.items():
            touched[band] = max(touched.get(band, 0.0), part)
    return Reach(fault=reaches[0].fault, stops=reaches[0].stops, touched=touched)


def _foremost(groups: list[_Alike]) -> list[_Alike]:
    """Leave out a tail of doubts that touch nobody, and doubts beyond what can be read."""
    faults = [group for group in groups if group.whole.stops]
    doubts = [group for group in groups if not group.whole.stops]
    touching = [group for group in doubts if group.whole.touched]
    if len(doubts) - len(touching) <= FEW:
        touching = doubts
    return [*faults, *touching[:DOUBTS_MAX]]


def _print_alike(console: Console, group: _Alike, shown: Shown, *, mixed: bool) -> None:
    faults = [reach.fault for reach in group.reaches]
    kind = ("Fault: " if group.whole.stops else "Doubt: ") if mixed else ""
    say(console, f"{kind}{place_text(*faults)}: {faults[0].problem}", indent=2)
    if shown.reaches.breeders:
        say(console, touches_text(group.whole, shown.reaches.breeders), indent=6)
    first, *more = faults[0].mend.splitlines() or [""]
    say(console, f"→ {first}", indent=6)
    for line in more:
        say(console, line, indent=8)
    for text in mend_texts(faults):
        say(console, text, indent=8)
    for text in _effect_texts(group, shown):
        say(console, text, indent=8)


def _effect_texts(group: _Alike, shown: Shown) -> list[str]:
    """What was measured; of several alike, each by its row.

    While faults stop the plan a mend that leaves some has nothing to show: that is said once.
    """
    effects, stopped = shown.effects, shown.reaches.found[0].stops
    found: list[tuple[int | None, Effect | None]] = [
        (reach.fault.row, effects.of.get(reach.fault))
        for reach in group.reaches
        if reach.fault in effects.left_out
        or (reach.fault in effects.of and not (stopped and effects.of[reach.fault].faults))
    ]
    if len(found) == 1:
        return [effect_text(found[0][1])]
    return [f"row {row}: {effect_text(effect)}" for row, effect in found]


def _print_rest(console: Console, rest: list[_Alike]) -> None:
    """The doubts that are not listed, in a line for each reason why."""
    for touching, what in ((True, "touch fewer"), (False, "touch no bird that can be penned")):
        files = Counter(
            reach.fault.file
            for group in rest
            if bool(group.whole.touched) is touching
            for reach in group.reaches
        )
        if files:
            count = sum(files.values())
            told = ", ".join(f"{number} in {file}" for file, number in sorted(files.items()))
            more = "1 more doubt" if count == 1 else f"{count} more doubts"
            verb = what.replace("touch", "touches") if count == 1 else what
            say(console, f"{more} {verb}: {told} (--all lists them)", indent=2)


def _print_safe(console: Console, found: Iterable[Reach]) -> None:
    safe = sum(reach.fault.safe and bool(reach.fault.mends) for reach in found)
    if safe:
        many = "1 of these can" if safe == 1 else f"{safe} of these can"
        say(
            console,
            f"{many} be mended safely: check --fix does it in a copy and shows each cell.",
            indent=2,
        )
