"""The words in which keepers head their columns and name their sheets, and how near a header is."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from matchmaker.intake.vocabulary import AROUND, LOOSE, NAME_WORDS, NOTE_WORDS, SHEETS, TRAITS
from matchmaker.tables.cells import SEX_WORDS, STATUS_WORDS
from matchmaker.tables.columns import TABLES
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.schema import NOTES, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


def parted(words: str) -> frozenset[str]:
    """Return words that are written in a row with commas between.

    Examples
    --------
    >>> sorted(parted("ring, leg ring"))
    ['leg ring', 'ring']
    """
    return frozenset(word.strip() for word in words.split(","))


_TRAITS: Final = frozenset(plain(word) for word in parted(TRAITS))
_NOTE_WORDS: Final = parted(NOTE_WORDS)
_NAME_WORDS: Final = parted(NAME_WORDS)
_AROUND: Final = parted(AROUND)
_SHEETS: Final = {table: parted(words) for table, words in SHEETS.items()}

FUZZY: Final = 0.84
"""Share of letters in the same order from which a word counts as mistyped (chosen by trial)."""

_PARTS: Final = re.compile(r"[(),/;:+&\[\]\n\r|]+|\s[-–]\s")
_SCALE: Final = re.compile(
    r"[^\W\d_]{2}.*(?:\b[01] ?(?:-|–|to) ?\d{1,3}|\bout of \d{1,3}|/ ?\d{1,3})[)\]]?$"
)
"""A scale of points in a header, as in "Shape 1-5"."""

_AGE: Final = re.compile(r"\b\d{1,3} ?(?:w|wk|wks|week|weeks|d|days|months)\b", re.IGNORECASE)
"""An age in a header, as in "20 wks"."""

_COLOURS: Final = frozenset({"colour", "color", "colours", "colors"})

_TOKEN: Final = re.compile(r"[^\W_]+")


def tokens_of(text: str) -> tuple[str, ...]:
    """Return the words of a text without case and punctuation.

    Examples
    --------
    >>> tokens_of("Ring no. (left leg)")
    ('ring', 'no', 'left', 'leg')
    """
    return tuple(_TOKEN.findall(text.casefold()))


@cache
def spellings(table: str) -> Mapping[str, tuple[str, ...]]:
    """Map every word for columns of a table, declared and loose, to these columns."""
    found: dict[str, dict[str, None]] = {}
    for text, name in TABLES[table].spellings().items():
        found.setdefault(text, {})[name] = None
    for name, words in LOOSE[table].items():
        for word in sorted(parted(words)):
            found.setdefault(plain(word), {})[name] = None
    return {text: tuple(names) for text, names in found.items()}


@lru_cache(maxsize=16_384)
def header_scores(header: str, table: str) -> tuple[tuple[str, float], ...]:
    """Return how well a header names columns of a table, 0 to 1, the best first.

    Examples
    --------
    >>> header_scores("Ring no. (left leg)", "birds")[0][0]
    'bird'
    >>> header_scores("Father's ring", "birds")[0][0]
    'sire'
    """
    words = spellings(table)
    found: dict[str, float] = {}
    for text, worth in _readings(header):
        for name in words.get(text, ()):
            found[name] = max(found.get(name, 0.0), worth)
    if not found:
        found = dict(_mistyped(header, words)) or dict(_within(header, words))
    return tuple(sorted(found.items(), key=lambda item: (-item[1], item[0])))


def _readings(header: str) -> Iterator[tuple[str, float]]:
    """Ways to read a header, each with its worth: whole, without brackets, in parts, bare."""
    yield plain(header), 1.0
    bare = re.sub(r"[(\[][^()\[\]]*[)\]]", " ", header)
    yield plain(bare), 0.97
    core = [token for token in tokens_of(bare) if token not in _AROUND]
    yield "".join(core), 0.93
    yield "".join(token.removesuffix("s") for token in core), 0.9
    for part in _PARTS.split(header):
        yield plain(part), 0.85
        yield "".join(token for token in tokens_of(part) if token not in _AROUND), 0.82


def _mistyped(header: str, words: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, float]]:
    text = plain(header)
    if 4 <= len(text) <= 30:
        for word in reversed(close_matches(text, words, most=3, like=0.75)):
            near = _nearness(text, word)
            if near >= FUZZY:
                yield from ((name, 0.8 * near) for name in words[word])


def _nearness(text: str, word: str) -> float:
    """Return how alike two words are; only mistyped ones count, which begin alike.

    Letters that changed places count little: they are the commonest slip.
    """
    if len(word) < 4 or word[0] != text[0]:
        return 0.0
    if sorted(word) == sorted(text):
        return 0.95
    return 0.88 if close_matches(text, (word,), like=FUZZY) else 0.0


def _within(header: str, words: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, float]]:
    """Columns one of whose words stands within the header; the longer it is, the more it says."""
    tokens = tokens_of(header)[:12]
    best: dict[str, float] = {}
    letters = max(sum(map(len, tokens)), 1)
    for start in range(len(tokens)):
        for end in range(start + 1, min(start + 4, len(tokens)) + 1):
            text = "".join(tokens[start:end])
            worth = 0.4 + 0.3 * len(text) / letters
            for name in words.get(text, ()) if len(text) > 2 else ():
                best[name] = max(best.get(name, 0.0), worth)
    if not _COLOURS.isdisjoint(tokens):
        best.pop("bird", None)
    yield from best.items()


@lru_cache(maxsize=16_384)
def heads_notes(header: str) -> bool:
    """Whether a header is one of remarks.

    Examples
    --------
    >>> heads_notes("Notes 2025"), heads_notes("Ring")
    (True, False)
    """
    words = set(tokens_of(header))
    return plain(header) in NOTES or not words.isdisjoint(_NOTE_WORDS) or heads_names(header)


@lru_cache(maxsize=16_384)
def heads_names(header: str) -> bool:
    """Whether a header is one of birds' names, which may stand beside the band or for it.

    Examples
    --------
    >>> heads_names("Name"), heads_names("Called"), heads_names("Ring")
    (True, True, False)
    """
    return any(token in _NAME_WORDS for token in tokens_of(header)[:2])


@lru_cache(maxsize=16_384)
def heads_trait(header: str) -> float:
    """Return how well a header names something weighed, counted or scored, 0 to 1.

    Examples
    --------
    >>> heads_trait("Weight (kg)"), heads_trait("Weight 20 wk") > 0.5, heads_trait("Ring")
    (1.0, True, 0.0)
    """
    bare = plain(re.sub(r"[(\[][^()\[\]]*[)\]]", " ", header))
    if bare in _TRAITS:
        return 1.0
    if any(token in _TRAITS for token in tokens_of(header)) or _SCALE.search(header):
        return 0.8
    if _AGE.search(header):
        return 0.7
    near = len(bare) >= 4 and close_matches(bare, _TRAITS, like=FUZZY)
    return 0.7 if near else 0.0


@lru_cache(maxsize=65_536)
def is_header_word(cell: str) -> bool:
    """Whether a cell names a column of any table; a word that is itself a value does not count.

    Examples
    --------
    >>> is_header_word("Ring no."), is_header_word("cock"), is_header_word("C04")
    (True, False, False)
    """
    word = cell.strip().casefold()
    if not word or len(word) > 60 or word in SEX_WORDS or word in STATUS_WORDS:
        return False
    if heads_notes(cell) or heads_trait(cell) >= 0.8:
        return True
    return any(score >= 0.65 for table in TABLES for _, score in header_scores(cell, table)[:1])


@cache
def _every_word() -> frozenset[str]:
    return frozenset().union(NOTES, _TRAITS, *(spellings(table) for table in TABLES))


@lru_cache(maxsize=65_536)
def is_exact_header_word(cell: str) -> bool:
    """Whether a cell names a column letter by letter, brackets and words around it left out.

    Quick, for the many rows below a header.

    Examples
    --------
    >>> is_exact_header_word("Ring no. (left)"), is_exact_header_word("Rnig")
    (True, False)
    """
    word = cell.strip().casefold()
    if not word or len(word) > 60 or word in SEX_WORDS or word in STATUS_WORDS:
        return False
    return any(text in _every_word() for text, _ in _readings(cell))


@lru_cache(maxsize=16_384)
def names_column(header: str) -> bool:
    """Whether a header names a column of any table, also with a word that may be a value.

    Examples
    --------
    >>> names_column("Hen"), names_column("Out of the egg"), names_column("Money")
    (True, True, False)
    """
    known = (header_scores(header, table)[:1] for table in TABLES)
    return is_exact_header_word(header) or any(s >= 0.8 for best in known for _, s in best)


@lru_cache(maxsize=16_384)
def names_key(header: str) -> bool:
    """Whether a header names what a table's rows are told apart by: a band, or a pen.

    A hen or a cock may as well be a parent.

    Examples
    --------
    >>> names_key("Ring no."), names_key("House"), names_key("Father"), names_key("Hen no.")
    (True, True, False, False)
    """
    if not SEX_WORDS.keys().isdisjoint(tokens_of(header)):
        return False
    birds, pens = dict(header_scores(header, "birds")), dict(header_scores(header, "pens"))
    return max(birds.get("bird", 0.0), pens.get("pen", 0.0)) >= 0.8


def sheet_votes(sheet: str, file_stem: str) -> Mapping[str, float]:
    """Return which tables the names of the sheet and the file speak for, and how loudly.

    Examples
    --------
    >>> dict(sheet_votes("Weights 2025", "marsh"))
    {'scores': 1.0}
    """
    votes: dict[str, float] = {}
    for name, worth in ((file_stem, 0.5), (sheet, 1.0)):
        tokens = {t.removesuffix("s") for t in tokens_of(name.replace("_", " "))}
        for table, stems in _SHEETS.items():
            if table == plain(name) or tokens & stems:
                votes[table] = max(votes.get(table, 0.0), worth)
    return votes
