"""The integer program of a layout: one function per family of rows.

Columns: ``x`` pair taken; ``y`` pens of a slot held (per group where dams are unknown);
``places`` hens of a group in a slot; ``z`` a tracked hen's pair in a slot; ``first`` and
``second`` what a line counts in full and at a quarter; ``n`` a line's pairs; ``serves`` cock
serves line; ``total`` all pairs; ``moved`` birds moved; what tests of a bird are worth; whether a
carrier is gone.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.plan.posing.layout import Group, Layout, Slot, group_of, lay_out
from matchmaker.plan.program.carrier_rows import add_carriers
from matchmaker.plan.program.demand_rows import add_demand
from matchmaker.plan.program.limit_rows import add_limits
from matchmaker.plan.program.line_rows import add_line, add_total
from matchmaker.plan.program.move_rows import add_moves
from matchmaker.plan.program.program import INFINITE, Program
from matchmaker.plan.program.proof_rows import add_tests

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.program import Terms


@dataclass(slots=True)
class Model:
    """A program with maps from sets to its columns.

    A ``lean`` one is without the rows that every whole plan keeps of itself: they bring the relaxed
    program nearer to whole plans, which a proof needs, and make it three times as slow.
    """

    problem: PlanProblem
    layout: Layout
    program: Program = field(default_factory=Program)
    x: list[int] = field(default_factory=list)
    y: dict[tuple[Slot, Group | None], int] = field(default_factory=dict)
    places: dict[tuple[Slot, Group], int] = field(default_factory=dict)
    z: dict[tuple[int, Slot], int] = field(default_factory=dict)
    value: Terms = field(default_factory=dict)
    by_hen: dict[str, list[int]] = field(default_factory=dict)
    by_cock: dict[str, list[int]] = field(default_factory=dict)
    numbers: list[int] = field(default_factory=list)
    total: int = -1
    moved: int = -1
    lean: bool = False

    def column(self, low: float, high: float, *, whole: bool) -> int:
        """Add a column."""
        return self.program.column(low, high, whole=whole)

    def at_most(self, terms: Terms, bound: float) -> None:
        """Add terms <= bound."""
        self.program.row(terms, -INFINITE, bound)

    def at_least(self, terms: Terms, bound: float) -> None:
        """Add terms >= bound."""
        self.program.row(terms, bound, INFINITE)

    def exactly(self, terms: Terms, bound: float) -> None:
        """Add terms == bound."""
        self.program.row(terms, bound, bound)

    def count(self, terms: Terms, most: int) -> int:
        """Add a whole column that is what terms come to, at most ``most``; return it.

        A search branches best on such numbers.
        """
        number = self.column(0, most, whole=True)
        self.exactly({number: -1.0} | terms, 0)
        return number

    def taken(self, places: Iterable[int], sign: float = 1.0) -> Terms:
        """Return the number of pairs taken among these candidates, as terms."""
        return {self.x[place]: sign for place in places}

    def pens_held(self, slots: Iterable[Slot], sign: float = 1.0) -> Terms:
        """Return the number of pens held in these slots, as terms."""
        return {
            self.y[slot, group]: sign
            for slot in slots
            for group in ((None,) if slot.dam_known else slot.groups)
        }

    def pens_for(self, cock: str, group: Group) -> Terms:
        """Return less the number of pens a cock holds that may house a group, as terms."""
        slots = (slot for slot in self.layout.slots[cock] if group in slot.groups)
        return {self.y[slot, None if slot.dam_known else group]: -1.0 for slot in slots}

    def maximise(self, terms: Terms) -> None:
        """Set the objective."""
        self.program.maximise(terms)

    def amount(self, terms: Terms) -> float:
        """Return what terms amount to under the values in hand."""
        return self.program.amount(terms)


def build(problem: PlanProblem, *, hens_once: bool = True, lean: bool = False) -> Model:
    """Return the model of a problem, maximising the value of the plan.

    ``hens_once=False`` leaves out the rule that a hen has one place: only to find out whether
    that rule is part of a clash. ``lean`` leaves out rows that no whole plan breaks.
    """
    layout = lay_out(problem)
    model = Model(problem=problem, layout=layout, lean=lean)
    _add_pairs(model)
    if hens_once:
        _add_hens(model)
    _add_pens(model)
    for cock in layout.cocks:
        _add_cock(model, cock)
    if not lean and _pens_are_scarce(layout):
        _add_links(model)
    _add_tracked(model)
    for goal in problem.lines:
        add_line(model, goal)
    add_tests(model)
    add_total(model)
    add_moves(model)
    add_limits(model)
    for carriers in problem.carriers:
        add_carriers(model, carriers)
    for demand in problem.demands:
        add_demand(model, demand)
    model.maximise(model.value)
    return model


def _add_hens(model: Model) -> None:
    """A hen has one place at a time."""
    for places in model.by_hen.values():
        for once in model.layout.at_once(places):
            model.at_most(model.taken(once), 1)


def _add_pairs(model: Model) -> None:
    by_hen: dict[str, list[int]] = defaultdict(list)
    by_cock: dict[str, list[int]] = defaultdict(list)
    for place, candidate in enumerate(model.layout.candidates):
        model.x.append(model.column(0, 1, whole=True))
        by_hen[candidate.hen].append(place)
        by_cock[candidate.cock].append(place)
    model.by_hen, model.by_cock = dict(by_hen), dict(by_cock)


def _add_pens(model: Model) -> None:
    """Pens held by cocks, at most as many of each kind as there are."""
    holders: dict[int, list[Slot]] = defaultdict(list)
    for slots in model.layout.slots.values():
        for slot in slots:
            holders[slot.kind].append(slot)
            for group in (None,) if slot.dam_known else slot.groups:
                model.y[slot, group] = model.column(0, slot.pens_max, whole=True)
    for kind, slots_of_kind in holders.items():
        model.at_most(model.pens_held(slots_of_kind), len(model.layout.kinds[kind].pens))


def _add_cock(model: Model, cock: str) -> None:
    """A cock's hens, his pens, and room for the ones in the others."""
    layout = model.layout
    limit = layout.limits[cock]
    slots = layout.slots[cock]
    for once in layout.at_once(model.by_cock[cock]):
        model.at_most(model.taken(once), limit.hens_max)
    for together in layout.turns:
        held = model.pens_held(slot for slot in slots if slot.turn in together)
        if held or len(layout.turns) == 1:
            model.at_most(held, limit.pens_max)
    for slot in slots:
        if slot.dam_known or _holds_tracked(model, cock):
            _add_places(model, slot)
    for group in layout.groups[cock]:
        _add_room(model, cock, group)


def _add_room(model: Model, cock: str, group: Group) -> None:
    """A cock's hens of a group are between the least and the most that his pens for it hold."""
    places = model.layout.members[cock, group]
    most = model.taken(places, -1.0)
    least = dict(most)
    for slot in model.layout.slots[cock]:
        if group not in slot.groups:
            continue
        if (slot, group) in model.places:
            most[model.places[slot, group]] = least[model.places[slot, group]] = 1.0
        else:
            most[model.y[slot, group]] = min(slot.hens_max, len(places))
            least[model.y[slot, group]] = slot.hens_min
    model.at_least(most, 0)
    if len(least) > len(places):
        model.at_most(least, 0)


def _pens_are_scarce(layout: Layout) -> bool:
    """Whether cocks compete for pens, so that each link of a pair to its pen is worth a row."""
    return 2 * len(layout.groups) > 3 * sum(len(kind.pens) for kind in layout.kinds)


def _add_links(model: Model) -> None:
    """A pair needs a pen of its cock that may hold it: implied for whole pens, not for parts."""
    for (cock, group), places in model.layout.members.items():
        pens = model.pens_for(cock, group)
        for place in places:
            model.at_most({model.x[place]: 1.0} | pens, 0)


def _holds_tracked(model: Model, cock: str) -> bool:
    candidates = model.layout.candidates
    return any(candidates[place].hen in model.layout.tracked for place in model.by_cock[cock])


def _add_places(model: Model, slot: Slot) -> None:
    """Count a slot's hens by group, between its least and its most."""
    for group in slot.groups:
        members = len(model.layout.members[slot.cock, group])
        model.places[slot, group] = model.column(0, members, whole=True)
    for held in (None,) if slot.dam_known else slot.groups:
        groups = slot.groups if held is None else (held,)
        pens = model.y[slot, held]
        hens: Terms = {model.places[slot, group]: 1.0 for group in groups}
        model.at_most(hens | {pens: -slot.hens_max}, 0)
        model.at_least(hens | {pens: -slot.hens_min}, 0)
    if slot.pens_max == 1 and not slot.dam_known and len(slot.groups) > 1:
        model.at_most(model.pens_held([slot]), 1)


def _add_tracked(model: Model) -> None:
    """Say of each tracked hen in which slot she is."""
    tracked: dict[tuple[Slot, Group], list[int]] = defaultdict(list)
    for place, candidate in enumerate(model.layout.candidates):
        if candidate.hen not in model.layout.tracked:
            continue
        where: Terms = {model.x[place]: -1.0}
        for slot in model.layout.slots[candidate.cock]:
            if group_of(candidate) in slot.groups:
                model.z[place, slot] = model.column(0, 1, whole=True)
                where[model.z[place, slot]] = 1.0
                tracked[slot, group_of(candidate)].append(place)
        model.exactly(where, 0)
    for (slot, group), places in tracked.items():
        inside: Terms = {model.z[place, slot]: 1.0 for place in places}
        model.at_most(inside | {model.places[slot, group]: -1.0}, 0)
