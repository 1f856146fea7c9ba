"""One hen with one cock: the verdict, what it rests on, what it costs and what it would take."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.explain.choosing import Choosing, what_would_choose
from matchmaker.explain.forced import (
    best_after,
    carried,
    gained,
    is_wish_to_allow,
    posed,
    posed_alike,
    waived,
    with_pair,
    without_pair,
)
from matchmaker.explain.patience import Patience
from matchmaker.explain.remedies import entry_of, remedies
from matchmaker.explain.wish_prices import wish_prices
from matchmaker.explain.worth import INFINITE, Worth, known
from matchmaker.genetics.kin.wright_paths import wright_paths
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.table import judge_pairs
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.explain.forced import Forced, Posed
    from matchmaker.explain.remedies import Remedies, Remedy
    from matchmaker.explain.wish_prices import WishPrice
    from matchmaker.genetics.kin.wright_paths import Paths
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.season.season_plan import SeasonPlan


class Verdict(StrEnum):
    """What became of a pair."""

    PAIRED = "paired"
    COULD_PAIR = "could-pair"
    REJECTED = "rejected"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A pair of the plan, with its pen."""

    pen: str
    pair: Pair
    chosen: Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A remedy, what the best plan then gains, and what is lost with the pair in it.

    Both are counted from the plan there is now; ``others`` are the pairs let in beside this one.
    """

    remedy: Remedy
    gain: Worth
    forced: Forced
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PairAnswer:
    """All there is to say of a hen and a cock.

    ``pair`` is the row of matings spoken of, ``others`` are its other rows. ``kin`` are the paths
    that join the two. ``hers`` is the plan's place of the hen, ``his`` are the plan's hens of the
    cock. ``plan`` and all that rests on it are missing where the season has no plan. ``if_forced``
    holds the pair in the plan (its rules waived where it is rejected; ``None`` where none can be),
    ``if_banned`` keeps it out. ``remedies`` is set for a rejected pair, ``choosing`` for one that
    is not chosen.
    """

    table: PairTable
    plan: SeasonPlan | None
    verdict: Verdict
    pair: Pair
    others: tuple[Pair, ...]
    kin: Paths
    pen: str = ""
    hers: tuple[Placed, ...] = ()
    his: tuple[Placed, ...] = ()
    if_forced: Forced | None = None
    if_banned: Forced | None = None
    remedies: Remedies | None = None
    tried: tuple[Tried, ...] = ()
    choosing: Choosing | None = None
    wishes: tuple[WishPrice, ...] = ()


def asked_pair(table: PairTable, first: str, second: str) -> tuple[PairTable, str, str]:
    """The hen and the cock of two bands, in whichever order they are named, and their pairs judged.

    Birds that are gone are judged too, if they are asked about.

    Raises
    ------
    UsageError
        If the two are not a hen and a cock.
    KeyError
        If a bird is not in the books.
    """
    birds = table.study.flock.by_band()
    sexes = (birds[first].sex, birds[second].sex)
    if first == second:
        raise UsageError(f"{first} is named twice: why takes a hen and a cock")
    if None in sexes:
        unknown = first if sexes[0] is None else second
        raise UsageError(_sex_missing(table, unknown))
    if sexes[0] == sexes[1]:
        raise UsageError(f"{first} and {second} are both {sexes[0]}s: why takes a hen and a cock")
    hen, cock = (first, second) if sexes[0] is Sex.HEN else (second, first)
    if (hen, cock) not in table.by_birds:
        table = judge_pairs(study_flock(table.study.flock, {hen, cock}))
    return table, hen, cock


def _sex_missing(table: PairTable, band: str) -> str:
    """Where the sex of a bird has to be written."""
    tables = table.study.flock.tables
    row = next((one.row for one in tables.birds if one.bird == band), None)
    place = tables.place("birds", row, "sex")
    where = place["file"] if row is None else f"{place['file']}, row {row}"
    return f"the sex of {band} is not known: write it in {where}, column {place['column']}"


def why_pair(
    table: PairTable,
    plan: SeasonPlan | None,
    hen: str,
    cock: str,
    *,
    patience: Patience | None = None,
) -> PairAnswer:
    """Explain one hen with one cock.

    ``table`` must hold the two; ``plan`` is the season's, ``None`` where it has none; ``patience``
    says how long its searches may take.

    Raises
    ------
    KeyError
        If the two are not a hen and a cock of the table.
    """
    entry = entry_of(table, hen, cock)
    placed = [] if plan is None else placed_pairs(plan)
    own = [one for one in placed if (one.pair.hen, one.pair.cock) == (hen, cock)]
    pair = own[0].pair if own else entry
    verdict = Verdict.PAIRED if own else Verdict.COULD_PAIR if pair.allowed else Verdict.REJECTED
    facts = PairAnswer(
        table=table,
        plan=plan,
        verdict=verdict,
        pair=pair,
        others=tuple(one for one in table.by_birds[hen, cock] if one.key != pair.key),
        kin=wright_paths(table.study.flock.pedigree, hen, cock, Fraction(pair.kinship)),
        pen=own[0].pen if own else "",
        hers=tuple(one for one in placed if one.pair.hen == hen),
        his=tuple(one for one in placed if one.pair.cock == cock),
        remedies=remedies(table, hen, cock) if verdict is Verdict.REJECTED else None,
    )
    return facts if plan is None else _with_prices(facts, plan, patience or Patience())


def placed_pairs(plan: SeasonPlan) -> list[Placed]:
    """Every pair of a plan with its pen."""
    return [
        Placed(pen=pen.pen, pair=pair, chosen=chosen)
        for pen in plan.pens
        for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
    ]


def _with_prices(facts: PairAnswer, plan: SeasonPlan, patience: Patience) -> PairAnswer:
    """The answer with all that is solved for it."""
    pair = facts.pair
    season = posed(plan)
    if facts.remedies is not None:
        season = waived(plan, facts.remedies.allowed)
        pair = entry_of(season.table, pair.hen, pair.cock)
    forced = with_pair(season, pair, patience) if pair.allowed else None
    paired = facts.verdict is Verdict.PAIRED
    return replace(
        facts,
        if_forced=forced,
        if_banned=without_pair(season, pair, patience) if paired else None,
        tried=tuple(_tried(facts, season, plan, forced, patience)),
        wishes=wish_prices(plan, {pair.hen, pair.cock}, patience),
        choosing=what_would_choose(season, pair, forced, patience)
        if forced is not None and not paired
        else None,
    )


def _tried(
    facts: PairAnswer,
    season: Posed,
    plan: SeasonPlan,
    forced: Forced | None,
    patience: Patience,
) -> Iterator[Tried]:
    """Each remedy with what the best plan then is worth, and with the pair in it.

    Where a remedy lets in the pair alone, as ``season`` does, the best plan with the pair is
    ``forced``, and the best of all is that or the one there was.
    """
    ways = () if facts.remedies is None else facts.remedies.ways
    for remedy in ways:
        if forced is not None and _lets_in_nothing_else(remedy, season):
            yield Tried(remedy=remedy, gain=_gain_of(forced), forced=forced, others=0)
            continue
        after = best_after(plan, remedy.table, patience)
        if after is not None:
            entry = entry_of(after.table, facts.pair.hen, facts.pair.cock)
            before = {one.key for one in plan.problem.candidates}
            let_in = {one.key for one in after.problem.candidates} - before
            paired = carried(season, forced, after) if forced and patience.over else None
            paired = paired or with_pair(after, entry, patience)
            yield Tried(
                remedy=remedy,
                gain=gained(after).within(_least_gain(remedy, paired), INFINITE),
                forced=paired,
                others=len({key[:2] for key in let_in} - {(entry.hen, entry.cock)}),
            )


def _lets_in_nothing_else(remedy: Remedy, season: Posed) -> bool:
    """Whether the problem after a remedy is that of a written wish for the pair."""
    if is_wish_to_allow(remedy.edits):
        return True
    after = posed_alike(remedy.table, season.problem)
    alike = replace(after, demands=season.problem.demands) == season.problem
    return alike and len(after.demands) == len(season.problem.demands)


def _least_gain(remedy: Remedy, paired: Forced) -> float:
    """What a remedy is sure to bring: what it brings with the pair, or nothing at least.

    But where the season itself changes, or a row is opened and pairs of its line are measured
    against others, the best plan may also be worth less.
    """
    with_pair_in = -INFINITE if paired.loss is None else 0.0 - paired.loss
    anew = any("pen_up" in edit.key or edit.matings for edit in remedy.edits)
    return with_pair_in if anew else max(0.0, with_pair_in)


def _gain_of(forced: Forced) -> Worth:
    """What a plan gains by a pair that it may but need not have."""
    if forced.loss is None or forced.least_loss is None:
        return known(0.0) if forced.conflict else Worth(low=0.0, high=None)
    return Worth(low=max(0.0, 0.0 - forced.loss), high=max(0.0, 0.0 - forced.least_loss))
