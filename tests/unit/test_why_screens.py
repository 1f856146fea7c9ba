"""What ``why`` prints of birds, pens and the plan, in flocks made for it."""

from __future__ import annotations

import io
import json
import re
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.explain.bird import why_bird
from matchmaker.explain.pen import why_pen
from matchmaker.explain.whole import why_plan
from matchmaker.report.why.document import bird_document, pen_document, plan_facts_document
from matchmaker.report.why.other_screens import (
    print_bird_answer,
    print_pen_answer,
    print_plan_answer,
)
from tests.why_flocks import scarce_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

WISHES = (
    "bird,with,wish,why\n"
    "H1,,rest,moulting\n"
    "H2,GONE,allow,kept for old times\n"
    "H3,SC,together,a pair for years\n"
    "H4,SD,apart,she fears him\n"
)


def shown(printed: Callable[[Console], None], width: int = 90) -> str:
    """What is printed, in one line."""
    stream = io.StringIO()
    printed(Console(file=stream, width=width, highlight=False, markup=False, emoji=False))
    return re.sub(r"\s+", " ", stream.getvalue())


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    """A plan of five places, four wishes, a dead cock, a closed pen and one kept for tests."""
    folder = scarce_flock(tmp_path_factory.mktemp("screens") / "flock", 1)
    birds = folder / "birds.csv"
    text = birds.read_text(encoding="utf-8").splitlines()
    columns = text[0].split(",")
    row = dict.fromkeys(columns, "") | {"bird": "GONE", "sex": "cock", "line": "Pure"}
    row |= {"breed": "sussex", "sire": "founder", "dam": "founder", "hatched": "2024-03-01"}
    text[0] += ",status,left_on"
    text = [text[0], *(f"{line},," for line in text[1:])]
    text.append(",".join(row[column] for column in columns) + ",dead,2026-01-05")
    birds.write_text("\n".join(text) + "\n", encoding="utf-8")
    (folder / "wishes.csv").write_text(WISHES, encoding="utf-8")
    (folder / "pens.csv").write_text(
        "pen,hens_max,open,use\nYard,3,yes,\nOrchard,2,yes,\nShed,4,no,\nLoft,2,yes,test\n",
        encoding="utf-8",
    )
    return verbs.plan(folder)


def bird(plan: SeasonPlan, band: str) -> str:
    """What is printed of a bird."""
    answer = why_bird(plan.table, plan, band)
    json.dumps(bird_document(answer), allow_nan=False)
    return shown(lambda console: print_bird_answer(console, answer))


def test_a_bird_in_a_pen_says_what_is_lost_without_it(plan: SeasonPlan) -> None:
    hen = plan.pens[0].pairs[0].hen
    text = bird(plan, hen)
    assert f"{hen}: in pen {plan.pens[0].pen}, with {plan.pens[0].cock}." in text
    assert f"Without {hen} " in text
    assert "Its other places" in text


def test_a_bird_left_out_says_what_its_places_cost(plan: SeasonPlan) -> None:
    left = next(one.bird for one in plan.unused if str(one.reason) == "no-place")
    text = bird(plan, left)
    assert f"{left}: in no pen." in text
    assert "Would cost" in text
    assert "the cheapest" in text or "others do as well" in text


def test_a_resting_bird_a_dead_one_and_one_that_is_tied(plan: SeasonPlan) -> None:
    assert "H1 rests this season by your wish: moulting, whatever the mate." in bird(plan, "H1")
    assert "Why: it is dead since 5 January 2026." in bird(plan, "GONE")
    tied = bird(plan, "H3")
    assert "H3,SC,together (wishes.csv, row 4)" in tied
    assert "No plan can have it elsewhere" in tied
    assert "has no effect, GONE is dead" in bird(plan, "H2")


def test_mates_are_listed_by_the_rule_that_rejects_them(plan: SeasonPlan) -> None:
    text = bird(plan, "H4")
    assert "Mates that are rejected" in text
    assert "kept apart by wish: SD." in text


def pen(plan: SeasonPlan, label: str) -> str:
    """What is printed of a pen."""
    answer = why_pen(plan, label)
    json.dumps(pen_document(answer), allow_nan=False)
    return shown(lambda console: print_pen_answer(console, answer))


def test_a_pen_that_holds_hens(plan: SeasonPlan) -> None:
    text = pen(plan, "yard")
    assert "Pen Yard: 3 hens at most." in text
    assert "He has 3 hens: the pen is full." in text
    assert "Lost without the pair" in text
    assert "Next to come to" in text


def test_pens_that_hold_none_say_why(plan: SeasonPlan) -> None:
    assert "It is closed: open = no in pens.csv." in pen(plan, "Shed")
    loft = pen(plan, "Loft")
    assert "kept for test" in loft
    assert "no row of matings is open for that" in loft


def test_a_pen_is_full_by_its_cock_where_he_may_have_fewer(tmp_path: Path) -> None:
    folder = scarce_flock(tmp_path / "flock", 1)
    (folder / "pens.csv").write_text("pen,hens_max\nYard,9\n", encoding="utf-8")
    text = (folder / "matchmaker.toml").read_text(encoding="utf-8")
    limits = "[limits]\nhens_per_cock = { medium = 2, heavy = 2, light = 2, bantam = 2 }\n"
    (folder / "matchmaker.toml").write_text(text + limits, encoding="utf-8")
    printed = pen(verbs.plan(folder), "Yard")
    assert "He has 2 hens, which is all that" in printed
    assert "the pen itself holds 9" in printed


def test_an_empty_pen_whose_cocks_are_spare_or_none(tmp_path: Path) -> None:
    folder = scarce_flock(tmp_path / "flock", 1)
    (folder / "pens.csv").write_text(
        "pen,hens_max\n" + "".join(f"P{number},9\n" for number in range(1, 8)), encoding="utf-8"
    )
    plan = verbs.plan(folder)
    used = {one.pen for one in plan.pens}
    empty = next(f"P{number}" for number in range(1, 8) if f"P{number}" not in used)
    text = pen(plan, empty)
    assert "Nothing is in it." in text
    assert "No cock is left for it" in text or "no plan with one pen more in use" in text


def test_the_plan_in_facts(plan: SeasonPlan) -> None:
    facts = why_plan(plan)
    text = shown(lambda console: print_plan_answer(console, facts), 120)
    document = json.loads(json.dumps(plan_facts_document(plan, facts), allow_nan=False))
    assert {"cock", "line", "wish", "one-more"} & {one["kind"] for one in document["facts"]}
    for fact in document["facts"]:
        assert fact["sentence"] in text
    assert "they do not add up" in text
    assert "Nothing does" in shown(lambda console: print_plan_answer(console, ()))


def test_where_kinship_of_the_parents_counts_places_have_no_price(tmp_path: Path) -> None:
    folder = scarce_flock(tmp_path / "flock", 1)
    text = (folder / "matchmaker.toml").read_text(encoding="utf-8")
    (folder / "matchmaker.toml").write_text(
        f"{text}[limits]\nkinship_price = 0.5\n", encoding="utf-8"
    )
    plan = verbs.plan(folder)
    assert verbs.pair_costs(plan) is None
    left = next(one.bird for one in plan.unused if str(one.reason) == "no-place")
    said = bird(plan, left)
    assert "is not worked out where the kinship of the parents" in said
