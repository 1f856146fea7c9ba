"""Rows of the elastic program for pens and cocks: their numbers as they are, or loosened."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from matchmaker.plan.no_plan.elastic import pools
from matchmaker.plan.no_plan.loosened import Kind, Loosening, key_of, more, suits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.no_plan.elastic import Elastic
    from matchmaker.plan.posing.layout import Group, Slot
    from matchmaker.plan.posing.problem import CockLimit, PenKind
    from matchmaker.plan.program.program import Terms

Excess: TypeAlias = "dict[tuple[Slot, Group | None], int]"
"""By how much the pens held in a slot pass their figure, by column."""


def add_pens(elastic: Elastic, rules: Mapping[tuple[Kind, str, str], Loosening]) -> None:
    """Room and minimum of every pen a cock may hold, its line, and whether it is in use."""
    model = elastic.model
    by_pen = pools(elastic.loosenable)
    grown: Excess = {}
    lowered: Excess = {}
    for (slot, held), pens in list(model.y.items()):
        kind = model.layout.kinds[slot.kind]
        pool = by_pen[kind.pens[0], kind.turn]
        _add_use(elastic, rules, pool, (slot, held))
        for kind_of_rule, most, found in (
            (Kind.PLACES, more(pool.hens_max), grown),
            (Kind.PEN_MINIMUM, pool.hens_min - 1, lowered),
        ):
            rule = rules.get(key_of(kind_of_rule, pool))
            if rule:
                found[slot, held] = _within(elastic, rule, most, (pens, slot.pens_max))
                elastic.excess.setdefault(rule, []).append((slot.cock, found[slot, held]))
    for cock in model.layout.cocks:
        for group in model.layout.groups[cock]:
            _add_room(elastic, by_pen, (cock, group), (grown, lowered))
    for slot, held in list(model.y):
        if any((slot, group) in model.places for group in slot.groups):
            _add_room_by_places(elastic, by_pen, (slot, held), (grown, lowered))


def _add_use(
    elastic: Elastic,
    rules: Mapping[tuple[Kind, str, str], Loosening],
    pool: PenKind,
    at: tuple[Slot, Group | None],
) -> None:
    """A pen that is not open, or is kept for other pairs, only with its rule loosened."""
    slot, held = at
    model = elastic.model
    new = rules.get(key_of(Kind.PEN, pool))
    if new:
        model.at_most({model.y[at]: 1.0, elastic.switch(new): -float(slot.pens_max)}, 0)
    for kind in (Kind.PEN_LINE, Kind.PEN_USE):
        kept = rules.get(key_of(kind, pool))
        for group in slot.groups if held is None else (held,):
            if kept and not suits(kind, pool, group):
                column = model.y[at] if held else model.places[slot, group]
                most = model.program.upper[column]
                model.at_most({column: 1.0, elastic.switch(kept): -most}, 0)


def _within(elastic: Elastic, rule: Loosening, most: int, pens: tuple[int, int]) -> int:
    """By how much the pens held in a slot may exceed their figure: all pens alike by the same."""
    held, pens_max = pens
    model = elastic.model
    if rule not in elastic.switches:
        elastic.amount(rule, most)
    (each,) = elastic.parts[rule]
    column = model.column(0, most * pens_max, whole=False)
    model.at_most({column: 1.0, held: -float(most)}, 0)
    model.at_most({column: 1.0, each: -float(pens_max)}, 0)
    if pens_max > 1:
        several = model.column(0, 1, whole=True)
        model.at_least({held: 1.0, several: -2.0}, 0)
        beyond = -float(most * (pens_max - 1))
        model.at_most({column: 1.0, each: -1.0, several: beyond}, 0)
    return column


def _add_room(
    elastic: Elastic,
    by_pen: Mapping[tuple[str, str], PenKind],
    at: tuple[str, Group],
    excess: tuple[Excess, Excess],
) -> None:
    """Hens of a cock and group between the minimum and the room of the pens that hold them."""
    cock, group = at
    model, (grown, lowered) = elastic.model, excess
    most: Terms = model.taken(model.layout.members[at], -1.0)
    least: Terms = dict(most)
    for slot in model.layout.slots[cock]:
        if group not in slot.groups:
            continue
        if (slot, group) in model.places:
            most[model.places[slot, group]] = least[model.places[slot, group]] = 1.0
            continue
        kind = model.layout.kinds[slot.kind]
        pool, held = by_pen[kind.pens[0], kind.turn], (slot, group)
        most[model.y[held]] = float(pool.hens_max)
        least[model.y[held]] = float(max(1, pool.hens_min))
        if held in grown:
            most[grown[held]] = 1.0
        if held in lowered:
            least[lowered[held]] = -1.0
    model.at_least(most, 0)
    model.at_most(least, 0)


def _add_room_by_places(
    elastic: Elastic,
    by_pen: Mapping[tuple[str, str], PenKind],
    at: tuple[Slot, Group | None],
    excess: tuple[Excess, Excess],
) -> None:
    """As ``_add_room`` where the model counts the places of a slot."""
    slot, held = at
    model, (grown, lowered) = elastic.model, excess
    kind = model.layout.kinds[slot.kind]
    pool = by_pen[kind.pens[0], kind.turn]
    groups = slot.groups if held is None else (held,)
    hens: Terms = {model.places[slot, group]: 1.0 for group in groups}
    most = hens | {model.y[at]: -float(pool.hens_max)}
    least = hens | {model.y[at]: -float(max(1, pool.hens_min))}
    if at in grown:
        most[grown[at]] = -1.0
    if at in lowered:
        least[lowered[at]] = 1.0
    model.at_most(most, 0)
    model.at_least(least, 0)


def add_cock(
    elastic: Elastic, rules: Mapping[tuple[Kind, str, str], Loosening], limit: CockLimit
) -> None:
    """A cock's hens at a time, if he may have more."""
    model = elastic.model
    hens = rules.get((Kind.HENS_PER_COCK, limit.cock, ""))
    if hens is None:
        return
    for together in model.layout.at_once(model.by_cock.get(limit.cock, [])):
        if len(together) > limit.hens_max:
            if hens not in elastic.switches:
                elastic.amount(hens, more(limit.hens_max))
            (excess,) = elastic.parts[hens]
            model.at_most(model.taken(together) | {excess: -1.0}, limit.hens_max)
