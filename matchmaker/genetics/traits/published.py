"""Heritabilities published for laying hens: what serves where the keeper gives none.

They were found in other flocks, mostly large ones of laying hens, and hold for yours only roughly.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Final

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

GENERAL_H2: Final = 0.30
"""Heritability of a trait of which nothing is published here: common practice, no source."""

GENERAL_REPEATABILITY: Final = 0.50
"""Repeatability of such a trait: common practice, no source."""

FROM_MEMORY: Final = "from memory"
"""Source of figures that were not found in a text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedTrait:
    """What is published of a trait of laying hens, and which of it is taken.

    ``h2`` and ``repeatability`` are shares of the variance of single scores, ``lowest`` and
    ``highest`` the heritabilities read (``None``: none read), ``depression_percent`` the change
    in per cent of the trait's mean for every 10 % of the bird's own inbreeding. The fields
    ``..._how`` say how each was chosen, ``source`` where the heritabilities were read and
    ``..._source`` where the others were ("": nowhere); ``sure`` is ``good``, ``fair`` or
    ``little``; ``sex`` is the only one that has the trait.
    """

    name: str
    words: tuple[tuple[str, ...], ...]
    unless: frozenset[str]
    h2: float
    lowest: float | None
    highest: float | None
    h2_how: str
    repeatability: float
    repeatability_how: str
    repeatability_source: str
    depression_percent: float
    depression_how: str
    depression_source: str
    source: str
    sure: str
    sex: Sex | None = None


@cache
def published_traits() -> dict[str, PublishedTrait]:
    """Published traits by name.

    Notes
    -----
    A default is the middle one of the values read (the row says which they are), the
    repeatability, where none was read, the heritability and 0.20 for what lasts in a bird but is
    not passed on, as in the general default.

    Examples
    --------
    >>> egg_weight = published_traits()["egg weight"]
    >>> egg_weight.h2, egg_weight.repeatability, egg_weight.depression_percent
    (0.57, 0.74, -1.0)
    """
    text = resources.files(__package__).joinpath("published_traits.csv").read_text(encoding="utf-8")
    return {row["name"]: _trait(row) for row in csv.DictReader(text.splitlines())}


def _trait(row: dict[str, str]) -> PublishedTrait:
    return PublishedTrait(
        name=row["name"],
        words=tuple(tuple(phrase.split()) for phrase in row["words"].split("|")),
        unless=frozenset(row["unless"].split("|")) - {""},
        h2=float(row["h2"]),
        lowest=_number(row["h2_lowest"]),
        highest=_number(row["h2_highest"]),
        h2_how=row["h2_how"],
        repeatability=float(row["repeatability"]),
        repeatability_how=row["repeatability_how"],
        repeatability_source=row["repeatability_source"],
        depression_percent=float(row["depression_percent"]),
        depression_how=row["depression_how"],
        depression_source=row["depression_source"],
        source=row["source"],
        sure=row["sure"],
        sex=Sex(row["sex"]) if row["sex"] else None,
    )


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


@cache
def recognised(column: str) -> PublishedTrait | None:
    """The published trait that a column of scores is about by its name, ``None`` if in doubt.

    Only whole words count, figures and units between them do not; of two traits named, the one
    with the longer name is meant (``egg_weight`` is no ``weight``).

    Examples
    --------
    >>> [found.name for found in map(recognised, ["eggs_12wk", "EggWeight", "weight_kg"]) if found]
    ['egg number', 'egg weight', 'body weight']
    >>> recognised("chick_weight"), recognised("eggshell"), recognised("comb")
    (None, None, None)
    """
    tokens = tuple(_tokens(column))
    found = [
        (length, trait)
        for trait in published_traits().values()
        if (length := _longest(trait, tokens)) and not trait.unless & set(tokens)
    ]
    longest = max((length for length, _ in found), default=0)
    best = [trait for length, trait in found if length == longest]
    return best[0] if len(best) == 1 else None


def _tokens(column: str) -> Iterator[str]:
    """Words of a column's name in small letters; ``EggWeight`` has two."""
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", column)
    return (word.lower() for word in re.findall(r"[^\W\d_]+", parted))


def _longest(trait: PublishedTrait, tokens: tuple[str, ...]) -> int:
    """Words in the longest of the trait's names that stand together in the column's."""
    spans = {
        tokens[start:stop]
        for start in range(len(tokens))
        for stop in range(start + 1, len(tokens) + 1)
    }
    return max((len(phrase) for phrase in trait.words if phrase in spans), default=0)
