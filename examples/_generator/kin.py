"""Kinship from the true pedigree, the slow plain way; the stories pick their pairs by it."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from _generator.book import Bird, Book

FIRST_COUSINS = 0.0625
"""Kinship of two birds bought from one source whose relationship nobody wrote down."""


class Kin:
    """Kinship of any two birds of a book, given the base of each breed and source."""

    def __init__(
        self, book: Book, breeds: Mapping[str, float], sources: Mapping[str, float]
    ) -> None:
        self._rank = {bird.band: place for place, bird in enumerate(book.birds)}
        self._breeds, self._sources = breeds, sources
        self.between = cache(self._between)

    def _between(self, one: Bird, other: Bird) -> float:
        if one is other:
            return (1 + self._inbreeding(one)) / 2
        older, younger = sorted((one, other), key=lambda bird: self._rank[bird.band])
        if younger.sire is None or younger.dam is None:
            return self._founders(older, younger)
        return (self.between(older, younger.sire) + self.between(older, younger.dam)) / 2

    def _inbreeding(self, bird: Bird) -> float:
        if bird.sire is None or bird.dam is None:
            return self._base(bird)
        return self.between(bird.sire, bird.dam)

    def _founders(self, older: Bird, younger: Bird) -> float:
        if older.sire is not None and older.dam is not None:
            return (self.between(older.sire, younger) + self.between(older.dam, younger)) / 2
        if older.source and older.source == younger.source:
            return self._base(older)
        return self._breeds.get(older.breed, 0.0) if older.breed == younger.breed else 0.0

    def _base(self, bird: Bird) -> float:
        breed = self._breeds.get(bird.breed, 0.0)
        usual = max(breed, FIRST_COUSINS) if bird.source else breed
        return self._sources.get(bird.source, usual)
