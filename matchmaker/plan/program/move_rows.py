"""Rows of the integer program for pens that stand already: birds moved are counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import PAIR_COST

if TYPE_CHECKING:
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


def add_moves(model: Model) -> None:
    """Count the birds moved in one whole column that bears their cost, and is bounded.

    A search that may branch on that column finds the fewest moves at once.
    """
    moves = model.problem.moves
    if moves is None:
        return
    layout = model.layout
    turn_of = {pen: kind.turn for kind in layout.kinds for pen in kind.pens}
    places = {bird: turn_of.get(pen) for bird, pen in moves.places if bird not in layout.limits}
    pens = sum(slot.pens_max for slots in layout.slots.values() for slot in slots)
    birds = len(model.by_hen) + pens + len(places)
    number = model.column(0, birds if moves.most is None else moves.most, whole=True)
    count: Terms = {number: -1.0}
    stands = {(bird, turn_of[pen]) for bird, pen in moves.places if pen in turn_of}
    for cock, slots in layout.slots.items():
        count |= model.pens_held(slot for slot in slots if (cock, slot.turn) not in stands)
    cock_of = {turn_of.get(pen): bird for bird, pen in moves.places if bird in layout.limits}
    for hen in sorted({*model.by_hen, *places}):
        turn = places.get(hen)
        his = None if turn is None else cock_of.get(turn)
        homes = {own for bird, own in stands if bird == his}
        count |= _moved(model, hen, turn, None if his is None else (his, homes))
    model.exactly(count, 0)
    model.value |= {number: -PAIR_COST}
    model.moved = number
    model.numbers.append(number)


def _moved(model: Model, hen: str, turn: str | None, cock: tuple[str, set[str]] | None) -> Terms:
    """Whether a hen is moved, as terms: into another pen, or out of hers if a cock is there.

    ``cock`` stands in her pen, with the turns of all his pens; he stays unless he gets another.
    """
    layout, candidates = model.layout, model.layout.candidates
    own = model.by_hen.get(hen, [])
    away = model.taken(at for at in own if candidates[at].turn != turn)
    held = model.pens_held(
        slot for slots in layout.slots.values() for slot in slots if slot.turn == turn
    )
    if turn is None or not (held or cock):
        return away
    home = model.taken(at for at in own if candidates[at].turn == turn)
    moved = model.column(0, 1, whole=False)
    if away:
        model.at_most(away | {moved: -1.0}, 0)
    leaves = dict.fromkeys((*home, moved), -1.0)
    model.at_most(held | leaves, 0)
    if cock is None:
        return {moved: 1.0}
    left = model.column(0, 1, whole=False)
    his, homes = cock
    goes = model.pens_held((s for s in layout.slots.get(his, ()) if s.turn not in homes), -1.0)
    model.at_most(goes | {left: 1.0}, 0)
    model.at_least(home | {moved: 1.0, left: 1.0}, 1)
    model.value |= {left: -PAIR_COST}
    return {moved: 1.0}
