"""Drawings of the page read back: points, bars and labels, by the numbers along their axes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from matchmaker.plan.season.season_plan import plan_season
from matchmaker.rebalance.spares import Precautions
from matchmaker.reporting import SeasonReport
from matchmaker.season.guide import season_guide

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.pairs.table import PairTable

SVG = "{http://www.w3.org/2000/svg}"
PAIR = re.compile(r"(-?[\d.]+) (-?[\d.]+)")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing as a reader sees it: every group of marks by its class, in the axes' numbers."""

    root: ET.Element

    @classmethod
    def of(cls, markup: str) -> Drawn:
        """Read the markup; it must be sound."""
        return cls(ET.fromstring(str(markup)))  # noqa: S314 -- our own

    def groups(self, kind: str) -> list[ET.Element]:
        """The groups of one kind of mark, in the order in which they are drawn."""
        return [
            group
            for group in self.root.iter(f"{SVG}g")
            if kind in (group.get("class") or "").split()
        ]

    def dots(self, kind: str = "line") -> list[list[tuple[float, float]]]:
        """The markers of every curve, in the axes' numbers."""
        found = []
        for group in self.groups(kind):
            marks = [
                one
                for one in group.iter(f"{SVG}path")
                if (one.get("class") or "").startswith("dot")
            ]
            places = [_pair(mark.get("transform") or "") for mark in marks]
            found.append([self.value(place) for place in places])
        return [points for points in found if points]

    def paths(self, kind: str) -> list[list[tuple[float, float]]]:
        """The corners of the paths of every curve, in the axes' numbers."""
        found = []
        for group in self.groups(kind):
            for path in group.iter(f"{SVG}path"):
                if not (path.get("class") or "").startswith("dot"):
                    corners = PAIR.findall(path.get("d") or "")
                    found.append([self.value((float(x), float(y))) for x, y in corners])
        return found

    def value(self, place: tuple[float, float]) -> tuple[float, float]:
        """A place of the drawing in the numbers of its axes."""
        return self._scale("x", 0)(place[0]), self._scale("y", 1)(place[1])

    def _scale(self, axis: str, at: int) -> Callable[[float], float]:
        known = []
        for group in self.root.iter(f"{SVG}g"):
            if (group.get("class") or "").split()[:2] != ["axis", axis]:
                continue
            for guide in group:
                path, text = guide.find(f"{SVG}path"), guide.find(f"{SVG}text")
                if path is not None and text is not None:
                    known.append((_pair(path.get("d") or "")[at], float(text.text or "")))
        (a, first), (b, last) = known[0], known[-1]
        return lambda place: first + (last - first) * (place - a) / (b - a)

    def texts(self, name: str = "end") -> list[str]:
        """The labels of one class."""
        return [one.text or "" for one in self.root.iter(f"{SVG}text") if one.get("class") == name]


def _pair(text: str) -> tuple[float, float]:
    match = PAIR.search(text)
    assert match is not None, text
    return float(match[1]), float(match[2])


def quick_report(table: PairTable) -> SeasonReport:
    """What pictures are drawn from; costs and the loss of cocks, which take long, are left out."""
    day = table.study.flock.settings.collect_from
    nothing = Precautions(day=day, losses=(), chances={}, wanted=0, kept=(), lines=())
    return SeasonReport(
        plan=plan_season(table), guide=season_guide(table), care=nothing, costs=None
    )
