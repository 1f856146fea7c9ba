"""Other plans nearly as good: how many there are, and the most different of them in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from matchmaker.plan.nearly_best.differences import Differences, Shift, differences
from matchmaker.report.documents import planned_pens_entry
from matchmaker.report.numbers import percent
from matchmaker.report.screen import say
from matchmaker.report.sheets import Sheet
from matchmaker.report.wording import counted, listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.nearly_best.alternatives import Alternative
    from matchmaker.plan.nearly_best.near import NearEquals
    from matchmaker.plan.nearly_best.near_keep import NearPlan
    from matchmaker.plan.season.season_plan import SeasonPlan

MOST_NAMED: Final = 5
"""Hens of one shift that are named; of more the first few stand for all."""

MOST_SHIFTS: Final = 6
"""Shifts that are told; the others are only counted."""


def near_sentence(near: NearEquals) -> str:
    """How many plans are nearly as good as the best."""
    part = percent(near.within, 0 if near.within >= 0.01 else 1)
    worth = "are worth as much as" if near.within == 0 else f"come within {part} of"
    best = "the best" if near.proved else "the best one found"
    if near.only_one:
        closest = "is worth as much" if near.within == 0 else f"comes within {part} of it"
        return f"No other plan {closest}: this is the only one."
    if near.exact:
        return f"{near.count:,} plans {worth} {best}, this one among them."
    return (
        f"At least {at_least(near.count)} plans {worth} {best}. What you know of your birds and "
        "the tables do not may well decide between them."
    )


def at_least(count: int) -> str:
    """A lower bound as people read it: rounded down to two digits, large ones in words.

    Examples
    --------
    >>> at_least(3456), at_least(87), at_least(484878), at_least(12345678)
    ('3,400', '87', '480,000', '12 million')
    """
    if count >= 10**9:
        return "a thousand million" if count < 10**10 else f"10^{len(str(count)) - 1}"
    step = 10 ** max(len(str(count)) - 2, 0)
    rounded = count // step * step
    return f"{rounded // 10**6} million" if rounded >= 10**6 else f"{rounded:,}"


def print_alternatives(
    console: Console, plan: SeasonPlan, near: NearEquals, found: Sequence[Alternative]
) -> None:
    """The number of near-equal plans, and those found with what is different in each."""
    say(console, near_sentence(near))
    if not found:
        if not near.only_one:
            say(console, "None was found that puts a hen elsewhere.")
        return
    for number, one in enumerate(found, start=1):
        console.print()
        say(console, _heading(number, one), style="bold")
        for sentence in difference_sentences(plan, one.pens):
            say(console, sentence, indent=2)
        for pen in one.pens:
            say(console, _pen_line(pen), indent=2)
    console.print()
    say(console, _closing(found))


def _heading(number: int, one: Alternative) -> str:
    hens = "1 hen has" if one.moved == 1 else f"{one.moved} hens have"
    loss = "as good" if one.loss < 0.0005 else f"{one.loss:.2f} less"
    return f"Plan {number}: worth {one.value:.2f} wanted chicks ({loss}); {hens} another place"


def _closing(found: Sequence[Alternative]) -> str:
    proved = all(one.proved for one in found)
    end = "" if proved else " (searches for it were cut short: a more different one may exist)"
    return (
        "Each is the plan most different from all before it that is still so good"
        f"{end}. To take one, put its rows (--csv FILE) into plan.csv; check it with plan --score "
        "FILE."
    )


def _pen_line(pen: PlannedPen) -> str:
    turn = f", {pen.turn}" if pen.turn else ""
    return f"Pen {pen.pen}{turn}: {pen.cock} with {', '.join(pair.hen for pair in pen.pairs)}"


def difference_sentences(
    plan: SeasonPlan, pens: Sequence[PlannedPen], *, with_pens: bool = True
) -> tuple[str, ...]:
    """What is different from the plan, the largest shifts first; which pen is whose if asked."""
    found = differences(plan.solution.pens, pens)
    told = [*_cock_sentences(found), *_shift_sentences(plan, found)]
    told += _pen_sentences(found) if with_pens or not told else ()
    return tuple(f"{sentence[0].upper()}{sentence[1:]}." for sentence in told)


def _cock_sentences(found: Differences) -> Iterator[str]:
    if found.cocks_in and found.cocks_out:
        yield f"{listed(found.cocks_in)} used instead of {listed(found.cocks_out)}"
    elif found.cocks_in:
        yield f"{listed(found.cocks_in)} used as well"
    elif found.cocks_out:
        yield f"{listed(found.cocks_out)} not used"


def _shift_sentences(plan: SeasonPlan, found: Differences) -> Iterator[str]:
    exchanged = {
        (one.before, one.after, one.turn)
        for one in found.shifts
        if one.all_his and one.before and one.after and one.before != one.after
    }
    told = 0
    for one in found.shifts:
        back = (one.after, one.before, one.turn)
        whole = (one.before, one.after, one.turn) in exchanged and back in exchanged
        if whole and (one.before or "") > (one.after or ""):
            continue
        if told == MOST_SHIFTS:
            yield _not_told(found, one)
            return
        told += 1
        during = f" ({one.turn})" if one.turn else ""
        if whole:
            yield f"{one.before} and {one.after} change hens with each other, all of them{during}"
        else:
            yield f"{_who(plan, one)} {_where(one)}{during}"


def _not_told(found: Differences, first: Shift) -> str:
    rest = found.shifts[found.shifts.index(first) :]
    hens = sum(len(one.hens) for one in rest)
    return f"{counted(hens, 'hen')} more in smaller shifts (see the pens)"


def _who(plan: SeasonPlan, one: Shift) -> str:
    """The hens of a shift: all hens of a line or of a cock if they are, else by their bands."""
    birds = plan.table.study.flock.by_band()
    line = birds[one.hens[0]].line
    used = {pair.hen for pen in plan.solution.pens for pair in pen.pairs}
    of_line = {hen for hen in used if birds[hen].line == line}
    if len(one.hens) > 1 and set(one.hens) == of_line:
        return f"{line}'s hens"
    if len(one.hens) > 1 and one.all_his:
        return f"all {len(one.hens)} hens of {one.before}"
    if len(one.hens) > MOST_NAMED + 1:
        return f"{', '.join(one.hens[:MOST_NAMED])} and {len(one.hens) - MOST_NAMED} more hens"
    return listed(one.hens)


def _where(one: Shift) -> str:
    several = len(one.hens) > 1
    if one.before is None:
        return f"{'come' if several else 'comes'} in, to {one.after}"
    if one.after is None:
        was = "were" if several else "was"
        whose = "" if one.all_his else f" ({was} with {one.before})"
        return f"{'stay' if several else 'stays'} out{whose}"
    if one.before == one.after:
        return f"{'stay' if several else 'stays'} with {one.after}, in another row of matings"
    return f"{'go' if several else 'goes'} to {one.after} instead of {one.before}"


def _pen_sentences(found: Differences) -> Iterator[str]:
    pens = {cock: (before, after) for cock, before, after in found.pens}
    told: set[str] = set()
    for cock, (before, after) in pens.items():
        if cock in told:
            continue
        other = next((c for c, ends in pens.items() if ends == (after, before)), None)
        if other is not None:
            told.add(other)
            yield f"{cock} and {other} change pens ({listed(before)} and {listed(after)})"
        else:
            yield f"{cock} stands in pen {listed(after)} instead of {listed(before)}"


def near_entry(near: NearEquals) -> dict[str, Any]:
    """The number of near-equal plans, for JSON."""
    return {
        "count": near.count,
        "exact": near.exact,
        "within": near.within,
        "sentence": near_sentence(near),
    }


def alternative_entries(plan: SeasonPlan, found: Sequence[Alternative]) -> list[dict[str, Any]]:
    """The other plans, for JSON."""
    return [
        {
            "value": one.value,
            "loss": one.loss,
            "hens_moved": one.moved,
            "least_difference": one.apart,
            "proved": one.proved,
            "sentences": list(difference_sentences(plan, one.pens)),
            "pens": planned_pens_entry(one.pens),
        }
        for one in found
    ]


def kept_sentence(near: NearPlan, file: str) -> str:
    """What a plan near another one keeps of it, and what that costs."""
    lost = near.given - near.possible
    gone = f" ({lost} of them no longer allowed)" if lost else ""
    loss = "nothing" if near.loss < 0.0005 else f"{near.loss:.2f}"
    proved = (
        "No plan within that keeps more: proved."
        if near.proved
        else ("A plan within that may keep more: the search ended before a proof.")
    )
    return (
        f"Of the {near.given} pairs of {file}{gone} {near.kept} stay, and {near.pens_kept} cocks "
        f"keep their pens. That gives up {loss} of the best value, at most "
        f"{near.most_loss:.2f} was allowed. {proved}"
    )


def kept_entry(near: NearPlan, file: str) -> dict[str, Any]:
    """What a plan near another one keeps of it, for JSON."""
    return {
        "file": file,
        "pairs_given": near.given,
        "pairs_allowed": near.possible,
        "pairs_kept": near.kept,
        "pens_kept": near.pens_kept,
        "loss": near.loss,
        "most_loss": near.most_loss,
        "proved": near.proved,
        "sentence": kept_sentence(near, file),
    }


def alternatives_sheet(plan: SeasonPlan, found: Sequence[Alternative]) -> Sheet:
    """The best plan (0) and the others, one hen a row."""
    plans = (plan.solution.pens, *(one.pens for one in found))
    rows = tuple(
        (number, pen.pen, pen.turn, pair.line, pen.cock, pair.hen, pair.row)
        for number, pens in enumerate(plans)
        for pen in pens
        for pair in pen.pairs
    )
    return Sheet(header=("plan", "pen", "turn", "line", "cock", "hen", "row"), rows=rows)
