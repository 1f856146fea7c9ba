"""Legends: every look with the whole name it stands for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.page.drawing_tree import SHAPES
from matchmaker.report.page.figure import Sample

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.report.page.drawing import Curve


def samples(curves: Iterable[Curve]) -> tuple[Sample, ...]:
    """One sample for every curve that has a name."""
    return tuple(
        Sample(
            name=curve.name,
            look=curve.look % 6,
            kind=curve.kind,
            dash=curve.dash,
            marker=SHAPES.get(curve.marker, ""),
        )
        for curve in curves
        if curve.name
    )
