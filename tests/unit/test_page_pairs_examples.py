"""The pairs of the examples: the page says of each what ``why`` and ``pairs`` say."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.pair import PairAnswer, placed_pairs, why_pair
from matchmaker.explain.prices import pair_costs
from matchmaker.report.documents import pairs_document
from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text, signed
from matchmaker.report.page.page import data_text
from matchmaker.report.page.pair_explorer import pairs_view
from matchmaker.report.why.costs import cost_text
from matchmaker.report.why.kin_words import (
    MOST_FOREBEARS,
    joined,
    kinship_heading,
    path_sentences,
)
from matchmaker.report.why.pair_words import (
    cautions,
    evidence,
    fixed_sentence,
    rule_heading,
    verdict_sentence,
)
from matchmaker.report.why.terms import beside_sentences, columns_beside, term_rows
from matchmaker.report.wording import rule_sentence, rule_state
from matchmaker.season.standing import Source
from tests.page_pairs import Carried, report_of

if TYPE_CHECKING:
    from matchmaker.reporting import SeasonReport
    from tests.page_pairs import ToldRow

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "examples"
EVERY = 23
"""One pair in so many is put to ``why``."""


@pytest.fixture(scope="module", params=["holm-fen", "skarn-farm", "tarn-croft"])
def season(request: pytest.FixtureRequest) -> SeasonReport:
    """The season of an example; what pairs cost is worked out for the smallest."""
    report = report_of(verbs.pairs(EXAMPLES / request.param))
    if request.param == "tarn-croft":
        return replace(report, costs=pair_costs(report.plan))
    return report


@pytest.fixture(scope="module")
def carried(season: SeasonReport) -> Carried:
    return Carried.of(season)


@pytest.fixture(scope="module")
def rows(carried: Carried) -> dict[tuple[str, str, str], ToldRow]:
    return carried.rows()


def test_no_pair_is_lost_nor_any_rule(
    season: SeasonReport, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    assert set(rows) == {pair.key for pair in season.table.pairs}
    for pair in season.table.pairs:
        told = rows[pair.key]
        assert told.rules == [rule_heading(one) for one in pair.broken]
        assert told.rule_states == [rule_state(one) for one in pair.broken]
        stands = any(pair.key == one.key for one in season.guide.pens.pairs)
        assert told.state == ("paired" if stands else "could-pair" if pair.allowed else "rejected")


def test_numbers_are_those_of_the_document(
    season: SeasonReport, carried: Carried, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    labels = carried.data["terms"]
    for entry in pairs_document(season.table)["pairs"]:
        told = {
            row[0]: row[1] for row in rows[entry["hen"], entry["cock"], entry["row"] or ""].table
        }
        value, worth, chance = (entry[name] for name in ("value", "worth", "wanted_chance"))
        assert told["chicks join"] == (entry["line"] or "no line")
        assert told["kinship"] == kinship_text(entry["kinship"])
        assert told["chicks if all eggs are set"] == chicks_text(entry["chicks"])
        assert told["of them wanted"] == ("–" if chance is None else percent(chance))
        assert told[labels[5]] == share_text(entry["recurrent_share"])
        assert told["merit of the chicks"] == signed(entry["merit"])
        said = rows[entry["hen"], entry["cock"], entry["row"] or ""].wanted
        by_sex = entry["wanted_by_sex"]
        if by_sex is None:
            assert said == ""
        else:
            sons, daughters = (percent(by_sex.get(sex, 0.0)) for sex in ("cock", "hen"))
            assert f"sons {sons}, daughters {daughters}" in said
        assert ("approximate" in said) == (entry["approximate"] and by_sex is not None)
        assert told["value"] == ("–" if value is None else f"{value:.2f}")
        assert told["a wanted chick counts"] == ("–" if worth is None else f"{worth:.2f}")


def test_shown_parts_make_up_what_is_shown_as_their_whole(
    carried: Carried, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    """By arithmetic on the digits of the page alone: value = counted × what a chick counts."""
    traits = [label for label in carried.data["terms"] if label.startswith("  by ")][:-1]
    seen = 0
    for told in rows.values():
        cells = {row[0]: row[1].replace("−", "-").partition(" ")[0] for row in told.table}
        if cells["value"] == "–" or cells["wanted chicks counted"] == "–":
            continue
        counted, one = float(cells["wanted chicks counted"]), float(cells["a wanted chick counts"])
        rounding = (0.05 if counted < 9.95 else 0.5) * one + 0.005 * counted + 0.006
        if cells["value"] != "0.00":
            assert float(cells["value"]) == pytest.approx(counted * one, abs=rounding)
            seen += 1
        merit = sum(float(cells.get(label, "0")) for label in traits)
        assert float(cells["merit of the chicks"]) == pytest.approx(
            merit, abs=0.005 * (len(traits) + 1)
        )
    assert seen > 50


def answers(season: SeasonReport) -> list[PairAnswer]:
    """What ``why`` answers without prices, to some of the pairs."""
    placed = placed_pairs(season.plan)
    found = []
    for hen, cock in list(season.table.by_birds)[::EVERY]:
        answer = why_pair(season.table, None, hen, cock)
        found.append(
            replace(
                answer,
                plan=season.plan,
                hers=tuple(one for one in placed if one.pair.hen == hen),
                his=tuple(one for one in placed if one.pair.cock == cock),
            )
        )
    return found


def test_it_says_what_why_says(
    season: SeasonReport, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    """Of pairs that are not in the plan, where the pens that stand are the best plan's."""
    fixed = 0
    for answer in answers(season):
        told = rows[answer.pair.key]
        if told.state != "paired":
            assert told.sentence == verdict_sentence(answer)
        kin = joined(answer)
        assert told.kin == [
            kinship_heading(kin),
            *(f"{one}." for one in (path_sentences(kin, MOST_FOREBEARS) if kin.kin.listed else ())),
        ]
        assert told.evidence == [list(evidence(answer, one)) for one in answer.pair.broken]
        if told.fixed:
            assert answer.remedies is not None
            assert told.fixed == [fixed_sentence(answer, one) for one in answer.remedies.fixed]
            fixed += 1
        elif told.state == "rejected":
            assert told.cautions == list(cautions(answer))
        if season.guide.pens.source is Source.BEST:
            beside = columns_beside(answer)
            assert told.table == list(term_rows(answer, beside))
            said = list(beside_sentences(answer, beside))
            assert f"{'; '.join(told.beside)}." in said or not told.beside
    assert fixed or season.table.study.flock.settings.recurrent != "sussex"


def test_without_scripts_every_pair_is_there_with_all_its_rules(
    season: SeasonReport, carried: Carried
) -> None:
    lists = {hen.band: [one.unescape() for one in hen.rows] for hen in carried.values["hens"]}
    assert sum(map(len, lists.values())) == len(season.table.by_birds)
    for (hen, cock), entries in season.table.by_birds.items():
        (said,) = [one for one in lists[hen] if one.startswith(f"<b>{cock}</b> ")]
        for pair in entries:
            assert all(rule_sentence(one)[1:] in said for one in pair.broken)


def test_pairs_come_in_the_order_of_what_they_cost(
    season: SeasonReport, carried: Carried, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    states: dict[tuple[str, str], str] = {}
    for (hen, cock, _), told in rows.items():
        states.setdefault((hen, cock), told.state)
    order = [("paired", "could-pair", "rejected").index(states[one]) for one in carried.mates]
    assert order == sorted(order)
    if season.costs is None:
        return
    could = [
        min(
            (season.costs[pair.key] for pair in season.table.by_birds[one] if pair.allowed),
            key=_most,
        )
        for one in carried.mates
        if states[one] == "could-pair"
    ]
    assert list(map(_most, could)) == sorted(map(_most, could))
    for pair in season.table.allowed:
        words = cost_text(season.costs[pair.key])
        told = rows[pair.key]
        if (
            told.state == "could-pair"
            and words not in ("0", "< 0.01")
            and pair.key not in {one.pair.key for one in placed_pairs(season.plan)}
        ):
            assert told.more == f"would cost {words} wanted chicks"


def _most(cost: object) -> float:
    most = getattr(cost, "at_most", None)
    return float("inf") if most is None else float(most)


def test_where_the_pens_are_not_the_best_plan_it_says_so(
    season: SeasonReport, carried: Carried, rows: dict[tuple[str, str, str], ToldRow]
) -> None:
    best = {one.pair.key for one in placed_pairs(season.plan)}
    stands = {pair.key for pair in season.guide.pens.pairs}
    assert bool(carried.values["differs"]) == (
        {key[:2] for key in best} != {key[:2] for key in stands}
    )
    for key in stands - best:
        assert rows[key].more.startswith("not in the best plan, which has her ")
    for key in best - stands:
        assert rows[key].more.startswith("the best plan has the two in pen ")


def test_how_large_it_is_and_how_long_it_takes(season: SeasonReport, carried: Carried) -> None:
    """Printed, not asserted by the clock; the size is what was agreed for so many pairs."""
    begun = time.process_time()
    view = pairs_view(season)
    seconds = time.process_time() - begun
    data = len(data_text(view.data["pairs"]).encode())
    static = sum(len(row.encode()) for hen in view.values["hens"] for row in hen.rows)
    pairs = len(carried.mates)
    print(f"\n{pairs} pairs: {data} bytes of data, {static} of lists, {seconds:.2f} s")  # noqa: T201
    assert data + static < 900 * pairs
