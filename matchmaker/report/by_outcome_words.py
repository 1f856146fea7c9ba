"""What a race of plans says, in sentences: which plan is taken, how sure that is, at what price."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.choosing import BEST
from matchmaker.ahead.racing import Ended
from matchmaker.looking_further import Kind
from matchmaker.report.ahead_words import NUMBERS, decimal, error_digits, error_text
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.looking_further import ByOutcome, Raced

KINDS: Final = {
    Kind.BEST: "the best",
    Kind.NEAR: "nearly as good",
    Kind.LESS_RELATED: "less related",
}

LEGEND: Final = (
    "Nearly as good: within 1 % of the best value. Less related: less kinship of the parents as a "
    "group, for 5 % of that value at most. Given up: of it, in wanted chicks. Goal: what a line's "
    "birds count in the last spring, the mean over lines by importance; one with the whole "
    "target, as good as its line is today and not inbred counts 1, a line that has died out 0. "
    "Against plan 1: from the same birds, ± standard error. Inbr.: mean inbreeding of the young. "
    "Times played: replicates; out: surely behind another plan, and played no further."
)

NO_OTHER: Final = (
    "No other plan was found that is nearly as good, or whose parents are less related for a "
    "little of the value: there is nothing to compare."
)

PREMISE: Final = (
    "A simulation: chances, not promises. Only this spring's pens differ; every later spring is "
    "planned anew on what the tables would then say."
)


def head_text(found: ByOutcome) -> str:
    """How far and on which luck was looked ahead."""
    number = found.horizon.seasons
    seasons = f"{NUMBERS[number] if number < len(NUMBERS) else number} season{'s'[: number > 1]}"
    first, last = found.springs
    return f"{seasons} ahead, spring {first} to {last}: which plan leads furthest"


def rule_text(found: ByOutcome) -> str:
    """When a plan other than the best is taken."""
    rules = found.rules
    return (
        "Plan 1, the best of this spring, stays unless another is surely ahead of it, and by more "
        f"than {rules.indifferent:g} in the goal; the chance of being wrong in that is "
        f"{100 * rules.alpha:g} % at most, all plans together. Each is played through "
        f"{rules.most} times at most (seed {found.horizon.seed})."
    )


def verdict_texts(found: ByOutcome) -> tuple[str, ...]:
    """Which plan is taken and what is known of the others, nothing overclaimed."""
    raced = found.raced
    if len(found.contenders) == 1:
        return (NO_OTHER,)
    if raced is None:
        return (_stopped_text(found),)
    if found.at == BEST:
        return tuple(_stays(found, raced))
    return tuple(_leads(found, raced))


def _stopped_text(found: ByOutcome) -> str:
    return (
        f"Stopped before each of the {len(found.contenders)} plans was played through "
        f"{found.rules.first} times: of where they lead nothing can be said. The best plan of "
        "this spring stays."
    )


def _stays(found: ByOutcome, raced: Raced) -> Iterator[str]:
    race, margin = raced.race, found.rules.indifferent
    if race.standings[BEST].left_at_round is not None:
        yield (
            "Plan 1 was behind others, but none that is left is by itself surely ahead of it by "
            f"more than {margin:g}: plan 1 stays."
        )
        return
    if race.ended is Ended.ONE_LEFT:
        yield "No other plan leads as far as plan 1, the best of this spring: keep it."
        return
    if raced.most_ahead <= margin:
        yield (
            f"No plan leads further than plan 1 by more than {at_most_text(raced.most_ahead)}: "
            "keep it."
        )
        return
    none = "some were not seen to differ yet"
    if math.isfinite(raced.most_ahead):
        none = f"none by more than {at_most_text(raced.most_ahead)}"
    yield (
        f"{_ended_text(found, raced)} which plan leads furthest. None is surely ahead of plan 1, "
        f"and {none}: plan 1, the best of this spring, stays."
    )
    yield from _more_text(found, raced)


def _leads(found: ByOutcome, raced: Raced) -> Iterator[str]:
    chosen, lead = found.chosen, raced.leads[found.at]
    digits = error_digits(lead.se)
    by = f"{decimal(lead.mean, digits)} ± {error_text(lead.se, digits)}"
    price = f"{chosen.given_up:.2f} wanted chicks given up" if chosen.given_up > 0 else "nothing"
    yield (
        f"Plan {chosen.number} leads further than plan 1 by {by} in the goal, surely by "
        f"{at_least_text(lead.low)} or more, for {price} this spring ({chosen.moved} hens have "
        "another place): it is taken."
    )
    yield (
        f"As it was picked as the best of {len(found.contenders)}, its true lead is likelier "
        "smaller than that than larger."
    )
    others = [
        str(one.number)
        for one, standing in zip(found.contenders, raced.race.standings, strict=True)
        if standing.left_at_round is None and one is not chosen
    ]
    if others and raced.race.ended is not Ended.ALIKE:
        which = f"one of plans {listed(others)}" if len(others) > 1 else f"plan {others[0]}"
        yield f"Whether {which} leads further still is open."
        yield from _more_text(found, raced)


def _ended_text(found: ByOutcome, raced: Raced) -> str:
    """How the race ended, up to "it is open"."""
    times = max(one.replicates for one in raced.race.standings)
    if raced.race.ended is Ended.STOPPED:
        return f"Stopped after {times} replicates: it is open"
    if raced.race.ended is Ended.MOST:
        return f"After all {found.rules.most} replicates it is open"
    return f"After {times} replicates it is open"


def _more_text(found: ByOutcome, raced: Raced) -> Iterator[str]:
    if raced.race.ended is Ended.MOST:
        yield f"More replicates see smaller differences: --replicates {5 * found.rules.most}."


def at_most_text(number: float) -> str:
    """An upper end, rounded upward to three decimals.

    Examples
    --------
    >>> at_most_text(0.15001), at_most_text(0.0), at_most_text(0.15)
    ('0.151', '0', '0.15')
    """
    return f"{math.ceil(round(1000 * number, 6)) / 1000:g}"


def at_least_text(number: float) -> str:
    """A lower end, rounded down to three decimals; a little is told as such.

    Examples
    --------
    >>> at_least_text(0.0129), at_least_text(0.0004)
    ('0.012', 'a little')
    """
    rounded = math.floor(round(1000 * number, 6)) / 1000
    return f"{rounded:g}" if rounded > 0 else "a little"
