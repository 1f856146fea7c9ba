"""The frontier of value and kinship of the parents, with the plan of the page on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import kinship_digits, percent
from matchmaker.report.page.drawing import Curve, Plot, draw
from matchmaker.report.page.figure import Picture, Table
from matchmaker.report.page.fresh import staleness
from matchmaker.report.page.legend import samples
from matchmaker.report.page.scales import axis
from matchmaker.tolerance import VALUE_STEP

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.documents import Document

HOW: Final = (
    "Not worked out for this page. matchmaker report --frontier draws here what each step to "
    "less kinship of the parents costs in wanted chicks."
)


def frontier_picture(plan: SeasonPlan, document: Document | None) -> Picture:
    """Every plan of the frontier, numbered; the plan of the page is marked."""
    title = "Value against kinship of the parents"
    if not document or not document["plans"]:
        return Picture(key="frontier", title=title, sentences=(HOW,))
    plans = document["plans"]
    here = number_of(plan, plans)
    sentences = (*_sentences(plan, plans, here), *staleness(plan.table, document))
    curves = tuple(_curves(plan, plans, here))
    across = [x for curve in curves for x, _ in curve.points]
    up = [y for curve in curves for _, y in curve.points]
    drawn = Plot(
        key="frontier",
        title=title,
        words=" ".join(sentences),
        x=axis("Kinship of the parents as a group", across, "{:g}".format),
        y=axis("Value, wanted chicks", up, "{:g}".format),
        curves=curves,
        height=320,
    )
    return Picture(
        key="frontier",
        title=title,
        sentences=sentences,
        drawings=(draw(drawn),),
        legend=samples(curves),
        tables=(_table(plans, here),),
    )


def number_of(plan: SeasonPlan, plans: Sequence[Document]) -> int | None:
    """The number of the plan of the frontier that has the same pairs; None where none has."""
    own = {
        (p.hen, p.cock, p.crossing.name if p.crossing else "") for f in plan.pens for p in f.pairs
    }
    for entry in plans:
        pairs = {
            (hen["hen"], pen["cock"], hen["row"]) for pen in entry["pens"] for hen in pen["hens"]
        }
        if pairs == own:
            number: int = entry["plan"]
            return number
    return None


def _curves(plan: SeasonPlan, plans: Sequence[Document], here: int | None) -> Iterable[Curve]:
    points = tuple((one["group_kinship"], one["value"]) for one in plans)
    shown = apart_enough(points)
    yield Curve(
        name="The best plans, by number",
        points=points,
        ends=False,
        labels={at: str(one["plan"]) for at, one in enumerate(plans) if at in shown},
    )
    found = next((one for one in plans if one["plan"] == here), None)
    point = (
        (plan.figures.group_kinship, plan.solution.value)
        if found is None
        else (found["group_kinship"], found["value"])
    )
    yield Curve(name="The plan of this page", points=(point,), look=3, kind="here", labels={})


def apart_enough(points: Sequence[tuple[float, float]]) -> set[int]:
    """Which points have room for a number beside them, the first and the last among them.

    Examples
    --------
    >>> sorted(apart_enough([(9.0, 9.0), (8.99, 8.99), (5.0, 8.0), (0.1, 0.0), (0.0, 0.0)]))
    [0, 2, 4]
    """
    wide, high = (max(1e-12, max(p[i] for p in points) - min(p[i] for p in points)) for i in (0, 1))
    found = [len(points) - 1]
    for at, (x, y) in enumerate(points):
        clear = (
            abs(x - points[one][0]) > 0.09 * wide or abs(y - points[one][1]) > 0.07 * high
            for one in found
        )
        if all(clear):
            found.append(at)
    return set(found)


def _sentences(plan: SeasonPlan, plans: Sequence[Document], here: int | None) -> Iterable[str]:
    first, last = plans[0], plans[-1]
    if here is not None:
        yield f"The plan of this page is plan {here} of {len(plans)}, in a ring."
    else:
        yield (
            "The plan of this page, in a ring, is none of these: value "
            f"{plan.solution.value:.2f}, kinship {kinship_digits(plan.figures.group_kinship)}."
        )
    if len(plans) > 1:
        yield (
            f"From plan {first['plan']} to plan {last['plan']} the kinship of the parents falls "
            f"from {kinship_digits(first['group_kinship'])} to "
            f"{kinship_digits(last['group_kinship'])}, and the value from {first['value']:.2f} to "
            f"{last['value']:.2f} wanted chicks."
        )
    if here is None:
        yield from _as_good(plan, plans)


def _as_good(plan: SeasonPlan, plans: Sequence[Document]) -> Iterable[str]:
    """A plan that gives up nothing and is less related, where there is one."""
    value, kinship = plan.solution.value, plan.figures.group_kinship
    for one in plans:
        if one["value"] >= value - VALUE_STEP and one["group_kinship"] < kinship - VALUE_STEP:
            less = kinship_digits(one["group_kinship"])
            yield f"Plan {one['plan']} is worth as much with less kinship, {less}."
            return


def _table(plans: Sequence[Document], here: int | None) -> Table:
    rows = tuple(
        (
            f"{one['plan']}{' (this page)' if one['plan'] == here else ''}",
            f"{one['value']:.2f}",
            percent(one["given_up"], 1),
            kinship_digits(one["group_kinship"]),
            kinship_digits(one["mean_inbreeding"]),
        )
        for one in plans
    )
    heads = ("Plan", "Value", "Given up", "Kinship of the parents", "Chicks' inbreeding")
    return Table(caption="The best plan for every kinship of the parents", heads=heads, rows=rows)
