"""What chicks are expected to be: against the animal model itself, integration and plain cases."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.kin.kinship import kinship_matrix, kinship_of
from matchmaker.genetics.traits.chick import chick_variance, expected_distance
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.prospects import Prospects
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.standing import Standing
from tests.builders import chick
from tests.scored_flocks import FOUNDERS, PULLETS, TRAITS, scored

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.pairs.table import PairTable


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return scored(tmp_path_factory.mktemp("scored"))


def trait_of(table: PairTable, name: str) -> TraitForecast:
    return table.study.forecast.trait(name)


class TestVariance:
    def test_it_is_the_error_variance_of_an_unscored_chick_in_the_model(self) -> None:
        """Parents are related and inbred; the chick (the last bird) has no score."""
        sires = [-1, -1, -1, 0, 0, 3, 3, 5, 7]
        dams = [-1, -1, -1, 1, 1, 4, 2, 4, 6]
        ancestry = ancestry_of_parents(sires, dams)
        birds = np.arange(8)
        records = Records(
            trait="eggs",
            birds=birds,
            values=np.array([3.0, 1.0, 4.0, 1.5, 5.0, 9.0, 2.0, 6.0]),
            groups=np.array([0, 0, 0, 1, 1, 1, 1, 1]),
            covariates=np.empty((8, 0)),
        )
        found = predict(kindred_of(ancestry), records, Heredity(h2=0.4, repeatability=0.5))
        inbreeding = 2 * kinship_of(ancestry, ancestry.birds).diagonal() - 1
        hen, cock = np.array([6]), np.array([7])
        mean = np.array([[(inbreeding[6] + inbreeding[7]) / 2]])
        errors = found.solved.errors(np.concatenate((hen, cock)))
        expected = found.solved.errors(np.array([8]))[0, 0]
        assert inbreeding[7] > 0
        assert chick_variance(errors, 1, found.genetic_sd**2, mean)[0, 0] == pytest.approx(expected)
        assert found.values[8] == pytest.approx((found.values[6] + found.values[7]) / 2)

    def test_errors_in_common_count(self) -> None:
        apart = chick_variance(np.eye(2), 1, 1.0, np.zeros((1, 1)))
        tied = chick_variance(np.array([[1.0, 0.5], [0.5, 1.0]]), 1, 1.0, np.zeros((1, 1)))
        assert tied - apart == pytest.approx(0.25)


class TestDistance:
    @given(
        level=st.floats(-20, 20),
        deviation=st.floats(0.01, 10),
        optimum=st.floats(-20, 20),
    )
    def test_it_is_the_integral(self, level: float, deviation: float, optimum: float) -> None:
        edges = np.linspace(-9, 9, 20_001)
        middles = (edges[1:] + edges[:-1]) / 2
        density = np.exp(-(middles**2) / 2)
        away = np.abs(level + deviation * middles - optimum)
        by_sum = (density * away).sum() / density.sum()
        found = float(expected_distance(level, deviation**2, optimum))
        assert found == pytest.approx(by_sum, rel=1e-5, abs=1e-6)

    @given(
        level=st.floats(-1e6, 1e6, allow_subnormal=False),
        variance=st.floats(0, 1e12, allow_subnormal=False),
        optimum=st.floats(-1e6, 1e6, allow_subnormal=False),
    )
    def test_spread_only_adds(self, level: float, variance: float, optimum: float) -> None:
        found = float(expected_distance(level, variance, optimum))
        assert found >= abs(level - optimum) * (1 - 1e-12)
        assert found <= np.hypot(level - optimum, np.sqrt(variance)) * (1 + 1e-12)

    def test_what_does_not_vary_keeps_its_distance(self) -> None:
        assert expected_distance([55.0, 58.0], [0.0, 0.0], 58.0).tolist() == [3.0, 0.0]


class TestGains:
    def test_a_direction_counts_genes_and_inbreeding(self, table: PairTable) -> None:
        """P0 out of S0 by H0: back to S0 her chicks are inbred by a quarter."""
        trait, prospects = trait_of(table, "eggs"), table.study.prospects
        value = {b: float(trait.values[table.study.forecast.position(b)]) for b in ("P0", "S0")}
        middle = (value["P0"] + value["S0"]) / 2
        at = prospects.at("P0", "S0")
        assert trait.depression == -20
        assert prospects.gains["eggs"][at] == pytest.approx((middle - 20 * 0.25) / trait.genetic_sd)

    def test_breed_and_vigour_do_not_count_for_a_direction(self, table: PairTable) -> None:
        """Two hens of one prediction: the levels of their chicks differ, the gains do not."""
        matings, trait = table.study.prospects.matings, trait_of(table, "eggs")
        other = replace(matings, shares=matings.shares / 2, heterozygosity=matings.shares / 2)
        steep = replace(trait, share_slope=10.0, vigour=4.0)
        assert not np.allclose(other.levels(steep), matings.levels(steep))
        assert (other.gains(steep) == matings.gains(steep)).all()

    def test_an_optimum_counts_the_whole_level_and_its_spread(self, table: PairTable) -> None:
        matings, trait = table.study.prospects.matings, trait_of(table, "size")
        levels, variances = matings.levels(trait), matings.variances(trait)
        draws = np.random.default_rng(3).normal(size=100_000)
        unknown = abs(trait.pure_level + trait.genetic_sd * draws - 58).mean()
        for at in [(0, 0), (3, 1), (7, 4)]:
            away = np.abs(levels[at] + np.sqrt(variances[at]) * draws - 58)
            error = away.std() / np.sqrt(len(draws))
            nearer = matings.gains(trait)[at] * trait.genetic_sd
            assert abs(nearer - (unknown - away.mean())) < 10 * error

    def test_the_surer_of_two_equal_pairs_lies_nearer_to_the_optimum(
        self, table: PairTable
    ) -> None:
        matings, trait = table.study.prospects.matings, trait_of(table, "size")
        inbred = replace(matings, parents_inbreeding=matings.parents_inbreeding + 0.2)
        assert (inbred.gains(trait) > matings.gains(trait)).all()

    def test_a_trait_with_too_few_scores_gains_nothing(self, tmp_path: Path) -> None:
        told = [{"bird": "H0", "eggs": "60"}, {"bird": "H1", "eggs": "40"}]
        found = scored(tmp_path, told=told)
        assert not found.study.prospects.gains["eggs"].any()
        assert not found.study.prospects.merit.any()
        assert not found.study.standing.merit.any()


class TestStanding:
    def test_merit_is_the_weighted_sum(self, table: PairTable) -> None:
        study = table.study
        at = study.forecast.position("Q1")
        gains = {name: float(values[at]) for name, values in study.standing.gains.items()}
        assert study.merit("Q1") == pytest.approx(0.3 * gains["eggs"] + 0.2 * gains["size"])
        assert gains["temper"] != 0

    def test_one_trait_alone_has_its_own_reliability(self, tmp_path: Path) -> None:
        settings = TRAITS.replace("weight = 0.2", "weight = 0")
        found = scored(tmp_path, settings).study
        own = found.forecast.trait("eggs").reliability
        assert found.standing.reliability == pytest.approx(own)
        assert 0 < found.reliability("H0") < 1

    def test_without_weights_there_is_nothing_to_trust(self, tmp_path: Path) -> None:
        settings = TRAITS.replace("weight = 0.2", "weight = 0").replace(
            "weight = 0.3", "weight = 0"
        )
        found = scored(tmp_path, settings).study
        assert not found.standing.reliability.any()
        assert not found.standing.merit.any()

    def test_reliability_of_several_is_that_of_their_sum(self, tmp_path: Path) -> None:
        """Bird by bird with plain loops; tied traits, an inbred bird, both sides of the optimum."""
        tied = '[[correlations]]\ntraits = ["eggs", "size"]\ngenetic = -0.7\n'
        inbred = chick("X", "hen", "S0", "P0", "Pure", hatched="2026-12-01", status="young")
        settings = TRAITS.replace("optimum = 58", "optimum = 56") + tied
        table = scored(tmp_path, settings, birds=[*FOUNDERS, *PULLETS, inbred])
        forecast = table.study.forecast
        levels = forecast.trait("size").levels
        assert levels[forecast.position("Q3")] < 56 < levels[forecast.position("H0")]
        assert forecast.inbreeding[forecast.position("X")] == 0.25
        for bird in ("H0", "B1", "Q3", "S1", "X"):
            at = forecast.position(bird)
            counts = []
            for trait in forecast.traits:
                side = float(trait.aim.sign)
                if trait.aim.optimum is not None:
                    # the slope of E|X - optimum| by a small step, X spread as the errors say
                    own = trait.genetic_sd**2 * (1 + forecast.inbreeding[at])
                    variance = np.full(2, own * (1 - trait.reliability[at]))
                    step = trait.levels[at] + np.array([-1e-4, 1e-4]) * trait.genetic_sd
                    ends = expected_distance(step, variance, trait.aim.optimum)
                    side = -float(ends[1] - ends[0]) / float(step[1] - step[0])
                counts.append(side * trait.aim.weight / trait.genetic_sd)
            unsure = total = 0.0
            for one, first in enumerate(forecast.traits):
                for two, second in enumerate(forecast.traits):
                    both = counts[one] * counts[two]
                    unsure += both * forecast.bird_errors[at, one, two]
                    spread = first.genetic_sd * second.genetic_sd
                    total += both * forecast.correlations[one, two] * spread
            expected = 1 - unsure / (total * (1 + forecast.inbreeding[at]))
            assert table.study.reliability(bird) == pytest.approx(expected, rel=1e-6)

    def test_a_bird_far_from_its_optimum_stands_lower(self, table: PairTable) -> None:
        forecast = table.study.forecast
        trait, gains = forecast.trait("size"), Standing.of(forecast).gains["size"]
        away = np.abs(trait.levels - 58)
        scored_birds = np.unique(trait.scored.records.birds)
        near, far = (scored_birds[pick(away[scored_birds])] for pick in (np.argmin, np.argmax))
        assert gains[near] > gains[far]


class TestProspects:
    def test_the_grids_follow_the_bands(self, table: PairTable) -> None:
        prospects = table.study.prospects
        rows, columns = prospects.block(["P0", "H0"], ["S1", "S0", "A0"])
        assert (rows.shape, columns.shape) == ((2, 1), (1, 3))
        for row, hen in enumerate(("P0", "H0")):
            for column, cock in enumerate(("S1", "S0", "A0")):
                assert (rows[row, 0], columns[0, column]) == prospects.at(hen, cock)

    @pytest.mark.parametrize(("hen", "cock"), [("S0", "S1"), ("H0", "P0"), ("H0", "nobody")])
    def test_a_bird_that_is_not_in_view_has_no_place(
        self, table: PairTable, hen: str, cock: str
    ) -> None:
        with pytest.raises(KeyError):
            table.study.prospects.at(hen, cock)
        with pytest.raises(KeyError):
            table.study.prospects.block([hen], [cock])

    def test_every_bird_needs_its_kinship(self, table: PairTable) -> None:
        study = table.study
        pedigree = study.flock.pedigree
        few = kinship_matrix(pedigree, ["H0", "S0"])
        found = Prospects.of(study.forecast, pedigree, few, (["H0"], ["S0"]))
        assert found.merit[0, 0] == study.prospects.merit[study.prospects.at("H0", "S0")]
        for sexes in ((["H0", "H1"], ["S0"]), (["H0"], ["S0", "S1"])):
            with pytest.raises(ValueError, match=r"[HS]1 is not in the kinship matrix"):
                Prospects.of(study.forecast, pedigree, few, sexes)


class TestPairs:
    def test_pairs_have_the_merit_of_their_prospects(self, table: PairTable) -> None:
        prospects = table.study.prospects
        for pair in table.pairs:
            at = prospects.at(pair.hen, pair.cock)
            assert pair.merit == prospects.merit[at]
            assert set(pair.gains) == {"eggs", "size"}
            total = 0.3 * pair.gains["eggs"] + 0.2 * pair.gains["size"]
            assert pair.merit == pytest.approx(total)
            assert prospects.matings.kinship[at] == pytest.approx(pair.kinship)
            assert prospects.matings.shares[at] == pytest.approx(pair.recurrent_share)

    def test_an_average_pair_is_worth_one(self, table: PairTable) -> None:
        """All birds are here, so the pairs of a line's rows are just those of the table."""
        for line in ("Alder", "Pure"):
            worths = [pair.worth for pair in table.pairs if pair.line == line]
            assert min(filter(None, worths)) > 0.05
            assert np.mean([worth for worth in worths if worth is not None]) == pytest.approx(1)

    def test_birds_that_left_of_late_still_count_among_the_average(self, tmp_path: Path) -> None:
        """H5 has no chicks; gone without a date, she may have been here until now."""

        def worth(**left: str) -> float | None:
            gone = {"status": "sold", **left}
            birds = [{**row, **gone} if row["bird"] == "H5" else row for row in FOUNDERS]
            found = scored(tmp_path / "-".join(["flock", *left.values()]), birds=[*birds, *PULLETS])
            return next(p.worth for p in found.pairs if (p.hen, p.cock) == ("H0", "S0"))

        of_late = worth(left_on="2026-12-01")
        assert of_late != worth(left_on="2025-12-01")
        assert of_late == worth(left_on="")
        young, old = (worth(left_on="", hatched=f"{year}-03-01") for year in (2021, 2020))
        assert young != old
        assert worth(left_on="2026-12-01", hatched="2020-03-01") == young
