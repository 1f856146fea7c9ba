"""The terms of a pair's value beside those of the plan's own choices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.table import line_centres
from matchmaker.pairs.value import share_weight
from matchmaker.report.line_sentences import FULL, one_more_chick
from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text, signed
from matchmaker.report.screen import Column
from matchmaker.report.wording import breed_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.explain.pair import PairAnswer, Placed
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One column of the table: its heading, its pair, and who that is in words."""

    heading: str
    pair: Pair
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A pair that has a pen, and what it is worth there."""

    pen: str
    pair: Pair
    value: float


def columns_beside(answer: PairAnswer) -> tuple[Beside, ...]:
    """The pair itself, the hen's place in the plan, and of the cock's hens the one worth least."""
    hers, his = map(_places, (answer.hers, answer.his))
    return beside_of(answer.pair, hers, his)


def _places(placed: Sequence[Placed]) -> list[Place]:
    return [Place(pen=one.pen, pair=one.pair, value=one.chosen.value) for one in placed]


def beside_of(pair: Pair, hers: Sequence[Place], his: Sequence[Place]) -> tuple[Beside, ...]:
    """A pair, the places of its hen, and of the cock's hens the one worth least."""
    found = [Beside(heading="this pair", pair=pair, words=f"{pair.hen} with {pair.cock}")]
    found += [
        Beside(
            heading="her place",
            pair=one.pair,
            words=f"{pair.hen} is with {one.pair.cock} in pen {one.pen}",
        )
        for one in hers
        if one.pair.key != pair.key
    ]
    others = [one for one in his if one.pair.key != pair.key]
    if others:
        found.append(_his_least(pair.cock, others))
    return tuple(found)


def _his_least(cock: str, others: Sequence[Place]) -> Beside:
    """Of a cock's hens the one worth least: whose place a hen more would take."""
    least = min(others, key=lambda one: (one.value, one.pair.key))
    which = "" if len(others) == 1 else f" (of his {len(others)} hens the one worth least)"
    return Beside(
        heading="his hen",
        pair=least.pair,
        words=f"{cock} has {least.pair.hen} in pen {least.pen}{which}",
    )


class Terms:
    """The terms of pairs of one table, in words; the centres of the lines are worked out once."""

    def __init__(self, table: PairTable) -> None:
        study = table.study
        self._table = table
        self._settings = study.flock.settings
        self._centres = line_centres(study, table.scheme)
        self._recurrent = breed_name(self._settings.recurrent)
        self._aims = [aim for aim in study.aims if aim.weight]

    @property
    def labels(self) -> tuple[str, ...]:
        """What the terms are called, in order; those of traits by their place in ``traits``."""
        return (
            "chicks join",
            "kinship",
            "chicks if all eggs are set",
            "of them wanted",
            "wanted chicks counted",
            f"{self._recurrent} of the chicks",
            "merit of the chicks",
            *(f"  by {aim.trait}" for aim in self._aims),
            "  less the mean of its line",
            f"  by its share of {self._recurrent}",
            "a wanted chick counts",
            "value",
            "importance of its line",
        )

    def told(self, pair: Pair) -> tuple[str, ...]:
        """Each term of a pair; "" for a trait in which its chicks gain nothing."""
        less, share = self._against(pair)
        gains = ((aim.weight, pair.gains.get(aim.trait, 0.0)) for aim in self._aims)
        return (
            pair.line or "no line",
            kinship_text(pair.kinship),
            chicks_text(pair.chicks),
            "–" if pair.wanted_chance is None else percent(pair.wanted_chance),
            self._counted(pair),
            share_text(pair.recurrent_share),
            signed(pair.merit),
            *(signed(weight * gain) if gain else "" for weight, gain in gains),
            less,
            share,
            _number(pair.worth),
            _number(pair.value),
            "–" if pair.line is None else f"{self._settings.line(pair.line).importance:g}",
        )

    def _against(self, pair: Pair) -> tuple[str, str]:
        """What a pair is measured against in its line: the mean merit, and its share."""
        centre = self._centres.get(pair.line or "")
        if centre is None or pair.worth is None:
            return "–", "–"
        more = share_weight(self._settings) * (pair.recurrent_share - centre.recurrent_share)
        return signed(0.0 - centre.merit), signed(more / 0.1)

    def _counted(self, pair: Pair) -> str:
        if pair.wanted_chance is None:
            return "–"
        most = most_per_pair(self._table.needs, pair.line)
        return chicks_text(min(pair.wanted, most)) + (" (capped)" if pair.wanted > most else "")


def term_rows(answer: PairAnswer, beside: tuple[Beside, ...]) -> Iterator[list[str]]:
    """Each term of the value, a cell for each pair; no row of a trait in which none gains."""
    terms = Terms(answer.table)
    told = [terms.told(one.pair) for one in beside]
    for label, *cells in zip(terms.labels, *told, strict=True):
        if any(cells):
            yield [label, *(cell or NO_GAIN for cell in cells)]


NO_GAIN: Final = signed(0.0)
"""What stands for a trait in which the chicks of a pair gain nothing."""


def term_columns(beside: tuple[Beside, ...]) -> list[Column]:
    """The headings."""
    return [
        Column(heading="Term"),
        *(Column(heading=one.heading, number=True) for one in beside),
    ]


def _number(amount: float | None) -> str:
    return "–" if amount is None else f"{amount:.2f}"


def beside_sentences(answer: PairAnswer, beside: Sequence[Beside]) -> Iterator[str]:
    """Who the columns are, who has no place, and what the last rows mean."""
    places = [one.words for one in beside[1:]]
    if answer.plan is not None:
        places += [] if answer.hers else [no_pen_for_her(answer.pair.hen)]
        places += [] if answer.his else [no_pen_for_him(answer.pair.cock)]
    if places:
        yield f"{'; '.join(places)}."
    yield VALUE_MEANS
    if answer.plan is not None:
        for line in sorted({one.pair.line for one in beside if one.pair.line}):
            yield line_sentence(answer.plan, line)


VALUE_MEANS: Final = (
    "Value = wanted chicks counted × what one counts (1 + merit, less the mean of its line, + "
    "breed). Capped: one hen counts for one family of her line at most."
)


def no_pen_for_her(hen: str) -> str:
    """That a hen has no place."""
    return f"{hen} is in no pen"


def no_pen_for_him(cock: str) -> str:
    """That a cock has no place."""
    return f"{cock} has no pen"


def line_sentence(plan: SeasonPlan, line: str) -> str:
    """How much of what a line counts it has already: what one chick more is worth to it."""
    goals = {goal.line: goal.chicks_wanted for goal in plan.problem.lines}
    has = next((one.worth for one in plan.solution.lines if one.line == line), 0.0)
    asked = goals.get(line, 0.0)
    more = one_more_chick(has, asked)
    if has >= 2 * asked - FULL:
        more += ", so a pair is easily spared"
    return (
        f"{line} asks for {asked:g}; its wanted chicks of the plan, merit and breed share counted, "
        f"are worth {chicks_text(has)}: {more} (up to {asked:g} in full, up to {2 * asked:g} a "
        "quarter)."
    )
