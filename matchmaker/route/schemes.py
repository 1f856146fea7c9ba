"""The schemes compared: each is the search under a restriction, none a list of steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.route.search import Search
from matchmaker.route.steps import Route, route_of
from matchmaker.route.task import BY_LOOKS, EVERY_WAY, Allowed, Telling
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.route.task import Task

WITHOUT_DNA: Final = EVERY_WAY - {Telling.DNA}

RESTRICTIONS: Final = {
    "sure": Allowed(tellings=BY_LOOKS, sure=True),
    "looks": Allowed(tellings=BY_LOOKS),
    "no-dna": Allowed(tellings=WITHOUT_DNA),
    "hens": Allowed(carriers=Sex.HEN),
    "cocks": Allowed(carriers=Sex.COCK),
    "any": Allowed(),
    "marker": Allowed(tellings=BY_LOOKS | {Telling.PROOF}, carriers=Sex.COCK),
}
"""What each scheme may do, by its name."""

SENSIBLE: Final = 3
"""A route with this many times the seasons × work of another of its scheme is not shown."""

ALWAYS: Final = ("sure", "looks", "no-dna", "hens", "cocks", "any")
"""Those looked for in every flock; "marker" only where a neighbour is a sign."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scheme:
    """The routes found under one restriction, the quickest first; none if there is none.

    ``gave_up``: the search ended before everything was looked at.
    """

    name: str
    routes: tuple[Route, ...]
    gave_up: bool = False

    @property
    def best(self) -> Route | None:
        """The route proposed under it: the least seasons times work."""
        return min(self.routes, key=lambda one: (one.seasons * one.work, one.seasons), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Schemes:
    """All schemes of a task and the route proposed over all of them."""

    schemes: tuple[Scheme, ...]

    @property
    def best(self) -> Route | None:
        """The route with the least seasons times work of all that were found."""
        return self.all_routes.best

    @property
    def all_routes(self) -> Scheme:
        """Every route of every scheme that no other betters in seasons and in work."""
        every = sorted(
            (route for scheme in self.schemes for route in scheme.routes),
            key=lambda route: (route.seasons, route.work),
        )
        kept: list[Route] = []
        for route in every:
            if all(route.work < other.work for other in kept):
                kept.append(route)
        return Scheme(name="any", routes=tuple(kept))

    def named(self, name: str) -> Scheme:
        """The scheme of a name; "any" is the best of all."""
        if name == "any":
            return self.all_routes
        found = (scheme for scheme in self.schemes if scheme.name == name)
        return next(found, Scheme(name=name, routes=()))


def all_schemes(task: Task, names: Sequence[str] = ALWAYS) -> Schemes:
    """Search under every restriction."""
    search = Search(task)
    return Schemes(schemes=tuple(_scheme(search, name) for name in names))


def _scheme(search: Search, name: str) -> Scheme:
    routes = [route_of(search.task, found) for found in search.find(RESTRICTIONS[name])]
    least = min((route.seasons * route.work for route in routes), default=0)
    sensible = (route for route in routes if route.seasons * route.work <= SENSIBLE * least)
    return Scheme(name=name, routes=tuple(sensible), gave_up=search.gave_up)
