"""Flocks played ahead with every spring kept, for tests of the coming seasons."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from matchmaker import verbs
from matchmaker.ahead.places import size_of
from matchmaker.ahead.playing import Player, Task
from matchmaker.ahead.policies import Policy, policies
from matchmaker.looking import Horizon, player_of
from tests.builders import chick, cock, dna, hen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.outlook import Tally
    from matchmaker.ahead.tallying import Used
    from matchmaker.ahead.world import Fate, World
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from tests.builders import Row

EXAMPLES = Path(__file__).parents[1] / "examples"
HALF = "sussex:0.5|araucana:0.5"

BIRDS: tuple[Row, ...] = (
    *(cock(f"S{at}") for at in range(2)),
    *(hen(f"P{at}") for at in range(4)),
    *(cock(f"AC{at}", "Alder", HALF, O="blue") for at in range(2)),
    *(hen(f"AH{at}", "Alder", HALF, O="blue") for at in range(4)),
    *(chick(f"Y{at}", "hen", "AC0", f"P{at}", "Alder", O="blue") for at in range(2)),
)
"""A pure line of six and a line of carriers of eight."""

PENS: tuple[Row, ...] = (
    {"pen": "1", "hens_max": "4", "dam_known": "yes"},
    {"pen": "2", "hens_max": "4", "dam_known": "no"},
    {"pen": "3", "hens_max": "4", "dam_known": "no"},
)

SEEN = (dna("AC0", "O", 1), dna("AC1", "O", 1))

SURE = """
[year]
fertility = 1.0
hatch_of_fertile = 1.0
rearing = 1.0
depression = 0.0
[risk]
cock_young = 0.0
cock_grown = 0.0
cock_old = 0.0
"""
"""Every egg becomes a chick, no bird is lost."""


def example(name: str) -> PairTable:
    """Return the pair table of an example."""
    return verbs.pairs(EXAMPLES / name)


@dataclass(frozen=True, kw_only=True, eq=False)
class Season:
    """One season as it was played: the spring before and its pens, the spring after."""

    world: World
    table: PairTable
    pens: Sequence[PlannedPen]
    fate: Fate
    grown: World
    spring: PairTable
    used: Used


@dataclass(frozen=True, kw_only=True, eq=False)
class Watched(Player):
    """A player that keeps the seasons it plays."""

    seasons: list[Season] = field(default_factory=list)

    def _season(
        self, world: World, table: PairTable, done: tuple[Policy, Sequence[PlannedPen]], fate: Fate
    ) -> tuple[World, PairTable, Used]:
        grown, spring, used = super()._season(world, table, done, fate)
        self.seasons.append(
            Season(
                world=world,
                table=table,
                pens=done[1],
                fate=fate,
                grown=grown,
                spring=spring,
                used=used,
            )
        )
        return grown, spring, used


def watched(
    table: PairTable, names: Sequence[str] = ("plan",), *, plans: bool = False, **asked: Any
) -> Watched:
    """Return a player of some policies; the first spring's plan is a quick one, as all others."""
    horizon = Horizon(**{"seasons": 3, "replicates": 2, **asked})
    size = size_of(table, ())
    chosen = tuple(policies(names, table, size, ()))
    if not plans:
        chosen = tuple(replace(policy, first=None) for policy in chosen)
    player = player_of(table, horizon, chosen)
    return Watched(
        tables=player.tables,
        past=player.past,
        policies=player.policies,
        subject=player.subject,
        patterns=player.patterns,
        seed=player.seed,
        ready=player.ready,
    )


def played(player: Watched, replicate: int = 0, policy: int = 0) -> tuple[Tally, list[Season]]:
    """Return a replicate's tally and its seasons."""
    del player.seasons[:]
    tally = player(Task(policy=policy, replicate=replicate))
    return tally, list(player.seasons)
