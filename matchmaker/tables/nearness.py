"""What a mistyped name may be meant for: the one place where likeness of names is measured.

Five steps of likeness, the nearest that finds any name decides: the same but for case and spaces;
the same but for other signs, O for 0 and I or l for 1; the same but for a year in front; one letter
more, less, other or two exchanged; alike on the whole. Names that are equally near are all told,
so that nobody takes the first for the only one.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

NAMES_COMPARED: Final = 2000
"""Among more names than these, likeness on the whole is not searched for: it would take minutes."""

LETTERS_COMPARED: Final = 40
"""Longer names are not searched for by one letter: nobody has bands of such length."""

NAMES_TOLD: Final = 3
"""So many equally near names are told; of more, how many there are."""

OTHER_LETTER_FROM: Final = 4
"""In shorter names one other letter makes another name: H1 is not meant for C1."""

_ALIKE: Final = str.maketrans({"o": "0", "i": "1", "l": "1"})
_SPACE_TO_DROP: Final = re.compile(r"(?<!\d) | (?!\d)")
_UNSEEN: Final = frozenset({"Cf", "Cc", "Zs", "Zl", "Zp"})


class Likeness(IntEnum):
    """How near a name is, the nearest first."""

    SPACING = 0
    SIGNS = 1
    YEAR = 2
    LETTER = 3
    SHAPE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """The names nearest to a mistyped one, all equally near."""

    names: tuple[str, ...]
    likeness: Likeness = Likeness.SHAPE

    @property
    def only(self) -> str | None:
        """The nearest name if no other is as near."""
        return self.names[0] if len(self.names) == 1 else None

    @property
    def in_writing_only(self) -> bool:
        """Whether one name alone is the same but for case and spaces."""
        return len(self.names) == 1 and self.likeness is Likeness.SPACING


def without_spaces(name: str) -> str:
    r"""Return a name without case, spaces and signs that nobody sees.

    A space between two figures stays, for it parts two numbers: a year and a band, say.

    Examples
    --------
    >>> without_spaces(" s23 -001\u200b"), without_spaces("24  7")
    ('s23-001', '24 7')
    """
    if name.isascii() and " " not in name and name.isprintable():
        return name.casefold()
    shown = (_seen_or_space(letter) for letter in name)
    return _SPACE_TO_DROP.sub("", " ".join("".join(shown).split())).casefold()


def _seen_or_space(letter: str) -> str:
    category = unicodedata.category(letter)
    return letter if category not in _UNSEEN else "" if category == "Cf" else " "


def without_signs(name: str) -> str:
    """Return a name by its letters and digits alone, those that look alike being the same.

    Examples
    --------
    >>> without_signs("S23-0O1"), without_signs("s.23.00l")
    ('s23001', 's23001')
    """
    return "".join(filter(str.isalnum, name.casefold())).translate(_ALIKE)


class Lexicon:
    """Names that are known, ready to be searched for what is meant by a mistyped one.

    Examples
    --------
    >>> bands = Lexicon(["S23-001", "S23-012", "H7"])
    >>> bands.near("s23 - 001").names, bands.near("S23-O12").names, bands.near("S32-001").names
    (('S23-001',), ('S23-012',), ('S23-001',))
    >>> bands.near("S23-011").names
    ('S23-001', 'S23-012')
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._names = tuple(dict.fromkeys(names))
        self._spelled = {name: at for at, name in enumerate(self._names)}
        self._known: dict[str, Near] = {}

    def near(self, name: str, fits: Callable[[str], bool] | None = None) -> Near:
        """Return the names nearest to one; only those that ``fits`` allows, if there are such.

        A name that is the same but for its writing is meant whether it fits or not: that it does
        not fit is another matter.
        """
        if fits is None:
            if name not in self._known:
                self._known[name] = self._search(name, lambda _: True)
            return self._known[name]
        return self._search(name, fits)

    def _search(self, name: str, fits: Callable[[str], bool]) -> Near:
        written = (
            (Likeness.SPACING, self._by_spacing.get(without_spaces(name), ())),
            (Likeness.SIGNS, self._by_signs.get(without_signs(name), ())),
        )
        for likeness, names in written:
            if names:
                fitting = tuple(filter(fits, names))
                return Near(names=fitting or tuple(names), likeness=likeness)
        guessed = ((Likeness.YEAR, self._by_year), (Likeness.LETTER, self._by_letter))
        for likeness, search in guessed:
            fitting = tuple(filter(fits, search(name)))
            if fitting:
                return Near(names=fitting, likeness=likeness)
        return Near(names=tuple(self._by_shape(name, fits)))

    @cached_property
    def _by_spacing(self) -> dict[str, list[str]]:
        return _grouped(self._names, without_spaces)

    @cached_property
    def _by_signs(self) -> dict[str, list[str]]:
        return _grouped(self._names, without_signs)

    @cached_property
    def _shortened(self) -> dict[str, list[str]]:
        """Every name by what is left of it without one of its letters, and whole."""
        found: dict[str, list[str]] = {}
        for name in self._names:
            for text in shorter(without_spaces(name)):
                found.setdefault(text, []).append(name)
        return found

    @cached_property
    def _without_year(self) -> dict[str, list[str]]:
        return _grouped(self._names, lambda name: without_year(name) or "")

    def _by_year(self, name: str) -> list[str]:
        """Names that are this one with a year in front, or this one without its year."""
        bare = without_year(name) or ""
        return [*self._without_year.get(name, ()), *((bare,) if bare in self._spelled else ())]

    def _by_letter(self, name: str) -> list[str]:
        mistyped = without_spaces(name)
        shared = (other for text in shorter(mistyped) for other in self._shortened.get(text, ()))
        near = {other for other in shared if one_apart(mistyped, without_spaces(other))}
        return sorted(near, key=self._spelled.__getitem__)

    def _by_shape(self, name: str, fits: Callable[[str], bool]) -> list[str]:
        """The likest of not too many names, and one that is exactly as like."""
        if len(self._names) > NAMES_COMPARED:
            return []
        near = difflib.get_close_matches(name, filter(fits, self._names), n=2)
        matcher = difflib.SequenceMatcher(b=name)
        ratios = []
        for other in near:
            matcher.set_seq1(other)
            ratios.append(matcher.ratio())
        return [other for other, ratio in zip(near, ratios, strict=True) if ratio == ratios[0]]


def one_apart(one: str, two: str, *, other_from: int = OTHER_LETTER_FROM) -> bool:
    """Whether two names differ by one letter, or by two neighbours exchanged.

    Names of fewer letters than ``other_from`` that differ by one other letter are two names.

    Examples
    --------
    >>> one_apart("s23-01", "s23-001"), one_apart("s32-001", "s23-001"), one_apart("h1", "h7")
    (True, True, False)
    """
    if one == two or abs(len(one) - len(two)) > 1:
        return False
    same = next((at for at, (a, b) in enumerate(zip(one, two, strict=False)) if a != b), None)
    at = min(len(one), len(two)) if same is None else same
    if len(one) != len(two):
        short, long = sorted((one, two), key=len)
        return short[at:] == long[at + 1 :]
    exchanged = one[at : at + 2] == two[at : at + 2][::-1] and one[at + 2 :] == two[at + 2 :]
    other = len(one) >= other_from and one[at + 1 :] == two[at + 1 :]
    return exchanged or other


def shorter(text: str) -> list[str]:
    """Return a text, and it without each of its letters: names one slip apart have one in common.

    Examples
    --------
    >>> shorter("H12"), shorter("a" * 99)
    (['H12', '12', 'H2', 'H1'], [])
    """
    if len(text) > LETTERS_COMPARED:
        return []
    return list(dict.fromkeys([text, *(text[:at] + text[at + 1 :] for at in range(len(text)))]))


def _grouped(names: Iterable[str], fold: Callable[[str], str]) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(fold(name), []).append(name)
    groups.pop("", None)  # names of signs alone are not alike for that
    return groups


def near(name: str, names: Collection[str]) -> str | None:
    """Return the name most like a mistyped one, if any is close.

    Examples
    --------
    >>> near("hatchd", ["hatched", "sire"]), near("colour", ["hatched", "sire"])
    ('hatched', None)
    """
    return next(iter(nearest(name, names).names), None)


def nearest(name: str, names: Collection[str]) -> Near:
    """Return all names that are nearest to a mistyped one.

    Examples
    --------
    >>> nearest("bredeer", ["breeder", "young", "spare"]).only
    'breeder'
    """
    return _lexicon(tuple(names)).near(name)


def did_you_mean(name: str, names: Collection[str], otherwise: str) -> str:
    """Return the mend of an unknown name.

    Examples
    --------
    >>> did_you_mean("Sussx", ["Sussex", "Alder"], "write the line in the table of birds")
    'did you mean Sussex? Otherwise write the line in the table of birds'
    """
    return meant(nearest(name, names), otherwise)


def meant(found: Near, otherwise: str) -> str:
    """Return the mend of an unknown name of which the nearest were looked up.

    Examples
    --------
    >>> meant(Near(names=("H1", "H7")), "add a row")
    'did you mean H1 or H7? Both are as near. Otherwise add a row'
    """
    names = found.names
    if not names:
        return otherwise
    if len(names) == 1:
        return f"did you mean {names[0]}? Otherwise {otherwise}"
    if len(names) == 2:
        asked = f"did you mean {names[0]} or {names[1]}? Both are as near"
    else:
        more = ", ..." if len(names) > NAMES_TOLD else ""
        told = ", ".join(names[:NAMES_TOLD])
        asked = f"{len(names)} are as near ({told}{more})"
    return f"{asked}. Otherwise {otherwise}"


@lru_cache(maxsize=64)  # one wrong name often stands in many rows
def _lexicon(names: tuple[str, ...]) -> Lexicon:
    return Lexicon(names)


def sharing_words(name: str, names: Collection[str]) -> str | None:
    """Return the name that has most words in common with another one, if any has.

    Figures count for no word, and an s at the end for nothing.

    Examples
    --------
    >>> sharing_words("eggs", ["Weight at 20 weeks", "Eggs in 12 weeks"])
    'Eggs in 12 weeks'
    """
    wanted = _words_of(name)
    shared = {other: len(wanted & _words_of(other)) for other in names}
    best = max(shared, key=lambda other: shared[other], default=None)
    return best if best is not None and shared[best] else None


def close_matches(
    word: str, words: Iterable[str], *, most: int = 1, like: float = 0.6
) -> list[str]:
    """Return the words most like another on the whole, the likest first.

    Examples
    --------
    >>> close_matches("brids", ["birds", "pens"], like=0.75)
    ['birds']
    """
    return difflib.get_close_matches(word, list(words), n=most, cutoff=like)


def _words_of(name: str) -> set[str]:
    return {word.removesuffix("s") for word in re.findall(r"[^\W\d_]{3,}", name.casefold())}


def without_year(band: str) -> str | None:
    """Return a band without a year before its number, ``None`` if it begins with none.

    Examples
    --------
    >>> without_year("2024-017"), without_year("24/17"), without_year("H7")
    ('017', '17', None)
    """
    matched = re.fullmatch(r"(?:20)?\d\d\s*[-/. ]\s*(\w+)", band)
    return matched[1] if matched else None
