"""The coming seasons: what may become of the flock, with the range of eight replicates in ten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.figures import FLOCK_KINDS, Kind
from matchmaker.report.ahead_compare import GOAL_WORDS
from matchmaker.report.ahead_words import share_number
from matchmaker.report.page.drawing import Curve, Plot, clipped, draw
from matchmaker.report.page.figure import Picture, Sample, Table
from matchmaker.report.page.fresh import staleness
from matchmaker.report.page.legend import samples
from matchmaker.report.page.scales import axis, whole_axis
from matchmaker.report.wording import breed_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.documents import Document

    Course = tuple[str, Sequence[Document]]

HOW: Final = (
    "Not worked out for this page. matchmaker report --ahead 6 draws here what may become of "
    "lines, share and inbreeding in the next six seasons."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A measure to draw: its name in the document, its title, the line drawn, and its text.

    ``middle`` is the key of that line, the one the command prints: median, mean or chance.
    """

    name: str
    title: str
    unit: str
    middle: str
    scale: float
    text: Callable[[float], str]


def measures(breed: str) -> tuple[Measure, ...]:
    """What is drawn of the coming seasons, in the order of the command's screen."""
    return (
        _chance("fixed", "A line breeds true"),
        _chance("all_alive", "Every line still lives"),
        Measure(
            name="share",
            title=f"Share of {breed}",
            unit=", %",
            middle="median",
            scale=100.0,
            text=lambda number: f"{share_number(number / 100)} %",
        ),
        Measure(
            name="inbreeding",
            title="Inbreeding of the young",
            unit=", 0 to 1",
            middle="mean",
            scale=1.0,
            text="{:.3f}".format,
        ),
        Measure(
            name="goal",
            title="Goal",
            unit="",
            middle="mean",
            scale=1.0,
            text="{:.2f}".format,
        ),
    )


def _chance(name: str, title: str) -> Measure:
    """A chance, drawn in percent."""
    return Measure(
        name=name,
        title=title,
        unit=", chance in %",
        middle="chance",
        scale=100.0,
        text="{:.0f} %".format,
    )


def ahead_picture(plan: SeasonPlan, document: Document | None) -> Picture:
    """One small drawing a measure, all policies in each."""
    title = "The coming seasons"
    if not document or not document["springs"]:
        return Picture(key="ahead", title=title, sentences=(HOW,))
    breed = breed_name(plan.table.study.flock.settings.recurrent)
    courses = [(document["policy"], document["springs"])]
    courses += [(one["policy"], one["springs"]) for one in document["policies"]]
    shown = [one for one in measures(breed) if one.name != "goal" or len(courses) > 1]
    found = [_drawn(one, courses) for one in shown]
    lines = [curve for curve in found[0][1] if curve.kind == "line"]
    curves = [*lines[-1:], *lines[:-1]]
    return Picture(
        key="ahead",
        title=f"{title}: what may come",
        sentences=(*_sentences(document, shown, courses), *staleness(plan.table, document)),
        drawings=tuple(draw(plot) for plot, _ in found),
        legend=(*samples(curves), Sample(name=BAND_WORDS, look=0, kind="band")),
        tables=(*_verdicts(document), *(_table(one, courses) for one in shown)),
    )


MANY: Final = 4
"""Above so many policies lines end in numbers, which the legend explains."""

BAND_WORDS: Final = (
    "under the plan: eight replicates in ten; of a chance, within what it may be (95 % interval)"
)


def _drawn(measure: Measure, courses: Sequence[Course]) -> tuple[Plot, tuple[Curve, ...]]:
    curves = tuple(_curves(measure, courses))
    values = [y for curve in curves for _, y in curve.points]
    chance = FLOCK_KINDS[measure.name] is Kind.CHANCE
    seasons = {round(x) for curve in curves for x, _ in curve.points}
    plot = Plot(
        key=f"ahead-{measure.name}",
        title=measure.title,
        words=_told(measure, courses[0][1]),
        x=whole_axis("Spring", seasons, room=0.2),
        y=axis(f"{measure.title}{measure.unit}", [0.0, 100.0] if chance else values, "{:g}".format),
        curves=curves,
        height=300 if len(courses) > MANY else 240,
    )
    return plot, curves


def _curves(measure: Measure, courses: Sequence[Course]) -> Iterable[Curve]:
    yield Curve(name="", points=_band(measure, courses[0][1]), kind="band")
    texts = _end_texts(measure, courses)
    for look, (policy, springs) in (*enumerate(courses[1:], 1), (0, courses[0])):
        points = tuple(
            (spring["spring"], measure.scale * value)
            for spring in springs
            if (value := spring[measure.name][measure.middle]) is not None
        )
        labels = {len(points) - 1: texts[look]} if look in texts else {}
        yield Curve(
            name=named(look, policy, courses),
            points=points,
            look=look,
            labels=labels,
            main=not look,
        )


def named(look: int, policy: str, courses: Sequence[Course]) -> str:
    """A policy in the legend, behind its number where lines end in numbers."""
    return f"{look + 1}: {policy}" if len(courses) > MANY else policy


def _end_texts(measure: Measure, courses: Sequence[Course]) -> dict[int, str]:
    """The labels at the ends of lines, by policy."""
    known = {
        look: [one[measure.name][measure.middle] for one in springs]
        for look, (_, springs) in enumerate(courses)
    }
    ends = {look: found[-1] for look, found in known.items() if found[-1] is not None}
    flat = [value for found in known.values() for value in found if value is not None]
    room = 0.02 * (max(flat) - min(flat)) if flat else 0.0
    return end_labels(ends, [policy for policy, _ in courses], room)


def end_labels(ends: Mapping[int, float], policies: Sequence[str], room: float) -> dict[int, str]:
    """What is written at the end of each line: its name, or where they are many its number.

    Lines that end at one place, no further apart than ``room``, share a label.

    Examples
    --------
    >>> end_labels({0: 1.0, 1: 2.0}, ["plan", "random"], 0.1)
    {0: 'plan', 1: 'random'}
    >>> end_labels({0: 1.0, 1: 1.0, 2: 5.0, 3: 1.0, 4: 1.0, 5: 1.0}, ["plan"] * 6, 0.1)
    {0: '1, 2, 4–6', 2: '3'}
    """
    if len(policies) == 1:
        return {}
    if len(policies) <= MANY:
        return {look: clipped(policies[look], 16) for look in ends}
    groups: dict[int, list[int]] = {}
    for look, end in ends.items():
        first = next((one for one in groups if abs(ends[one] - end) <= room), look)
        groups.setdefault(first, []).append(look + 1)
    return {first: runs(numbers) for first, numbers in groups.items()}


def runs(numbers: Sequence[int]) -> str:
    """Whole numbers in rising order, three or more in a row as from–to.

    Examples
    --------
    >>> runs([1, 2, 4, 5, 6, 9])
    '1, 2, 4–6, 9'
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and rows[-1][-1] == number - 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    told = [f"{row[0]}–{row[-1]}" if len(row) > 2 else ", ".join(map(str, row)) for row in rows]
    return ", ".join(told)


def _band(measure: Measure, springs: Sequence[Document]) -> tuple[tuple[float, float], ...]:
    """A closed outline: along the low ends and back along the high ones."""
    known = [
        (spring["spring"], spring[measure.name])
        for spring in springs
        if None not in (spring[measure.name]["low"], spring[measure.name]["high"])
    ]
    low = [(at, measure.scale * one["low"]) for at, one in known]
    high = [(at, measure.scale * one["high"]) for at, one in reversed(known)]
    return (*low, *high, *low[:1])


def _told(measure: Measure, springs: Sequence[Document]) -> str:
    """Where a measure is in the first spring and the last, with its range."""
    known = [one for one in springs if one[measure.name][measure.middle] is not None]
    if not known:
        return f"{measure.title}: no replicate has a number."
    first, last = known[0], known[-1]
    numbers = [
        measure.text(measure.scale * value)
        for value in (
            first[measure.name][measure.middle],
            last[measure.name][measure.middle],
            last[measure.name]["low"],
            last[measure.name]["high"],
        )
    ]
    return (
        f"{measure.title}: {numbers[0]} in spring {first['spring']}, {numbers[1]} in spring "
        f"{last['spring']} (between {numbers[2]} and {numbers[3]})."
    )


def _sentences(
    document: Document,
    shown: Sequence[Measure],
    courses: Sequence[Course],
) -> Iterable[str]:
    seasons, times = document["seasons"], document["replicates"]
    ahead = "one season" if seasons == 1 else f"{seasons} seasons"
    yield f"The next {ahead} played through {times} times under the plan."
    for measure in shown:
        yield _told(measure, courses[0][1])
    others = len(document["policies"])
    if others:
        yield (
            f"Beside it {others} other {'policy' if others == 1 else 'policies'}, from the same "
            f"birds; what can be said of each stands with the numbers. {GOAL_WORDS}"
        )


def _verdicts(document: Document) -> Iterable[Table]:
    """What each other policy does, and what can be said of it against the plan."""
    rows = tuple((one["policy"], one["sentence"], one["verdict"]) for one in document["policies"])
    if rows:
        heads = ("Policy", "What it does", "Against the plan")
        yield Table(caption="Other policies", heads=heads, rows=rows, words=3)


def _table(measure: Measure, courses: Sequence[Course]) -> Table:
    def text(value: float | None) -> str:
        return "–" if value is None else measure.text(measure.scale * value)

    rows = tuple(
        (
            str(spring["spring"]),
            policy,
            *(text(spring[measure.name][end]) for end in (measure.middle, "low", "high")),
        )
        for policy, springs in courses
        for spring in springs
    )
    heads = ("Spring", "Policy", measure.middle.capitalize(), "Low end", "High end")
    return Table(caption=f"{measure.title}{measure.unit}", heads=heads, rows=rows, words=2)
