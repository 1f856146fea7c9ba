"""The list of findings on the screen: those alike together, a long tail in a line."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.errors import CellMend, Fault
from matchmaker.mends.effects import Effect, Effects
from matchmaker.mends.reach import Reach, Reaches
from matchmaker.report.finding_words import effect_text, mend_texts
from matchmaker.report.findings import DOUBTS_MAX, Shown, print_findings

if TYPE_CHECKING:
    from collections.abc import Mapping

BREEDERS = ("A", "B", "C", "D")


def reach(
    row: int, touched: Mapping[str, float], *, stops: bool = False, file: str = "birds.csv"
) -> Reach:
    fault = Fault(kind="k", file=file, row=row, column="line", problem=f"p{row}", mend="m")
    return Reach(fault=fault, stops=stops, touched=touched)


def alike(row: int, touched: Mapping[str, float]) -> Reach:
    fault = Fault(kind="k", file="birds.csv", row=row, column="line", problem="same", mend="m")
    return Reach(fault=fault, stops=False, touched=touched)


def lines(*found: Reach, everything: bool = False, effects: Effects | None = None) -> list[str]:
    stream = io.StringIO()
    ordered = tuple(sorted(found, key=lambda one: one.order))
    shown = Shown(
        reaches=Reaches(breeders=BREEDERS, found=ordered),
        effects=effects or Effects(),
        everything=everything,
    )
    print_findings(Console(file=stream, width=100), shown)
    return stream.getvalue().splitlines()


def test_those_alike_touch_together_and_stand_where_that_puts_them() -> None:
    told = lines(
        reach(2, {"A": 1.0, "B": 0.5}), alike(9, {"C": 1.0}), alike(4, {"D": 1.0, "A": 0.5})
    )
    assert told == [
        "3 doubts (worth a look):",
        "  birds.csv, rows 4, 9, column line: same",
        "      touches 3 of 4 breeders (as much as 2.5 birds)",
        "      → m",
        "  birds.csv, row 2, column line: p2",
        "      touches 2 of 4 breeders: A and B",
        "      → m",
        "",
    ]


def test_a_few_that_touch_nobody_are_shown_and_many_are_counted_by_file() -> None:
    few = lines(reach(2, {}), reach(3, {}))
    assert sum("touches no bird that can be penned this spring" in line for line in few) == 2
    many = [reach(2, {}), reach(3, {}), reach(4, {}, file="x.csv"), reach(5, {"A": 1.0})]
    told, nobody = lines(*many), "touch no bird that can be penned"
    assert told[1:] == [
        "  birds.csv, row 5, column line: p5",
        "      touches 1 of 4 breeders: A",
        "      → m",
        f"  3 more doubts {nobody}: 2 in birds.csv, 1 in x.csv (--all lists them)",
        "",
    ]
    assert sum("→" in line for line in lines(*many, everything=True)) == 4


def test_of_very_many_doubts_the_first_are_shown_but_every_fault() -> None:
    doubts = [reach(row, {"A": 1.0}) for row in range(2, DOUBTS_MAX + 5)]
    faults = [reach(row, {}, stops=True, file="penx.csv") for row in range(2, 40)]
    told = lines(*doubts, *faults)
    assert sum("Fault: " in line for line in told) == len(faults)
    assert sum("Doubt: " in line for line in told) == DOUBTS_MAX
    assert "  3 more doubts touch fewer: 3 in birds.csv (--all lists them)" in told


def test_effects_of_those_alike_are_told_by_row() -> None:
    one, two = alike(2, {"A": 1.0}), alike(3, {"A": 1.0})
    effects = Effects(of={one.fault: Effect(faults=2)}, left_out=(two.fault,))
    told = lines(one, two, effects=effects)
    assert "        row 2: with this mended 2 faults stop the plan" in told
    assert "        row 3: not measured: the time was over (give more with --time-limit)" in told


@pytest.mark.parametrize(
    ("effect", "text"),
    [
        (Effect(pairs=9, kept=9, pairs_after=9, worth=4.0, gain=0.01), "keeps its pairs and is wo"),
        (
            Effect(pairs=45, kept=41, pairs_after=44, worth=4.0, gain=-0.3),
            "the plan keeps 41 of 45 pairs and is worth 0.3 wanted chicks less",
        ),
        (
            Effect(pairs=3, kept=3, pairs_after=5, worth=4.0, gain=2.0, proved=False),
            "keeps its 3 pairs, gets 2 more and is worth 2.0 wanted chicks more (not proved",
        ),
        (Effect(pairs_after=3, worth=4.04), "there is a plan: 3 pairs, worth 4.0 wanted chicks"),
        (Effect(pairs=3), "with this mended no plan is possible"),
    ],
)
def test_effects_are_told_in_words(effect: Effect, text: str) -> None:
    assert text in effect_text(effect)


def test_of_a_mend_of_many_cells_some_are_shown() -> None:
    mends = tuple(
        CellMend(table="seen", row=row, column="bird", was="H 1", becomes="H1")
        for row in range(2, 8)
    )
    fault = Fault(kind="k", file="birds.csv", row=2, problem="p", mend="m", mends=mends)
    (text,) = mend_texts([fault])
    assert text.startswith('seen, row 2, bird: "H 1" → "H1"; seen, row 3')
    assert text.endswith("; and 2 more (look first)")
