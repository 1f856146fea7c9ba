"""Rules of a planning problem that a keeper may loosen, and the problem with some of them loosened.

What protects birds is not among them: lethal genotypes, defects, birds too young or not at hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.plan.arithmetic.breaches import MINIMUMS as OF_CHICKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.plan.posing.layout import Group
    from matchmaker.plan.posing.problem import (
        Candidate,
        CockLimit,
        LineGoal,
        PenKind,
        PlanLimits,
        PlanProblem,
    )

KINSHIP_MOST = 0.25
"""No cap is ever offered above the kinship of full sibs."""

MOST_ALLOWED = 10
"""Most pairs that one way out allows one by one."""

MORE_ROOM = 0.5
"""By how much of itself the room of a pen, or a cock's number of hens, may be raised."""

COUNTED = ("cocks_min", "hens_min")
"""The minimums of a line that count its birds."""

MINIMUMS = dict.fromkeys(COUNTED, "") | {f"{field}_min": field for field in OF_CHICKS}
"""The minimums of a line, each with what it sums over the line's pairs ("" for those counted)."""


class Kind(StrEnum):
    """What sort of rule it is that may be loosened."""

    MINIMUM = "minimum"
    SIRE_SHARE = "sire-share"
    MEAN_INBREEDING = "mean-inbreeding"
    CHICKS = "chicks"
    EGGS = "eggs"
    PAIRS = "pairs"
    WISH = "wish"
    PLACES = "places"
    PEN_MINIMUM = "pen-minimum"
    PEN_LINE = "pen-line"
    PEN_USE = "pen-use"
    PEN = "pen"
    HENS_PER_COCK = "hens-per-cock"
    PENS_PER_COCK = "pens-per-cock"
    KINSHIP = "kinship"
    PROOF = "proof"
    CHANCE = "chance"
    APART = "apart"
    ALLOW = "allow"
    ROW = "row"
    GROUP_KINSHIP = "group-kinship"


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Loosening:
    """One rule that may be loosened.

    ``subject`` is the line, cock, wish, pair of lines or (of pens that are alike) first pen it is
    about, "" for the flock; ``field`` says which minimum of a line it is, or the turn of pens.
    ``now`` is its figure and ``most`` how far that may go; a rule that can only be dropped goes
    from 0 to 1.
    """

    kind: Kind
    subject: str = ""
    field: str = ""
    now: float = 0.0
    most: float = 1.0

    def part(self, to: float) -> float:
        """How far a figure goes, as a part of the whole way there is."""
        reach = abs(self.most - self.now)
        return abs(to - self.now) / reach if reach else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loosened:
    """A rule loosened to a figure, for these pens or (hen, cock) where it names some."""

    rule: Loosening
    to: float = 1.0
    pens: tuple[str, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()

    @property
    def part(self) -> float:
        """How far the rule goes, as a part of the whole way there is."""
        return self.rule.part(self.to)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What a rejected pair needs: a rule loosened to this figure at least."""

    rule: Loosening
    to: float = 1.0

    def met(self, loosened: Mapping[Loosening, Loosened]) -> bool:
        """Whether the rules loosened reach as far as the pair needs."""
        given = loosened.get(self.rule)
        if given is None:
            return False
        up = self.rule.most > self.rule.now
        return given.to >= self.to if up else given.to <= self.to


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """A rejected pair that might be taken: any one need of each group has to be met.

    ``allowable`` says that a written wish would allow it by itself.
    """

    candidate: Candidate
    needs: tuple[tuple[Need, ...], ...]
    allowable: bool = True

    @property
    def birds(self) -> tuple[str, str]:
        """Hen and cock."""
        return (self.candidate.hen, self.candidate.cock)

    def narrowed(self, only: frozenset[Loosening]) -> Extra | None:
        """The pair with those of its needs that these rules may meet; ``None`` if that is not all.

        One that a wish may allow stays, its unmet needs becoming ones that nothing meets.
        """
        allowable = self.allowable and any(rule.kind is Kind.ALLOW for rule in only)
        needs = tuple(tuple(need for need in group if need.rule in only) for group in self.needs)
        if not (allowable or all(needs)):
            return None
        return replace(self, needs=needs, allowable=allowable)

    def admitted(self, loosened: Mapping[Loosening, Loosened]) -> bool:
        """Whether its needs are met, wishes apart."""
        return all(any(need.met(loosened) for need in group) for group in self.needs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loosenable:
    """A problem with the pairs that some rule rejects and the pens that are not in use.

    ``pens`` are closed or not yet there; ``cocks`` are limits of cocks that only an extra pair
    brings in. ``some`` asks for a pair at least, where even an empty plan would do. ``only`` are
    the rules that may be loosened, if not all.
    """

    problem: PlanProblem
    extras: tuple[Extra, ...] = ()
    pens: tuple[PenKind, ...] = ()
    cocks: tuple[CockLimit, ...] = ()
    some: bool = False
    only: frozenset[Loosening] | None = None

    @property
    def kinds(self) -> tuple[PenKind, ...]:
        """All pens, also those not in use."""
        return (*self.problem.kinds, *self.pens)

    @property
    def cock_limits(self) -> tuple[CockLimit, ...]:
        """The limits of all cocks, also of those that only an extra pair brings in."""
        named = {limit.cock for limit in self.problem.cocks}
        return (*self.problem.cocks, *(one for one in self.cocks if one.cock not in named))

    def rules(self) -> tuple[Loosening, ...]:
        """Every rule that may be loosened, each once."""
        found = [
            *(rule for goal in self.problem.lines for rule in _of_line(goal)),
            *_of_limits(self.problem.limits),
            *(Loosening(kind=Kind.WISH, subject=name) for name in _wishes(self.problem)),
            *(rule for kind in self.problem.kinds for rule in _of_pens(kind)),
            *(
                Loosening(kind=Kind.PEN, subject=kind.pens[0], field=kind.turn)
                for kind in self.pens
            ),
            *_of_cocks(self.cock_limits),
            *(need.rule for extra in self.extras for group in extra.needs for need in group),
        ]
        if any(extra.allowable for extra in self.extras):
            found.append(Loosening(kind=Kind.ALLOW, most=MOST_ALLOWED))
        only = self.only
        return tuple(one for one in dict.fromkeys(found) if only is None or one in only)

    def narrowed(self, rules: Iterable[Loosening]) -> Loosenable:
        """The same problem of which only these rules may be loosened."""
        only = frozenset(rules)
        pens = {(one.subject, one.field) for one in only if one.kind is Kind.PEN}
        return replace(
            self,
            only=only,
            extras=tuple(
                found for extra in self.extras if (found := extra.narrowed(only)) is not None
            ),
            pens=tuple(kind for kind in self.pens if (kind.pens[0], kind.turn) in pens),
        )


def round_up(amount: float, digits: int) -> float:
    """The least number of so many digits that is not less, rounding noise aside.

    >>> round_up(0.1401, 3), round_up(0.14, 3)
    (0.141, 0.14)
    """
    scale = 10**digits
    return float(math.ceil(amount * scale - tolerance.LIMIT) / scale)


def round_down(amount: float, digits: int) -> float:
    """The greatest number of so many digits that is not more, rounding noise aside."""
    return -round_up(-amount, digits)


def key_of(kind: Kind, pens: PenKind) -> tuple[Kind, str, str]:
    """What tells the rules of pens apart: kind, first pen and turn."""
    return (kind, pens.pens[0], pens.turn)


def _of_line(goal: LineGoal) -> Iterator[Loosening]:
    for field in MINIMUMS:
        least = float(getattr(goal, field))
        if least:
            yield Loosening(kind=Kind.MINIMUM, subject=goal.line, field=field, now=least, most=0.0)
    if goal.sire_share_max is not None:
        yield Loosening(kind=Kind.SIRE_SHARE, subject=goal.line, now=goal.sire_share_max)


def _of_limits(limits: PlanLimits) -> Iterator[Loosening]:
    if limits.sire_share_max is not None:
        yield Loosening(kind=Kind.SIRE_SHARE, now=limits.sire_share_max)
    mean = limits.mean_inbreeding_max
    if mean is not None and mean < KINSHIP_MOST:
        yield Loosening(kind=Kind.MEAN_INBREEDING, now=mean, most=KINSHIP_MOST)
    for kind, most in ((Kind.CHICKS, limits.chicks_max), (Kind.EGGS, limits.eggs_max)):
        if most is not None:
            yield Loosening(kind=kind, now=most, most=2 * most + 1)
    if limits.pairs:
        yield Loosening(kind=Kind.PAIRS, now=limits.pairs, most=0.0)


def _wishes(problem: PlanProblem) -> Iterable[str]:
    return dict.fromkeys(demand.name for demand in problem.demands)


def _of_pens(kind: PenKind) -> Iterator[Loosening]:
    first, turn = kind.pens[0], kind.turn
    yield Loosening(
        kind=Kind.PLACES,
        subject=first,
        field=turn,
        now=kind.hens_max,
        most=kind.hens_max + more(kind.hens_max),
    )
    if kind.hens_min > 1:
        yield Loosening(kind=Kind.PEN_MINIMUM, subject=first, field=turn, now=kind.hens_min)
    if kind.line:
        yield Loosening(kind=Kind.PEN_LINE, subject=first, field=turn)
    if kind.rows:
        yield Loosening(kind=Kind.PEN_USE, subject=first, field=turn)


def suits(rule: Kind, pen: PenKind, pair: Group | Candidate) -> bool:
    """Whether a pair suits what a pen is kept for: its line, or its use."""
    if rule is Kind.PEN_LINE:
        return pen.line in ("", pair.line)
    return not pen.rows or pair.row in pen.rows


def more(number: int) -> int:
    """By how many a number of hens may be raised.

    >>> more(1), more(8)
    (1, 4)
    """
    return max(1, int(number * MORE_ROOM))


def _of_cocks(limits: tuple[CockLimit, ...]) -> Iterator[Loosening]:
    for limit in limits:
        most = limit.hens_max + more(limit.hens_max)
        yield Loosening(kind=Kind.HENS_PER_COCK, subject=limit.cock, now=limit.hens_max, most=most)
    if limits:
        fewest = min(limit.pens_max for limit in limits)
        yield Loosening(kind=Kind.PENS_PER_COCK, now=fewest, most=fewest + 1)
