"""What is different between two plans: which hens go elsewhere, together; which cocks and pens."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.flock.listing import natural

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen

Stint: TypeAlias = tuple[str, str]
"""A hen and the part of the season in which she has a place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Hens who go together from one cock to another (``None``: in no pen), in one turn.

    ``all_his`` says that the first cock keeps none of his hens. Where the cock is the same, the
    hens stay with him and only the row changes.
    """

    hens: tuple[str, ...]
    before: str | None
    after: str | None
    turn: str = ""
    all_his: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Differences:
    """The shifts, most hens first; cocks in the second plan only and in the first only.

    ``pens`` are those cocks of both plans whose pens differ, with their pens before and after.
    """

    shifts: tuple[Shift, ...]
    cocks_in: tuple[str, ...]
    cocks_out: tuple[str, ...]
    pens: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]


def differences(before: Sequence[PlannedPen], after: Sequence[PlannedPen]) -> Differences:
    """Return what is different in the second plan."""
    old_cocks, new_cocks = ({pen.cock for pen in plan} for plan in (before, after))
    old_pens, new_pens = _pens_of(before), _pens_of(after)
    return Differences(
        shifts=tuple(_shifts(before, after)),
        cocks_in=tuple(sorted(new_cocks - old_cocks, key=natural)),
        cocks_out=tuple(sorted(old_cocks - new_cocks, key=natural)),
        pens=tuple(
            (cock, old_pens[cock], new_pens[cock])
            for cock in sorted(old_cocks & new_cocks, key=natural)
            if old_pens[cock] != new_pens[cock]
        ),
    )


def _pens_of(pens: Iterable[PlannedPen]) -> dict[str, tuple[str, ...]]:
    found: dict[str, set[str]] = defaultdict(set)
    for pen in pens:
        found[pen.cock].add(pen.pen)
    return {cock: tuple(sorted(labels, key=natural)) for cock, labels in found.items()}


def _places(pens: Iterable[PlannedPen]) -> dict[Stint, tuple[str, str]]:
    """Each hen's cock and row, in each turn in which she has a place."""
    return {(p.hen, p.turn): (p.cock, p.row) for pen in pens for p in pen.pairs}


def _shifts(before: Sequence[PlannedPen], after: Sequence[PlannedPen]) -> list[Shift]:
    old, new = _places(before), _places(after)
    together: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for stint in old.keys() | new.keys():
        if old.get(stint) != new.get(stint):
            leaves, comes = (place.get(stint, ("", ""))[0] for place in (old, new))
            together[stint[1], leaves, comes].append(stint[0])
    stays = {(stint[1], place[0]) for stint, place in new.items() if old.get(stint) == place}
    found = []
    for (turn, leaves, comes), hens in together.items():
        had = sum(one[0] == leaves and stint[1] == turn for stint, one in old.items())
        found.append(
            Shift(
                hens=tuple(sorted(hens, key=natural)),
                before=leaves or None,
                after=comes or None,
                turn=turn,
                all_his=bool(leaves) and (turn, leaves) not in stays and len(hens) == had,
            )
        )
    return sorted(found, key=lambda one: (-len(one.hens), natural(one.hens[0]), one.turn))
