"""Each rule by itself, and all at once: what ``why`` says of it, and what lifts it."""

from __future__ import annotations

import io
import json
import re
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.explain.pair import PairAnswer, Verdict, asked_pair, why_pair
from matchmaker.pairs.rules import Rule
from matchmaker.report.why.document import pair_document
from matchmaker.report.why.screen import print_pair_answer
from matchmaker.report.wording import rule_sentence
from tests.why_flocks import ALONE, Case, all_at_once

if TYPE_CHECKING:
    from pathlib import Path


def asked(folder: Path, hen: str, cock: str, *, planned: bool = True) -> PairAnswer:
    """The answer about a pair of a folder."""
    table, hen, cock = asked_pair(verbs.pairs(folder), hen, cock)
    return why_pair(table, verbs.plan(folder) if planned else None, hen, cock)


def screen(answer: PairAnswer, width: int = 90) -> str:
    """What is printed of it, in one line."""
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    print_pair_answer(console, answer)
    return re.sub(r"\s+", " ", stream.getvalue())


@pytest.fixture(params=ALONE, ids=lambda key: " ".join(filter(None, map(str, key))))
def alone(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Rule, Case, PairAnswer]:
    """A rule, its flock, and the answer about the pair that it alone rejects."""
    case = ALONE[request.param]
    return request.param[0], case, asked(case.make(tmp_path / "flock"), case.hen, case.cock)


def test_the_rule_alone_rejects_the_pair(alone: tuple[Rule, Case, PairAnswer]) -> None:
    rule, case, answer = alone
    assert answer.verdict is Verdict.REJECTED
    assert {one.rule for one in answer.pair.broken} == {rule}
    shown = screen(answer)
    assert f"{case.hen} with {case.cock}: rejected, for 1 reason." in shown
    assert case.says.casefold() in shown.casefold()
    assert "Traceback" not in shown


def test_what_lifts_it_is_said_and_does_it(alone: tuple[Rule, Case, PairAnswer]) -> None:
    _, case, answer = alone
    assert answer.remedies is not None
    by_limits = [way for way in answer.remedies.ways if "allow" not in _cells(way.edits)]
    by_wish = [way for way in answer.remedies.ways if "allow" in _cells(way.edits)]
    assert bool(by_limits) == bool(case.lifts)
    assert bool(by_wish) == case.wish
    assert bool(answer.remedies.fixed) != bool(case.lifts)
    for way in answer.remedies.ways:
        assert any(pair.allowed for pair in way.table.by_birds[case.hen, case.cock])
    if case.lifts:
        assert case.lifts in screen(answer, width=400)


def _cells(edits: object) -> set[str]:
    return {text for edit in edits for _, text in edit.cells}  # type: ignore[attr-defined]


def test_the_same_facts_are_in_the_document(alone: tuple[Rule, Case, PairAnswer]) -> None:
    rule, case, answer = alone
    document = json.loads(json.dumps(pair_document(answer), allow_nan=False))
    assert (document["hen"], document["cock"], document["allowed"]) == (case.hen, case.cock, False)
    assert {one["rule"] for one in document["rules"]} == {str(rule)}
    assert all(case.says.casefold() in one["detail"].casefold() for one in document["rules"])
    assert {"terms", "paths", "if_forced", "would_take"} <= document.keys()
    assert len(document["would_take"]) >= len(answer.remedies.ways if answer.remedies else ())


def test_every_rule_has_its_flock() -> None:
    assert {rule for rule, _ in ALONE} == set(Rule)


def test_all_rules_at_once_are_all_told(tmp_path: Path) -> None:
    """But the closed row: a pair that has a row cannot be without one."""
    answer = asked(all_at_once(tmp_path), "Y", "SC", planned=False)
    rows = (answer.pair, *answer.others)
    assert {one.rule for pair in rows for one in pair.broken} == set(Rule) - {Rule.LINE_CLOSED}
    shown = screen(answer)
    for one in answer.pair.broken:
        assert rule_sentence(one)[1:] in shown
    assert "In the row “proof”: rejected (" in shown
    assert "no price" in shown


def test_a_sound_pair_breaks_nothing(tmp_path: Path) -> None:
    case = ALONE[Rule.TOO_RELATED, ""]
    answer = asked(case.make(tmp_path), "S2", "SC")
    assert answer.pair.broken == ()
    assert answer.remedies is None
    assert answer.verdict in (Verdict.PAIRED, Verdict.COULD_PAIR)
