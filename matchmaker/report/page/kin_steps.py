"""Shades of kinship: six steps with fixed bounds, so that a shade means the same on every page."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

from matchmaker.report.numbers import kinship_text
from matchmaker.tolerance import LIMIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One shade: kinship above the step before and up to ``top``, and who is so related."""

    top: float
    words: str
    kin: str


SECOND_COUSINS, FIRST_COUSINS, HALF_SIBS, FULL_SIBS = (
    kinship_text(kinship) for kinship in (1 / 64, 1 / 16, 1 / 8, 1 / 4)
)

STEPS: Final = (
    Step(top=0.0, words="0", kin="not related by the tables"),
    Step(
        top=1 / 32,
        words=f"up to {kinship_text(1 / 32)}",
        kin=f"distant kin; second cousins have {SECOND_COUSINS}",
    ),
    Step(top=1 / 16, words=f"up to {FIRST_COUSINS}", kin=f"first cousins have {FIRST_COUSINS}"),
    Step(
        top=1 / 8,
        words=f"up to {HALF_SIBS}",
        kin=f"half sibs, or a chick and its grandparent: {HALF_SIBS}",
    ),
    Step(
        top=1 / 4,
        words=f"up to {FULL_SIBS}",
        kin=f"full sibs, or a parent and its chick: {FULL_SIBS}",
    ),
    Step(top=1.0, words=f"above {FULL_SIBS}", kin="closer than full sibs of unrelated parents"),
)
"""The kinship of relatives without inbreeding: Lange, Table 5.1 (first cousins 1/16, second 1/64,
half sibs 1/8, full sibs and parent with offspring 1/4)."""

_TOPS: Final = tuple(step.top + LIMIT for step in STEPS)


def step_of(kinship: float) -> int:
    """The number of the step of a kinship.

    Examples
    --------
    >>> [step_of(kinship) for kinship in (0.0, 0.01, 0.05, 0.125, 0.1251, 0.25, 0.3, 1.0)]
    [0, 1, 2, 3, 4, 4, 5, 5]
    """
    return min(bisect_left(_TOPS, kinship), len(STEPS) - 1)


def short_text(kinship: float) -> str:
    """Kinship as it stands in a cell: the usual three decimals without the nought before them.

    Examples
    --------
    >>> short_text(0.0831), short_text(0.0), short_text(0.0001), short_text(1.0)
    ('.083', '0', '<.001', '1.000')
    """
    text = kinship_text(kinship).replace(" ", "")
    return text.replace("0.", ".") if len(text) > 1 else text


def thousandths(kinship: float) -> int:
    """The number that ``kinship_text`` prints, in thousandths; ``TRACE`` where it is below one.

    Examples
    --------
    >>> thousandths(0.0), thousandths(0.0001), thousandths(0.0831), thousandths(1.0)
    (0, 1023, 83, 1000)
    """
    if kinship == 0:
        return 0
    text = kinship_text(kinship)
    return TRACE if text.startswith("<") else round(1000 * float(text))


TRACE: Final = 1023
"""Stands for a kinship that is not nothing, but less than a thousandth."""
