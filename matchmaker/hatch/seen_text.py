"""What a keeper types of the markers seen at hatch: classes with counts, or with bands."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.hatch.bands import BandError, read_bands

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

_COUNT: Final = re.compile(r"(\d{1,9})\s*(x|chicks?)?", re.IGNORECASE)

EXAMPLE: Final = "P:pea=9,single=4, or with bands P:single=C27-003,C27-007"


class SeenError(ValueError):
    """Words that cannot be read; it says what is wrong and what to write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenClass:
    """One class of a locus: so many chicks of the whole hatch (``None``: told by ``bands``)."""

    locus: str
    words: str
    chicks: int | None = None
    bands: tuple[str, ...] = ()


def read_seen(text: str, banded: Collection[str] = ()) -> tuple[SeenClass, ...]:
    """Return the classes that a text names.

    A number alone is a count. Where it is also one of the bands of this hatch (``banded``) it is
    refused: ``4x`` then is the count, ``4..4`` the band.

    Raises
    ------
    SeenError
        If it cannot be read, or may be read in two ways.

    Examples
    --------
    >>> [(one.words, one.chicks) for one in read_seen("P:pea=9,single=4")]
    [('pea', 9), ('single', 4)]
    >>> [(one.words, one.bands) for one in read_seen("P: single = C1..C2, C7, pea = C3")]
    [('single', ('C1', 'C2', 'C7')), ('pea', ('C3',))]
    """
    locus, colon, rest = text.partition(":")
    if not colon or not locus.strip() or not rest.strip():
        raise SeenError(f"{text} does not say which locus: write it as in {EXAMPLE}")
    found = tuple(_class(locus.strip(), *pair, banded) for pair in _pairs(text, rest))
    twice = {one.words for one in found if sum(o.words == one.words for o in found) > 1}
    if twice:
        raise SeenError(f"{text} names the class {min(twice)} twice: name each class once")
    return found


def _pairs(text: str, rest: str) -> Iterator[tuple[str, list[str]]]:
    """Each class with what stands behind it, up to the next class."""
    words, values = "", list[str]()
    for part in rest.split(","):
        name, equals, value = part.partition("=")
        if equals:
            if words:
                yield words, values
            words, values = " ".join(name.split()), [value.strip()]
        else:
            values.append(part.strip())
        if not words or not values[-1]:
            raise SeenError(f"{text} cannot be read: write it as in {EXAMPLE}")
    yield words, values


def _class(locus: str, words: str, values: list[str], banded: Collection[str]) -> SeenClass:
    counted = _COUNT.fullmatch(values[0]) if len(values) == 1 else None
    if counted is not None:
        if values[0] in banded and not counted[2]:
            raise SeenError(
                f"{locus}:{words}={values[0]} may be {values[0]} chicks or the band {values[0]}: "
                f"write {values[0]}x for the number, {values[0]}..{values[0]} for the band"
            )
        return SeenClass(locus=locus, words=words, chicks=int(counted[1]))
    try:
        return SeenClass(locus=locus, words=words, bands=read_bands(",".join(values)))
    except BandError as error:
        raise SeenError(f"{locus}:{words}: {error}") from error
