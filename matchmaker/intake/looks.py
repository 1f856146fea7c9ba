"""Columns of what was seen of a gene: its symbol or name above, words for its classes below."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import tokens_of
from matchmaker.intake.profile import base
from matchmaker.intake.shape import has_digit
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.intake.profile import Profile

_EMPTY_WORDS: Final = frozenset(
    (
        *("colour", "color", "type", "what", "look", "looks", "gene", "locus", "seen", "of", "the"),
        *("is", "kind", "no", "not", "lays", "at", "and", "a", "in", "with", "sex", "linked"),
    )
)
_COPIES: Final = re.compile(r"[0-2](?: ?cop(?:y|ies))?|[+/]{1,2}|yes|no|carrier|pure")


SYMBOL: Final = 0.9
"""A header counts as the symbol itself from this score on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How well a column suits a locus: by its header, by its cells, and how many words it shows."""

    symbol: str
    header: float
    share: float
    words: int


def looks(profile: Profile, loci: Mapping[str, tuple[str, ...]]) -> list[Look]:
    """Return the loci that a column may tell of, the likeliest first.

    A column of figures alone tells of a locus only where the header is its symbol.
    """
    found = (_look(profile, symbol, words) for symbol, words in loci.items())
    return sorted((one for one in found if one), key=lambda one: (-_worth(one), one.symbol))


def _worth(one: Look) -> float:
    return one.header + 2 * one.share + 0.1 * min(one.words, 3)


def _look(profile: Profile, symbol: str, words: tuple[str, ...]) -> Look | None:
    known = _bases(words)
    header = _header(profile.header, symbol, words) if profile.header else 0.0
    shown = profile.words.keys() & known
    if header < SYMBOL and not shown:
        return None
    copies = {word for word in profile.words if header >= SYMBOL and _COPIES.fullmatch(word)}
    share = profile.share_of_words(shown | copies)
    if header < SYMBOL and share < (0.5 if header else 0.8):
        return None
    return Look(
        symbol=symbol,
        header=header,
        share=share,
        words=len({word for word in shown if not has_digit(word)}),
    )


@lru_cache(maxsize=1024)
def _bases(words: tuple[str, ...]) -> frozenset[str]:
    return frozenset(base(word) for word in words)


@lru_cache(maxsize=16_384)
def _header(header: str, symbol: str, words: tuple[str, ...]) -> float:
    """Return how well a header names a locus: its symbol, one of its words, or part of one."""
    bare = re.sub(r"[(\[][^()\[\]]*[)\]]", " ", header).strip()
    if symbol in {header, bare}:
        return 1.0
    if len(symbol) > 1 and header.casefold() == symbol.casefold():
        return 0.9
    if plain(header) in {plain(word) for word in words} - {""}:
        return 0.85
    asked = [token for token in tokens_of(header) if token not in _EMPTY_WORDS]
    told = {token for word in words for token in tokens_of(word)} - _EMPTY_WORDS
    hits = sum(any(_same_stem(token, other) for other in told) for token in asked)
    return 0.7 * hits / len(asked) if asked else 0.0


def _same_stem(token: str, other: str) -> bool:
    short, long = sorted((token, other), key=len)
    within = long.startswith(short) or (len(short) >= 4 and long.endswith(short))
    return short == long or (len(short) >= 3 and within)
