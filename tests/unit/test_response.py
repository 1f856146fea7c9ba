"""What a plan does to each trait: sums, a slow second way, and what weights change."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np
import pytest
from rich.console import Console

from matchmaker.genetics.traits.scores import Told
from matchmaker.plan.response import TraitResponse, plan_response
from matchmaker.plan.season_plan import plan_season
from matchmaker.report.documents import plan_document
from matchmaker.report.pens import print_plan
from matchmaker.report.response import aim_text, response_legend, response_sentence
from matchmaker.tables.records import Sex
from tests.oracle.animal_model import relationship, spread_of, written_out
from tests.scored_flocks import TRAITS, scored

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.settings import Settings


def planned(path: Path, settings: str = TRAITS) -> SeasonPlan:
    return plan_season(scored(path, settings))


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return planned(tmp_path_factory.mktemp("response"))


def response(plan: SeasonPlan, trait: str) -> TraitResponse:
    return next(one for one in plan_response(plan) if one.aim.trait == trait)


def used(plan: SeasonPlan) -> list[Pair]:
    return [pair for pen in plan.pens for pair in pen.pairs]


def chicks(plan: SeasonPlan, pair: Pair) -> float:
    return min(pair.wanted, plan.table.needs[pair.line or ""].most_per_pair)


def level(plan: SeasonPlan, trait: str, hen: str, cock: str) -> float:
    """Level of a pair's chicks, by the figures of the two birds."""
    study = plan.table.study
    found = study.forecast.trait(trait)
    at = [study.forecast.position(band) for band in (hen, cock)]
    share = float(study.forecast.shares[at].mean())
    matings, place = study.prospects.matings, study.prospects.at(hen, cock)
    return float(
        found.pure_level
        + found.share_slope * (share - 1)
        + found.vigour * matings.heterozygosity[place]
        + found.values[at].mean()
        + found.depression * study.kinship.between(hen, cock)
    )


def average(plan: SeasonPlan, trait: str, line: str) -> float:
    """Mean level over all pairs of a line's rows: everyone of this flock is here."""
    birds = plan.table.study.flock.birds
    levels = [
        level(plan, trait, hen.band, cock.band)
        for crossing in plan.table.scheme
        if crossing.chicks == line
        for hen in birds
        if hen.sex is Sex.HEN and hen.line in crossing.hens
        for cock in birds
        if cock.sex is Sex.COCK and cock.line in crossing.cocks
    ]
    return fmean(levels)


@pytest.mark.parametrize("trait", ["eggs", "size", "temper"])
class TestFigures:
    def test_parts_sum_up(self, plan: SeasonPlan, trait: str) -> None:
        one = response(plan, trait)
        assert one.by_genes + one.by_breed + one.by_inbreeding == pytest.approx(one.change)

    def test_a_slow_way_gives_the_same(self, plan: SeasonPlan, trait: str) -> None:
        pairs = used(plan)
        total = sum(chicks(plan, pair) for pair in pairs)
        levels = [level(plan, trait, pair.hen, pair.cock) for pair in pairs]
        shares = [chicks(plan, pair) / total for pair in pairs]
        against = [average(plan, trait, pair.line or "") for pair in pairs]
        one = response(plan, trait)
        assert one.level == pytest.approx(np.dot(shares, levels))
        assert one.change == pytest.approx(np.dot(shares, np.subtract(levels, against)))

    def test_the_error_is_that_of_the_difference(self, plan: SeasonPlan, trait: str) -> None:
        """Bird by bird: what each gives to the chicks less what it gives on average."""
        study, pairs = plan.table.study, used(plan)
        total = sum(chicks(plan, pair) for pair in pairs)
        given = np.zeros(len(study.forecast.birds))
        share = vigour = 0.0
        found = study.forecast.trait(trait)
        for pair in pairs:
            weight = chicks(plan, pair) / total
            rows = [
                (hen.band, cock.band)
                for crossing in plan.table.scheme
                if crossing.chicks == pair.line
                for hen in study.flock.birds
                if hen.sex is Sex.HEN and hen.line in crossing.hens
                for cock in study.flock.birds
                if cock.sex is Sex.COCK and cock.line in crossing.cocks
            ]
            counted = [(pair.hen, pair.cock, weight)]
            counted += [(hen, cock, -weight / len(rows)) for hen, cock in rows]
            for hen, cock, part in counted:
                place = study.prospects.at(hen, cock)
                share += part * study.prospects.matings.shares[place]
                vigour += part * study.prospects.matings.heterozygosity[place]
                for band in (hen, cock):
                    given[study.forecast.position(band)] += part / 2
        records = found.scored.records
        told = {"share": share, "vigour": vigour}
        slopes = np.array([told[name] for name in records.names])
        related = relationship(study.flock.pedigree)
        written = written_out(related, records, found.aim.heredity)
        variance = spread_of(written, np.arange(len(given)), given, slopes)
        assert response(plan, trait).error == pytest.approx(np.sqrt(variance))


class TestWeights:
    def test_a_weight_moves_the_plan_and_the_table(self, tmp_path: Path) -> None:
        settings = TRAITS.replace('direction = "up"\nweight = 0.3', 'direction = "up"\nweight = 0')
        without, alone = planned(tmp_path / "without", settings), planned(tmp_path / "with")
        assert {p.key for p in used(without)} != {p.key for p in used(alone)}
        assert response(without, "eggs").gain < response(alone, "eggs").gain
        assert response(without, "eggs").aim.weight == 0

    def test_the_other_direction_turns_the_response(self, tmp_path: Path) -> None:
        """Eggs weigh most; asked to go down they do."""
        up = TRAITS.replace("weight = 0.3", "weight = 2").replace("weight = 0.2", "weight = 0")
        down = up.replace('direction = "up"\nweight = 2', 'direction = "down"\nweight = 2')
        rising = response(planned(tmp_path / "up", up), "eggs")
        falling = response(planned(tmp_path / "down", down), "eggs")
        assert falling.by_genes < 0 < rising.by_genes
        assert not rising.loses

    def test_an_optimum_below_holds_a_trait_that_a_direction_raises(self, tmp_path: Path) -> None:
        up = TRAITS.replace("optimum = 58\nweight = 0.2", 'direction = "up"\nweight = 2')
        best = TRAITS.replace("optimum = 58\nweight = 0.2", "optimum = 50\nweight = 2")
        raised = response(planned(tmp_path / "up", up), "size")
        held = response(planned(tmp_path / "best", best), "size")
        assert raised.change > held.change
        assert raised.distance is None
        assert held.distance is not None
        assert held.distance < 0
        assert held.toward == pytest.approx(-held.distance / held.genetic_sd)

    def test_a_trait_that_counts_nothing_is_shown(self, plan: SeasonPlan) -> None:
        one = response(plan, "temper")
        assert one.aim.weight == 0
        assert one.toward == pytest.approx(one.change / one.genetic_sd)


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
            one = response(found, "temper")
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

    def test_a_trait_that_must_not_fall_is_named_as_such(self, plan: SeasonPlan) -> None:
        one = replace(response(plan, "eggs"), change=-3.0, by_genes=-0.5, by_breed=-2.5)
        settings = must_not_fall(plan)
        sentence = response_sentence(one, settings)
        assert sentence is not None
        assert "give up 3.0 eggs of eggs, above all by the breed's share" in sentence
        assert "You wrote that it must not fall" in sentence
        assert ("the error is larger" in sentence) == (one.error > 3)

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
        one = replace(response(plan, "eggs"), genetic_sd=4.2, change=-3.0, by_genes=genes)
        one = replace(one, by_breed=breed, by_inbreeding=inbreeding)
        sentence = response_sentence(one, plan.table.study.flock.settings) or ""
        assert sentence.startswith("You are about to give up 3.0 eggs of eggs")
        assert ("above all" in sentence) == (cause is not None)
        assert cause is None or f"above all by {cause}" in sentence

    def test_a_slight_fall_of_what_must_not_fall_is_said_without_alarm(
        self, plan: SeasonPlan
    ) -> None:
        settings = must_not_fall(plan)
        one = replace(response(plan, "eggs"), genetic_sd=4.0, change=-0.1, error=0.5)
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
        one = response(found, "temper")
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
        one = response(plan, "size")
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
        one = response(plan, "size")
        aim = replace(one.aim, optimum=50.0)
        one = replace(one, aim=aim, genetic_sd=2.5, level=52.4, change=-0.5, gain=-0.3)
        assert one.distance == pytest.approx(-0.5)
        assert not one.loses
        assert response_sentence(one, plan.table.study.flock.settings) is None

    def test_a_loss_that_the_plan_counts_as_none_says_so(self, plan: SeasonPlan) -> None:
        one = replace(response(plan, "size"), genetic_sd=2.5, level=60.0, change=1.0, gain=0.1)
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
        beyond = any(one.wanted > goals[one.line] for one in plan.solution.lines)
        assert ("beyond what it asked for" in plain(shown(plan))) == beyond


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)
