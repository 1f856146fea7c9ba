"""A locus as the settings change it or describe it, and what cannot be meant there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from matchmaker.errors import Fault
from matchmaker.genetics.loci.locus import Allele, Locus
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from matchmaker.settings import LocusSettings

AS_STATED: Final = (
    "name",
    "dominance",
    "shown_by",
    "shows_at_days",
    "penetrance",
    "error",
    "linked_to",
    "recombination",
)
"""Keys that say what the field of the same name says."""

WORD_FIELDS: Final = ("shown_words", "one_copy_words", "either_words", "hidden_words")


def changed_locus(locus: Locus, stated: LocusSettings) -> Locus:
    """Return the locus with everything the settings say of it in place of what it said.

    Examples
    --------
    >>> from matchmaker.settings import LocusSettings
    >>> pea = Locus(symbol="P", name="Pea comb", shown_words=("pea",))
    >>> own = changed_locus(pea, LocusSettings(error=0.02, words={"shown": "low comb"}))
    >>> own.error, own.shown_words
    (0.02, ('low comb', 'pea'))
    """
    new: dict[str, Any] = {
        key: getattr(stated, key) for key in AS_STATED if getattr(stated, key) is not None
    }
    if stated.inheritance is not None:
        new["z_linked"] = stated.inheritance == "Z"
    if stated.alleles is not None and locus.symbol in stated.alleles:
        new |= _series(locus.symbol, stated.alleles)
    if stated.lethal is not None:
        new |= _lethal(locus, stated.lethal)
    changed = replace(locus, frequency=dict(stated.frequency), **new)
    return _worded(changed, stated.words)


def _series(symbol: str, alleles: tuple[str, ...]) -> dict[str, Any]:
    """The wild type is the allele written with a plus, else the one that all others hide."""
    wild = next((allele for allele in alleles if allele.endswith("+")), alleles[-1])
    return {
        "series": tuple(Allele(symbol=allele) for allele in alleles),
        "wild_type": wild,
        "dominance": "recessive" if symbol == alleles[-1] else "dominant",
    }


def _lethal(locus: Locus, copies: tuple[int, ...]) -> dict[str, Any]:
    """What the catalogue knows to be crippled but living stays so; the rest is taken as deadly."""
    living = set(locus.lethal) - set(locus.dies)
    return {
        "lethal": copies,
        "dies": tuple(number for number in copies if number not in living),
        "safe_copies_max": min([locus.safe_copies_max, *(max(n - 1, 0) for n in copies)]),
    }


def _worded(locus: Locus, words: Mapping[str, tuple[str, ...]]) -> Locus:
    """The keeper's words go first, and no list keeps one of them that is now in another."""
    if locus.series:
        alleles = tuple(
            replace(allele, words=_added(allele.words, words.get(allele.symbol, ()), words))
            for allele in locus.series
        )
        own = words.get(locus.symbol, ())
        shown = _added(locus.shown_words, own, words)
        return replace(locus, series=alleles, shown_words=shown)
    listed: dict[str, Any] = {
        field: _added(getattr(locus, field), words.get(field.removesuffix("_words"), ()), words)
        for field in WORD_FIELDS
    }
    return replace(locus, **listed)


def _added(
    known: tuple[str, ...], own: tuple[str, ...], words: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...]:
    taken = {word.casefold() for group in words.values() for word in group}
    return (*own, *(word for word in known if word.casefold() not in taken))


def own_faults(locus: Locus, stated: LocusSettings) -> list[Fault]:
    """Return what the settings of a locus say that cannot be meant there.

    Examples
    --------
    >>> from matchmaker.settings import LocusSettings
    >>> stated = LocusSettings(words={"yellow": "pale"})
    >>> [fault.value for fault in own_faults(Locus(symbol="P", name="Pea comb"), stated)]
    ['yellow']
    """
    found = [*_missing_allele(locus, stated), *_frequency_faults(locus, stated)]
    return [*found, *_word_faults(locus, stated)]


def _missing_allele(locus: Locus, stated: LocusSettings) -> Iterator[Fault]:
    if stated.alleles is not None and locus.symbol not in stated.alleles:
        yield _fault(
            locus,
            "alleles",
            locus.symbol,
            f"the alleles of {locus.symbol} do not name {locus.symbol} itself, whose copies count",
            f"list {locus.symbol} among them, or call the locus by one of them",
        )


def _frequency_faults(locus: Locus, stated: LocusSettings) -> Iterator[Fault]:
    for breed, shares in stated.frequency.items():
        if isinstance(shares, dict):
            yield from _strangers(locus, f"frequency.{breed}", shares, locus.alleles, "allele")


def _word_faults(locus: Locus, stated: LocusSettings) -> Iterator[Fault]:
    looks = ["shown", "hidden"]
    if locus.dominance == "incomplete":
        looks.append("one_copy")
    known = locus.alleles if locus.series else looks
    yield from _strangers(locus, "words", stated.words, known, "look")
    heard: dict[str, str] = {}
    for look, words in stated.words.items():
        for word in words:
            if heard.setdefault(word.casefold(), look) != look:
                yield _fault(
                    locus,
                    f"words.{look}",
                    word,
                    f'"{word}" stands for two looks of {locus.symbol}',
                    "keep it under one of them",
                )


def _strangers(
    locus: Locus, key: str, named: Collection[str], known: Collection[str], what: str
) -> Iterator[Fault]:
    for name in named:
        if name not in known:
            yield _fault(
                locus,
                f"{key}.{name}",
                name,
                f"{locus.symbol} has no {what} {name}",
                f"write one of {', '.join(known)}",
            )


def _fault(locus: Locus, key: str, value: str, problem: str, mend: str) -> Fault:
    return Fault(
        kind="bad-setting",
        file=SETTINGS_FILE,
        column=f"loci.{locus.symbol}.{key}",
        value=value,
        problem=problem,
        mend=mend,
    )
