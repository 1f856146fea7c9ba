"""Rows of the integer program for demands: wishes and forced choices."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import Demand
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


def add_demand(model: Model, demand: Demand) -> None:
    """Add the rows of one demand."""
    _ADD[type(demand)](model, demand)


def _with_cock(model: Model, hen: str, cock: str) -> list[int]:
    candidates = model.layout.candidates
    return [place for place in model.by_hen.get(hen, ()) if candidates[place].cock == cock]


def _add_pair_together(model: Model, demand: PairTogether) -> None:
    model.at_least(model.taken(_with_cock(model, demand.hen, demand.cock)), 1)


def _in_pen(model: Model, bird: str, pen: str) -> Terms:
    """Return in how many turns a bird is in a pen, as terms."""
    if bird in model.layout.groups:
        slots = [
            one for one in model.layout.slots[bird] if pen in model.layout.kinds[one.kind].pens
        ]
        return model.pens_held(slots)
    return {
        model.z[place, slot]: 1.0
        for place in model.by_hen.get(bird, ())
        for slot in model.layout.slots[model.layout.candidates[place].cock]
        if (place, slot) in model.z and pen in model.layout.kinds[slot.kind].pens
    }


def _add_bird_in_pen(model: Model, demand: BirdInPen) -> None:
    model.at_least(_in_pen(model, demand.bird, demand.pen), 1)


def _add_bird_not_in_pen(model: Model, demand: BirdNotInPen) -> None:
    model.at_most(_in_pen(model, demand.bird, demand.pen), 0)


def _add_hens_together(model: Model, demand: HensTogether) -> None:
    """Equal numbers with every cock in every turn; if he is known pen by pen, in each pen."""
    candidates = model.layout.candidates
    for cock in model.layout.cocks:
        first = _with_cock(model, demand.first, cock)
        second = _with_cock(model, demand.second, cock)
        if model.layout.limits[cock].pens_max == 1:
            for turn in sorted({candidates[at].turn for at in (*first, *second)}):
                ours = model.taken(at for at in first if candidates[at].turn == turn)
                hers = model.taken((at for at in second if candidates[at].turn == turn), -1.0)
                model.exactly(ours | hers, 0)
            continue
        for slot in model.layout.slots[cock] if first or second else ():
            ours = {model.z[one, slot]: 1.0 for one in first if (one, slot) in model.z}
            hers = {model.z[one, slot]: -1.0 for one in second if (one, slot) in model.z}
            model.exactly(ours | hers, 0)


def _add_hens_apart(model: Model, demand: HensApart) -> None:
    """Never with the same cock at once; one after the other is no matter."""
    for cock in model.layout.cocks:
        first = _with_cock(model, demand.first, cock)
        second = _with_cock(model, demand.second, cock)
        if first and second:
            for once in model.layout.at_once([*first, *second]):
                model.at_most(model.taken(once), 1)


def _add_bird_used(model: Model, demand: BirdUsed) -> None:
    places = model.by_hen.get(demand.bird) or model.by_cock.get(demand.bird, [])
    model.at_least(model.taken(places), 1)


_ADD: Mapping[type[Demand], Any] = {
    PairTogether: _add_pair_together,
    BirdInPen: _add_bird_in_pen,
    BirdNotInPen: _add_bird_not_in_pen,
    HensTogether: _add_hens_together,
    HensApart: _add_hens_apart,
    BirdUsed: _add_bird_used,
}
