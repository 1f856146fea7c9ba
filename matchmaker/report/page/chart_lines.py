"""Lines side by side: wanted chicks expected and asked for, hens and cocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.numbers import chicks_text
from matchmaker.report.page.drawing import Bars, draw_bars
from matchmaker.report.page.figure import Picture, Table
from matchmaker.report.wording import counted, listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.season.season_plan import SeasonPlan


def lines_picture(plan: SeasonPlan) -> Picture:
    """What the plan gives every line, as bars."""
    totals = plan.solution.lines
    title = "What every line gets this season"
    if not totals:
        return Picture(key="lines", title=title, sentences=("No line gets chicks this season.",))
    asked = {goal.line: goal.chicks_wanted for goal in plan.problem.lines}
    names = tuple(total.line for total in totals)
    expected = tuple(plan.wanted_of_raised(line) for line in names)
    wanted = tuple(asked[line] for line in names)
    sentences = tuple(_sentences(names, expected, wanted))
    chicks = Bars(
        key="lines-chicks",
        title="Wanted chicks, line by line",
        words=" ".join(sentences),
        rows=names,
        series=(("expected", expected), ("asked for", wanted)),
        texts=(
            tuple(chicks_text(number) for number in expected),
            tuple(chicks_text(number) for number in wanted),
        ),
    )
    hens, cocks = (tuple(getattr(one, sex) for one in totals) for sex in ("hens", "cocks"))
    birds = Bars(
        key="lines-birds",
        title="Hens and cocks in the pens, line by line",
        words=listed(
            f"{line} {counted(many, 'hen')} and {counted(few, 'cock')}"
            for line, many, few in zip(names, hens, cocks, strict=True)
        ),
        rows=names,
        series=(("hens", hens), ("cocks", cocks)),
        texts=(_counts(hens, "hen"), _counts(cocks, "cock")),
    )
    rows = tuple(
        (line, chicks_text(one), chicks_text(all_), str(many), str(few))
        for line, one, all_, many, few in zip(names, expected, wanted, hens, cocks, strict=True)
    )
    heads = ("Line", "Wanted chicks expected", "asked for", "Hens", "Cocks")
    return Picture(
        key="lines",
        title=title,
        sentences=sentences,
        drawings=(draw_bars(chicks), draw_bars(birds)),
        tables=(Table(caption="Lines of this plan", heads=heads, rows=rows),),
    )


def _sentences(
    names: tuple[str, ...], expected: tuple[float, ...], asked: tuple[float, ...]
) -> Iterable[str]:
    short = [
        f"{line} ({chicks_text(one)} of {chicks_text(many)})"
        for line, one, many in zip(names, expected, asked, strict=True)
        if one < many - 0.05
    ]
    if short:
        yield f"Fewer wanted chicks are expected than asked for in {listed(short)}."
    else:
        yield "Every line is expected to get the wanted chicks it asks for, or more."


def _counts(numbers: tuple[int, ...], word: str) -> tuple[str, ...]:
    return tuple(counted(number, word) for number in numbers)
