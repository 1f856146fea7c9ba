"""Sentences about one bird and about one pen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.pairs.rules import Rule
from matchmaker.plan.problem import NO_ROWS
from matchmaker.plan.season_plan import Idle
from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.why.costs import chicks, cost_text, small
from matchmaker.report.wording import PAIR_STATES, listed, reasons, unused_sentence
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.explain.bird import BirdAnswer, Refused
    from matchmaker.explain.pen import Kept, PenAnswer, Stint
    from matchmaker.explain.worth import Worth
    from matchmaker.pairs.rules import Broken

MOST_MATES: Final = 6
"""Mates named under one rule."""


def bird_sentence(answer: BirdAnswer) -> str:
    """Where the bird is this season, in one line."""
    band = answer.bird.band
    if answer.plan is None:
        return f"{band}: there is no plan at present"
    if answer.placed:
        pens = listed(dict.fromkeys(one.pen for one in answer.placed))
        mates = sorted({_mate(answer, one.pair.hen, one.pair.cock) for one in answer.placed})
        return f"{band}: in pen {pens}, with {listed(mates)}"
    return f"{band}: in no pen"


def _mate(answer: BirdAnswer, hen: str, cock: str) -> str:
    return cock if answer.bird.band == hen else hen


def idle_sentence(answer: BirdAnswer) -> str:
    """Why a bird is in no pen."""
    costs = [one.cost.at_most for one in answer.places if one.cost is not None]
    least = min((cost for cost in costs if cost is not None), default=None)
    if least == 0:
        return (
            "Why: others do as well. A plan with it is worth as much as the best, and of equal "
            "plans the one is taken whose pairs are worth more in full."
        )
    if least is not None:
        return f"Why: no place is left for it that costs nothing; the cheapest costs {least:.2f}."
    if answer.unused is not None:
        return f"Why: {unused_sentence(answer.unused)}."
    if answer.broken:
        return f"Why: {reasons(answer.broken)}."
    return "It is not among the living birds."


def worth_sentence(band: str, worth: Worth) -> str:
    """What the plan would lose without a bird."""
    if worth.amount == 0:
        return f"Without {band} nothing would be lost: others would do as well."
    return f"Without {band} {_less(worth)}."


def _less(worth: Worth) -> str:
    if worth.amount is None:
        return (
            "no plan would be left" if worth.proved else "no plan was found in the time there was"
        )
    if worth.amount == 0:
        return "nothing would be lost"
    most = "" if worth.proved else " at most (--thorough closes that)"
    return f"the best plan is worth {chicks(worth.amount)} less{most}"


def place_rows(answer: BirdAnswer, most: int) -> list[list[str]]:
    """The best places that a bird could have, a row each."""
    rows = []
    for place in answer.places[:most]:
        pair = place.pair
        rows.append(
            [
                _mate(answer, pair.hen, pair.cock),
                pair.line or "test",
                kinship_text(pair.kinship),
                percent(pair.wanted_chance or 0.0),
                f"{pair.value or 0.0:.2f}",
                cost_text(place.cost),
            ]
        )
    return rows


def refused_sentences(answer: BirdAnswer) -> Iterator[str]:
    """The mates that rules reject, the rule that rejects most first."""
    for one in answer.refused:
        yield f"{PAIR_STATES[one.rule]}: {_mates(one)}"


def _mates(one: Refused) -> str:
    named = one.mates[:MOST_MATES]
    more = len(one.mates) - len(named)
    text = ", ".join(named) + (f" and {more} more" if more else "")
    nearest = _nearest(one.nearest) if one.rule is Rule.TOO_RELATED else ""
    return f"{text}{nearest}"


def _nearest(broken: Broken) -> str:
    return (
        f" (the least related {kinship_text(broken.measured or 0.0)}, limit "
        f"{kinship_text(broken.limit or 0.0)})"
    )


def pen_sentence(answer: PenAnswer) -> str:
    """What a pen is, in one line."""
    record = answer.record
    parts = [f"{record.hens_max} hens at most"]
    if record.hens_min > 1:
        parts.append(f"{record.hens_min} at least")
    if record.line:
        parts.append(f"for {record.line} only")
    if record.use:
        parts.append(f"kept for {record.use}")
    if record.dam_known:
        parts.append("hens told apart")
    return f"Pen {record.pen}: {', '.join(parts)}"


def empty_sentence(answer: PenAnswer) -> str:
    """Why nothing is in a pen."""
    if not answer.record.open:
        return "It is closed: open = no in pens.csv."
    if not answer.kinds:
        return "No eggs are kept in its part of the season, so nothing can be bred in it."
    if all(kind.rows == NO_ROWS for kind in answer.kinds):
        return f"It is kept for {answer.record.use}, and no row of matings is open for that."
    spare = [one.bird for one in answer.plan.unused if one.reason is Idle.NO_PLACE]
    birds = answer.plan.table.study.flock.by_band()
    cocks = [band for band in spare if birds[band].sex is Sex.COCK]
    if not cocks:
        return "No cock is left for it: each that may breed has a pen."
    return (
        f"{listed(cocks)} could be put in it, but no plan with one pen more in use is better: "
        "each hen has one place, and each pair more must bring more than its work."
    )


def cock_sentence(stint: Stint) -> str:
    """What the cock of a pen is worth to the plan."""
    cock = stint.filled.cock
    hens = len(stint.filled.pairs)
    room = (
        "the pen is full"
        if hens >= stint.places
        else f"he could have {stint.places - hens} more here"
    )
    return f"{worth_sentence(cock, stint.cock_worth)} He has {hens} of {stint.places} hens: {room}."


def kept_rows(stint: Stint) -> list[list[str]]:
    """Each hen of a pen and what is lost without the pair."""
    return [[one.pair.hen, one.pair.line or "test", _lost(one)] for one in stint.kept]


def _lost(one: Kept) -> str:
    banned = one.if_banned
    if banned.loss is None:
        return "no plan left" if banned.conflict else "not known"
    if banned.proved:
        return "0" if banned.loss == 0 else small(banned.loss)
    return f"{max(0.0, banned.least_loss or 0.0):.2f} to {banned.loss:.2f}"


def next_sentence(stint: Stint) -> str:
    """The hens who would come next, with what each costs."""
    named = [f"{one.pair.hen} ({cost_text(one.cost)})" for one in stint.next_hens]
    return f"Next to come to {stint.filled.cock}, and what each would cost: {', '.join(named)}."
