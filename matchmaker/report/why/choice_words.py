"""Sentences about what would have a pair chosen, and about what wishes cost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.levers import LeverKind, ValueLever
from matchmaker.explain.pair import Verdict
from matchmaker.explain.room_levers import RoomLever
from matchmaker.report.numbers import amount
from matchmaker.report.why.costs import CLOSES, between, chicks
from matchmaker.report.wording import listed, reasons
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from matchmaker.explain.bird import BirdAnswer
    from matchmaker.explain.choosing import Change, Choosing
    from matchmaker.explain.pair import PairAnswer
    from matchmaker.explain.wish_prices import WishPrice
    from matchmaker.explain.worth import Worth
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.records import WishRecord


def choosing_sentences(answer: PairAnswer, choosing: Choosing) -> Iterator[str]:
    """What it would take for the pair to be chosen."""
    pair = answer.pair
    if choosing.tie:
        allowed = "Once allowed, it" if answer.verdict is Verdict.REJECTED else "It"
        yield (
            f"{allowed} is as good as what the plan has: to have it, add the row "
            f"{pair.hen},{pair.cock},together, to wishes.csv; that costs nothing."
        )
        return
    yield from _change_sentences(answer.table, choosing, "It would be chosen")


def using_sentences(answer: BirdAnswer, choosing: Choosing) -> Iterator[str]:
    """What it would take for the bird to be used."""
    if choosing.tie:
        yield (
            f"A plan with it is as good as the best: to have it, add the row "
            f"{answer.bird.band},,use, to wishes.csv; that costs nothing."
        )
        return
    yield from _change_sentences(answer.table, choosing, "It would be used")


def _change_sentences(table: PairTable, choosing: Choosing, so: str) -> Iterator[str]:
    if choosing.hopeless:
        yield "No number would have it chosen: it gives no wanted chick."
    for change in choosing.changes:
        yield f"{so} if {lever_text(table, change)}."
    if choosing.cut_short:
        yield "Which change of a number would have it chosen was not tried to the end (--thorough)."
    elif choosing.tried and not choosing.changes:
        kinds = {lever.kind for lever in choosing.tried}
        tried = [words for kind, words in _TRIED.items() if kind in kinds]
        yield f"No change of a single number was found that does it: tried were {listed(tried)}."
    if choosing.left_out:
        yield (
            "Which number would have to change is not worked out where the kinship of the parents "
            "as a group has a limit or a price."
        )


_TRIED: Final[Mapping[LeverKind, str]] = {
    LeverKind.PREDICTION: "predictions by up to 3 genetic SDs",
    LeverKind.TRAIT_WEIGHT: "weights of traits",
    LeverKind.SHARE_WEIGHT: "the weight of the breed's share",
    LeverKind.IMPORTANCE: "the importance of lines",
    LeverKind.CHICKS_WANTED: "the chicks that lines ask for",
    LeverKind.PLACES: "a place more in his pen",
    LeverKind.HENS_OF_COCK: "a hen more for him",
    LeverKind.PEN: "a pen more",
}


def lever_text(table: PairTable, change: Change) -> str:
    """A changed number, as what would have to be so."""
    return _LEVERS[change.lever.kind](table, change)


def lever_about(change: Change) -> dict[str, str]:
    """What a changed number belongs to: a bird and its trait, a line, a pen or a cock."""
    lever = change.lever
    if isinstance(lever, RoomLever):
        return {"cock" if lever.kind is LeverKind.HENS_OF_COCK else "pen": lever.subject}
    assert isinstance(lever, ValueLever)  # noqa: S101  there are two sorts
    named = {"bird": lever.bird, "trait": lever.trait, "line": lever.line}
    return {what: name for what, name in named.items() if name}


def _about(change: Change, what: str) -> str:
    return lever_about(change)[what]


def _prediction(table: PairTable, change: Change) -> str:
    bird, name = _about(change, "bird"), _about(change, "trait")
    trait = table.study.forecast.trait(name)
    at = table.study.forecast.position(bird)
    now = trait.levels[at]
    then = now + trait.aim.sign * change.number * trait.genetic_sd
    unit = trait.aim.unit
    return (
        f"{bird} were predicted {abs(change.number):.1f} genetic SD "
        f"{'better' if change.number > 0 else 'worse'} in {name} "
        f"({amount(then, trait.genetic_sd, unit)}, not {amount(now, trait.genetic_sd)})"
    )


def _setting(one: Change, heading: str, key: str) -> str:
    return (
        f"{heading} had {key} = {one.number:g} (now {one.lever.now:g}; that weighs all pairs anew)"
    )


_LEVERS: Final[Mapping[LeverKind, Callable[[PairTable, Change], str]]] = {
    LeverKind.PREDICTION: _prediction,
    LeverKind.TRAIT_WEIGHT: lambda _, one: _setting(
        one, section("traits", _about(one, "trait")), "weight"
    ),
    LeverKind.SHARE_WEIGHT: lambda _, one: _setting(one, "[weights]", "recurrent_share"),
    LeverKind.IMPORTANCE: lambda _, one: _setting(
        one, section("lines", _about(one, "line")), "importance"
    ),
    LeverKind.CHICKS_WANTED: lambda _, one: _setting(
        one, section("lines", _about(one, "line")), "chicks_wanted"
    ),
    LeverKind.PLACES: lambda _, one: (
        f"pen {_about(one, 'pen')} had {one.number:g} places (now {one.lever.now:g})"
    ),
    LeverKind.HENS_OF_COCK: lambda _, one: (
        f"{_about(one, 'cock')} might have {one.number:g} hens (hens_max in birds.csv; now "
        f"{one.lever.now:g})"
    ),
    LeverKind.PEN: lambda _, one: f"there were one pen more, like pen {_about(one, 'pen')}",
}


def wish_name(wish: WishRecord) -> str:
    """A wish as its row stands.

    Examples
    --------
    >>> from matchmaker.tables.records import WishRecord
    >>> wish_name(WishRecord(row=4, bird="A1", partner="B2", wish="apart", why=""))
    'A1,B2,apart (wishes.csv, row 4)'
    """
    return f"{wish.bird},{wish.partner},{wish.wish} (wishes.csv, row {wish.row})"


def wish_sentence(one: WishPrice) -> str:
    """A written wish and its price, or why it has no effect."""
    name, price = wish_name(one.wish), one.price
    if one.idle:
        return f"{name}: has no effect, {reasons(one.idle)}"
    return f"{name}: {_unpriced(price) or _priced(price)}"


def _unpriced(price: Worth) -> str:
    """What is said of a price that is no number; "" if it is one."""
    if price.impossible:
        return "without it there is no plan"
    return "" if price.high is not None else "its price is not known yet (--thorough)"


def _priced(price: Worth) -> str:
    high = price.high or 0.0
    if price.proved and high == 0:
        return "costs nothing, without it no plan is better"
    return (
        f"brings {_range(-high, -price.low)}" if high <= 0 else f"costs {_range(price.low, high)}"
    )


def _range(low: float, high: float) -> str:
    return chicks(high) if low == high else f"{between(low, high)}{CLOSES}"
