"""When to stop: what another backcross is worth to each line, in numbers."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.rules import Rule
from matchmaker.report.numbers import kinship_text, percent, share_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import PAIR_STATES, breed_name, listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import Console

    from matchmaker.report.documents import Document
    from matchmaker.route.stopping import Finished, Stopping

SURE: Final = 0.95
"""Chance with which a cock and a hen with the whole target are among so many chicks."""

MOST_CHICKS: Final = 1_000_000
"""Beyond this many chicks nobody counts."""


def print_stopping(console: Console, lines: Sequence[Stopping], breed: str) -> None:
    """Print two rows a line: finished birds now, and after another backcross."""
    if not lines:
        return
    say(console, "When to stop: intercross now, or after one more backcross?", style="bold")
    columns = (
        Column(heading="Line"),
        Column(heading="Hatched", number=True),
        Column(heading=breed_name(breed), number=True),
        Column(heading="95 in 100", number=True),
        Column(heading="Piece", number=True),
        Column(heading="Inbreeding", number=True),
        Column(heading="Chance", number=True),
        Column(heading="Chicks", number=True),
    )
    print_rows(console, columns, [row for line in lines for row in _rows(line)])
    say(
        console,
        f"Hatched: the spring in which the first birds with all the wanted copies hatch. "
        f"{breed_name(breed)}: "
        "their expected share, and between which shares 95 in 100 of them lie. Piece: the "
        "donor's chromosome around the gene, in centimorgans. Inbreeding: theirs, 0 to 1, mean "
        "of the pairs. Pairs are those most likely to give such birds within the limit on kinship, "
        "the least related first. Chance: that a chick of theirs is one. Chicks: hatched for a "
        f"cock and a hen of the kind with {percent(SURE)}. This spring's parents count by what is "
        "known of them; those of a backcross are taken as known to carry, by their looks, their "
        "parents or a test.",
    )
    for line in lines:
        for sentence in sentences(line):
            say(console, sentence)
    say(
        console,
        "Common practice, no source: three backcrosses for use, four or five for showing; "
        "stop earlier where nobody can tell the birds from the breed, and where a line's "
        "inbreeding or its hatch gets worse. Then intercross lines with each other, and prove the "
        "birds that show.",
    )


def sentences(line: Stopping) -> Iterator[str]:
    """Yield what the two rows of a line come to, and why one of them is missing."""
    for when, rejected in line.why_not.items():
        spring = "this spring" if when == "now" else "after another backcross"
        yield f"{line.line}: no intercross {spring}: {_why_not(rejected)}."
    if line.now is None or line.later is None:
        return
    points = 100 * (line.later.share.share - line.now.share.share)
    word = "more" if points >= 0 else "fewer"
    shorter = [
        f"{line.now.pieces[locus] - piece:.0f} cM of the piece around {locus}"
        for locus, piece in line.later.pieces.items()
        if line.now.pieces.get(locus, 0.0) - piece >= 0.5
    ]
    takes = f", {listed(shorter)} less" if shorter else ""
    better = _later_is_better(line.now, line.later)
    yield (
        f"{line.line}: one more backcross gives {abs(points):.0f} points {word}{takes}, a season "
        f"later. Of two such birds, one of each way, the later one has the larger share in "
        f"{_in_100(better)} of 100."
    )
    alone = [f"{locus} alone {percent(chance)}" for locus, chance in line.now.gene_chances.items()]
    if len(alone) > 1:
        yield f"{line.line}, chance by gene this spring: {', '.join(alone)}."


def chicks_for_both(cock: float, hen: float, sure: float = SURE) -> int | None:
    """Return the least number of chicks that hold a cock and a hen of the kind so surely.

    ``cock`` and ``hen`` are the chances that a chick is one; ``None`` where it takes more than a
    million, or cannot be.

    Notes
    -----
    1 − (1−c)ⁿ − (1−h)ⁿ + (1−c−h)ⁿ, exact, by halving.

    Examples
    --------
    >>> chicks_for_both(0.5, 0.5), chicks_for_both(0.125, 0.125), chicks_for_both(0.25, 0.0)
    (6, 28, None)
    """

    def chance(chicks: int) -> float:
        neither = (1 - cock - hen) ** chicks
        return 1 - (1 - cock) ** chicks - (1 - hen) ** chicks + neither

    if min(cock, hen) <= 0 or chance(MOST_CHICKS) < sure:
        return None
    low, high = 1, MOST_CHICKS
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= sure else (middle + 1, high)
    return low


def stopping_entries(lines: Sequence[Stopping]) -> list[Document]:
    """The lines in the document of ``route``."""
    return [
        {
            "line": line.line,
            "backcross_pairs": line.backcrossed,
            "now": _entry(line.now),
            "later": _entry(line.later),
            "why_not": {when: dict(rules) for when, rules in line.why_not.items()},
        }
        for line in lines
    ]


def _rows(line: Stopping) -> Iterator[list[str]]:
    name = line.line
    for way in (line.now, line.later):
        if way is None:
            continue
        yield [
            name,
            str(way.season),
            share_text(way.share.share),
            f"{100 * way.share.low:.0f}–{100 * way.share.high:.0f} %",
            "/".join(f"{piece:.0f}" for piece in way.pieces.values()) or "–",
            kinship_text(way.inbreeding),
            _chance(sum(way.chances.values())),
            _chicks(way.chances),
        ]
        name = ""


def _chance(chance: float) -> str:
    return percent(chance) if chance >= 0.01 else percent(chance, 2)


def _chicks(chances: Mapping[Sex, float]) -> str:
    number = chicks_for_both(chances[Sex.COCK], chances[Sex.HEN])
    return "none" if number is None else f"{number:,}"


def _in_100(chance: float) -> str:
    return "more than 99" if chance > 0.99 else f"{100 * chance:.0f}"


def _later_is_better(now: Finished, later: Finished) -> float:
    spread = (now.share.deviation**2 + later.share.deviation**2) ** 0.5
    ahead = later.share.share - now.share.share
    if spread == 0:
        return 0.5 if ahead == 0 else float(ahead > 0)
    return NormalDist().cdf(ahead / spread)


def _why_not(rejected: Mapping[str, int]) -> str:
    if not rejected:
        return "there is no hen of it and no cock of another line to pair"
    most = sorted(rejected.items(), key=lambda item: (-item[1], item[0]))
    return ", ".join(f"{PAIR_STATES[Rule(rule)]} ({count})" for rule, count in most)


def _entry(way: Finished | None) -> Document | None:
    if way is None:
        return None
    return {
        "season": way.season,
        "pairs": [{"hen": hen, "cock": cock} for hen, cock in way.pairs],
        "share": way.share.share,
        "deviation": way.share.deviation,
        "pieces": dict(way.pieces),
        "inbreeding": way.inbreeding,
        "least_kinship": way.least,
        "chances": {sex.value: chance for sex, chance in way.chances.items()},
        "gene_chances": dict(way.gene_chances),
        "chicks": chicks_for_both(way.chances[Sex.COCK], way.chances[Sex.HEN]),
    }
