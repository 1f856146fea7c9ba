"""The recurrent breed's share, cross by cross, beside what plain backcrossing gives."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import share_text
from matchmaker.report.page.drawing import Axis, Curve, Plot, clipped
from matchmaker.report.page.figure import Picture, Table
from matchmaker.report.page.line_picture import line_picture
from matchmaker.report.page.scales import whole_axis
from matchmaker.report.wording import breed_name, counted, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.plan.season.season_plan import SeasonPlan

PURE: Final = 1 - 1e-9
"""A share from which a bird is of the recurrent breed alone."""

MOST_CROSSES: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Birds (or chicks expected) of one line after so many crosses: how many, and their shares."""

    line: str
    crosses: int
    birds: int
    mean: float
    low: float
    high: float
    expected: bool = False


def plain_share(crosses: int) -> float:
    """The recurrent share after a first cross and so many crosses back, 1 − ½^(n + 1).

    With n = 0 for the first cross: half of what is foreign goes with every cross.

    Examples
    --------
    >>> [plain_share(crosses) for crosses in (0, 1, 2, 3)]
    [0.5, 0.75, 0.875, 0.9375]
    """
    return 1 - 0.5 ** (crosses + 1)


def crosses_of(pedigree: Pedigree, shares: Mapping[str, float], recurrent: str) -> dict[str, float]:
    """How many crosses back lie behind each bird that is not pure, counted on its longest side.

    A founder stands where plain backcrossing would have its share, one that has none of the
    recurrent breed at −1; the chicks of two birds stand one cross above the higher of them, pure
    ones left out. Several possible parents count by their chances.
    """
    found: list[float | None] = [None if one.breed == recurrent else -1.0 for one in pedigree.pools]
    for bird, sires, dams in zip(pedigree.birds, pedigree.sires, pedigree.dams, strict=True):
        if shares[bird] >= PURE:
            found.append(None)
            continue
        sides = [side for links in (sires, dams) if (side := _side(found, links)) is not None]
        above = [node for node, _ in (*sires, *dams)]
        if max(above, default=0) < pedigree.first_bird:
            found.append(-math.log2(1 - shares[bird]) - 1)
        else:
            found.append(1 + max(sides, default=-1.0))
    bred = zip(pedigree.birds, found[pedigree.first_bird :], strict=True)
    return {bird: crosses for bird, crosses in bred if crosses is not None}


def _side(found: Sequence[float | None], links: Links) -> float | None:
    """Mean over the possible parents of one side that are not pure; None where all are."""
    known = [(chance, here) for node, chance in links if (here := found[node]) is not None]
    total = sum(chance for chance, _ in known)
    return sum(chance * here for chance, here in known) / total if total else None


def shares_by_cross(plan: SeasonPlan) -> tuple[Shares, ...]:
    """All birds of the books by line and crosses, then the chicks that the plan would bring."""
    study = plan.table.study
    pedigree, share = study.flock.pedigree, study.recurrent_share
    crosses = crosses_of(pedigree, share, study.flock.settings.recurrent)
    groups: defaultdict[tuple[str, int], list[float]] = defaultdict(list)
    for bird in study.flock.birds:
        if bird.band in crosses:
            groups[bird.line, max(_nearest(crosses[bird.band]), -1)].append(share[bird.band])
    found = [_group(line, at, shares) for (line, at), shares in sorted(groups.items())]
    return (*found, *_chicks(plan, crosses))


def _chicks(plan: SeasonPlan, crosses: Mapping[str, float]) -> Iterable[Shares]:
    bred: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
    for pair in (pair for pen in plan.pens for pair in pen.pairs):
        above = [crosses[bird] for bird in (pair.hen, pair.cock) if bird in crosses]
        if pair.line and above and pair.recurrent_share < PURE:
            bred[pair.line].append((1 + max(above), pair.recurrent_share))
    for line, pairs in sorted(bred.items()):
        at = _nearest(fmean(crosses for crosses, _ in pairs))
        yield _group(line, at, [share for _, share in pairs], expected=True)


def _group(line: str, crosses: int, shares: Sequence[float], *, expected: bool = False) -> Shares:
    return Shares(
        line=line,
        crosses=crosses,
        birds=len(shares),
        mean=fmean(shares),
        low=min(shares),
        high=max(shares),
        expected=expected,
    )


def _nearest(crosses: float) -> int:
    return min(math.floor(crosses + 0.5), MOST_CROSSES)


def shares_picture(plan: SeasonPlan) -> Picture:
    """Shares by cross: mean and range per line, this plan's chicks last, and the plain series."""
    breed = breed_name(plan.table.study.flock.settings.recurrent)
    found = [one for one in shares_by_cross(plan) if one.crosses >= 0]
    title = f"How much {breed}: share by number of crosses"
    if not found:
        sentence = f"Every bird in the tables is {breed} alone: no share is left to win."
        return Picture(key="shares", title=title, sentences=(sentence,))
    lines = sorted({one.line for one in found})
    curves = _curves(found, lines)
    sentences = tuple(_sentences(found, lines, breed))
    plot = Plot(
        key="shares",
        title=title,
        words=" ".join(sentences),
        x=_crosses_axis(found),
        y=_share_axis(found, breed),
        curves=curves,
    )
    return line_picture(plot, sentences, _table(found, breed))


def _crosses_axis(found: Sequence[Shares]) -> Axis:
    return whole_axis("Crosses back", {one.crosses for one in found} | {0})


def _share_axis(found: Sequence[Shares], breed: str) -> Axis:
    low = 0.5 if min(one.low for one in found) >= 0.5 else 0.0
    ticks = tuple((at, f"{100 * at:g}") for at in (0.0, 0.25, 0.5, 0.625, 0.75, 0.875, 1.0))
    shown = tuple(one for one in ticks if one[0] >= low and not (low == 0 and one[0] % 0.25))
    return Axis(title=f"{breed}, %", low=low, high=1.0, ticks=shown)


def _curves(found: Sequence[Shares], lines: Sequence[str]) -> tuple[Curve, ...]:
    last = max(one.crosses for one in found)
    plain = Curve(
        name="Plain backcrossing",
        points=tuple((at, plain_share(at)) for at in range(last + 1)),
        kind="limit",
    )
    curves = [plain]
    for at, line in enumerate(lines):
        own = [one for one in found if one.line == line]
        shift = 0.16 * (at - (len(lines) - 1) / 2) if len(lines) < 7 else 0.0
        ends = tuple((one.crosses + shift, end) for one in own for end in (one.low, one.high))
        points = tuple((one.crosses + shift, one.mean) for one in own)
        curves.append(Curve(name="", points=ends, look=at, kind="ranges"))
        label = {len(points) - 1: clipped(line)}
        hollow = frozenset(number for number, one in enumerate(own) if one.expected)
        curves.append(Curve(name=line, points=points, look=at, labels=label, hollow=hollow))
    return tuple(curves)


def _sentences(found: Sequence[Shares], lines: Sequence[str], breed: str) -> Iterable[str]:
    if any(one.expected for one in found):
        yield (
            f"Hollow points are the chicks of this plan, by their share of {breed}, each pair "
            "counted once."
        )
    lasts = [[one for one in found if one.line == line][-1] for line in lines]
    for crosses in sorted({one.crosses for one in lasts}):
        told = listed(
            f"{one.line} {share_text(one.mean)}" for one in lasts if one.crosses == crosses
        )
        yield (
            f"After {_crosses_text(crosses)} plain backcrossing gives "
            f"{share_text(plain_share(crosses))}: {told}."
        )
    yield (
        "Strokes reach from the lowest to the highest expected share; a cross between two birds "
        "that are both not pure counts as a cross and wins no share."
    )


def _crosses_text(crosses: int) -> str:
    words = {0: "the first cross", 1: "one cross back"}
    return words.get(crosses, f"{crosses} crosses back")


def _table(found: Sequence[Shares], breed: str) -> Table:
    rows = tuple(
        (
            one.line,
            "chicks of this plan" if one.expected else "birds in the tables",
            str(one.crosses),
            counted(one.birds, "pair" if one.expected else "bird"),
            share_text(one.mean),
            share_text(one.low),
            share_text(one.high),
            share_text(plain_share(one.crosses)),
        )
        for one in found
    )
    heads = ("Line", "Who", "Crosses back", "Number", "Mean", "Lowest", "Highest", "Plain")
    return Table(caption=f"Expected share of {breed}", heads=heads, rows=rows, words=2)
