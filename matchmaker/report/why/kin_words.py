"""Sentences about what makes two birds kin."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import kinship_text, percent, without_dust
from matchmaker.report.wording import listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.explain.pair import PairAnswer
    from matchmaker.flock.bird import Bird
    from matchmaker.flock.pedigree import Side
    from matchmaker.genetics.kin.wright_paths import Path, Paths
    from matchmaker.pairs.pair import Pair

TAKEN_AS_KIN: Final = "birds of a source or breed taken as kin"

MOST_FOREBEARS: Final = 4
"""Common forebears told one by one."""

MOST_WAYS: Final = 3
"""Ways to one forebear told one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """A hen and a cock with the paths that join them; ``birds`` are all of the books, by band."""

    pair: Pair
    kin: Paths
    birds: Mapping[str, Bird]


def joined(answer: PairAnswer) -> Joined:
    """What joins the pair of an answer."""
    return Joined(pair=answer.pair, kin=answer.kin, birds=answer.table.study.flock.by_band())


def kinship_heading(of: Joined) -> str:
    """The kinship of the pair, and where it comes from if no forebear is told."""
    kinship = f"Kinship {kinship_text(of.pair.kinship)}"
    if of.kin.listed:
        return f"{kinship}: what the two have in common"
    taken = f" ({TAKEN_AS_KIN})" if of.pair.kinship else ""
    return f"{kinship}: no common forebear on record{taken}"


def path_sentences(of: Joined, most: int) -> Iterator[str]:
    """The common forebears, each with its paths; what is not told one by one comes as a sum."""
    total = of.pair.kinship
    by_ancestor: dict[str, list[Path]] = defaultdict(list)
    for path in of.kin.listed:
        by_ancestor[path.ancestor].append(path)
    ranked = sorted(
        by_ancestor.items(), key=lambda item: (-sum(path.kinship for path in item[1]), item[0])
    )
    for ancestor, paths in ranked[:most]:
        part = float(sum(path.kinship for path in paths))
        yield f"{_part(part, total)}: {_ancestor(of, ancestor, paths)}"
    yield from _rest(of.kin, [paths for _, paths in ranked[most:]], total)


def _part(part: float, total: float) -> str:
    return f"{kinship_text(part)} ({percent(part / total)} of it)"


def _rest(kin: Paths, untold: Sequence[Sequence[Path]], total: float) -> Iterator[str]:
    further = without_dust(
        float(kin.others + sum(path.kinship for paths in untold for path in paths))
    )
    if further > 0:
        yield f"{_part(further, total)}: other forebears, each with less"
    if kin.before > 0:
        part = _part(float(kin.before), total)
        yield f"{part}: kinship from before the records ({TAKEN_AS_KIN})"


def _ancestor(of: Joined, ancestor: str, paths: Sequence[Path]) -> str:
    pair = of.pair
    if ancestor == pair.cock:
        return f"he is {_some([_role(of, path.first, 'her') for path in paths])}"
    if ancestor == pair.hen:
        return f"she is {_some([_role(of, path.second, 'his') for path in paths])}"
    ways = [f"{_role(of, path.first, 'her')} and {_role(of, path.second, 'his')}" for path in paths]
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


def _role(of: Joined, way: Sequence[str], owner: str) -> str:
    """A forebear as "her dam's sire", with the birds between in brackets."""
    roles: list[Side] = ["sire" if of.birds[band].sex is Sex.COCK else "dam" for band in way[1:]]
    between = way[1:-1]
    over = f" (by {', '.join(between)})" if between else ""
    return (
        f"{owner} {chr(39).join(roles) if len(roles) == 1 else (chr(39) + 's ').join(roles)}{over}"
    )
