"""Numbers of a simulation as people read them: no digit that the replicates do not bear out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.figures import looked_at, of_flock
from matchmaker.ahead.paired import Chance, Summary, chance, summary
from matchmaker.report.wording import listed
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from matchmaker.ahead.outlook import Ahead, Numbers

NOTHING: Final = "–"
"""What stands where no replicate has a number."""

ENDS: Final = (0.1, 0.5, 0.9)
"""What is shown of a distribution: eight replicates in ten lie between the first and the last."""

MOST_DIGITS: Final = 3

BLUNT: Final = 0.02
"""With an error like this inbreeding has two decimals, not three."""

NUMBERS: Final = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
"""Small numbers at the start of a sentence."""


def spread(values: Numbers) -> Summary:
    """The summary of one measure with the quantiles that are shown."""
    return summary(values, ENDS)


def end_of(found: Summary, at: int) -> float:
    """The low end (0), the median (1) or the high end (2) of a summary made by ``spread``."""
    return found.quantiles[at][1]


def error_digits(se: float, most: int = MOST_DIGITS) -> int:
    """Decimals of a number with this standard error: down to the error's own first digit.

    Examples
    --------
    >>> error_digits(12.0), error_digits(0.3), error_digits(0.02), error_digits(0.0, most=2)
    (0, 1, 2, 2)
    """
    if not se > 0:
        return most
    return min(max(math.ceil(-math.log10(se)), 0), most)


def decimal(number: float, digits: int, *, sign: bool = False) -> str:
    """A number with so many decimals and a proper minus; a nothing has no sign.

    Examples
    --------
    >>> decimal(-1.26, 1), decimal(0.04, 1, sign=True), decimal(3.0, 0, sign=True)
    ('−1.3', '0.0', '+3')
    """
    if math.isnan(number):
        return NOTHING
    text = f"{abs(number):.{digits}f}"
    if float(text) == 0:
        return text
    return f"{'−' if number < 0 else '+' if sign else ''}{text}"


def error_text(se: float, digits: int) -> str:
    """A standard error with so many decimals; never 0 unless it is exactly that.

    Examples
    --------
    >>> error_text(0.26, 1), error_text(0.0002, 3), error_text(0.0, 1)
    ('0.3', '< 0.001', '0.0')
    """
    text = decimal(se, digits)
    if se > 0 and float(text) == 0:
        return f"< {10**-digits:.{digits}f}"
    return text


def bound_text(part: float) -> str:
    """A small part in per cent, rounded up to its first digit, or to a whole number above one.

    Examples
    --------
    >>> bound_text(0.0188), bound_text(0.0876), bound_text(0.0000384)
    ('2', '9', '0.004')
    """
    per_cent = 100 * part
    digits = max(-math.floor(math.log10(per_cent)), 0)
    return f"{math.ceil(round(per_cent * 10**digits, 6)) / 10**digits:g}"


def chance_number(found: Chance) -> str:
    """A chance in per cent, without the sign; what rounds to 0 or 100 is told by its interval.

    Examples
    --------
    >>> from matchmaker.ahead.paired import chance
    >>> [chance_number(chance([1.0] * k + [0.0] * (200 - k))) for k in (0, 114, 200)]
    ['under 2', '57', 'over 98']
    """
    if not found.replicates:
        return NOTHING
    rounded = round(100 * found.share)
    if rounded <= 0:
        return f"under {bound_text(found.high)}"
    if rounded >= 100:
        return f"over {100 - float(bound_text(1 - found.low)):g}"
    return str(rounded)


def chance_cell(found: Chance) -> str:
    """A chance in per cent with the ends of its interval, as a cell of a table shows it.

    Examples
    --------
    >>> from matchmaker.ahead.paired import chance
    >>> [chance_cell(chance([1.0] * k + [0.0] * (200 - k))) for k in (0, 114)]
    ['under 2', '57 (50–64)']
    """
    number = chance_number(found)
    if not number.isdigit():
        return number
    return f"{number} ({100 * found.low:.0f}–{100 * found.high:.0f})"


def chance_text(found: Chance) -> str:
    """A chance as a sentence tells it, with its interval.

    Examples
    --------
    >>> from matchmaker.ahead.paired import chance
    >>> [chance_text(chance([1.0] * k + [0.0] * (200 - k))) for k in (0, 114)]
    ['under 2 %', '57 % (50–64 %)']
    """
    number = chance_number(found)
    if not number.isdigit():
        return number if number == NOTHING else f"{number} %"
    return f"{number} % ({100 * found.low:.0f}–{100 * found.high:.0f} %)"


def how_often(values: Numbers) -> Chance:
    """The chance of something that came true (1) or not (0) in each replicate."""
    return chance(values)


def count_cell(found: Summary, *, ends: bool = True) -> str:
    """A count: its median, and the range of eight replicates in ten.

    Examples
    --------
    >>> import numpy as np
    >>> found = spread(np.array([8.0, 9.0, 12.0, 15.0, 17.0]))
    >>> count_cell(found), count_cell(found, ends=False)
    ('12 (8–16)', '12')
    """
    if not found.replicates:
        return NOTHING
    low, middle, high = (f"{end_of(found, at):.0f}" for at in range(3))
    return f"{middle} ({low}–{high})" if ends else middle


def share_cell(found: Summary, *, ends: bool = True) -> str:
    """A share in per cent: its median, and the range of eight in ten rounded outwards.

    Examples
    --------
    >>> import numpy as np
    >>> found = spread(np.array([0.94, 0.95, 0.951, 0.96, 0.97]))
    >>> share_cell(found), share_cell(found, ends=False)
    ('95.1 (94–97)', '95.1')
    """
    if not found.replicates:
        return NOTHING
    middle = share_number(end_of(found, 1))
    if not ends:
        return middle
    low, high = (round(100 * end_of(found, at), 6) for at in (0, 2))
    return f"{middle} ({math.floor(low)}–{math.ceil(high)})"


def share_number(share: float) -> str:
    """A share in per cent with one decimal; 100 only where it is that, but for rounding.

    Examples
    --------
    >>> share_number(0.951), share_number(0.9999), share_number(1.0), share_number(1 - 1e-15)
    ('95.1', '99.9', '100', '100')
    """
    if share > 1 - LIMIT:
        return "100"
    return f"{min(100 * share, 99.9):.1f}"


def inbreeding_cell(found: Summary, *, ends: bool = True) -> str:
    """Inbreeding: its mean as far as its error bears out, and the range of eight in ten.

    Examples
    --------
    >>> import numpy as np
    >>> found = spread(np.array([0.031, 0.05, 0.052, 0.06, 0.081]))
    >>> inbreeding_cell(found), inbreeding_cell(found, ends=False)
    ('0.055 (0.039–0.073)', '0.055')
    """
    if not found.replicates:
        return NOTHING
    middle = decimal(found.mean, MOST_DIGITS if found.se < BLUNT else 2)
    low, high = (f"{end_of(found, at):.3f}" for at in (0, 2))
    return f"{middle} ({low}–{high})" if ends else middle


def mean_cell(found: Summary) -> str:
    """A mean of counts as far as its error bears out; whole where all agree on a whole one.

    Examples
    --------
    >>> import numpy as np
    >>> mean_cell(spread(np.array([98.0, 110.0, 123.0]))), mean_cell(spread(np.array([4.0, 4.0])))
    ('110', '4')
    """
    if not found.replicates:
        return NOTHING
    most = 1 if found.se > 0 or found.mean % 1 else 0
    return decimal(found.mean, error_digits(found.se, most))


def head_text(ahead: Ahead) -> str:
    """What was played through, how often and on which luck."""
    seasons, springs = ahead.subject.seasons, ahead.subject.springs
    number = NUMBERS[seasons] if seasons < len(NUMBERS) else str(seasons)
    bred = "season" if seasons == 1 else "seasons"
    return (
        f"{number} {bred} ahead, spring {springs[0]} to {springs[-1]}, played through "
        f"{ahead.plan.replicates} times (seed {ahead.seed})"
    )


PREMISE: Final = (
    "A simulation: chances, not promises. What is not known of today's birds is drawn by lot. "
    "Every spring the pens are planned anew on what the tables would then say, young birds are "
    "kept as grade keeps them, and birds are lost by chance. Each time played through is one "
    "replicate."
)


def gist_text(ahead: Ahead, recurrent: str) -> str:
    """What becomes of the flock by the last spring, in one sentence."""
    last = {name: values[:, -1] for name, values in of_flock(ahead.plan).items()}
    share = spread(last["share"])
    lines = listed(looked_at(ahead.subject))
    alone = len(ahead.subject.lines) == 1
    breeds, lives = ("it breeds", "it") if alone else ("a line breeds", "every line")
    blood = f"; the birds of {lines} are then {share_cell(share, ends=False)} % {recurrent}"
    return (
        f"In spring {ahead.subject.springs[-1]} the chance that {breeds} true is "
        f"{chance_text(how_often(last['fixed']))}, that {lives} still lives "
        f"{chance_text(how_often(last['all_alive']))}{blood if share.replicates else ''}."
    )


def target_text(target: Mapping[str, int], only_one: Collection[str] = ()) -> str:
    """The whole target, locus by locus; of those in ``only_one`` a hen has one copy at most.

    Examples
    --------
    >>> target_text({"O": 2, "P": 0, "E": 1}), target_text({"choc": 2}, ["choc"])
    ('two copies of O, none of P and one of E', 'two copies of choc (a hen: one)')
    """
    words = ("none", "one", "two")
    nouns = ("no copy", "one copy", "two copies")
    parts = [
        f"{(words if at else nouns)[copies]} of {locus}"
        f"{' (a hen: one)' if copies == 2 and locus in only_one else ''}"
        for at, (locus, copies) in enumerate(target.items())
    ]
    return listed(parts)
