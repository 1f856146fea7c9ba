"""What a plan does to each trait: sums, a slow second way, and what weights change."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.plan.season.season_plan import plan_season
from matchmaker.report.sheets import plan_records
from matchmaker.tables.records import Sex
from tests.builders import judged
from tests.oracle.animal_model import relationship, spread_of, written_out
from tests.scored_flocks import (
    FEW_PENS,
    FOUNDERS,
    PULLETS,
    SEEN,
    TRAITS,
    planned,
    response_of,
    scores,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.season.season_plan import SeasonPlan


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    return planned(tmp_path_factory.mktemp("response"))


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
        one = response_of(plan, trait)
        assert one.by_genes + one.by_breed + one.by_inbreeding == pytest.approx(one.change)

    def test_a_slow_way_gives_the_same(self, plan: SeasonPlan, trait: str) -> None:
        pairs = used(plan)
        total = sum(chicks(plan, pair) for pair in pairs)
        levels = [level(plan, trait, pair.hen, pair.cock) for pair in pairs]
        shares = [chicks(plan, pair) / total for pair in pairs]
        against = [average(plan, trait, pair.line or "") for pair in pairs]
        one = response_of(plan, trait)
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
        assert response_of(plan, trait).error == pytest.approx(np.sqrt(variance))


def test_a_pair_of_a_line_that_no_row_feeds_is_measured_against_itself(tmp_path: Path) -> None:
    """The only row is that of the pure line; a wish puts a half-bred hen to a half-bred cock."""
    pure = '[[matings]]\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\npurpose = "hold"\n'
    wishes = [{"bird": "B0", "with": "A0", "wish": wish} for wish in ("allow", "together")]
    found = plan_season(
        judged(
            tmp_path,
            [*FOUNDERS, *PULLETS],
            TRAITS + pure,
            scores=scores(),
            seen=SEEN,
            pens=FEW_PENS,
            wishes=wishes,
        )
    )
    pairs = used(found)
    assert {pair.line for pair in pairs} == {"Alder", "Pure"}
    total = sum(chicks(found, pair) for pair in pairs)
    for trait in ("eggs", "size"):
        expected = sum(
            chicks(found, pair)
            / total
            * (level(found, trait, pair.hen, pair.cock) - average(found, trait, "Pure"))
            for pair in pairs
            if pair.line == "Pure"
        )
        assert response_of(found, trait).change == pytest.approx(expected)


def test_a_pair_counts_for_the_eggs_of_its_turn(tmp_path: Path) -> None:
    """The Yard is free for four weeks: its pairs give fewer chicks, and count for less."""
    pens = [FEW_PENS[0], {**FEW_PENS[1], "until": "2027-02-28"}]
    birds = [*FOUNDERS, *PULLETS]
    found = plan_season(judged(tmp_path, birds, TRAITS, scores=scores(), seen=SEEN, pens=pens))
    chosen = [one for pen in found.pens for one in pen.chosen]
    assert len({one.turn for one in chosen}) == 2
    most = {line: needs.most_per_pair for line, needs in found.table.needs.items()}
    counts = [min(one.wanted, most[one.line]) for one in chosen]
    levels = [level(found, "eggs", one.hen, one.cock) for one in chosen]
    assert [row.why for row in plan_records(found)] == [
        f"{one.row}: value {one.value:.3f}" for one in chosen
    ]
    expected = np.dot(counts, levels) / sum(counts)
    assert response_of(found, "eggs").level == pytest.approx(expected)


class TestWeights:
    def test_a_weight_moves_the_plan_and_the_table(self, tmp_path: Path) -> None:
        settings = TRAITS.replace('direction = "up"\nweight = 0.3', 'direction = "up"\nweight = 0')
        without, alone = planned(tmp_path / "without", settings), planned(tmp_path / "with")
        assert {p.key for p in used(without)} != {p.key for p in used(alone)}
        assert response_of(without, "eggs").gain < response_of(alone, "eggs").gain
        assert response_of(without, "eggs").aim.weight == 0

    def test_the_other_direction_turns_the_response(self, tmp_path: Path) -> None:
        """Eggs weigh most; asked to go down they do."""
        up = TRAITS.replace("weight = 0.3", "weight = 2").replace("weight = 0.2", "weight = 0")
        down = up.replace('direction = "up"\nweight = 2', 'direction = "down"\nweight = 2')
        rising = response_of(planned(tmp_path / "up", up), "eggs")
        falling = response_of(planned(tmp_path / "down", down), "eggs")
        assert falling.by_genes < 0 < rising.by_genes
        assert not rising.loses

    def test_an_optimum_below_holds_a_trait_that_a_direction_raises(self, tmp_path: Path) -> None:
        up = TRAITS.replace("optimum = 58\nweight = 0.2", 'direction = "up"\nweight = 2')
        best = TRAITS.replace("optimum = 58\nweight = 0.2", "optimum = 50\nweight = 2")
        raised = response_of(planned(tmp_path / "up", up), "size")
        held = response_of(planned(tmp_path / "best", best), "size")
        assert raised.change > held.change
        assert raised.distance is None
        assert held.distance is not None
        assert held.distance < 0
        assert held.toward == pytest.approx(-held.distance / held.genetic_sd)

    def test_a_trait_that_counts_nothing_is_shown(self, plan: SeasonPlan) -> None:
        one = response_of(plan, "temper")
        assert one.aim.weight == 0
        assert one.toward == pytest.approx(one.change / one.genetic_sd)
