"""Ways out of small problems: which rules are loosened, and to what."""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.plan.no_plan.loosen import loosen
from matchmaker.plan.no_plan.loosened import (
    Extra,
    Kind,
    Loosenable,
    Loosened,
    Loosening,
    Need,
    round_down,
    round_up,
)
from matchmaker.plan.no_plan.ways import ways_out
from matchmaker.plan.posing.problem import (
    BirdInPen,
    Candidate,
    CockLimit,
    HensTogether,
    LineCarriers,
    LineGoal,
    PairTogether,
    PenKind,
    PlanLimits,
    PlanProblem,
)
from matchmaker.plan.searching.conflict import find_conflict, requirements

HENS = ("H1", "H2", "H3", "H4")
COCKS = ("C1", "C2")
LINE_CAP = Loosening(kind=Kind.KINSHIP, subject="Alder", now=0.125, most=0.25)
FLOCK_CAP = Loosening(kind=Kind.KINSHIP, now=0.125, most=0.25)


def pair(hen_band: str, cock_band: str, **changes: object) -> Candidate:
    one = Candidate(hen=hen_band, cock=cock_band, row="back", line="Alder", value=2.0, wanted=2.0)
    return replace(one, **changes)  # type: ignore[arg-type]


def problem(**changes: object) -> PlanProblem:
    """Return two pens of two places for two cocks and four hens, all pairs allowed."""
    found = PlanProblem(
        candidates=tuple(pair(one, other) for one in HENS for other in COCKS),
        kinds=(PenKind(pens=("1", "2"), hens_max=2, hens_min=1, line="", dam_known=False),),
        cocks=tuple(CockLimit(cock=one, hens_max=3, pens_max=1) for one in COCKS),
        lines=(goal(),),
    )
    return replace(found, **changes)  # type: ignore[arg-type]


def goal(**changes: object) -> LineGoal:
    one = LineGoal(line="Alder", importance=1.0, chicks_wanted=100.0)
    return replace(one, **changes)  # type: ignore[arg-type]


def related(hen_band: str, cock_band: str, kinship: float) -> Extra:
    either = tuple(Need(rule=rule, to=kinship) for rule in (LINE_CAP, FLOCK_CAP))
    return Extra(candidate=pair(hen_band, cock_band, kinship=kinship), needs=(either,))


def said(loosenable: Loosenable) -> list[list[tuple[str, float]]]:
    """Return each way as kinds with their figures."""
    return [[(str(one.rule.kind), one.to) for one in way.loosened] for way in ways_out(loosenable)]


def test_figures_are_rounded_to_the_safe_side() -> None:
    assert (round_up(0.14001, 3), round_up(0.14, 3)) == (0.141, 0.14)
    assert (round_down(0.4599, 2), round_down(0.46, 2)) == (0.45, 0.46)


def test_a_minimum_is_dropped_to_what_can_be_had() -> None:
    assert said(Loosenable(problem=problem(lines=(goal(hens_min=5),)))) == [[("minimum", 4.0)]]


def test_a_few_hens_too_many_for_the_pens() -> None:
    """Three hens are wished to one cock whose pens hold two."""
    wishes = tuple(PairTogether(name=f"wish {one}", hen=one, cock="C1") for one in HENS[:3])
    found = said(Loosenable(problem=problem(demands=wishes)))
    assert [("places", 3.0)] in found
    assert found.count([("wish", 1.0)]) == 3


def test_a_wish_for_a_pen_that_is_closed_opens_it() -> None:
    closed = PenKind(pens=("3",), hens_max=2, hens_min=1, line="", dam_known=False)
    wish = BirdInPen(name="wish", bird="C1", pen="3")
    found = said(Loosenable(problem=problem(demands=(wish,)), pens=(closed,)))
    assert sorted(found) == [[("pen", 1.0)], [("wish", 1.0)]]


def test_a_third_cock_stands_for_want_of_a_pen() -> None:
    more = tuple(pair(one, "C3") for one in HENS)
    three = problem(
        candidates=(*problem().candidates, *more),
        cocks=(*problem().cocks, CockLimit(cock="C3", hens_max=3, pens_max=1)),
        lines=(goal(cocks_min=3),),
    )
    new = PenKind(pens=("New",), hens_max=2, hens_min=1, line="", dam_known=False)
    found = said(Loosenable(problem=three, pens=(new,)))
    assert found == [[("minimum", 2.0)], [("pen", 1.0)]]


def test_the_issue_s_example_has_its_three_kinds_of_ways() -> None:
    """One cock, too related to all hens but one; another cock would serve if a row were open."""
    row = Loosening(kind=Kind.ROW, subject="other cocks")
    lines = (goal(hens_min=4),)
    one_cock = problem(
        candidates=(pair("H1", "C1"),),
        kinds=(PenKind(pens=("1", "2"), hens_max=4, hens_min=1, line="", dam_known=False),),
        cocks=(CockLimit(cock="C1", hens_max=4, pens_max=1),),
        lines=lines,
    )
    extras = (
        related("H2", "C1", 0.14),
        related("H3", "C1", 0.19),
        related("H4", "C1", 0.14),
        *(
            Extra(candidate=pair(one, "C2", row="other"), needs=((Need(rule=row),),))
            for one in HENS
        ),
    )
    cocks = (CockLimit(cock="C2", hens_max=4, pens_max=1),)
    found = said(Loosenable(problem=one_cock, extras=extras, cocks=cocks))
    assert sorted(found) == sorted(
        [[("allow", 3.0)], [("kinship", 0.19)], [("minimum", 1.0)], [("row", 1.0)]]
    )


def test_two_lines_under_one_cap_have_it_raised_for_the_flock() -> None:
    """Each line has one hen too related by its own cock: one cap is one rule, two are two."""
    birch = Loosening(kind=Kind.KINSHIP, subject="Birch", now=0.125, most=0.25)
    in_birch = pair("H3", "C2", line="Birch", row="birch", kinship=0.15)
    needs = tuple(Need(rule=rule, to=0.15) for rule in (birch, FLOCK_CAP))
    extras = (
        replace(related("H1", "C1", 0.14), allowable=False),
        Extra(candidate=in_birch, needs=(needs,), allowable=False),
    )
    two = problem(
        candidates=(),
        lines=(goal(hens_min=1), replace(goal(hens_min=1), line="Birch")),
    )
    assert said(Loosenable(problem=two, extras=extras))[0] == [("kinship", 0.15)]


@pytest.mark.parametrize(
    ("changes", "way"),
    [
        ({"limits": PlanLimits(chicks_max=25.0)}, ("chicks", 30.0)),
        ({"limits": PlanLimits(eggs_max=2.5)}, ("eggs", 3.0)),
        ({"limits": PlanLimits(mean_inbreeding_max=0.05)}, ("mean-inbreeding", 0.07)),
        ({"limits": PlanLimits(pairs=2)}, ("pairs", 3.0)),
        ({"limits": PlanLimits(sire_share_max=0.6)}, ("sire-share", 0.7)),
        ({"lines": (goal(hens_min=3, sire_share_max=0.6),)}, ("sire-share", 0.7)),
    ],
)
def test_a_limit_is_raised_by_no_more_than_is_needed(
    changes: dict[str, object], way: tuple[str, float]
) -> None:
    """Three hens are asked for, each with ten chicks, one egg a week and chicks inbred by 1/15."""
    candidates = tuple(
        pair(one, other, chicks=10.0, eggs=1.0, kinship=0.0675)
        for one, other in (("H1", "C1"), ("H2", "C1"), ("H3", "C2"))
    )
    found = problem(candidates=candidates, **({"lines": (goal(hens_min=3),)} | changes))
    ways = [one for one in said(Loosenable(problem=found)) if one[0][0] == way[0]]
    ((kind, to),) = ways[0]
    assert (kind, round(to, 6)) == way


def test_a_carrier_that_must_stay_is_never_let_go() -> None:
    """The only bird of Birch is wished for Alder: the wish gives way, not the line."""
    lines = (goal(), replace(goal(), line="Birch"))
    wish = PairTogether(name="wish", hen="H1", cock="C1")
    kept = problem(
        lines=lines, demands=(wish,), carriers=(LineCarriers(line="Birch", birds=("H1",)),)
    )
    assert set(find_conflict(kept)) == {"wish", "line Birch: one of its carriers stays with it"}
    assert said(Loosenable(problem=kept)) == [[("wish", 1.0)]]


def test_all_limits_are_requirements_by_name() -> None:
    limits = PlanLimits(
        mean_inbreeding_max=0.06, sire_share_max=0.5, chicks_max=180.0, eggs_max=150.0, pairs=3
    )
    line = goal(wanted_cocks_min=2.0, wanted_hens_min=1.0, sure_hens_min=4.744, sire_share_max=0.4)
    names = {one.name for one in requirements(problem(limits=limits, lines=(line,)))}
    assert {
        "mean inbreeding of the chicks at most 0.06",
        "one cock has at most 0.5 of all pairs",
        "rearing room for 180 chicks",
        "incubator room for 150 eggs a week",
        "exactly 3 pairs",
        "line Alder: at least 2 wanted sons",
        "line Alder: at least 1 wanted daughter",
        "line Alder: one cock has at most 0.4 of its pairs",
    } <= names


def test_hens_that_must_share_a_pen_of_a_cock_with_two() -> None:
    """Both want C1, with two pens of one place each: neither can be with the other."""
    wishes = (
        HensTogether(name="together", first="H1", second="H2"),
        PairTogether(name="first", hen="H1", cock="C1"),
    )
    found = problem(
        kinds=(PenKind(pens=("1", "2"), hens_max=1, hens_min=1, line="", dam_known=False),),
        cocks=tuple(CockLimit(cock=one, hens_max=3, pens_max=2) for one in COCKS),
        demands=wishes,
    )
    ways = said(Loosenable(problem=found))
    assert ways.count([("wish", 1.0)]) == 2
    assert [("places", 2.0)] in ways


def test_only_what_is_loosened_changes() -> None:
    before = problem(lines=(goal(hens_min=5),), limits=PlanLimits(chicks_max=9.0))
    rule = Loosening(kind=Kind.MINIMUM, subject="Alder", field="hens_min", now=5.0, most=0.0)
    after = loosen(Loosenable(problem=before), [Loosened(rule=rule, to=4.0)])
    assert after == replace(before, lines=(goal(hens_min=4),))


def test_no_way_out_where_nothing_may_be_loosened() -> None:
    """No pair at all can be had, however far the rules go."""
    empty = problem(candidates=(), cocks=(), lines=(goal(hens_min=1),))
    assert said(Loosenable(problem=empty)) == [[("minimum", 0.0)]]
    assert ways_out(Loosenable(problem=replace(empty, lines=(goal(),)), some=True)) == ()
