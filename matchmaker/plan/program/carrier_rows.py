"""Rows of the integer program that keep a line's carriers: not all may breed for others."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import LineCarriers
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


def add_carriers(model: Model, carriers: LineCarriers) -> None:
    """At most all but one of a line's carriers are gone.

    A bird is gone if it is in a pair whose chicks do not join the line, and in none whose chicks
    do. A bird that has no such pair is never gone, and then the line cannot lose them all.
    """
    places = {
        bird: model.by_hen.get(bird) or model.by_cock.get(bird, []) for bird in carriers.birds
    }
    lines = [one.line for one in model.layout.candidates]
    others = {
        bird: [at for at in own if lines[at] != carriers.line] for bird, own in places.items()
    }
    if not all(others.values()):
        return
    gone: Terms = {}
    for bird, away in others.items():
        column = model.column(0, 1, whole=True)
        gone[column] = 1.0
        home = model.taken((at for at in places[bird] if lines[at] == carriers.line), -1.0)
        for at in away:
            model.at_most({model.x[at]: 1.0, column: -1.0} | home, 0)
    model.at_most(gone, len(gone) - 1)
