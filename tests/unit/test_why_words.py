"""Sentences of explanations that hang on what was proved, and the drawings of kinship."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.bird import why_bird
from matchmaker.explain.choosing import Choosing
from matchmaker.explain.forced import Forced, best_after, carried, posed, waived, with_pair
from matchmaker.explain.pair import PairAnswer, why_pair
from matchmaker.explain.patience import Patience
from matchmaker.explain.prices import Cost
from matchmaker.explain.remedies import entry_of, remedies
from matchmaker.explain.wish_prices import WishPrice
from matchmaker.explain.worth import NO_PLAN, Worth, known
from matchmaker.pairs.rules import Broken, Rule
from matchmaker.report.why.bird_words import worth_sentence
from matchmaker.report.why.choice_words import choosing_sentences, wish_sentence
from matchmaker.report.why.costs import chicks, cost_text
from matchmaker.report.why.kin_drawing import drawn, side_by_side
from matchmaker.report.why.pair_words import banned_sentence, forced_sentences
from matchmaker.tables.records import WishRecord
from tests.why_flocks import ALONE, scarce_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.explain.bird import Place
    from matchmaker.plan.season.season_plan import SeasonPlan


@pytest.fixture(scope="module")
def scarce(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    """The plan of a flock with more hens than places."""
    return verbs.plan(scarce_flock(tmp_path_factory.mktemp("words") / "flock", 1))


@pytest.fixture(scope="module")
def answer(scarce: SeasonPlan) -> PairAnswer:
    """The answer about a pair that could be, in no hurry."""
    pair = next(one for one in scarce.table.allowed if one.hen == "H1")
    return why_pair(scarce.table, scarce, pair.hen, pair.cock)


def forced(answer: PairAnswer, **changes: object) -> str:
    """What is said of a pair forced in."""
    given = {"value": 20.0, "loss": 0.5, "least_loss": 0.5, **changes}
    return " ".join(forced_sentences(answer, Forced(**given)))  # type: ignore[arg-type]


def test_a_price_says_what_is_proved_of_it(answer: PairAnswer) -> None:
    assert forced(answer) == (
        "If it were forced, the plan loses 0.50 wanted chicks: best with it 20.00, best of all "
        "20.50."
    )
    assert "the plan is worth as much" in forced(answer, loss=0.0, least_loss=0.0)
    rough = forced(answer, least_loss=0.1)
    assert "loses between 0.10 and 0.50 wanted chicks (--thorough closes that)" in rough
    assert "best found with it" in rough
    assert "loses 0.50 wanted chicks at most, and gains 0.20 at most" in forced(
        answer, least_loss=-0.2
    )


def test_where_no_plan_has_the_pair_what_clashes_is_named(answer: PairAnswer) -> None:
    none = {"value": None, "loss": None, "least_loss": None}
    assert "Against it stand: wish in row 2" in forced(answer, **none, conflict=("wish in row 2",))
    assert "no plan with it is known yet" in forced(answer, **none)


def test_a_rule_that_costs_says_what_it_costs(tmp_path: Path) -> None:
    case = next(iter(ALONE.values()))
    table = verbs.pairs(case.make(tmp_path))
    rejected = why_pair(table, None, case.hen, case.cock)
    text = forced(rejected, value=21.0, loss=-0.25, least_loss=-0.25)
    assert text.startswith("If the rules were waived for this pair alone, the plan gains 0.25")


def test_a_pair_kept_out() -> None:
    assert banned_sentence(Forced(value=19.0, loss=1.0, least_loss=1.0)) == (
        "Without it the plan loses 1.00 wanted chicks: best 19.00, best of all 20.00."
    )
    assert "another plan is worth as much" in banned_sentence(
        Forced(value=20.0, loss=0.0, least_loss=0.0)
    )
    rough = banned_sentence(Forced(value=19.0, loss=1.0, least_loss=0.5))
    assert "between 0.50 and 1.00" in rough
    must = banned_sentence(Forced(value=None, loss=None, conflict=("wish in row 2",)))
    assert must == "It is in every plan there can be: wish in row 2."
    assert "not known yet" in banned_sentence(Forced(value=None, loss=None))


def test_what_was_not_tried_is_said(answer: PairAnswer) -> None:
    def told(choosing: Choosing) -> str:
        return " ".join(choosing_sentences(answer, choosing))

    assert "not tried to the end" in told(Choosing(tie=False, cut_short=True))
    assert "not worked out" in told(Choosing(tie=False, left_out=True))
    assert "gives no wanted chick" in told(Choosing(tie=False, hopeless=True))
    assert "together" in told(Choosing(tie=True))


def test_a_wish_that_brings_costs_or_holds_the_plan() -> None:
    wish = WishRecord(row=4, bird="A1", partner="", wish="rest", why="")

    def told(price: Worth, *idle: Broken) -> str:
        return wish_sentence(WishPrice(wish=wish, price=price, idle=idle))

    assert told(known(0.0)).startswith("A1,,rest (wishes.csv, row 4): costs nothing")
    assert told(known(0.5)).endswith("costs 0.50 wanted chicks")
    assert told(known(-0.5)).endswith("brings 0.50 wanted chicks")
    assert "costs between 0.10 and 0.50" in told(Worth(low=0.1, high=0.5))
    assert told(NO_PLAN).endswith("without it there is no plan")
    assert "not known yet" in told(Worth(low=0.0, high=None))
    gone = Broken(rule=Rule.NOT_AVAILABLE, facts={"bird": "B2", "why": "dead", "final": 1})
    assert told(known(0.0), gone).endswith("has no effect, B2 is dead")


def test_amounts_too_small_to_print_are_not_nothing() -> None:
    assert chicks(0.002) == "less than 0.01 wanted chicks"
    assert cost_text(Cost(at_least=0.002, at_most=0.002)) == "< 0.01"
    assert cost_text(Cost(at_least=float("inf"), at_most=None, impossible=True)) == "no plan"
    assert cost_text(Cost(at_least=0.0, at_most=None)) == "not known"
    assert cost_text(Cost(at_least=0.002, at_most=None)) == "more than 0"
    assert cost_text(None) == "–"


def test_what_a_bird_is_worth() -> None:
    assert "no plan would be left" in worth_sentence("A1", NO_PLAN)
    assert "not been found yet" in worth_sentence("A1", Worth(low=0.0, high=None))
    assert "others would do as well" in worth_sentence("A1", known(0.0))
    assert "loses between 0.00 and 0.40" in worth_sentence("A1", Worth(low=-0.1, high=0.4))


def test_a_difference_is_turned_and_kept_within_what_is_known() -> None:
    assert Worth(low=-0.2, high=0.4).turned() == Worth(low=-0.4, high=0.2)
    assert Worth(low=-0.4, high=0.2).within(0.0, float("inf")) == Worth(low=0.0, high=0.2)
    assert Worth(low=0.1, high=None).within(0.0, 1.0) == Worth(low=0.1, high=1.0)
    assert NO_PLAN.turned() == NO_PLAN.within(0.0, 1.0) == NO_PLAN


def test_an_impatient_answer_is_true_as_far_as_it_goes(scarce: SeasonPlan) -> None:
    """Bounds of one who will not wait hold those of one who does."""
    checked = 0
    for pair in scarce.table.allowed[::5]:
        quick = why_pair(
            scarce.table, scarce, pair.hen, pair.cock, patience=Patience(0.0)
        ).if_forced
        exact = why_pair(scarce.table, scarce, pair.hen, pair.cock).if_forced
        assert quick is not None
        assert exact is not None
        if quick.loss is None or exact.loss is None:
            continue
        checked += 1
        assert quick.loss >= exact.loss - 1e-6
        assert (quick.least_loss or 0.0) <= exact.loss + 1e-6
    assert checked > 3


@pytest.mark.parametrize("seed", range(1, 4))
def test_a_plan_found_for_the_pair_alone_bounds_what_a_wider_remedy_is_worth(
    tmp_path: Path, seed: int
) -> None:
    """Once a resting hen is let in with every cock, the plan found with one of them still holds."""
    folder = scarce_flock(tmp_path / "flock", seed)
    rests = "bird,with,wish,why\nH1,,rest,moulting\nA1,,rest,moulting\n"
    (folder / "wishes.csv").write_text(rests, encoding="utf-8")
    plan = verbs.plan(folder)
    checked = 0
    for hen, cock in [("H1", "SC"), ("H1", "SD"), ("A1", "SC"), ("A1", "SD")]:
        ways = remedies(plan.table, hen, cock)
        season = waived(plan, ways.allowed)
        found = with_pair(season, entry_of(season.table, hen, cock))
        for remedy in ways.ways:
            after = best_after(plan, remedy.table)
            assert after is not None
            exact = with_pair(after, entry_of(after.table, hen, cock))
            quick = carried(season, found, after)
            if quick is None or exact.loss is None:
                continue
            checked += "delete" in str(remedy.edits).lower()
            assert quick.loss is not None
            assert quick.least_loss is not None
            assert quick.least_loss - 1e-6 <= exact.loss <= quick.loss + 1e-6
    assert checked


def test_nothing_is_carried_into_a_season_that_counts_otherwise(scarce: SeasonPlan) -> None:
    season = posed(scarce)
    forced = with_pair(season, next(iter(scarce.table.allowed)))
    assert carried(season, forced, season) is not None
    fewer = replace(season.problem, candidates=season.problem.candidates[1:])
    dearer = tuple(replace(one, value=one.value + 0.5) for one in season.problem.candidates)
    other = replace(season.problem, candidates=dearer)
    for changed in (fewer, other, replace(season.problem, standing_pens=(("Yard", "SC"),))):
        assert carried(season, forced, replace(season, problem=changed)) is None


def test_an_impatient_bird_has_ranges_that_hold_the_figures(scarce: SeasonPlan) -> None:
    band = next(one.bird for one in scarce.unused)
    quick = {one.pair.key: one.cost for one in _places(scarce, band, Patience(0.0))}
    exact = {one.pair.key: one.cost for one in _places(scarce, band, Patience())}
    assert quick.keys() == exact.keys()
    for key, cost in exact.items():
        rough = quick[key]
        assert cost is not None
        assert rough is not None
        assert cost.known
        assert rough.at_least <= cost.at_least + 1e-6
        assert rough.at_most is None or rough.at_most >= (cost.at_most or 0.0) - 1e-6


def _places(plan: SeasonPlan, band: str, patience: Patience) -> tuple[Place, ...]:
    return why_bird(plan.table, plan, band, patience=patience).places


def test_drawings_stand_side_by_side_while_there_is_room() -> None:
    one = drawn(("H1", "A"), ("C1", "A"), "0.125")
    assert side_by_side([one, one], 80)[0].count("A") == 2
    below = side_by_side([one, one], 10)
    assert sum("A" in line for line in below) == 2
    assert all(len(line) <= 10 for line in below)


def test_a_plain_drawing_has_no_letter_that_old_screens_lack() -> None:
    lines = drawn(("H1", "S1", "A"), ("C1", "A"), "0.063", plain=True)
    assert all(letter.isascii() for line in lines for letter in line)


def test_a_drawing_names_both_birds_once_and_ends_with_its_part() -> None:
    lines = drawn(("hen H1", "dam D", "A"), ("cock C1", "sire S", "A"), "0.031")
    text = "\n".join(lines)
    assert all(text.count(name) == 1 for name in ("hen H1", "cock C1", "dam D", "sire S"))
    assert lines[-1].strip() == "0.031"
    assert lines[0].strip() == "A"


def test_nothing_known_is_nothing_proved() -> None:
    assert not Forced(value=None, loss=None).proved
    assert Forced(value=None, loss=None, conflict=("wish in row 2",)).proved
    assert Forced(value=1.0, loss=0.5, least_loss=0.5).proved
    assert not Forced(value=1.0, loss=0.5, least_loss=0.5, best_proved=False).proved


def test_a_range_keeps_its_order(answer: PairAnswer) -> None:
    assert answer.if_forced is not None
    open_ = replace(answer.if_forced, loss=0.3, least_loss=0.1)
    assert not open_.proved
