"""The pairs that stand in pens, beside those of the best plan."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.explain.pair import placed_pairs
from matchmaker.report.why.terms import Place
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.pairs.table import Key
    from matchmaker.reporting import SeasonReport
    from matchmaker.season.standing import Pens


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where pairs stand: in the pens that hold, and in the best plan.

    ``of_hen`` and ``of_cock`` are the same places by bird. ``best`` names the pen that the best
    plan has a pair in, ``best_of_hen`` says where it has a hen.
    """

    places: Mapping[Key, Place]
    of_hen: Mapping[str, Sequence[Place]]
    of_cock: Mapping[str, Sequence[Place]]
    best: Mapping[Key, str]
    best_of_hen: Mapping[str, str]

    @property
    def differs(self) -> bool:
        """Whether the pens that hold have other pairs than the best plan."""
        return {key[:2] for key in self.places} != {key[:2] for key in self.best}


def standing_pairs(report: SeasonReport) -> Standing:
    """The pairs in the pens that hold, each worth what the plan counts it for if it has it too."""
    placed = placed_pairs(report.plan)
    values = {one.pair.key: one.chosen.value for one in placed}
    pens = _pens_of(report.guide.pens)
    places = {}
    of_hen: dict[str, list[Place]] = defaultdict(list)
    of_cock: dict[str, list[Place]] = defaultdict(list)
    for pair in report.guide.pens.pairs:
        place = Place(
            pen=listed(pens[pair.hen, pair.cock]),
            pair=pair,
            value=values.get(pair.key, pair.value or 0.0),
        )
        places[pair.key] = place
        of_hen[pair.hen].append(place)
        of_cock[pair.cock].append(place)
    return Standing(
        places=places,
        of_hen=of_hen,
        of_cock=of_cock,
        best={one.pair.key: one.pen for one in placed},
        best_of_hen={one.pair.hen: f"with {one.pair.cock} in pen {one.pen}" for one in placed},
    )


def _pens_of(pens: Pens) -> Mapping[tuple[str, str], Sequence[str]]:
    """The pens in which hen and cock stand, each once."""
    cocks: dict[str, set[str]] = defaultdict(set)
    for stay in pens.stays:
        if stay.bird in pens.diary.cocks:
            cocks[stay.pen].add(stay.bird)
    found: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for stay in pens.stays:
        if stay.bird not in pens.diary.cocks:
            for cock in cocks[stay.pen]:
                found[stay.bird, cock][stay.pen] = None
    return {birds: list(names) for birds, names in found.items()}
