"""The whole answer: the schemes from the donor on, what cannot work, where each line stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.route.asking import Asked, Posed, pose
from matchmaker.route.markers import Marker, markers
from matchmaker.route.pitfalls import Pitfall, pitfalls
from matchmaker.route.schemes import ALWAYS, Schemes, all_schemes
from matchmaker.route.standing import Standing, standings

if TYPE_CHECKING:
    from matchmaker.genetics.study import Study
    from matchmaker.route.task import Task


@dataclass(frozen=True, slots=True, kw_only=True)
class Routing:
    """Everything ``route`` tells of a flock."""

    study: Study
    asked: Asked
    posed: Posed
    markers: tuple[Marker, ...]
    schemes: Schemes
    pitfalls: tuple[Pitfall, ...]
    standings: tuple[Standing, ...]

    @property
    def task(self) -> Task:
        """What was asked of the search."""
        return self.posed.task


def find_routes(study: Study, asked: Asked) -> Routing:
    """Find the routes to a flock's target and where its lines stand on the way.

    Raises
    ------
    UsageError
        If the target has no route to be searched for; the text says why and what to change.
    """
    posed = pose(study, asked)
    signs = markers(posed.task, posed.backcrosses)
    return Routing(
        study=study,
        asked=asked,
        posed=posed,
        markers=signs,
        schemes=all_schemes(posed.task, (*ALWAYS, "marker") if signs else ALWAYS),
        pitfalls=pitfalls(posed.task),
        standings=standings(study, posed.task),
    )
