"""Solved columns read back into pens with labels: who is where."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.verify import WrongPlanError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.posing.layout import Group, Slot
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.program.model import Model


def whole(model: Model, column: int) -> int:
    """Return a column's value as the whole number it must be.

    Raises
    ------
    WrongPlanError
        If the solver left it further from one than its tolerance allows.
    """
    value = model.program.value_of(column)
    if abs(value - round(value)) > tolerance.INTEGRALITY:
        raise WrongPlanError((f"the solver left {value} where a whole number must stand",))
    return round(value)


def chosen(model: Model) -> tuple[Candidate, ...]:
    """Return the pairs taken, in order of the layout."""
    return tuple(
        candidate
        for candidate, column in zip(model.layout.candidates, model.x, strict=True)
        if whole(model, column)
    )


def decode(model: Model) -> tuple[PlannedPen, ...]:
    """Return the pens of a solved model, in order of their labels.

    A cock keeps the labels he has in the standing plan where he holds a pen of that kind; the
    rest are given in order of labels and bands. Hens that no demand places are spread evenly.
    """
    labels = _labels(model)
    pens = [
        PlannedPen(
            pen=labels[slot, held][place],
            cock=slot.cock,
            pairs=tuple(sorted(pairs, key=lambda pair: natural(pair.hen))),
            turn=slot.turn,
        )
        for slot, held, hens in _filled(model)
        for place, pairs in enumerate(spread(hens, len(labels[slot, held])))
    ]
    return tuple(sorted(pens, key=lambda pen: (natural(pen.pen), pen.turn)))


def spread(pairs: list[Candidate], pens: int) -> list[list[Candidate]]:
    """Split pairs over pens so that no two pens differ by more than one."""
    least, more = divmod(len(pairs), pens)
    sizes = [least + (place < more) for place in range(pens)]
    starts = [sum(sizes[:place]) for place in range(pens)]
    return [pairs[start : start + size] for start, size in zip(starts, sizes, strict=True)]


def _labels(model: Model) -> dict[tuple[Slot, Group | None], list[str]]:
    """Give each slot held its pens' labels: those of the standing plan, or of an earlier turn."""
    held = {key: whole(model, column) for key, column in model.y.items()}
    labels: dict[tuple[Slot, Group | None], list[str]] = {key: [] for key in held if held[key]}
    standing = {(pen, cock) for pen, cock in model.problem.standing_pens}
    for place, kind in enumerate(model.layout.kinds):
        free = list(kind.pens)
        own = [key for key in labels if key[0].kind == place]
        for key in own:
            kept = [pen for pen in free if (pen, key[0].cock) in standing][: held[key]]
            labels[key] += kept
            free = [pen for pen in free if pen not in kept]
        for key in own:
            missing = held[key] - len(labels[key])
            labels[key] = sorted(labels[key] + free[:missing], key=natural)
            free = free[missing:]
            standing |= {(pen, key[0].cock) for pen in labels[key]}
    return labels


def _filled(model: Model) -> Iterator[tuple[Slot, Group | None, list[Candidate]]]:
    """Yield each slot held with the pairs that live there."""
    for cock, groups in model.layout.groups.items():
        slots = [slot for slot in model.layout.slots[cock] if _pens(model, slot)]
        inside: dict[tuple[Slot, Group | None], list[Candidate]] = defaultdict(list)
        for group in groups:
            for slot, pairs in _shares(model, [one for one in slots if group in one.groups], group):
                if pairs:
                    inside[slot, None if slot.dam_known else group] += pairs
        yield from ((slot, held, pairs) for (slot, held), pairs in inside.items())


def _pens(model: Model, slot: Slot) -> int:
    keys: Iterable[Group | None] = (None,) if slot.dam_known else slot.groups
    return sum(whole(model, model.y[slot, held]) for held in keys)


def _shares(
    model: Model, slots: list[Slot], group: Group
) -> Iterator[tuple[Slot, list[Candidate]]]:
    """Share out one cock's hens of one group among his slots, tracked hens first."""
    if not slots:
        return
    candidates = model.layout.candidates
    members = model.layout.members[slots[0].cock, group]
    taken = [place for place in members if whole(model, model.x[place])]
    fixed: dict[Slot, list[int]] = {
        slot: [
            place
            for place in taken
            if (place, slot) in model.z and whole(model, model.z[place, slot])
        ]
        for slot in slots
    }
    placed = {place for places in fixed.values() for place in places}
    free = [place for place in taken if place not in placed]
    sizes = _sizes(model, slots, group, len(taken))
    for slot in slots:
        room = sizes[slot] - len(fixed[slot])
        here, free = [*fixed[slot], *free[:room]], free[room:]
        yield slot, [candidates[place] for place in sorted(here)]


def _sizes(model: Model, slots: list[Slot], group: Group, hens: int) -> dict[Slot, int]:
    """How many hens of a group go to each slot: as solved where counted, else least then most."""
    counted = {
        slot: whole(model, model.places[slot, group])
        for slot in slots
        if (slot, group) in model.places
    }
    pens = {slot: whole(model, model.y[slot, group]) for slot in slots if slot not in counted}
    sizes = {slot: slot.hens_min * count for slot, count in pens.items()}
    left = hens - sum(counted.values()) - sum(sizes.values())
    for slot, count in pens.items():
        more = min(left, (slot.hens_max - slot.hens_min) * count)
        sizes[slot] += more
        left -= more
    return counted | sizes
