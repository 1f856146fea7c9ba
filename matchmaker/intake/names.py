"""Names of lines, pens, sources and groups that are written in more than one way."""

from __future__ import annotations

import difflib
import re
from collections import Counter, defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import letters, with_column
from matchmaker.intake.ledger import NO, YES, Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.tables.reading import BLANK_WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.intake.entry import Cell, Entry

_PEN_WORDS: Final = (
    *("breedingpen", "pen", "house", "coop", "run", "hut", "stall", "stable", "shed", "ark", "no"),
)
_LINE_WORDS: Final = ("line", "family", "strain")


def take_names(entries: Sequence[Entry], ledger: Ledger) -> None:
    """Write names of lines, pens, sources and groups alike wherever one is meant."""
    _take_names(
        entries, [("birds", "line"), ("pens", "line"), ("plan", "line")], _LINE_WORDS, ledger
    )
    pens = [(t, "pen") for t in ("pens", "moves", "eggs", "seen", "plan")]
    _take_names(entries, pens, _PEN_WORDS, ledger)
    _take_names(entries, [("birds", "source")], (), ledger)
    _take_names(entries, [("scores", "group")], (), ledger)


def _take_names(
    entries: Sequence[Entry],
    columns: Iterable[tuple[str, str]],
    words: Sequence[str],
    ledger: Ledger,
) -> None:
    found = [(e, c, t, n) for t, n in columns for e, c in with_column(entries, t, n)]
    named = [cell for _, cell, _, _ in found if cell.text.casefold() not in BLANK_WORDS]
    spelled = spellings([" ".join(cell.text.split()) for cell in named], words)
    pairs = _nearly(spelled).items()
    asked = dict(_asked_name(name, other, named, ledger) for name, other in pairs)
    for entry, cell, table, column in found:
        text = " ".join(cell.text.split())
        value = spelled.get(text, "")
        value = asked.get(value, value)
        entry.values[column] = value
        ledger.change(table, column, cell, value)


def spellings(names: Sequence[str], words: Sequence[str] = ()) -> dict[str, str]:
    """Map each name to the spelling used most for its letters, ``words`` before or behind left out.

    Examples
    --------
    >>> spellings(["Line A", "a", "Line A", "A-line", "B"], ("line",))
    {'Line A': 'Line A', 'a': 'Line A', 'A-line': 'Line A', 'B': 'B'}
    """
    counted = Counter(names)
    groups: dict[str, list[str]] = defaultdict(list)
    for name in counted:
        groups[bare_name(name, words)].append(name)
    best = {key: max(group, key=counted.__getitem__) for key, group in groups.items()}
    return {name: best[bare_name(name, words)] for name in counted}


def bare_name(name: str, words: Sequence[str] = _PEN_WORDS) -> str:
    """The letters of a name without a word such as pen before or behind it.

    Examples
    --------
    >>> bare_name("Pen 3"), bare_name("3")
    ('3', '3')
    """
    bare = letters(name)
    for word in words:
        for cut in (bare.removeprefix(word), bare.removesuffix(word)):
            if cut and cut != bare and (word != "no" or cut.isdigit()):
                return cut
    return bare


def _nearly(spelled: Mapping[str, str]) -> dict[str, str]:
    """The names written once that are a letter or two off another: ``{name: the other}``."""
    names = sorted(set(spelled.values()))
    long = [name for name in names if len(name) > 3 and not re.search(r"\d", name)]
    near: dict[str, str] = {}
    for name in long if len(long) <= 200 else []:
        others = [other for other in long if other != name and other not in near]
        found = difflib.get_close_matches(name, others, n=1, cutoff=0.84)
        if found and found[0] not in near.values():
            near[name] = found[0]
    return near


def _asked_name(name: str, other: str, named: Sequence[Cell], ledger: Ledger) -> tuple[str, str]:
    """The rarer of two names, with the name to be written for it."""
    counted = Counter(" ".join(cell.text.split()) for cell in named)
    rare, usual = sorted((name, other), key=lambda one: (counted[one], one))
    cells = [cell for cell in named if " ".join(cell.text.split()) == rare]
    question = Question(
        key=f"name:{cells[0].header if cells else ''}:{rare}",
        text=f'Is "{rare}" the same as "{usual}"?',
        choices=(YES, NO),
        proposed=YES,
        places=places_of(cells),
    )
    return rare, usual if ledger.ask(question) == YES else rare
