"""Breeds as keepers write them: names, fractions, percentages and crosses."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import letters, with_column
from matchmaker.intake.ledger import NO, YES, Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.intake.names import spellings
from matchmaker.tables.parents import read_breed
from matchmaker.tables.reading import is_blank

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.intake.entry import Cell, Entry

Shares = dict[str, Fraction]

_PART: Final = re.compile(
    r"(?:(\d+)\s*/\s*(\d+)|(\d+(?:[.,]\d+)?)\s*(%)|(\d+(?:[.,]\d+)?))\s*(?:of\s+)?(.*)"
)
_BEHIND: Final = re.compile(r"([^\d:]+?)\s+(\d+\s*/\s*\d+|\d+(?:[.,]\d+)?\s*%)$")
"""A breed with its part behind it."""

_PURE: Final = re.compile(r"(?:pure(?:bred)?|100\s*%|full)\s+(?=\w)", re.IGNORECASE)
_CROSS: Final = re.compile(r"\s+x\s+|\s*×\s*|\s+cross(?:ed)?\s+", re.IGNORECASE)
_JOINED: Final = re.compile(r"\s*(?:,\s|[;|+&]|\band\b)\s*(?=[\d\w])")
_SIDE_BY_SIDE: Final = re.compile(
    _JOINED.pattern + r"|\s+/\s+|(?<=[^\W\d_])\s+(?=\d+\s*(?:%|/\s*\d+)\s*[^\W\d_])"
)
"""Where a part is written before each breed, the next part also tells where one ends."""

_IN_WORDS: Final = {"half": "1/2", "three quarters": "3/4", "quarter": "1/4"}
_WEIGHT: Final = re.compile(r"\s*:\s*[\d.,]+\s*%?$")
_STEP: Final = re.compile(r"(?:bc|f)\s*\d+.*", re.IGNORECASE)


def take_breeds(entries: Sequence[Entry], recurrent: str, ledger: Ledger) -> None:
    """Write breeds as shares where what is written leaves no doubt; the rest is put aside.

    ``recurrent`` ("" if not known) is whom a share without a name is of; what is missing to the
    whole goes to the other breed only if the book has just one other.
    """
    found = with_column(entries, "birds", "breed")
    spelled = _spelled([cell for _, cell in found], ledger)
    same = [name for name in spelled.values() if letters(name) == letters(recurrent)]
    recurrent = same[0] if same else recurrent
    names = sorted({*spelled.values(), *([recurrent] if recurrent else [])})
    for entry, cell in found:
        if is_blank(cell.text):
            ledger.change("birds", "breed", cell, "")
            continue
        shares = shares_of(cell.text, spelled, names, recurrent)
        if shares is None:
            _put_aside(entry, cell, ledger)
            continue
        value = _written(shares)
        entry.values["breed"] = value
        ledger.change("birds", "breed", cell, value)


def pure_breeds(entries: Sequence[Entry]) -> Counter[str]:
    """How many birds are purely of each breed, as far as their cells are bare names."""
    cells = [cell for _, cell in with_column(entries, "birds", "breed")]
    bare = [name for cell in cells if _is_name(name := _plainly(cell.text))]
    spelled = spellings(bare)
    return Counter(spelled[name] for name in bare)


def shares_of(
    text: str, spelled: Mapping[str, str], names: Sequence[str], recurrent: str
) -> Shares | None:
    """The breed shares that a text names for certain, else ``None``.

    Examples
    --------
    >>> names = {"Sussex": "Sussex", "Araucana": "Araucana"}
    >>> sorted(shares_of("7/8 Sussex", names, list(names), "Sussex").items())
    [('Araucana', Fraction(1, 8)), ('Sussex', Fraction(7, 8))]
    >>> shares_of("BC3", names, list(names), "Sussex") is None
    True
    """
    text = _plainly(text)
    if text in spelled:
        return {spelled[text]: Fraction(1)}
    if ":" in text:
        return _as_weighted(text, spelled)
    crossed = _CROSS.split(text)
    if len(crossed) == 2:
        halves = [spelled.get(one.strip()) for one in crossed]
        known = [half for half in halves if half is not None]
        return {known[0]: Fraction(1, 2), known[1]: Fraction(1, 2)} if _two(known) else None
    parts = [_part(one, spelled, recurrent) for one in _parts(text)]
    told = [one for one in parts if one is not None]
    return _made_whole(told, names) if len(told) == len(parts) else None


def _parts(text: str) -> list[str]:
    """A cell cut where the part of one breed ends.

    Examples
    --------
    >>> _parts("1/2 Sussex 1/2 Araucana"), _parts("Sussex 7/8, Araucana 1/8")
    (['1/2 Sussex', '1/2 Araucana'], ['Sussex 7/8', 'Araucana 1/8'])
    """
    return (_SIDE_BY_SIDE if text[:1].isdigit() else _JOINED).split(text)


def _plainly(text: str) -> str:
    """A cell without words for a pure bird, and with figures for parts in words."""
    text = " ".join(_PURE.sub("", text).split())
    for words, part in _IN_WORDS.items():
        text = re.sub(rf"\b{words}\b", part, text, flags=re.IGNORECASE)
    return text


def _two(known: Sequence[str]) -> bool:
    return len(set(known)) == 2


def _as_weighted(text: str, spelled: Mapping[str, str]) -> Shares | None:
    value = read_breed(text).value
    if not isinstance(value, dict):
        return None
    return {spelled.get(name, name): Fraction(str(share)) for name, share in value.items()}


def _part(text: str, spelled: Mapping[str, str], recurrent: str) -> tuple[str, Fraction] | None:
    matched = _PART.fullmatch(_BEHIND.sub(r"\2 \1", text.strip()))
    if not matched:
        return None
    name = matched[6].strip()
    breed = spelled.get(name, "") if name else recurrent
    if matched[1]:
        share = Fraction(int(matched[1]), int(matched[2])) if int(matched[2]) else Fraction(0)
    else:
        share = Fraction((matched[3] or matched[5]).replace(",", "."))
        share = share / 100 if matched[4] or share > 1 else share
    return (breed, share) if breed and 0 < share <= 1 else None


def _made_whole(parts: Iterable[tuple[str, Fraction]], names: Sequence[str]) -> Shares | None:
    """Shares that sum to one; a rest is the other breed's where there is just one."""
    shares: Shares = {}
    for name, share in parts:
        if name in shares:
            return None
        shares[name] = share
    rest = Fraction(1) - sum(shares.values(), Fraction(0))
    if rest > 0:
        others = [name for name in names if name not in shares]
        if len(others) != 1:
            return None
        shares[others[0]] = rest
    return shares if rest >= 0 and shares else None


def _written(shares: Shares) -> str:
    if len(shares) == 1:
        return next(iter(shares))
    return "|".join(f"{name}:{float(share):.10g}" for name, share in shares.items())


def _is_name(text: str) -> bool:
    words = re.search(r"[^\W\d_]", text) and not re.search(r"\d|[:|+&?,;/]", text)
    return bool(words) and not _CROSS.search(text) and not _STEP.fullmatch(text)


def _spelled(cells: Sequence[Cell], ledger: Ledger) -> dict[str, str]:
    """Every bare name of a breed in the cells, with the spelling to be used for it."""
    names: list[str] = []
    for cell in cells:
        for crossed in _CROSS.split(_plainly(cell.text)):
            for part in _parts(crossed):
                matched = _PART.fullmatch(part.strip())
                name = _WEIGHT.sub("", matched[6] if matched else part).strip()
                if not is_blank(name) and _is_name(name):
                    names.append(name)
    spelled = spellings(names)
    return {name: _near_name(name, spelled, names, cells, ledger) for name in spelled}


def _near_name(
    name: str,
    spelled: Mapping[str, str],
    names: Sequence[str],
    cells: Sequence[Cell],
    ledger: Ledger,
) -> str:
    """The breed that a name means; one a letter off a name used far more often is asked for."""
    counted = Counter(spelled[one] for one in names)
    best = spelled[name]
    usual = [other for other in counted if counted[other] > 3 * counted[best]]
    near = difflib.get_close_matches(best, usual, n=1, cutoff=0.8)
    short = [o for o in usual if len(letters(best)) > 2 and letters(o).startswith(letters(best))]
    meant = near or (short if len(short) == 1 else [])
    if not meant:
        return best
    question = Question(
        key=f"breed:{name}",
        text=f'Is "{name}" the breed {meant[0]}?',
        choices=(YES, NO),
        proposed=YES,
        places=places_of(cell for cell in cells if name in cell.text),
    )
    return meant[0] if ledger.ask(question) == YES else best


def _put_aside(entry: Entry, cell: Cell, ledger: Ledger) -> None:
    entry.notes.append(f"{cell.header}: {cell.text}")
    ledger.doubt(
        "breed-not-certain",
        cell,
        f"{cell.text} does not say for certain how much of which breed the bird has; it is kept "
        "in the notes",
        "nothing, if both parents are written: the shares follow from them; otherwise write the "
        "shares as in sussex:0.75|araucana:0.25",
    )
