"""One piece of evidence at one locus: a bird seen or tested, or a count of chicks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from matchmaker.tables.records import Sex

Weights: TypeAlias = tuple[tuple[float, ...], tuple[float, ...]]
"""Chance of what was seen, by copies: first for a cock (3 numbers), then for a hen.

A hen at a Z-linked locus has 2 numbers, else 3.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in the keeper's tables a piece of evidence stands, and its words."""

    file: str
    row: int
    column: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """One bird seen or tested: chance of what was seen for each number of copies."""

    bird: str
    weights: Weights
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class ChickCount:
    """Unbanded chicks of one hen and one cock: how many of each class.

    ``classes`` pairs the chance of a class, by copies, with the chicks counted in it; ``sex`` is
    set where only chicks of one sex can be judged (a sex-limited locus seen by eye). Where the
    chicks may be of several hens or cocks, ``hens`` and ``cocks`` have them all with their
    probabilities, drawn for each chick by itself, and ``hen`` and ``cock`` are as written.
    """

    hen: str
    cock: str
    classes: tuple[tuple[Weights, int], ...]
    sex: Sex | None = None
    place: Place
    hens: tuple[tuple[str, float], ...] = ()
    cocks: tuple[tuple[str, float], ...] = ()


Evidence: TypeAlias = Sighting | ChickCount


def birds_of(evidence: Evidence) -> tuple[str, ...]:
    """Return the birds a piece of evidence speaks of (hens before cocks).

    Examples
    --------
    >>> place = Place(file="seen.csv", row=2, column="what", words="9 pea")
    >>> birds_of(ChickCount(hen="H1", cock="C1", classes=(), place=place))
    ('H1', 'C1')
    """
    if isinstance(evidence, Sighting):
        return (evidence.bird,)
    if evidence.hens:
        return tuple(bird for bird, _ in (*evidence.hens, *evidence.cocks))
    return (evidence.hen, evidence.cock)
