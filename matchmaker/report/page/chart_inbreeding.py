"""Inbreeding of the young of every season, line by line, and what this plan would add."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING

from matchmaker.report.numbers import kinship_text
from matchmaker.report.page.drawing import Curve, Plot, clipped
from matchmaker.report.page.figure import Picture, Table
from matchmaker.report.page.line_picture import line_picture
from matchmaker.report.page.scales import axis, whole_axis
from matchmaker.report.wording import counted, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Inbred:
    """The young of a line in one season (or the chicks expected): number, mean, largest."""

    line: str
    season: int
    birds: int
    mean: float
    most: float
    expected: bool = False


def inbreeding_by_season(plan: SeasonPlan) -> tuple[Inbred, ...]:
    """Birds of the books by line and year of hatching, then the chicks of the plan."""
    study = plan.table.study
    dated = [bird for bird in study.flock.birds if bird.hatched is not None]
    inbreeding = study.kinship_with(bird.band for bird in dated).inbreeding()
    groups: defaultdict[tuple[str, int], list[float]] = defaultdict(list)
    for bird in dated:
        if bird.hatched is not None:
            groups[bird.line, bird.hatched.year].append(max(inbreeding[bird.band], 0.0))
    found = [
        Inbred(line=line, season=season, birds=len(all_), mean=fmean(all_), most=max(all_))
        for (line, season), all_ in sorted(groups.items())
    ]
    return (*found, *_chicks(plan))


def _chicks(plan: SeasonPlan) -> Iterable[Inbred]:
    pairs = [pair for pen in plan.pens for pair in pen.pairs if pair.line]
    for line in sorted({pair.line or "" for pair in pairs}):
        own = [pair.kinship for pair in pairs if pair.line == line]
        yield Inbred(
            line=line,
            season=plan.table.study.flock.settings.season,
            birds=len(own),
            mean=plan.mean_kinship(line),
            most=max(own),
            expected=True,
        )


def limits_of(settings: Settings, lines: Iterable[str]) -> dict[float, list[str]]:
    """The limits of kinship in force, each with the lines that have it."""
    found: dict[float, list[str]] = {}
    for line in lines:
        own = settings.line(line).kinship_max
        found.setdefault(settings.limits.kinship_max if own is None else own, []).append(line)
    return found


def inbreeding_picture(plan: SeasonPlan) -> Picture:
    """Mean and largest inbreeding per line and season, with the limit."""
    title = "Inbreeding, season by season"
    found = inbreeding_by_season(plan)
    if not found:
        sentence = "No bird has a hatch date, and no chicks are planned: there is nothing to draw."
        return Picture(key="inbreeding", title=title, sentences=(sentence,))
    lines = sorted({one.line for one in found})
    limits = limits_of(plan.table.study.flock.settings, lines)
    sentences = tuple(_sentences(found, limits))
    seasons = [one.season for one in found]
    curves = (*_limit_curves(limits, seasons), *_curves(found, lines))
    plot = Plot(
        key="inbreeding",
        title=title,
        words=" ".join(sentences),
        x=whole_axis("Year hatched", set(seasons)),
        y=axis("Inbreeding", [*(one.most for one in found), *limits], "{:g}".format, zero=True),
        curves=curves,
    )
    return line_picture(plot, sentences, _table(found))


def _limit_curves(limits: dict[float, list[str]], seasons: Sequence[int]) -> Iterable[Curve]:
    ends = (min(seasons) - 0.35, max(seasons) + 0.35)
    for limit, lines in sorted(limits.items()):
        whose = "" if len(limits) == 1 else f" of {listed(lines)}"
        points = tuple((end, limit) for end in ends)
        yield Curve(
            name=f"Limit {limit:g}{whose}", points=points, kind="limit", labels={1: "limit"}
        )


def _curves(found: Sequence[Inbred], lines: Sequence[str]) -> Iterable[Curve]:
    for at, line in enumerate(lines):
        own = [one for one in found if one.line == line]
        shift = 0.1 * (at - (len(lines) - 1) / 2) if len(lines) < 7 else 0.0
        ends = tuple((one.season + shift, end) for one in own for end in (one.mean, one.most))
        points = tuple((one.season + shift, one.mean) for one in own)
        yield Curve(name="", points=ends, look=at, kind="ranges")
        yield Curve(
            name=line,
            points=points,
            look=at,
            labels={len(points) - 1: clipped(line)},
            hollow=frozenset(number for number, one in enumerate(own) if one.expected),
        )


def _sentences(found: Sequence[Inbred], limits: dict[float, list[str]]) -> Iterable[str]:
    chicks = sorted((one for one in found if one.expected), key=lambda one: -one.mean)
    if chicks and kinship_text(chicks[0].mean) == "0":
        yield "No line's chicks would be inbred by the tables."
    elif len(chicks) > 1:
        told = ", then ".join(f"{one.line} {kinship_text(one.mean)}" for one in chicks[1:])
        yield (
            f"{chicks[0].line}'s chicks would be the most inbred of this plan, "
            f"{kinship_text(chicks[0].mean)} on average; {told}."
        )
    elif chicks:
        yield f"{chicks[0].line}'s chicks would have {kinship_text(chicks[0].mean)} on average."
    worst = max(found, key=lambda one: one.most)
    who = "expected of this plan" if worst.expected else f"hatched in {worst.season}"
    yield f"The largest of all is {kinship_text(worst.most)}, in {worst.line}, {who}."
    told = listed(f"{limit:g}" for limit in sorted(limits))
    yield (
        "Points are means, strokes reach up to the most inbred bird; hollow points are the chicks "
        f"expected. Limit for new pairs: {told}."
    )


def _table(found: Sequence[Inbred]) -> Table:
    rows = tuple(
        (
            one.line,
            "chicks of this plan" if one.expected else "birds in the tables",
            str(one.season),
            counted(one.birds, "pair" if one.expected else "bird"),
            kinship_text(one.mean),
            kinship_text(one.most),
        )
        for one in found
    )
    heads = ("Line", "Who", "Season", "Number", "Mean", "Largest")
    return Table(caption="Inbreeding, 0 to 1", heads=heads, rows=rows, words=2)
