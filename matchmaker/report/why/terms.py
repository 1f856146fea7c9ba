"""The terms of a pair's value beside those of the plan's own choices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.table import line_centres
from matchmaker.pairs.value import share_weight
from matchmaker.report.line_sentences import FULL, one_more_chick
from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text, signed
from matchmaker.report.screen import Column

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.explain.pair import PairAnswer, Placed
    from matchmaker.pairs.pair import Pair


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One column of the table: its heading, its pair, and who that is in words."""

    heading: str
    pair: Pair
    words: str


def columns_beside(answer: PairAnswer) -> tuple[Beside, ...]:
    """The pair itself, the hen's place in the plan, and of the cock's hens the one worth least."""
    pair = answer.pair
    found = [Beside(heading="this pair", pair=pair, words=f"{pair.hen} with {pair.cock}")]
    found += [
        Beside(
            heading="her place",
            pair=one.pair,
            words=f"{pair.hen} is with {one.pair.cock} in pen {one.pen}",
        )
        for one in answer.hers
        if one.pair.key != pair.key
    ]
    others = [one for one in answer.his if one.pair.key != pair.key]
    if others:
        found.append(_his_least(pair.cock, others))
    return tuple(found)


def _his_least(cock: str, others: Sequence[Placed]) -> Beside:
    """Of a cock's hens the one worth least: whose place a hen more would take."""
    least = min(others, key=lambda one: (one.chosen.value, one.pair.key))
    which = "" if len(others) == 1 else f" (of his {len(others)} hens the one worth least)"
    return Beside(
        heading="his hen",
        pair=least.pair,
        words=f"{cock} has {least.pair.hen} in pen {least.pen}{which}",
    )


def term_rows(answer: PairAnswer, beside: tuple[Beside, ...]) -> Iterator[list[str]]:
    """Each term of the value, a cell for each pair."""
    recurrent = answer.table.study.flock.settings.recurrent.capitalize()
    pairs = [one.pair for one in beside]
    yield ["chicks join", *(pair.line or "no line" for pair in pairs)]
    yield ["kinship", *(kinship_text(pair.kinship) for pair in pairs)]
    yield ["chicks if all eggs are set", *(chicks_text(pair.chicks) for pair in pairs)]
    yield ["of them wanted", *(_chance(pair) for pair in pairs)]
    yield ["wanted chicks counted", *(_counted(answer, pair) for pair in pairs)]
    yield [f"{recurrent} of the chicks", *(share_text(pair.recurrent_share) for pair in pairs)]
    yield ["merit of the chicks", *(signed(pair.merit) for pair in pairs)]
    for aim in answer.table.study.aims:
        if aim.weight and any(pair.gains.get(aim.trait) for pair in pairs):
            parts = (signed(aim.weight * pair.gains.get(aim.trait, 0.0)) for pair in pairs)
            yield [f"  by {aim.trait}", *parts]
    yield ["  less the mean of its line", *(_against(answer, pair).merit for pair in pairs)]
    yield [f"  by its share of {recurrent}", *(_against(answer, pair).share for pair in pairs)]
    yield ["a wanted chick counts", *(_number(pair.worth) for pair in pairs)]
    yield ["value", *(_number(pair.value) for pair in pairs)]
    yield ["importance of its line", *(_importance(answer, pair) for pair in pairs)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Against:
    """What a pair is measured against in its line: the mean merit, and its share."""

    merit: str
    share: str


def _against(answer: PairAnswer, pair: Pair) -> _Against:
    study = answer.table.study
    centre = line_centres(study, answer.table.scheme).get(pair.line or "")
    if centre is None or pair.worth is None:
        return _Against(merit="–", share="–")
    more = share_weight(study.flock.settings) * (pair.recurrent_share - centre.recurrent_share)
    return _Against(merit=signed(0.0 - centre.merit), share=signed(more / 0.1))


def _importance(answer: PairAnswer, pair: Pair) -> str:
    if pair.line is None:
        return "–"
    return f"{answer.table.study.flock.settings.line(pair.line).importance:g}"


def term_columns(beside: tuple[Beside, ...]) -> list[Column]:
    """The headings."""
    return [
        Column(heading="Term"),
        *(Column(heading=one.heading, number=True) for one in beside),
    ]


def _chance(pair: Pair) -> str:
    return "–" if pair.wanted_chance is None else percent(pair.wanted_chance)


def _number(amount: float | None) -> str:
    return "–" if amount is None else f"{amount:.2f}"


def _counted(answer: PairAnswer, pair: Pair) -> str:
    if pair.wanted_chance is None:
        return "–"
    most = most_per_pair(answer.table.needs, pair.line)
    return chicks_text(min(pair.wanted, most)) + (" (capped)" if pair.wanted > most else "")


def beside_sentences(answer: PairAnswer, beside: Sequence[Beside]) -> Iterator[str]:
    """Who the columns are, who has no place, and what the last rows mean."""
    places = [one.words for one in beside[1:]]
    if answer.plan is not None:
        places += [] if answer.hers else [f"{answer.pair.hen} is in no pen"]
        places += [] if answer.his else [f"{answer.pair.cock} has no pen"]
    if places:
        yield f"{'; '.join(places)}."
    yield (
        "Value = wanted chicks counted × what one counts (1 + merit, less the mean of its line, + "
        "breed). Capped: one hen counts for one family of her line at most."
    )
    for line in sorted({one.pair.line for one in beside if one.pair.line}):
        yield from _line_sentence(answer, line)


def _line_sentence(answer: PairAnswer, line: str) -> Iterator[str]:
    """How much of what a line counts it has already: what one chick more is worth to it."""
    if answer.plan is None:
        return
    goals = {goal.line: goal.chicks_wanted for goal in answer.plan.problem.lines}
    has = next((one.worth for one in answer.plan.solution.lines if one.line == line), 0.0)
    asked = goals.get(line, 0.0)
    more = one_more_chick(has, asked)
    if has >= 2 * asked - FULL:
        more += ", so a pair is easily spared"
    yield (
        f"{line} asks for {asked:g} and has {chicks_text(has)} by the plan: {more} (up to "
        f"{asked:g} in full, up to {2 * asked:g} a quarter)."
    )
