"""Cells that name one thing or several with weights: parents and breed shares."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from matchmaker.tables.reading import BLANK_WORDS, Issue, Reading, doubted, is_blank, refused
from matchmaker.tables.records import Origin, Parentage
from matchmaker.tolerance import PROBABILITY_SUM

WEIGHTS_MISS: Final = 1e-6
"""How far weights written by hand may miss one (0.333|0.333|0.334 must pass, 0.33 three times
must not)."""

_WEIGHT: Final = re.compile(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(%|/\s*\d+)?")

_NO_BREED: Final = re.compile(
    r"\d+(?:[.,]\d+)?\s*%?|[.,]\d+|\d+\s*/\s*\d+|(?:BC|F)\s*-?\d+", re.IGNORECASE
)
"""A part of a breed, 93 or 7/8, or a generation, BC2 or F1, with no breed beside it."""

Weights = tuple[tuple[str, float], ...]


def read_parent(text: str) -> Reading:
    """Return the parentage that a sire or dam cell names.

    Examples
    --------
    >>> read_parent("C04|C07").value.candidates
    (('C04', 0.5), ('C07', 0.5))
    """
    if text.casefold() in BLANK_WORDS:
        return Reading(Parentage(origin=Origin.UNKNOWN))
    if text.casefold() == "founder":
        return Reading(Parentage(origin=Origin.FOUNDER))
    weights = _weighted(text, "parent", "C04:0.7|C07:0.3")
    if isinstance(weights, Issue):
        return Reading(None, weights)
    if any(name.casefold() in {*BLANK_WORDS, "founder"} for name, _ in weights):
        return refused(
            "bad-parent",
            f"{text} mixes bands with a word that is no band",
            "name the bands that are possible, or leave the cell empty",
        )
    return Reading(Parentage(origin=Origin.KNOWN, candidates=weights))


@lru_cache(maxsize=8192)
def bands_in(cell: str) -> tuple[str, ...]:
    """Return the bands in a cell of one bird or several possible ones; () where it is empty.

    Examples
    --------
    >>> bands_in("C04|C07"), bands_in("C04"), bands_in("")
    (('C04', 'C07'), ('C04',), ())
    """
    read = read_parent(cell).value if cell else None
    named = read.candidates if isinstance(read, Parentage) else ()
    return tuple(band for band, _ in named) or ((cell,) if cell else ())


def parent_text(parentage: Parentage) -> str:
    """Return a sire or dam cell as a keeper writes it; equal weights are not written.

    Examples
    --------
    >>> parent_text(read_parent("C04 | C07").value), parent_text(read_parent("founder").value)
    ('C04|C07', 'founder')
    """
    if parentage.origin is not Origin.KNOWN:
        return "founder" if parentage.origin is Origin.FOUNDER else ""
    if len(parentage.candidates) == 1:
        return parentage.candidates[0][0]
    weights = {weight for _, weight in parentage.candidates}
    parts = (
        name if len(weights) == 1 else f"{name}:{weight:g}" for name, weight in parentage.candidates
    )
    return "|".join(parts)


def read_breed(text: str) -> Reading:
    """Return the breed shares that a cell names, as ``{breed: share}`` summing to one.

    Examples
    --------
    >>> read_breed("7/8").issue.kind
    'breed-not-named'
    >>> read_breed("sussex:0.75|araucana:0.25").value
    {'sussex': 0.75, 'araucana': 0.25}
    """
    if is_blank(text):
        return Reading()
    if _NO_BREED.fullmatch(text):
        return doubted(
            None,
            "breed-not-named",
            f"{text} is a share or a generation and names no breed, so it is not read",
            "empty this cell where both parents are written, as the shares follow from them; else "
            "write the breeds, as in sussex:0.75|araucana:0.25",
        )
    weights = _weighted(text, "breed", "sussex:0.75|araucana:0.25")
    if isinstance(weights, Issue):
        return Reading(None, weights)
    return Reading(dict(weights))


def _weighted(text: str, noun: str, example: str) -> Weights | Issue:
    parts = [_name_and_weight(part) for part in text.split("|")]
    names = [name for name, _ in parts]
    mend = f"write it as in {example}"
    between = re.split(r"\s+(?:or|and)\s+", text)
    if not all(names) or (noun == "parent" and len(between) > 1):
        becomes = "|".join(between) if all(names) and not re.search(r"[|:]", text) else ""
        return Issue(
            kind=f"bad-{noun}",
            problem=f"{text} cannot be read as {noun}s",
            mend=f"write {becomes} if these are bands, else {mend}" if becomes else mend,
            becomes=becomes,
        )
    if len(set(names)) < len(names):
        return Issue(kind=f"same-{noun}-twice", problem=f"{text} names one twice", mend=mend)
    return _with_shares(text, noun, parts, mend)


def _with_shares(
    text: str, noun: str, parts: list[tuple[str, float | None]], mend: str
) -> Weights | Issue:
    given = [weight for _, weight in parts if weight is not None]
    if not given:
        return tuple((name, 1 / len(parts)) for name, _ in parts)
    if len(given) < len(parts) or not all(0 < weight <= 1 for weight in given):
        problem = f"{text}: give every {noun} a share above 0, or none"
        return Issue(kind=f"bad-{noun}", problem=problem, mend=mend)
    total = sum(given)
    if abs(total - 1) > WEIGHTS_MISS:
        problem = f"the shares in {text} sum to {total:g}, not to 1"
        return Issue(kind=f"{noun}-shares", problem=problem, mend="make the shares sum to 1")
    scale = 1.0 if abs(total - 1) < PROBABILITY_SUM else total  # as written, to the last digit
    return tuple((name, weight / scale) for (name, _), weight in zip(parts, given, strict=True))


def _name_and_weight(part: str) -> tuple[str, float | None]:
    name, colon, weight = part.strip().rpartition(":")
    matched = _WEIGHT.fullmatch(weight.strip())
    if not colon or not matched:
        return part.strip(), None
    number, suffix = float(matched[1].replace(",", ".")), matched[2] or ""
    if suffix == "%":
        number /= 100
    elif suffix:
        divisor = float(suffix[1:].strip())
        number = number / divisor if divisor else 0.0
    return name.strip(), number
