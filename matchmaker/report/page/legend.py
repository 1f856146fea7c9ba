"""Legends: every look with the whole name it stands for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.report.page.drawing_tree import LOOKS, SHAPES
from matchmaker.report.page.figure import Sample

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.report.page.drawing import Curve


HOLLOW: Final = Sample(
    name="hollow: chicks expected of this plan", look=0, kind="hollow", marker=SHAPES["circle"]
)


def samples(curves: Iterable[Curve]) -> tuple[Sample, ...]:
    """One sample for every curve that has a name."""
    return tuple(
        Sample(
            name=curve.name,
            look=curve.look % LOOKS,
            kind=curve.kind,
            dash=curve.dash,
            marker=SHAPES.get(curve.marker, ""),
        )
        for curve in curves
        if curve.name
    )
