"""Figures of the page: drawings as the tool's own page has them, with the numbers behind them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.drawing import Axis, Curve, Plot
from matchmaker.report.page.figure import Table
from matchmaker.report.page.scales import axis, whole_axis
from tests.validation.checks import Figure

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Series = tuple[float, ...]


def number(value: float) -> str:
    """A number for an axis, with no more digits than it needs.

    Examples
    --------
    >>> number(0.25), number(-40.0), number(1e-9)
    ('0.25', '−40', '1e−09')
    """
    return f"{value:.4g}".replace("-", "−")


def by_generation(
    key: str,
    title: str,
    words: str,
    curves: Mapping[str, Sequence[float]],
    outside: Mapping[str, Sequence[float]],
    *,
    counted: str,
    x_title: str = "generation",
    first: int = 0,
    ranges: Mapping[str, Sequence[tuple[float, float]]] | None = None,
    zero: bool = True,
) -> Figure:
    """Lines through the outside figures, and our own as points on them, with ranges about them.

    Where there are ranges, each further series stands a little to the right of the one before.
    """
    drawn: list[Curve] = []
    for look, (name, values) in enumerate(outside.items()):
        line = tuple(enumerate(map(float, values), first))
        aside = 0.14 * look if ranges else 0.0
        own = tuple((at + aside, float(value)) for at, value in enumerate(curves[name], first))
        known = "outside figures" if not look else ""
        drawn.append(Curve(name=known, points=line, look=look, kind="limit"))
        drawn.append(Curve(name=f"ours, {name}", points=own, look=look, kind="dots"))
        if ranges:
            ends = [(x, y) for (x, _), both in zip(own, ranges[name], strict=True) for y in both]
            drawn.append(Curve(name="", points=tuple(ends), look=look, kind="ranges"))
    longest = max(map(len, outside.values()))
    every = [value for curve in drawn for _, value in curve.points]
    plot = Plot(
        key=key,
        title=title,
        words=words,
        x=whole_axis(x_title, [first, first + longest - 1]),
        y=axis(counted, every, number, zero=zero),
        curves=tuple(drawn),
    )
    rows = tuple(
        (
            str(at + first),
            *(_cell(values, at) for name in outside for values in (curves[name], outside[name])),
        )
        for at in range(longest)
    )
    heads = (x_title, *(f"{name}, {whose}" for name in outside for whose in ("ours", "outside")))
    return Figure(plot=plot, words=words, table=Table(caption=title, heads=heads, rows=rows))


def about(means: Sequence[float], errors: Sequence[float]) -> list[tuple[float, float]]:
    """Five standard errors to either side of means.

    Examples
    --------
    >>> about([1.0], [0.1])
    [(0.5, 1.5)]
    """
    return [(mean - 5 * error, mean + 5 * error) for mean, error in zip(means, errors, strict=True)]


def _cell(values: Sequence[float], at: int) -> str:
    return f"{float(values[at]):.5f}" if at < len(values) else ""


def against(
    key: str,
    title: str,
    words: str,
    pairs: Iterable[tuple[str, float, float]],
    *,
    counted: str,
    digits: int = 6,
    heads: tuple[str, str, str] = ("case", "outside", "ours"),
) -> Figure:
    """Our figures above the outside ones: all would lie on the line where the two are the same."""
    found = list(pairs)
    points = tuple((outside, ours) for _, outside, ours in found)
    every = [value for point in points for value in point]
    across = axis(f"{counted}, outside", every, number)
    up = axis(f"{counted}, ours", every, number)
    line = ((across.low, across.low), (across.high, across.high))
    plot = Plot(
        key=key,
        title=title,
        words=words,
        x=across,
        y=up,
        curves=(
            Curve(name="where both are the same", points=line, kind="limit"),
            Curve(name=f"each {heads[0]}", points=points, look=0, kind="dots"),
        ),
    )
    rows = tuple(
        (name, f"{outside:.{digits}f}", f"{ours:.{digits}f}") for name, outside, ours in found
    )
    return Figure(plot=plot, words=words, table=Table(caption=title, heads=heads, rows=rows))


def row_of_ranges(
    key: str,
    title: str,
    words: str,
    rows: Sequence[tuple[str, float, float, float]],
    *,
    counted: str,
    heads: tuple[str, str, str, str],
) -> Figure:
    """A line of cases: of each the value found, in the range in which nine or more in ten lie.

    ``rows`` are (case, low, found, high); the cases are numbered below the drawing.
    """
    ranges = tuple(
        (float(at), end) for at, (_, low, _, high) in enumerate(rows, 1) for end in (low, high)
    )
    dots = tuple((float(at), found) for at, (_, _, found, _) in enumerate(rows, 1))
    every = [value for _, value in (*ranges, *dots)]
    places = range(1, len(rows) + 1)
    plot = Plot(
        key=key,
        title=title,
        words=words,
        x=Axis(
            title="number of the case",
            low=0.4,
            high=len(rows) + 0.6,
            ticks=tuple((float(at), str(at)) for at in places if at % (1 + len(rows) // 12) == 0),
        ),
        y=axis(counted, every, number),
        curves=(
            Curve(name=heads[1], points=ranges, look=1, kind="ranges"),
            Curve(name=heads[2], points=dots, look=0, kind="dots"),
        ),
    )
    table = Table(
        caption=title,
        heads=("number", heads[0], heads[3], heads[2]),
        rows=tuple(
            (str(at), name, f"{low:.3g} to {high:.3g}", f"{found:.4g}")
            for at, (name, low, found, high) in enumerate(rows, 1)
        ),
        words=2,
    )
    return Figure(plot=plot, words=words, table=table)
