"""Sentences about one bird and about one pen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.pairs.rules import Rule
from matchmaker.plan.posing.problem import NO_ROWS
from matchmaker.plan.season.season_plan import Idle
from matchmaker.report.days import whole_day
from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.why.costs import cost_text, loss_text, small
from matchmaker.report.wording import listed, reasons, rule_state, unused_sentence
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
    record = answer.bird.record
    if not answer.bird.alive_here:
        left = f" since {whole_day(record.left_on)}" if record.left_on else ""
        return f"Why: it is {record.status}{left}."
    if answer.broken:
        return f"Why: {reasons(answer.broken)}."
    priced = _by_prices(answer)
    if priced or answer.unused is None:
        return f"Why: {priced or 'it is in no pair that is allowed'}."
    return f"Why: {unused_sentence(answer.unused)}."


def _by_prices(answer: BirdAnswer) -> str:
    """Why a bird with allowed pairs is in none of the plan; "" where prices do not tell."""
    costs = [one.cost for one in answer.places if one.cost is not None and not one.cost.impossible]
    if any(one.known and one.at_most == 0 for one in costs):
        return (
            "nothing is wrong with it, others do as well. A plan with it is exactly as good; of "
            "equal plans the one with the better single pairs was taken"
        )
    if costs and min(one.at_least for one in costs) > 0:
        cheapest = min(costs, key=lambda one: (one.at_least, one.at_most or one.at_least))
        return f"every place for it costs something; the cheapest {cost_text(cheapest)}"
    return "no plan can have it" if answer.places and not costs and answer.worked_out else ""


def worth_sentence(band: str, worth: Worth) -> str:
    """What the plan would lose without a bird."""
    return f"Without {band} {loss_text(worth)}."


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
        yield f"{rule_state(one.nearest)}: {_mates(one)}"


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
    return f"{worth_sentence(cock, stint.cock_worth)} {_room(cock, hens, stint)}"


def _room(cock: str, hens: int, stint: Stint) -> str:
    """How many hens a cock has in a pen, and what keeps him from having more."""
    has = f"He has {hens} {'hen' if hens == 1 else 'hens'}"
    if hens < stint.places:
        return f"{has} and could have {stint.places - hens} more here."
    if stint.places < stint.pen_places:
        return (
            f"{has}, which is all that {cock} may have (by his breed and age, or hens_max in "
            f"birds.csv); the pen itself holds {stint.pen_places}."
        )
    return f"{has}: the pen is full."


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
