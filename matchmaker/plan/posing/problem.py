"""The planning problem as plain sets and numbers, before any solver sees it.

The program itself is written out in DEVELOPERS.md, "The integer program".

Everything is ordered by id, so the same tables in any row order give the same problem.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Final, TypeAlias

PAIR_COST = 0.05
"""Wanted chicks that one more pair must bring to be worth the work; where pens stand already, one
more bird moved."""

KEEP_BONUS = 0.02
"""Wanted chicks by which a pair of the standing plan is preferred to its equal."""

SECOND_HELPING = 0.25
"""What a wanted chick beyond ``chicks_wanted`` counts, up to twice that number; then nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One allowed pair in one row of crossings.

    ``value`` is in wanted chicks, weighted by worth, on the grid of ``tolerance.VALUE_STEP``;
    ``wanted`` is the plain number of wanted chicks expected if every egg is set, on which the
    minimums of lines are; ``wanted_cocks`` and ``wanted_hens`` are its parts, ``sure_cocks`` and
    ``sure_hens`` what is left of them if each parent that is not proven carries as little as it
    may. ``kept`` says that hen and cock already stand together in
    the standing plan. ``kinship`` is the inbreeding of the chicks. For what the pair counts
    ``chicks`` have to be raised, from ``eggs`` set a week. ``turn`` names the part of the season
    ("" where there is only one). A pair that tests a bird names it in ``tested``; it is expected
    to raise ``test_chicks`` that tell, and its line is "". ``dams_known`` says that the pair needs
    a pen in which eggs are told apart by hen.
    """

    hen: str
    cock: str
    row: str
    line: str
    value: float
    wanted: float
    kept: bool = False
    turn: str = ""
    kinship: float = 0.0
    wanted_cocks: float = 0.0
    wanted_hens: float = 0.0
    sure_cocks: float = 0.0
    sure_hens: float = 0.0
    chicks: float = 0.0
    eggs: float = 0.0
    tested: str = ""
    test_chicks: float = 0.0
    dams_known: bool = False

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What tells candidates apart: hen, cock, row and turn."""
        return (self.hen, self.cock, self.row, self.turn)


NO_ROWS: Final = ("",)
"""The rows of a pen that is kept for matings of which none are open: one that no pair is in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PenKind:
    """Pens that are alike in all that matters here; ``pens`` are their labels.

    ``line`` is the only line whose chicks may be bred here, or "" for any; ``rows`` are the only
    rows of matings, or none for any. In a pen whose dams are told apart (``dam_known``) hens of
    several rows may live; otherwise a pen holds one row. ``turn`` is the part of the season for
    which these pens are free; a pen may be listed once in each of several turns, so that cocks
    succeed one another.
    """

    pens: tuple[str, ...]
    hens_max: int
    hens_min: int
    line: str
    dam_known: bool
    turn: str = ""
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CockLimit:
    """How many hens and pens one cock may serve at a time."""

    cock: str
    hens_max: int
    pens_max: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LineGoal:
    """What a line needs: chicks wanted, its importance, its minimums (0 = none) and its sire cap.

    ``wanted_cocks_min`` and ``wanted_hens_min`` are on the expected numbers by sex,
    ``sure_cocks_min`` and ``sure_hens_min`` on the sums of ``Candidate.sure_cocks`` and
    ``sure_hens``: means that make a number of chicks as sure as is asked. ``sire_share_max`` is
    the largest part of the line's pairs that one cock may have. ``banked`` is the worth that the
    line has already before any pair is chosen (of eggs laid before today).
    """

    line: str
    importance: float
    chicks_wanted: float
    cocks_min: int = 0
    hens_min: int = 0
    wanted_min: float = 0.0
    wanted_cocks_min: float = 0.0
    wanted_hens_min: float = 0.0
    sure_cocks_min: float = 0.0
    sure_hens_min: float = 0.0
    sire_share_max: float | None = None
    banked: float = 0.0

    def without_minimums(self) -> LineGoal:
        """The same goal, asking for no least number of anything."""
        return LineGoal(
            line=self.line,
            importance=self.importance,
            chicks_wanted=self.chicks_wanted,
            sire_share_max=self.sire_share_max,
            banked=self.banked,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLimits:
    """Limits on the plan as a whole; ``None`` where there is none.

    ``mean_inbreeding_max`` is on the mean of all pairs' chicks, each pair counting once;
    ``sire_share_max`` the largest part of all pairs one cock may have; ``chicks_max`` the chicks
    that can be raised; ``eggs_max`` the eggs that can be set a week; ``pairs`` the exact number of
    pairs.
    """

    mean_inbreeding_max: float | None = None
    sire_share_max: float | None = None
    chicks_max: float | None = None
    eggs_max: float | None = None
    pairs: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestGoal:
    """What test chicks of one bird are worth, concave in their number.

    The worth of m expected test chicks is the least of ``start + slope * m`` over ``pieces``, each
    (slope, start), in wanted chicks.
    """

    __test__: ClassVar[bool] = False  # no class of tests, whatever its name begins with

    bird: str
    pieces: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCarriers:
    """The birds of a line of which one must stay with it: not all may breed for other lines.

    A bird stays if it is in no pair, or in one whose chicks join its own line.
    """

    line: str
    birds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupKinship:
    """The mean kinship of the parents, each mating giving half to each: its terms and its limits.

    K = T diag(within) Tᵀ over ``nodes`` of the pedigree, forebears first: node a has the
    ``parents[a]``, each (node, weight), and its own Mendelian term ``within[a]``. ``birds`` says at
    which node each bird stands. With v the number of matings of each bird and N that of all, the
    group's kinship is vᵀKv / 4N². ``limit`` bounds it; ``price`` is what 0.01 of it costs, in
    wanted chicks. Both need ``PlanLimits.pairs``.
    """

    parents: tuple[tuple[tuple[int, float], ...], ...]
    within: tuple[float, ...]
    birds: tuple[tuple[str, int], ...]
    limit: float | None = None
    price: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """Where the birds stand before the plan: each bird moved is work, and not each pair.

    ``places`` are (bird, pen). A hen is moved if she gets a place in a pen that is not hers, or if
    hers has or gets a cock and she is in no pair there; a cock for each pen that he gets and does
    not stand in. One that gets none stays where he is, with the hens that are not moved; each hen
    that he leaves behind without a cock costs as one moved. ``most`` birds may be moved. Every pen
    in which a bird stands then has a turn of its own, all turns overlap, and no cock gets the pen
    of another that may stay.
    """

    places: tuple[tuple[str, str], ...]
    most: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PairTogether:
    """Hen and cock must be paired (in any row)."""

    name: str
    hen: str
    cock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdInPen:
    """A hen or a cock must be in this pen."""

    name: str
    bird: str
    pen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdNotInPen:
    """A hen or a cock must not be in this pen."""

    name: str
    bird: str
    pen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HensTogether:
    """Two hens must share a cock's pen, or both stay unused."""

    name: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HensApart:
    """Two hens must not be with the same cock."""

    name: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdUsed:
    """A hen or a cock must be in the plan."""

    name: str
    bird: str


Demand: TypeAlias = PairTogether | BirdInPen | BirdNotInPen | HensTogether | HensApart | BirdUsed


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanProblem:
    """All sets, coefficients and bounds of one planning problem.

    ``names`` of demands are the words the keeper sees when they clash.
    """

    candidates: tuple[Candidate, ...]
    kinds: tuple[PenKind, ...]
    cocks: tuple[CockLimit, ...]
    lines: tuple[LineGoal, ...]
    demands: tuple[Demand, ...] = ()
    standing_pens: tuple[tuple[str, str], ...] = ()
    """(pen, cock) of the standing plan: only used to keep labels where nothing else decides."""
    turns: tuple[tuple[str, ...], ...] = (("",),)
    """Sets of turns that overlap: in each set a hen has one place, a cock his hens and pens."""
    limits: PlanLimits = PlanLimits()
    tests: tuple[TestGoal, ...] = ()
    carriers: tuple[LineCarriers, ...] = ()
    group: GroupKinship | None = None
    moves: Moves | None = None
