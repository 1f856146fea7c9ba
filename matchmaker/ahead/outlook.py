"""What became of a flock in simulation: replicate by replicate, season by season, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a simulation is of: the springs, the lines, the target and the traits, in order.

    ``springs`` are the first (that of the flock as it is now) and those after it: a spring's birds
    are those from which its pens are filled. ``working`` are the lines that carry the target,
    the others are held pure; ``importance`` is that of each line. ``units`` are the traits'.
    """

    springs: tuple[int, ...]
    lines: tuple[str, ...]
    working: tuple[bool, ...]
    importance: tuple[float, ...]
    target: Mapping[str, int]
    traits: tuple[str, ...]
    units: tuple[str, ...]

    @property
    def seasons(self) -> int:
        """Seasons that are bred: one fewer than springs."""
        return len(self.springs) - 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tally:
    """What was true of the flock in each spring; shapes begin (springs,), or (replicates, springs).

    By line, (..., lines): ``birds`` living birds; ``share`` their mean part of the genome from the
    recurrent breed, as it was passed on (autosomes); ``carriers`` of at least one copy at every
    locus that is to be brought in; ``whole`` those with the whole target; ``inbreeding`` the mean
    part of the genome at which both alleles of the young birds are copies of one founder's (of all
    birds where none is young); ``levels`` (..., lines, traits) where birds like these would be
    in the trait, in its unit, their luck left out. All but the counts are NaN for a line without
    birds. For the flock, (...): ``goal`` what the birds count for, ``chicks`` raised and ``eggs``
    set in the season before.
    """

    birds: Numbers
    share: Numbers
    carriers: Numbers
    whole: Numbers
    whole_cocks: Numbers
    whole_hens: Numbers
    inbreeding: Numbers
    levels: Numbers
    goal: Numbers
    chicks: Numbers
    eggs: Numbers

    def alive(self, working: Sequence[bool]) -> Numbers:
        """Whether each line lives, (..., lines): a working one while it has a carrier."""
        return np.where(np.array(working), self.carriers > 0, self.birds > 0).astype(np.float64)

    @property
    def fixed(self) -> Numbers:
        """Whether a line breeds true, (..., lines): cocks and hens of it have the whole target."""
        return ((self.whole_cocks > 0) & (self.whole_hens > 0)).astype(np.float64)


FIELDS = (
    "birds",
    "share",
    "carriers",
    "whole",
    "whole_cocks",
    "whole_hens",
    "inbreeding",
    "levels",
    "goal",
    "chicks",
    "eggs",
)


def stacked(tallies: Sequence[Tally]) -> Tally:
    """Several tallies of one shape as one, with a first axis more."""
    return Tally(**{name: np.stack([getattr(one, name) for one in tallies]) for name in FIELDS})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """What one policy leads to: ``tally`` has shape (replicates, springs, ...)."""

    policy: str
    sentence: str
    subject: Subject
    tally: Tally

    @property
    def replicates(self) -> int:
        """How often the seasons were played through."""
        return len(self.tally.goal)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ahead:
    """The coming seasons under one policy or several, each replicate from the same birds.

    ``outlooks`` begin with that of the plan; ``defaults`` are sentences on what was assumed.
    """

    seed: int
    subject: Subject
    outlooks: tuple[Outlook, ...]
    defaults: tuple[str, ...]

    @property
    def plan(self) -> Outlook:
        """The outlook of the tool's own plan."""
        return self.outlooks[0]
