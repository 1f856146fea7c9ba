"""What is said of lines as a whole: rotation, lines about to die out, how sure numbers are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.pairs.risk import LineRisk, Peril
from matchmaker.report.numbers import percent
from matchmaker.report.wording import counted, listed

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.plan.posing.terms import Certainty
    from matchmaker.settings import Settings


def rotation_sentence(settings: Settings) -> str | None:
    """Whether cocks go round the lines this season, and when next; ``None`` without a rotation."""
    rotation = settings.rotation
    if rotation is None:
        return None
    season = settings.season
    following = rotation.next_after(season)
    order = " → ".join((*rotation.order, rotation.order[0]))
    if rotation.is_open(season):
        return f"{season} is a season of rotation: cocks go {order}; the next one is {following}."
    return f"{season} is no season of rotation; the next one is {following} (cocks go {order})."


def risk_sentence(risk: LineRisk) -> str:
    """Why a line is about to die out, and what can be done."""
    return f"{risk.line}: {_RISKS[risk.peril](risk)}."


def _no_row(_: LineRisk) -> str:
    return (
        "no row that is open this season gives it chicks; it lives on only as long as its birds do"
    )


def _no_carrier(risk: LineRisk) -> str:
    return (
        f"none of its {_breeders(risk)} that may breed this season carries {listed(risk.loci)} "
        f"(with a chance of at least {percent(risk.chance)}): prove one by a test, or bring a "
        "carrier in from another line"
    )


def _missing_sex(risk: LineRisk) -> str:
    carrier = f" that carries {listed(risk.loci)}" if risk.loci else ""
    return (
        f"it gets no chicks this season: {risk.row} needs a {risk.sex} of {listed(risk.lines)}"
        f"{carrier}, and none may breed"
    )


def _no_pair(risk: LineRisk) -> str:
    return (
        f"{_breeders(risk)} may breed, but every pair that could give it chicks is rejected "
        "(matchmaker pairs says why)"
    )


def _last_carrier(risk: LineRisk) -> str:
    return (
        f"{risk.birds[0]} is the last bird of it that may breed and carries {listed(risk.loci)}: "
        "breed from it this spring and keep several carriers, or the line ends with it"
    )


def _last_of_sex(risk: LineRisk) -> str:
    return (
        f"{risk.birds[0]} is the last {risk.sex} of it that may breed: keep more than one "
        f"{risk.sex} of this spring's chicks"
    )


_RISKS: Final[Mapping[Peril, Callable[[LineRisk], str]]] = {
    Peril.NO_ROW: _no_row,
    Peril.NO_CARRIER: _no_carrier,
    Peril.MISSING_SEX: _missing_sex,
    Peril.NO_PAIR: _no_pair,
    Peril.LAST_CARRIER: _last_carrier,
    Peril.LAST_OF_SEX: _last_of_sex,
}


def _breeders(risk: LineRisk) -> str:
    return f"{counted(risk.cocks, 'cock')} and {counted(risk.hens, 'hen')}"


def certainty_sentence(found: Certainty) -> str:
    """How sure a line is to reach its number of one sex, against what it asks for."""
    least = "" if found.exact else "at least "
    chicks = f"{found.asked} wanted {'sons' if str(found.sex) == 'cock' else 'daughters'}"
    return (
        f"{found.line}: {chicks} or more with a chance of {least}{percent(found.chance, 1)} (asked "
        f"for: {percent(found.wanted, 1)})."
    )


FULL: Final = 0.05
"""Wanted chicks that a line may lack and count as having all: one decimal is printed."""


def one_more_chick(has: float, asked: float) -> str:
    """What one wanted chick more counts to a line that has so many and asked for so many.

    Examples
    --------
    >>> one_more_chick(10.0, 24.0), one_more_chick(30.0, 24.0)
    ('one chick more counts in full', 'one chick more counts a quarter')
    >>> one_more_chick(48.0, 24.0)
    'one chick more counts nothing'
    """
    if has >= 2 * asked - FULL:
        return "one chick more counts nothing"
    if has >= asked - FULL:
        return "one chick more counts a quarter"
    return "one chick more counts in full"
