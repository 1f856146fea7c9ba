"""What the plan's screen says of each trait, and what stands in its place where nothing does."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.genetics.traits.scores import Told
from matchmaker.plan.season.response import plan_response
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.report.documents import plan_document
from matchmaker.report.pens import print_plan
from matchmaker.report.response import aim_text, response_legend, response_sentence
from tests.scored_flocks import TRAITS, planned, response_of, scored

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.settings import Settings


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return planned(tmp_path_factory.mktemp("response"))


def shown(plan: SeasonPlan) -> str:
    stream = io.StringIO()
    print_plan(Console(file=stream, width=80, highlight=False, markup=False, emoji=False), plan)
    return stream.getvalue()


def must_not_fall(plan: SeasonPlan) -> Settings:
    """The plan's settings, eggs being asked not to fall."""
    settings = plan.table.study.flock.settings
    asked = settings.traits["eggs"].model_copy(update={"weight": "must not fall"})
    return settings.model_copy(update={"traits": {"eggs": asked}})


class TestScreen:
    def test_every_trait_has_its_row(self, plan: SeasonPlan) -> None:
        table = shown(plan).partition("Expected of the chicks\n")[2]
        assert table.splitlines()[0].split() == [
            *("Trait", "Aim", "Counts", "Chicks", "at", "Change", "±", "Genes", "Breed"),
            "Inbr.",
        ]
        number = r"(0|[+−]\d+\.\d+)"
        rows = re.findall(rf"^(\w+) +(up|58) +0\.\d\d .*{number} +\d+\.\d+ +{number}", table, re.M)
        assert [row[0] for row in rows] == ["eggs", "size", "temper"]

    def test_no_line_is_wider_than_the_screen(self, plan: SeasonPlan) -> None:
        assert max(map(len, shown(plan).splitlines())) <= 80

    def test_what_is_lost_is_said(self, tmp_path: Path) -> None:
        """Temper counts nothing, so the plan is the same whichever way is better: one way loses."""
        verbs = {"up": "give up", "down": "add"}
        lost = []
        for way, verb in verbs.items():
            settings = TRAITS.replace(
                'direction = "up"\nweight = "ignore"', f'direction = "{way}"\nweight = "ignore"'
            )
            found = planned(tmp_path / way, settings)
            one = response_of(found, "temper")
            sentence = response_sentence(one, found.table.study.flock.settings)
            if one.loses:
                lost.append(way)
                assert sentence is not None
                assert sentence.startswith(
                    f"You are about to {verb} {abs(one.change):.2f} of temper"
                )
                assert sentence.endswith("It counts nothing in this plan.")
                assert re.sub(r"\s+", " ", shown(found)).count(sentence) == 1
            else:
                assert sentence is None
        assert len(lost) == 1

    @pytest.mark.parametrize(("error", "larger"), [(2.5, False), (3.5, True)])
    def test_a_trait_that_must_not_fall_is_named_as_such(
        self,
        plan: SeasonPlan,
        error: float,
        larger: bool,  # noqa: FBT001
    ) -> None:
        one = replace(response_of(plan, "eggs"), change=-3.0, by_genes=-0.5, by_breed=-2.5)
        one = replace(one, error=error)
        settings = must_not_fall(plan)
        sentence = response_sentence(one, settings)
        assert sentence is not None
        assert "give up 3.0 eggs of eggs, above all by the breed's share" in sentence
        assert "You wrote that it must not fall" in sentence
        assert ("the error is larger" in sentence) == larger

    @pytest.mark.parametrize(
        ("genes", "breed", "inbreeding", "cause"),
        [
            (-2.5, -0.5, 0.0, None),
            (-1.4, -1.6, 0.0, None),
            (-1.2, -1.8, 0.0, "the breed's share"),
            (-0.5, -0.5, -2.0, "inbreeding"),
        ],
    )
    def test_a_cause_is_named_only_where_it_is_clear(
        self, plan: SeasonPlan, genes: float, breed: float, inbreeding: float, cause: str | None
    ) -> None:
        """Clear is more than 0.05 genetic SDs, here 0.2 eggs less 0.01, beyond what genes cost."""
        one = replace(response_of(plan, "eggs"), genetic_sd=4.2, change=-3.0, by_genes=genes)
        one = replace(one, by_breed=breed, by_inbreeding=inbreeding)
        sentence = response_sentence(one, plan.table.study.flock.settings) or ""
        assert sentence.startswith("You are about to give up 3.0 eggs of eggs")
        assert ("above all" in sentence) == (cause is not None)
        assert cause is None or f"above all by {cause}" in sentence

    def test_a_slight_fall_of_what_must_not_fall_is_said_without_alarm(
        self, plan: SeasonPlan
    ) -> None:
        settings = must_not_fall(plan)
        one = replace(response_of(plan, "eggs"), genetic_sd=4.0, change=-0.1, error=0.5)
        within = "eggs falls by 0.1 eggs although it must not: within chance."
        assert response_sentence(one, settings) == within
        sure = response_sentence(replace(one, error=0.01), settings)
        assert sure == "eggs falls by 0.1 eggs although it must not: too little to matter."
        for change in (-0.001, 0.0, 0.1):
            assert response_sentence(replace(one, change=change), settings) is None
        assert response_sentence(one, plan.table.study.flock.settings) is None

    def test_the_document_and_the_screen_say_it_alike(self, tmp_path: Path) -> None:
        """Whatever is said of a trait that must not fall stands in both, word for word."""
        asked = TRAITS.replace('weight = "ignore"', 'weight = "must not fall"')
        found = planned(tmp_path, asked)
        text = re.sub(r"\s+", " ", shown(found))
        said = [entry["sentence"] for entry in plan_document(found)["response"]]
        assert all(sentence in text for sentence in said if sentence)
        one = response_of(found, "temper")
        assert ("temper falls by" in text) == (not one.loses and one.change <= -0.005)

    @pytest.mark.parametrize(
        ("level", "change", "optimum", "further"),
        [
            (52.4, 0.5, 50.0, "0.5"),
            (47.6, -0.5, 50.0, "0.5"),
            (51.0, 1.5, 50.0, "0.5"),
        ],
    )
    def test_a_trait_that_leaves_its_optimum_by_the_printed_figures(
        self, plan: SeasonPlan, level: float, change: float, optimum: float, further: str
    ) -> None:
        one = response_of(plan, "size")
        aim = replace(one.aim, optimum=optimum)
        one = replace(one, aim=aim, genetic_sd=2.5, level=level, change=change, gain=-0.3)
        assert one.distance == pytest.approx(float(further))
        sentence = response_sentence(one, plan.table.study.flock.settings)
        assert sentence is not None
        assert sentence.startswith(
            f"You are about to lose ground in size: the chicks are expected at {level} g, "
            f"{further} g further from the 50 you want than those of average pairs."
        )
        assert sentence.endswith("does not outweigh the rest.")

    def test_nearer_to_the_optimum_is_no_loss(self, plan: SeasonPlan) -> None:
        """Even where the plan counts one, the spread of the chicks being part of that."""
        one = response_of(plan, "size")
        aim = replace(one.aim, optimum=50.0)
        one = replace(one, aim=aim, genetic_sd=2.5, level=52.4, change=-0.5, gain=-0.3)
        assert one.distance == pytest.approx(-0.5)
        assert not one.loses
        assert response_sentence(one, plan.table.study.flock.settings) is None

    def test_a_loss_that_the_plan_counts_as_none_says_so(self, plan: SeasonPlan) -> None:
        one = replace(response_of(plan, "size"), genetic_sd=2.5, level=60.0, change=1.0, gain=0.1)
        sentence = response_sentence(one, plan.table.study.flock.settings)
        assert sentence is not None
        assert "the plan counts no loss" in sentence

    def test_the_legend_holds_what_occurs(self, plan: SeasonPlan) -> None:
        forecast = plan.table.study.forecast
        both, hens = forecast.trait("temper"), forecast.trait("eggs")
        everything = response_legend([both], ["Genes", "Breed", "Inbr."])
        assert "(hens' figure)" in everything
        assert "by inbreeding" in everything
        less = response_legend([replace(hens, vigour=0.0, told=Told.SHARE_ONLY)], ["Genes"])
        assert "hens' figure" not in less
        assert not re.search("inbreeding|share|vigour|of that", less)
        shares = response_legend([replace(hens, vigour=0.0, told=Told.SHARE_ONLY)], ["Breed"])
        assert "vigour" not in shares

    def test_a_column_of_nothing_is_left_out(self, tmp_path: Path) -> None:
        without = planned(tmp_path, TRAITS.replace("depression = -2\n", "depression = 0\n"))
        assert all(one.by_inbreeding == 0 for one in plan_response(without))
        for found, there in ((without, False), (planned(tmp_path / "with"), True)):
            table = shown(found).partition("Expected of the chicks")[2]
            assert ("Inbr." in table) == ("by inbreeding" in table) == there

    def test_the_document_holds_the_same(self, plan: SeasonPlan) -> None:
        entries = {entry["trait"]: entry for entry in plan_document(plan)["response"]}
        assert set(entries) == {"eggs", "size", "temper"}
        for one in plan_response(plan):
            entry = entries[one.aim.trait]
            assert (entry["change"], entry["loses"]) == (one.change, one.loses)
            assert (entry["sentence"] is not None) == one.loses
        assert entries["size"]["optimum"] == 58
        assert entries["eggs"]["direction"] == "up"

    def test_a_flock_without_scores_has_no_table(self, tmp_path: Path) -> None:
        found = plan_season(scored(tmp_path, TRAITS, told=[{"bird": "H0", "eggs": "50"}]))
        assert plan_response(found) == ()
        assert "Expected of the chicks" not in shown(found)

    def test_aims_in_words(self, plan: SeasonPlan) -> None:
        ways = [aim_text(one.aim) for one in plan_response(plan)]
        assert ways == ["up", "58", "up"]


class TestPens:
    def test_merit_is_shown_where_a_trait_counts(self, plan: SeasonPlan, tmp_path: Path) -> None:
        ignored = TRAITS.replace("weight = 0.3", "weight = 0").replace("weight = 0.2", "weight = 0")
        for found, there in ((plan, True), (planned(tmp_path, ignored), False)):
            pens = shown(found).partition("\nLines\n")[0]
            assert ("Merit" in pens.splitlines()[3].split()) == there
            assert ("Merit: how much more a wanted chick counts" in plain(pens)) == there

    def test_the_surplus_is_explained_where_there_is_one(self, plan: SeasonPlan) -> None:
        goals = {goal.line: goal.chicks_wanted for goal in plan.problem.lines}
        beyond = any(one.worth > goals[one.line] for one in plan.solution.lines)
        assert ("beyond what it asked for" in plain(shown(plan))) == beyond


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)
