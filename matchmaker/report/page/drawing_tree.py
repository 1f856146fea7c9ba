"""What is done to the tree of a drawing before it is written: stripped, named, labelled."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from matchmaker.report.page.plain_pygal import etree

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.report.page.drawing import Bars, Curve, Plot

Element = Any
"""An element of the tree; pygal may take another library for it, so it has no type."""

SHAPES: Final = {
    "circle": "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0z",
    "square": "M-3.7-3.7h7.4v7.4h-7.4z",
    "triangle": "M0-5L5 4h-10z",
    "diamond": "M0-5.4L5.4 0L0 5.4L-5.4 0z",
    "ring": "M-8 0a8 8 0 1 0 16 0a8 8 0 1 0-16 0z",
    "cross": "M-5-2h3v-3h4v3h3v4h-3v3h-4v-3h-3z",
}
"""Markers around the point at which they are put."""

LOOKS: Final = 6
"""Colours of lines; dashes and markers change at other paces, so that 30 lines differ."""

APART: Final = 16.0
"""Units between the labels at the ends of two lines."""

_NUMBER: Final = re.compile(r"-?\d+\.\d{2,}")

_DROPPED: Final = {"defs", "desc", "style", "script", "title"}


def finish(tree: Element, what: Plot | Bars) -> Element:
    """Make pygal's tree fit for the page; the tree is changed and returned."""
    height = _height(tree)
    _strip(tree)
    for name in ("id", "class", "width", "height"):
        tree.attrib.pop(name, None)
    tree.set("class", "drawn")
    _announce(tree, what)
    curves = getattr(what, "curves", ())
    if curves:
        _dress(tree, curves, height)
        _head(tree, what.y.title)  # type: ignore[union-attr]
    else:
        _number_bars(tree, what)  # type: ignore[arg-type]
        _head(tree, what.title)
    _shorten(tree)
    return tree


def _height(tree: Element) -> float:
    """How high the room is in which curves are drawn."""
    plots = (group for group in tree.iter("g") if group.get("class") == "plot")
    grounds = (box for plot in plots for box in plot if box.get("class") == "background")
    return max((float(box.get("height")) for box in grounds), default=0.0)


def _strip(tree: Element) -> None:
    """Drop scripts, styles, comments, hover texts and empty groups."""
    for parent in list(tree.iter()):
        for child in list(parent):
            tag, kind = child.tag, child.get("class") or ""
            unwanted = kind == "background" or "tooltip-overlay" in kind
            if unwanted or not isinstance(tag, str) or tag in _DROPPED:
                parent.remove(child)
    for parent in list(tree.iter()):
        for child in list(parent):
            if child.tag == "g" and not len(child):
                parent.remove(child)


def _announce(tree: Element, what: Plot | Bars) -> None:
    """Give the drawing its role, title and description."""
    names = [f"picture-{what.key}-{part}" for part in ("title", "desc")]
    tree.set("role", "img")
    tree.set("aria-labelledby", " ".join(names))
    for at, (tag, name, text) in enumerate(
        zip(("title", "desc"), names, (what.title, what.words), strict=True)
    ):
        element = etree.Element(tag)
        element.set("id", name)
        element.text = text
        tree.insert(at, element)


def _series(tree: Element, at: int) -> Iterator[Element]:
    for group in tree.iter("g"):
        if f"serie-{at}" in (group.get("class") or "").split():
            yield group


def _dress(tree: Element, curves: tuple[Curve, ...], height: float) -> None:
    """Give every curve its look, dash, markers and labels."""
    ends: list[Element] = []
    for at, curve in enumerate(curves):
        for group in list(_series(tree, at)):
            group.set("class", f"{curve.kind} look-{curve.look % LOOKS}{' main' * curve.main}")
            for path in group.iter("path"):
                _dress_path(path, curve)
            labels = _mark(group, curve)
            ends += labels if curve.ends else []
    _spread(ends, height)


def _dress_path(path: Element, curve: Curve) -> None:
    path.attrib.pop("class", None)
    if curve.dash and curve.kind in {"line", "limit"}:
        path.set("stroke-dasharray", curve.dash)
    if curve.kind == "ranges":
        points = path.get("d").removeprefix("M").replace("L", " ").split()
        pairs = [" ".join(points[i : i + 2]) for i in range(0, len(points), 2)]
        path.set("d", "".join(f"{'ML'[i % 2]}{pair}" for i, pair in enumerate(pairs)))


def _mark(group: Element, curve: Curve) -> list[Element]:
    """Put markers in the place of circles, and labels beside them; the labels are returned."""
    found = []
    circles = [(parent, child) for parent in group.iter("g") for child in parent]
    for at, (parent, circle) in enumerate(one for one in circles if one[1].tag == "circle"):
        x, y = float(circle.get("cx")), float(circle.get("cy"))
        parent.remove(circle)
        parent.attrib.pop("class", None)
        if curve.marker:
            mark = etree.SubElement(parent, "path")
            mark.set("class", "dot hollow" if at in curve.hollow else "dot")
            mark.set("transform", f"translate({x:.2f} {y:.2f})")
            mark.set("d", SHAPES[curve.marker])
        if at in curve.labels:
            label = etree.SubElement(parent, "text")
            label.set("class", "end")
            right, down = (9, 5) if curve.ends else (6, 17)
            label.set("x", f"{x + right:.2f}")
            label.set("y", f"{y + down:.2f}")
            label.text = curve.labels[at]
            found.append(label)
    return found


def _spread(ends: list[Element], height: float) -> None:
    """Put the labels of lines in one column behind the last, with room between them."""
    behind = max((float(label.get("x")) for label in ends), default=0.0)
    ends.sort(key=lambda label: float(label.get("y")))
    places = apart([float(label.get("y")) for label in ends], 10.0, height)
    for label, place in zip(ends, places, strict=True):
        label.set("x", f"{behind:.2f}")
        label.set("y", f"{place:.2f}")


def apart(places: list[float], low: float, high: float) -> list[float]:
    """Places in rising order, moved as little as need be until each has room between two ends.

    Where there is not room for all, they stand closer.

    Examples
    --------
    >>> apart([40.0, 42.0, 90.0], 0.0, 100.0)
    [33.0, 49.0, 90.0]
    >>> apart([1.0, 2.0], 0.0, 100.0), apart([95.0, 99.0], 0.0, 100.0), apart([], 0.0, 100.0)
    ([0.0, 16.0], [84.0, 100.0], [])
    """
    room = min(APART, (high - low) / max(len(places) - 1, 1))
    found = _blocks(places, room)
    for at in range(len(found)):
        found[at] = max(found[at], low + at * room)
    for at in range(len(found)):
        found[-1 - at] = min(found[-1 - at], high - at * room)
    return found


def _blocks(places: list[float], room: float) -> list[float]:
    """Neighbours that are too close stand side by side around their common middle."""
    blocks: list[tuple[float, int]] = []
    for place in places:
        middle, size = place, 1
        while blocks and middle - size * room / 2 < blocks[-1][0] + blocks[-1][1] * room / 2:
            above, more = blocks.pop()
            middle = (middle * size + above * more) / (size + more)
            size += more
        blocks.append((middle, size))
    return [middle + (at - (size - 1) / 2) * room for middle, size in blocks for at in range(size)]


def _head(tree: Element, title: str) -> None:
    """Write what the upright axis counts above it, to be read without turning the head."""
    text = etree.SubElement(tree, "text")
    text.set("class", "head")
    text.set("x", "2")
    text.set("y", "15")
    text.text = title


def _number_bars(tree: Element, bars: Bars) -> None:
    """Write at the end of each bar its number."""
    for at, texts in enumerate(bars.texts):
        for group in list(_series(tree, at)):
            group.set("class", f"bar bar-{at}")
            boxes = list(group.iter("rect"))
            for box, text in zip(boxes, reversed(texts), strict=True):
                box.attrib.pop("class", None)
                label = etree.SubElement(group, "text")
                label.set("class", "end")
                x, y, width, height = (
                    _measure(box, name) for name in ("x", "y", "width", "height")
                )
                label.set("x", f"{x + width + 6:.2f}")
                label.set("y", f"{y + height / 2 + 5:.2f}")
                label.text = text


def _measure(box: Element, name: str) -> float:
    """A measure of a bar; pygal leaves out those that are 0."""
    return float(box.get(name) or 0.0)


def _shorten(tree: Element) -> None:
    """Two decimals are plenty for a drawing 400 units wide."""
    for element in tree.iter():
        for name, value in element.attrib.items():
            if name not in {"aria-labelledby", "class", "id"} and "." in value:
                element.set(name, _NUMBER.sub(lambda m: f"{float(m[0]):.2f}", value))
