"""The pictures of the page: their points are the numbers that the commands print."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from statistics import fmean
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.report.numbers import chicks_text, kinship_text, share_text
from matchmaker.report.page.chart_ahead import ahead_picture
from matchmaker.report.page.chart_frontier import frontier_picture, number_of
from matchmaker.report.page.chart_inbreeding import inbreeding_by_season, inbreeding_picture
from matchmaker.report.page.chart_lines import lines_picture
from matchmaker.report.page.chart_shares import crosses_of, shares_by_cross, shares_picture
from matchmaker.report.page.drawing import Axis, Bars, Curve, Plot, draw, draw_bars
from matchmaker.report.page.page import page_html
from matchmaker.report.page.pictures import pictures_view
from matchmaker.report.page.view import Further
from tests.builders import HOME, HOME_SEEN, chick, cock, hen, judged
from tests.page_drawings import SVG, Drawn, quick_report

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.page.figure import Picture
    from matchmaker.reporting import SeasonReport

EXAMPLES = Path(__file__).parents[2] / "examples"
BOUND = 16_000
"""Bytes that one drawing may take."""

HOSTILE = '<b onclick="x">&\'"'


@pytest.fixture(scope="module")
def fen() -> SeasonReport:
    """A flock of three backcross lines and a pure one."""
    return quick_report(verbs.pairs(EXAMPLES / "holm-fen"))


@pytest.fixture(scope="module")
def plan(fen: SeasonReport) -> SeasonPlan:
    return fen.plan


def near(
    found: Sequence[tuple[float, float]], asked: Sequence[tuple[float, float]], least: float
) -> bool:
    """Whether points are those asked for, but for what two decimals of a drawing leave."""
    return len(found) == len(asked) and all(
        abs(y - wanted) < least for (_, y), (_, wanted) in zip(found, asked, strict=True)
    )


def sound(picture: Picture) -> list[Drawn]:
    """Read all drawings of a picture, which bring nothing with them and are told in words."""
    for markup in picture.drawings:
        text = str(markup)
        assert not re.search(r"<script|<style|<a |<use|<image|<!--|@import", text)
        assert set(re.findall(r"https?://[^\"\s]*", text)) == {"http://www.w3.org/2000/svg"}
        assert len(text) < BOUND
    found = [Drawn.of(markup) for markup in picture.drawings]
    for one in found:
        names = {name for element in one.root.iter() for name in element.attrib}
        assert not [name for name in names if re.match(r"on|style|\{|href|src", name)]
        assert one.root.get("role") == "img"
        named = {child.get("id"): child.text for child in one.root if child.get("id")}
        assert all(named[name] for name in (one.root.get("aria-labelledby") or "").split())
    return found


# --- shares -------------------------------------------------------------------------------------


def test_crosses_are_counted_as_in_a_backcross_series(tmp_path: Path) -> None:
    """3/4, 7/8, 15/16 after one, two and three backcrosses: any text of breeding."""
    old = {"hatched": "2018-03-01"}
    birds = [
        cock("D", "Alder", "araucana", **old),
        *(hen(f"S{at}", **old) for at in range(4)),
        chick("F", "cock", "D", "S0", "Alder", hatched="2019-04-01"),
        chick("B1", "cock", "F", "S1", "Alder", hatched="2020-04-01"),
        chick("B1H", "hen", "F", "S2", "Alder", hatched="2020-04-01"),
        chick("B2", "cock", "B1", "S2", "Alder", hatched="2021-04-01"),
        chick("I", "hen", "B1", "B1H", "Alder", hatched="2021-04-01"),
        chick("B3", "cock", "B2", "S3", "Alder", hatched="2022-04-01"),
        hen("Q", "Alder", "sussex:0.75|araucana:0.25"),
    ]
    study = judged(tmp_path, birds).study
    found = crosses_of(study.flock.pedigree, study.recurrent_share, "sussex")
    assert found == pytest.approx(
        {"D": -1, "F": 0, "B1": 1, "B1H": 1, "B2": 2, "B3": 3, "I": 2, "Q": 1}
    )
    for bird, share in (("F", 1 / 2), ("B1", 3 / 4), ("B2", 7 / 8), ("B3", 15 / 16)):
        assert study.recurrent_share[bird] == pytest.approx(share)
        assert 1 - 0.5 ** (found[bird] + 1) == pytest.approx(share)
    assert study.recurrent_share["I"] == pytest.approx(3 / 4)


def test_the_points_of_shares_are_the_birds_shares(plan: SeasonPlan) -> None:
    study = plan.table.study
    groups = shares_by_cross(plan)
    lines = sorted({one.line for one in groups})
    assert lines == ["Alder", "Birch", "Cedar"]
    for line in lines:
        own = [one for one in groups if one.line == line and not one.expected]
        shares = [study.recurrent_share[b.band] for b in study.flock.birds if b.line == line]
        impure = [share for share in shares if share < 1]
        assert sum(one.birds for one in own) == len(impure)
        assert sum(one.birds * one.mean for one in own) == pytest.approx(sum(impure))
        pairs = [p.recurrent_share for pen in plan.pens for p in pen.pairs if p.line == line]
        (chicks,) = (one for one in groups if one.line == line and one.expected)
        assert chicks.mean == pytest.approx(fmean(pairs))
        assert (chicks.low, chicks.high) == (min(pairs), max(pairs))
    (drawn,) = sound(shares_picture(plan))
    for at, line in enumerate(lines):
        shown = [one for one in groups if one.line == line and one.crosses >= 0]
        means = [(one.crosses, 100 * one.mean) for one in shown]
        ends = [(one.crosses, 100 * end) for one in shown for end in (one.low, one.high)]
        assert near(drawn.dots()[at], means, 0.05)
        assert near(drawn.paths("ranges")[at], ends, 0.05)
        assert near(drawn.paths("line")[at], means, 0.05)
    (plain,) = drawn.paths("limit")
    assert near(plain, [(0, 50.0), (1, 75.0), (2, 87.5), (3, 93.75)], 0.05)
    assert sorted(drawn.texts()) == lines


def test_chicks_not_hatched_yet_are_hollow(plan: SeasonPlan) -> None:
    shares = [(one.line, one.expected) for one in shares_by_cross(plan) if one.crosses >= 0]
    inbred = [(one.line, one.expected) for one in inbreeding_by_season(plan)]
    for picture, groups in ((shares_picture(plan), shares), (inbreeding_picture(plan), inbred)):
        (drawn,) = sound(picture)
        marks = [one.get("class") for one in drawn.root.iter(f"{SVG}path") if one.get("transform")]
        assert marks == ["dot hollow" if expected else "dot" for _, expected in sorted(groups)]


def test_the_table_of_shares_has_every_group(plan: SeasonPlan) -> None:
    (table,) = shares_picture(plan).tables
    groups = [one for one in shares_by_cross(plan) if one.crosses >= 0]
    assert [row[4:7] for row in table.rows] == [
        (share_text(one.mean), share_text(one.low), share_text(one.high)) for one in groups
    ]
    assert all(len(row) == len(table.heads) for row in table.rows)


# --- inbreeding ---------------------------------------------------------------------------------


def test_the_points_of_inbreeding_are_those_of_the_study(plan: SeasonPlan) -> None:
    study = plan.table.study
    dated = [bird for bird in study.flock.birds if bird.hatched]
    inbreeding = study.kinship_with([bird.band for bird in dated]).inbreeding()
    groups = inbreeding_by_season(plan)
    for one in (one for one in groups if not one.expected):
        own = [
            inbreeding[bird.band]
            for bird in dated
            if bird.line == one.line and bird.hatched and bird.hatched.year == one.season
        ]
        assert one.birds == len(own)
        assert one.mean == pytest.approx(fmean(own))
        assert one.most == pytest.approx(max(own))
    chicks = {one.line: one for one in groups if one.expected}
    assert {line: one.mean for line, one in chicks.items()} == {
        total.line: plan.mean_kinship(total.line) for total in plan.solution.lines
    }
    (drawn,) = sound(inbreeding_picture(plan))
    lines = sorted({one.line for one in groups})
    for at, line in enumerate(lines):
        own_points = [(one.season, one.mean) for one in groups if one.line == line]
        ends = [(0, end) for one in groups if one.line == line for end in (one.mean, one.most)]
        assert near(drawn.dots()[at], own_points, 0.0005)
        assert near(drawn.paths("ranges")[at], ends, 0.0005)
    assert near(drawn.paths("limit")[0], [(0, 0.125), (0, 0.125)], 0.0005)


def test_the_caption_names_the_most_inbred_line(plan: SeasonPlan) -> None:
    worst = max(plan.solution.lines, key=lambda total: plan.mean_kinship(total.line)).line
    first = inbreeding_picture(plan).sentences[0]
    assert first.startswith(f"{worst}'s chicks")
    assert kinship_text(plan.mean_kinship(worst)) in first


def test_a_limit_of_a_line_is_drawn_beside_the_others(tmp_path: Path) -> None:
    table = judged(tmp_path, HOME, "[lines.Alder]\nkinship_max = 0.0625\n", seen=HOME_SEEN)
    picture = inbreeding_picture(quick_report(table).plan)
    (drawn,) = sound(picture)
    assert [round(path[0][1], 3) for path in drawn.paths("limit")] == [0.063, 0.125]
    assert [one.name for one in picture.legend if one.kind == "limit"] == [
        "Limit 0.0625 of Alder",
        "Limit 0.125 of Pure",
    ]


# --- lines --------------------------------------------------------------------------------------


def test_bars_are_as_long_as_their_numbers(plan: SeasonPlan) -> None:
    picture = lines_picture(plan)
    chicks, birds = sound(picture)
    expected = [plan.wanted_of_raised(total.line) for total in plan.solution.lines]
    boxes = list(chicks.groups("bar-0")[0].iter(f"{SVG}rect"))
    lengths = [float(box.get("width") or 0) for box in boxes]
    ratio = [length / number for length, number in zip(reversed(lengths), expected, strict=True)]
    assert ratio == pytest.approx([ratio[0]] * len(ratio), rel=0.01)
    asked = [goal.chicks_wanted for goal in plan.problem.lines]
    assert sorted(chicks.texts()) == sorted(map(chicks_text, [*expected, *asked]))
    assert sorted(birds.texts()) == sorted(
        [f"{one.hens} hens" for one in plan.solution.lines]
        + [f"{one.cocks} cocks" for one in plan.solution.lines]
    )
    assert [row[0] for row in picture.tables[0].rows] == [one.line for one in plan.solution.lines]


def test_a_bar_of_nothing_has_its_number() -> None:
    bars = Bars(
        key="none",
        title="None",
        words="None.",
        rows=("A", "B"),
        series=(("x", (0.0, 3.0)),),
        texts=(("0", "3"),),
    )
    assert sorted(Drawn.of(draw_bars(bars)).texts()) == ["0", "3"]


# --- the frontier -------------------------------------------------------------------------------


def frontier_of(plan: SeasonPlan, *, own: bool) -> dict[str, Any]:
    """A document as ``plan --frontier --json`` prints it, the second plan that of the page."""
    pens = [
        {
            "cock": pen.cock,
            "hens": [
                {"hen": pair.hen, "row": pair.crossing.name if pair.crossing else ""}
                for pair in pen.pairs
            ],
        }
        for pen in plan.pens
    ]
    numbers = [(60.0, 0.0912), (58.5, 0.0807), (52.25, 0.0701)]
    return {
        "inputs": dict(plan.table.study.flock.tables.inputs),
        "plans": [
            {
                "plan": at + 1,
                "value": value,
                "given_up": (60 - value) / 60,
                "group_kinship": kinship,
                "mean_inbreeding": 0.02,
                "pens": pens if own and at == 1 else [],
            }
            for at, (value, kinship) in enumerate(numbers)
        ],
    }


def test_the_frontier_is_drawn_with_the_plan_of_the_page(plan: SeasonPlan) -> None:
    document = frontier_of(plan, own=True)
    assert number_of(plan, document["plans"]) == 2
    picture = frontier_picture(plan, document)
    (drawn,) = sound(picture)
    (points,) = drawn.dots()
    for (x, y), one in zip(points, document["plans"], strict=True):
        assert x == pytest.approx(one["group_kinship"], abs=1e-4)
        assert y == pytest.approx(one["value"], abs=0.05)
    ((here,),) = drawn.dots("here")
    assert here == pytest.approx((0.0807, 58.5), abs=0.05)
    assert drawn.texts() == ["1", "2", "3"]
    assert [row[0] for row in picture.tables[0].rows] == ["1", "2 (this page)", "3"]
    assert "plan 2 of 3" in picture.sentences[0]


def test_a_plan_off_the_frontier_stands_where_its_own_numbers_are(plan: SeasonPlan) -> None:
    picture = frontier_picture(plan, frontier_of(plan, own=False))
    ((here,),) = sound(picture)[0].dots("here")
    assert here[0] == pytest.approx(plan.figures.group_kinship, abs=1e-3)
    assert here[1] == pytest.approx(plan.solution.value, abs=0.5)
    assert "none of these" in picture.sentences[0]


def test_a_document_of_other_tables_is_told(plan: SeasonPlan) -> None:
    document = frontier_of(plan, own=True)
    assert not any("changed" in one for one in frontier_picture(plan, document).sentences)
    document["inputs"] = {**document["inputs"], "birds.csv": "other"}
    told = frontier_picture(plan, document).sentences[-1]
    assert "birds.csv" in told
    assert "matchmaker.toml" not in told


# --- the coming seasons -------------------------------------------------------------------------


def ahead_of(plan: SeasonPlan, policies: Sequence[str] = ()) -> dict[str, Any]:
    """A document as ``ahead --json`` prints it."""

    def number(at: int, key: str, shift: float) -> dict[str, float]:
        middle = 0.2 + 0.1 * at + shift
        return {
            key: middle,
            "mean": middle,
            "median": middle,
            "low": middle - 0.05,
            "high": middle + 0.06,
        }

    def springs(shift: float) -> list[dict[str, Any]]:
        return [
            {
                "spring": 2027 + at,
                **{name: number(at, "chance", shift) for name in ("fixed", "all_alive")},
                **{name: number(at, "mean", shift) for name in ("share", "inbreeding", "goal")},
            }
            for at in range(4)
        ]

    return {
        "inputs": dict(plan.table.study.flock.tables.inputs),
        "seasons": 3,
        "replicates": 50,
        "policy": "plan",
        "springs": springs(0.0),
        "policies": [
            {
                "policy": name,
                "sentence": f"{name} it is",
                "verdict": f"{name}: worse",
                "springs": springs(0.03 * at),
            }
            for at, name in enumerate(policies, 1)
        ],
    }


def test_fans_are_the_numbers_of_the_document(plan: SeasonPlan) -> None:
    picture = ahead_picture(plan, ahead_of(plan))
    drawings = sound(picture)
    assert len(drawings) == len(picture.tables) == 4
    for drawn, scale in zip(drawings, (100, 100, 100, 1), strict=True):
        (line,), (band,) = drawn.dots(), drawn.paths("band")
        middles = [scale * (0.2 + 0.1 * at) for at in range(4)]
        assert [y for _, y in line] == pytest.approx(middles, abs=0.004 * scale)
        assert [x for x, _ in line] == pytest.approx([2027, 2028, 2029, 2030], abs=0.01)
        ends = {(round(x), round(y / scale, 2)) for x, y in band}
        assert {(2027, 0.15), (2030, 0.45), (2030, 0.56), (2027, 0.26)} <= ends
        assert drawn.texts() == []
    rows = picture.tables[3].rows
    assert rows[-1] == ("2030", "plan", "0.500", "0.450", "0.560")


def test_other_policies_have_lines_of_their_own(plan: SeasonPlan) -> None:
    picture = ahead_picture(plan, ahead_of(plan, ["random", HOSTILE]))
    drawings = sound(picture)
    assert len(drawings) == 5
    assert all(len(drawn.dots()) == 3 for drawn in drawings)
    assert sorted(drawings[0].texts()) == sorted(["plan", "random", HOSTILE[:15].rstrip() + "…"])
    looks = {(one.dash, one.marker) for one in picture.legend if one.kind == "line"}
    assert len(looks) == 3, "each has a dash and a marker of its own, not only a colour"
    assert picture.tables[0].rows[1] == (HOSTILE, f"{HOSTILE} it is", f"{HOSTILE}: worse")


def test_many_policies_end_in_numbers(plan: SeasonPlan) -> None:
    names = [f"policy {at}" for at in range(10)]
    picture = ahead_picture(plan, ahead_of(plan, names))
    for drawn in sound(picture):
        ends = ", ".join(drawn.texts())
        assert re.fullmatch(r"[\d, –]+", ends)
    assert [one.name for one in picture.legend][:2] == ["1: plan", "2: policy 0"]


def test_what_no_replicate_has_is_left_out(plan: SeasonPlan) -> None:
    document = ahead_of(plan)
    for spring in document["springs"]:
        spring["share"] = dict.fromkeys(("mean", "se", "low", "median", "high"))
    picture = ahead_picture(plan, document)
    assert sound(picture)[2].dots() == []
    assert picture.tables[2].rows[0] == ("2027", "plan", "–", "–", "–")
    assert "Share of Sussex: no replicate has a number." in picture.sentences


@pytest.mark.parametrize("draw_", [frontier_picture, ahead_picture])
def test_without_a_document_it_says_how_to_have_one(plan: SeasonPlan, draw_: Any) -> None:
    picture = draw_(plan, None)
    assert not picture.drawings
    (sentence,) = picture.sentences
    assert "matchmaker report --" in sentence


# --- drawings -----------------------------------------------------------------------------------


def test_names_of_any_kind_are_text(tmp_path: Path) -> None:
    line = f"{HOSTILE} {'n' * 40}"
    half = "sussex:0.5|araucana:0.5"
    birds = [
        cock("SC"),
        hen("SH"),
        cock("AC", line, half),
        hen("<script>alert(1)</script>", line, half),
    ]
    report = quick_report(judged(tmp_path, birds, seen=HOME_SEEN[:1]))
    html = page_html(report)
    assert "<b onclick" not in html
    assert "<script>alert(1)" not in html
    for picture in pictures_view(report, Further()).values["all"]:
        for drawn in sound(picture):
            assert drawn.root.find(".//{*}b") is None
    assert any(
        line in row
        for picture in (lines_picture(report.plan),)
        for t in picture.tables
        for row in t.rows
    )


def test_drawing_leaves_no_hook_in_the_search_for_modules() -> None:
    """Under warnings as errors a later import would fail on Python 3.11."""
    lines = "import matchmaker.report.page.legend, sys; import wave, scipy.sparse; "
    lines += "print([one for one in sys.meta_path if 'pygal' in type(one).__module__])"
    found = subprocess.run(
        [sys.executable, "-W", "error", "-c", lines], capture_output=True, text=True, check=True
    )
    assert found.stdout.strip() == "[]"


def test_labels_do_not_lie_on_each_other() -> None:
    axis = Axis(title="y", low=0.0, high=1.0, ticks=((0.0, "0"), (1.0, "1")))
    curves = tuple(
        Curve(name=f"L{at}", points=((0.0, 0.0), (1.0, 0.5)), look=at, labels={1: f"L{at}"})
        for at in range(7)
    )
    plot = Plot(key="k", title="t", words="w", x=axis, y=axis, curves=curves)
    root = Drawn.of(draw(plot)).root
    ends = sorted(float(one.get("y") or 0) for one in root.iter() if one.get("class") == "end")
    assert all(b - a >= 15.9 for a, b in pairwise(ends))


@pytest.mark.parametrize(
    ("birds", "settings"),
    [
        ([cock("SC"), hen("SH")], ""),
        ([{**cock("SC"), "hatched": ""}, {**hen("SH"), "hatched": ""}], ""),
        ([cock("SC", ""), hen("SH", "")], ""),
    ],
    ids=["one line", "no dates", "no lines"],
)
def test_small_flocks_have_pictures_too(tmp_path: Path, birds: Any, settings: str) -> None:
    report = quick_report(judged(tmp_path, birds, settings))
    view = pictures_view(report, Further())
    for picture in view.values["all"]:
        sound(picture)
        assert picture.sentences
    shares = next(one for one in view.values["all"] if one.key == "shares")
    assert not shares.drawings
    assert "no share is left to win" in shares.sentences[0]
