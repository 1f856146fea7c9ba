"""Sentences about what makes two birds kin."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.wording import listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.explain.pair import PairAnswer
    from matchmaker.genetics.kin.forebears import Side
    from matchmaker.genetics.kin.wright_paths import Path, Paths

TAKEN_AS_KIN: Final = "birds of a source or breed taken as kin"

MOST_WAYS: Final = 3
"""Ways to one forebear told one by one."""


def kinship_heading(answer: PairAnswer) -> str:
    """The kinship of the pair, and where it comes from if no forebear is told."""
    kinship = f"Kinship {kinship_text(answer.pair.kinship)}"
    if answer.kin.listed:
        return f"{kinship}: what the two have in common"
    taken = f" ({TAKEN_AS_KIN})" if answer.pair.kinship else ""
    return f"{kinship}: no common forebear on record{taken}"


def path_sentences(answer: PairAnswer, most: int) -> Iterator[str]:
    """The common forebears, each with its paths; what is not told one by one comes as a sum."""
    total = answer.pair.kinship
    by_ancestor: dict[str, list[Path]] = defaultdict(list)
    for path in answer.kin.listed:
        by_ancestor[path.ancestor].append(path)
    ranked = sorted(
        by_ancestor.items(), key=lambda item: (-sum(path.kinship for path in item[1]), item[0])
    )
    for ancestor, paths in ranked[:most]:
        part = float(sum(path.kinship for path in paths))
        yield f"{_part(part, total)}: {_ancestor(answer, ancestor, paths)}"
    yield from _rest(answer.kin, [paths for _, paths in ranked[most:]], total)


def _part(part: float, total: float) -> str:
    return f"{kinship_text(part)} ({percent(part / total)} of it)"


def _rest(kin: Paths, untold: Sequence[Sequence[Path]], total: float) -> Iterator[str]:
    further = float(kin.others + sum(path.kinship for paths in untold for path in paths))
    if further > 0:
        yield f"{_part(further, total)}: other forebears, each with less"
    if kin.before > 0:
        part = _part(float(kin.before), total)
        yield f"{part}: kinship from before the records ({TAKEN_AS_KIN})"


def _ancestor(answer: PairAnswer, ancestor: str, paths: Sequence[Path]) -> str:
    pair = answer.pair
    if ancestor == pair.cock:
        return f"he is {_some([_role(answer, path.first, 'her') for path in paths])}"
    if ancestor == pair.hen:
        return f"she is {_some([_role(answer, path.second, 'his') for path in paths])}"
    ways = [
        f"{_role(answer, path.first, 'her')} and {_role(answer, path.second, 'his')}"
        for path in paths
    ]
    if len(ways) == 1:
        return f"both go back to {ancestor}, {ways[0]}"
    times = {2: "twice", 3: "three times"}.get(len(ways), f"{len(ways)} times")
    parts = [
        f"{kinship_text(float(path.kinship))} as {way}"
        for path, way in zip(paths, ways, strict=True)
    ]
    return f"both go back to {ancestor} {times}: {_some(parts, '; ')}"


def _some(parts: Sequence[str], between: str = "") -> str:
    """The first few of these, and how many more there are."""
    more = len(parts) - MOST_WAYS
    if more <= 0:
        return between.join(parts) if between else listed(parts)
    smaller = f"{more} smaller {'way' if more == 1 else 'ways'}"
    return f"{(between or ', ').join(parts[:MOST_WAYS])} and {smaller}"


def _role(answer: PairAnswer, way: Sequence[str], owner: str) -> str:
    """A forebear as "her dam's sire", with the birds between in brackets."""
    birds = answer.table.study.flock.by_band()
    roles: list[Side] = ["sire" if birds[band].sex is Sex.COCK else "dam" for band in way[1:]]
    between = way[1:-1]
    over = f" (by {', '.join(between)})" if between else ""
    return (
        f"{owner} {chr(39).join(roles) if len(roles) == 1 else (chr(39) + 's ').join(roles)}{over}"
    )
