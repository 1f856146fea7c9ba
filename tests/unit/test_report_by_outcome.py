"""What a look ahead says of plans: the table, every verdict, the document."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.ahead.choosing import chosen_plan
from matchmaker.ahead.racing import Ended
from matchmaker.report.by_outcome import by_outcome_entry, print_by_outcome
from matchmaker.report.by_outcome_words import head_text, rule_text, verdict_texts
from matchmaker.report.documents import as_json
from tests.builders import HOME, HOME_SEEN, write_flock
from tests.races import by_outcome, luck
from tests.screens import plain

if TYPE_CHECKING:
    from matchmaker.looking_further import ByOutcome
    from matchmaker.plan.season.season_plan import SeasonPlan


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return verbs.plan(write_flock(tmp_path_factory.mktemp("told") / "flock", HOME, seen=HOME_SEEN))


def shown(found: ByOutcome, width: int = 80) -> str:
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    print_by_outcome(console, found)
    return stream.getvalue()


def test_the_table_tells_each_plan_with_its_price_and_what_it_leads_to(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 0.2, 1.3, 1.31], 60))
    screen = shown(found)
    assert max(map(len, screen.splitlines())) <= 80
    rows = [line.split() for line in screen.splitlines() if line.strip()[:1].isdigit()]
    assert [row[0] for row in rows] == ["1", "2", "3", "4"]
    assert rows[0][1:6] == ["the", "best", "–", rows[0][4], "–"]
    assert "nearly as good   0.40" in screen
    assert "less related     0.80" in screen
    assert found.raced is not None
    for row, one, lead in zip(rows, found.raced.race.standings, found.raced.leads, strict=True):
        assert f"{one.mean:.2f}" in row
        assert str(one.replicates) in {cell.rstrip(",") for cell in row}
        assert (row[-1] == "out") is (one.left_at_round is not None)
        if one.plan:
            assert f"{lead.mean:+.2f}".replace("-", "−") in row
    assert "Six seasons ahead, spring 2027 to 2033: which plan leads furthest" in screen


def test_the_rule_and_the_luck_are_told(plan: SeasonPlan) -> None:
    words = rule_text(by_outcome(plan, luck([1.0, 1.0], 60)))
    assert "stays unless another is surely ahead of it, and by more than 0.01" in words
    assert "5 % at most" in words
    assert "60 times at most (seed 7)" in words


def test_a_plan_that_is_taken_is_told_with_lead_error_and_price(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 0.2, 1.5], 60))
    assert (found.chosen.number, found.raced and found.raced.leads[2].low > 0) == (3, True)
    first, second, *others = verdict_texts(found)
    assert first.startswith("Plan 3 leads further than plan 1 by 0.5")
    assert " ± 0.0" in first
    assert ", surely by 0.4" in first
    assert "for 0.80 wanted chicks given up this spring (6 hens have another place)" in first
    assert "picked as the best of 3" in second
    assert others == []
    free = replace(found.contenders[2], given_up=-0.1)
    costless = replace(found, contenders=(*found.contenders[:2], free))
    assert "for nothing this spring" in verdict_texts(costless)[0]


def test_plans_left_open_are_named(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 1.5, 1.501, 1.499], 40))
    assert found.chosen.number in {2, 3, 4}
    *_, open_ones, more = verdict_texts(found)
    named = [str(number) for number in (2, 3, 4) if number != found.chosen.number]
    assert open_ones == f"Whether one of plans {' and '.join(named)} leads further still is open."
    assert more.endswith("--replicates 200.")
    two = by_outcome(plan, luck([1.0, 1.5, 1.501], 40, own=0.2))
    other = 5 - two.chosen.number
    assert f"Whether plan {other} leads further still is open." in verdict_texts(two)


@pytest.mark.parametrize(
    ("means", "own", "words"),
    [
        ([1.0, 0.2, 0.1], 0.05, "No other plan leads as far as plan 1"),
        ([1.0, 1.0, 0.999], 0.002, "No plan leads further than plan 1 by more than 0.00"),
        ([1.0, 1.0, 1.0], 0.3, "After all 60 replicates it is open which plan leads furthest."),
    ],
)
def test_the_best_plan_stays_in_words_that_say_how_sure_that_is(
    plan: SeasonPlan, means: list[float], own: float, words: str
) -> None:
    found = by_outcome(plan, luck(means, 60, own=own))
    first, *_ = verdict_texts(found)
    assert found.chosen.number == 1
    assert first.startswith(words)
    assert first.endswith("stays." if "is open" in first else "keep it.")


def test_an_open_race_says_how_far_another_plan_may_be_ahead(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 1.0, 1.0], 60, own=0.3))
    first, more = verdict_texts(found)
    assert found.raced is not None
    shown_most = float(first.rpartition("none by more than ")[2].partition(":")[0])
    assert found.raced.most_ahead <= shown_most <= found.raced.most_ahead + 0.001
    assert more == "More replicates see smaller differences: --replicates 300."


def test_a_race_that_ends_before_the_best_plan_is_told_apart_is_open(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 1.0, 1.0], 40, own=0.3))
    assert found.raced is not None
    alike = replace(found.raced, race=replace(found.raced.race, ended=Ended.ALIKE))
    (only,) = verdict_texts(replace(found, raced=alike))
    assert only.startswith("After 40 replicates it is open which plan leads furthest.")


def test_plans_never_seen_to_differ_are_not_called_alike_too_soon(plan: SeasonPlan) -> None:
    same = luck([1.0], 20)[0]
    (first, _) = verdict_texts(by_outcome(plan, np.stack([same, same])))
    assert "and some were not seen to differ yet: plan 1" in first


def test_a_race_that_was_stopped_says_so(plan: SeasonPlan) -> None:
    values = luck([1.0, 1.0, 1.0], 60, own=0.3)
    later = by_outcome(plan, values, until=45)
    assert verdict_texts(later)[0].startswith("Stopped after 40 replicates: it is open which")
    at_once = by_outcome(plan, values, until=5)
    (only,) = verdict_texts(at_once)
    assert only.startswith("Stopped before each of the 3 plans was played through 20 times")
    assert "Times" not in shown(at_once)
    (single,) = verdict_texts(by_outcome(plan, values[:1]))
    assert "nothing to compare" in single


def test_a_best_plan_behind_others_of_which_none_is_surely_ahead_stays(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 0.2, 1.5], 60))
    assert found.raced is not None
    unsure = tuple(replace(one, low=-0.1) for one in found.raced.leads)
    at = chosen_plan(found.raced.race, unsure, 0.01)
    changed = replace(found, raced=replace(found.raced, leads=unsure), at=at)
    (only,) = verdict_texts(changed)
    assert only.startswith("Plan 1 was behind others, but none that is left is by itself surely")


def test_the_document_has_every_plan_with_its_evidence(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0, 0.2, 1.5], 60))
    entry = json.loads(as_json(by_outcome_entry(found)))
    assert (entry["seasons"], entry["replicates"], entry["seed"]) == (6, 60, 7)
    assert entry["springs"] == [2027, 2033]
    assert entry["ended"] == "one left"
    assert entry["sentences"] == list(verdict_texts(found))
    assert [one["kind"] for one in entry["candidates"]] == ["best", "near-equal", "less-related"]
    assert [one["chosen"] for one in entry["candidates"]] == [False, False, True]
    assert found.raced is not None
    for one, standing, lead in zip(
        entry["candidates"], found.raced.race.standings, found.raced.leads, strict=True
    ):
        assert one["goal"] == {"mean": standing.mean, "se": standing.se}
        assert (one["difference"]["mean"], one["difference"]["se"]) == (lead.mean, lead.se)
        assert one["replicates"] == standing.replicates
        assert one["left_at_round"] == standing.left_at_round
        assert one["value"] == pytest.approx(plan.solution.value)
        assert {hen["hen"] for pen in one["pens"] for hen in pen["hens"]}
        assert 0 <= one["all_alive"]["chance"] <= 1


def test_a_document_without_a_race_has_nulls(plan: SeasonPlan) -> None:
    entry = json.loads(as_json(by_outcome_entry(by_outcome(plan, luck([1.0], 60)))))
    (only,) = entry["candidates"]
    assert (entry["ended"], entry["rounds"], only["chosen"]) == (None, 0, True)
    assert (only["goal"], only["difference"], only["replicates"]) == (None, None, 0)
    same = luck([1.0], 20)[0]
    alike = json.loads(as_json(by_outcome_entry(by_outcome(plan, np.stack([same, same])))))
    assert alike["candidates"][1]["difference"]["high"] is None


def test_the_heading_counts_seasons_as_people_do(plan: SeasonPlan) -> None:
    found = by_outcome(plan, luck([1.0], 60))
    one = replace(found, horizon=replace(found.horizon, seasons=1))
    many = replace(found, horizon=replace(found.horizon, seasons=12))
    assert head_text(one).startswith("One season ahead, spring 2027 to 2028")
    assert plain(head_text(many)).startswith("12 seasons ahead, spring 2027 to 2039")
