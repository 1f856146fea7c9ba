"""Drawings by pygal, made fit for the page: no script, no style and no link of their own.

Pygal places axes, guides, lines and bars; its tree is then stripped of everything else, gets the
page's classes, markers of several shapes and labels at the ends of lines.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from markupsafe import Markup

from matchmaker.report.page.drawing_tree import finish
from matchmaker.report.page.plain_pygal import Style, pygal

if TYPE_CHECKING:
    from collections.abc import Mapping

Point = tuple[float, float]

WIDTH: Final = 400
"""Units across a drawing; its text is so many units high that a phone of 360 px shows it well."""

LETTER: Final = 17

DASHES: Final = ("", "7 4", "2 3", "10 3 2 3", "5 2")

MARKERS: Final = ("circle", "square", "triangle", "diamond", "cross")


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Points of one look: a ``line``, ``dots``, ``ranges`` (two points each), ``band``, ``limit``.

    ``here`` is a ring around one point of another curve.
    ``labels`` are written beside points, by their number in the order of ``points``; with ``ends``
    they stand at the ends of lines, and are moved to be clear of each other. ``main`` is the curve
    that all others are set beside; points in ``hollow`` are not there yet.
    """

    name: str
    points: tuple[Point, ...]
    look: int = 0
    kind: str = "line"
    labels: Mapping[int, str] = field(default_factory=dict)
    ends: bool = True
    main: bool = False
    hollow: frozenset[int] = frozenset()

    @property
    def dash(self) -> str:
        """How the line is broken, "" if it is not."""
        return "6 4" if self.kind == "limit" else DASHES[self.look % len(DASHES)]

    @property
    def marker(self) -> str:
        """The shape of its points, "" where they are not shown."""
        if self.kind == "here":
            return "ring"
        return MARKERS[self.look % len(MARKERS)] if self.kind in {"line", "dots"} else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """An axis: what it counts, its ends and the numbers written along it."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A drawing of curves over two axes; ``title`` and ``words`` are read out in its place."""

    key: str
    title: str
    words: str
    x: Axis
    y: Axis
    curves: tuple[Curve, ...]
    height: int = 270


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """Bars in groups: for every row one bar of each of ``series``, with its number in words."""

    key: str
    title: str
    words: str
    rows: tuple[str, ...]
    series: tuple[tuple[str, tuple[float, ...]], ...]
    texts: tuple[tuple[str, ...], ...]


def draw(plot: Plot) -> Markup:
    """The drawing of some curves as markup."""
    room = max((len(text) for one in plot.curves for text in one.labels.values()), default=0)
    chart = pygal.XY(
        **_plain(plot.height),
        xrange=(plot.x.low, plot.x.high),
        range=(plot.y.low, plot.y.high),
        x_labels=_ticks(plot.x),
        y_labels=_ticks(plot.y),
        x_title=plot.x.title,
        margin_right=min(12 + round(0.58 * LETTER * room), 130),
    )
    for curve in plot.curves:
        chart.add(
            curve.name,
            list(curve.points),
            fill=curve.kind == "band",
            stroke=curve.kind not in {"dots", "here"},
            show_dots=bool(curve.marker or curve.labels),
        )
    chart.add_xml_filter(lambda tree: finish(tree, plot))
    return _rendered(chart)


def draw_bars(bars: Bars) -> Markup:
    """The drawing of some bars as markup."""
    height = 40 + len(bars.rows) * (18 + 22 * len(bars.series))
    room = 2 + max((len(text) for texts in bars.texts for text in texts), default=0)
    most = max((max(values) for _, values in bars.series if values), default=0.0)
    chart = pygal.HorizontalBar(
        **_plain(height),
        range=(0, most or 1.0),
        show_x_labels=False,
        show_y_guides=False,
        margin_right=round(0.6 * LETTER * room),
    )
    chart.x_labels = [clipped(row) for row in reversed(bars.rows)]
    for name, values in bars.series:
        chart.add(name, list(reversed(values)))
    chart.add_xml_filter(lambda tree: finish(tree, bars))
    return _rendered(chart)


def _plain(height: int) -> dict[str, Any]:
    """What all charts have in common: nothing that is not drawn."""
    letters = Style(label_font_size=LETTER, major_label_font_size=LETTER, title_font_size=13)
    return {
        "js": [],
        "css": [],
        "style": letters,
        "show_legend": False,
        "width": WIDTH,
        "height": height,
        "margin": 6,
        "margin_top": 28,
        "disable_xml_declaration": True,
        "show_x_guides": False,
        "no_prefix": True,
        "truncate_label": -1,
    }


def _ticks(axis: Axis) -> list[dict[str, Any]]:
    return [{"value": value, "label": text} for value, text in axis.ticks]


def _rendered(chart: Any) -> Markup:  # noqa: ANN401 -- pygal has no types
    text: str = chart.render(is_unicode=True)
    return Markup(text)  # noqa: S704 -- pygal escapes all text


def clipped(name: str, most: int = 13) -> str:
    """A name short enough to stand in a drawing; its legend and table have the whole of it.

    Examples
    --------
    >>> clipped("Cedar"), clipped("A line with a very long name")
    ('Cedar', 'A line with…')
    """
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"
