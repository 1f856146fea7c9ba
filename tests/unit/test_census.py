"""The flock as a whole: lines, founders, rates and doubts."""

from __future__ import annotations

from dataclasses import replace
from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.genetics.census import Census, DoubtKind, census, flock_doubts
from matchmaker.genetics.genotypes.draws import Draws
from tests.builders import HOME, HOME_SEEN, bird, chick, hen, write_flock

if TYPE_CHECKING:
    from matchmaker.genetics.study import Study

BIRDS = (
    *HOME,
    hen("BLANK", sire="", dam=""),
    chick("A1", "cock", "AC", "AH", "Alder"),
    chick("A2", "hen", "AC", "AH", "Alder", status="young"),
    chick("A3", "", "AC", "AH", "Alder"),
    chick("M", "hen", "SC|AC", "AH", "Alder"),
    chick("N", "hen", "SC", "", "Pure"),
    bird("GONE", "hen", "Lost", "sussex", status="sold", left_on="2026-05-01"),
)


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return verbs.flock(write_flock(tmp_path_factory.mktemp("census"), BIRDS, seen=HOME_SEEN))


@pytest.fixture(scope="module")
def found(study: Study) -> Census:
    return census(study)


def test_lines_count_their_living_birds(found: Census) -> None:
    counts = {one.line: (one.cocks, one.hens, one.unsexed, one.breeders) for one in found.lines}
    assert counts == {"Alder": (2, 3, 1, 5), "Pure": (1, 3, 0, 4)}


def test_kinship_within_and_to_others_is_the_plain_mean(study: Study, found: Census) -> None:
    kinship, breeders = study.kinship, study.flock.breeders
    alder = [bird.band for bird in breeders if bird.line == "Alder"]
    pure = [bird.band for bird in breeders if bird.line == "Pure"]
    line = found.lines[0]
    within = fmean(kinship.between(one, two) for one in alder for two in alder)
    to_others = fmean(kinship.between(one, two) for one in alder for two in pure)
    assert (line.within, line.to_others) == pytest.approx((within, to_others))


def test_the_share_of_a_line_is_the_mean_of_its_living_birds(study: Study, found: Census) -> None:
    shares = [study.recurrent_share[b.band] for b in study.flock.living if b.line == "Alder"]
    assert found.lines[0].recurrent_share == pytest.approx(fmean(shares))


def test_founders_give_all_there_is(found: Census) -> None:
    assert found.founders is not None
    assert sum(part.contribution for part in found.founders.parts) == pytest.approx(1)
    assert found.founders.genome_equivalents <= found.founders.genomes_left


def test_the_same_tables_give_the_same_numbers(study: Study, found: Census) -> None:
    assert census(study).founders == found.founders


def test_rates_are_of_the_living_breeders(study: Study, found: Census) -> None:
    assert found.rates.diversity is not None
    assert found.rates.diversity.birds == len(study.flock.breeders)
    assert found.rates.size_by_sexes == pytest.approx(4 * 3 * 5 / 8)


@pytest.mark.parametrize(
    ("kind", "birds"),
    [
        (DoubtKind.SEX, ("A3",)),
        (DoubtKind.SEVERAL_PARENTS, ("M",)),
        (DoubtKind.PARENT_UNKNOWN, ("N",)),
        (DoubtKind.FOUNDER_ASSUMED, ("BLANK",)),
        (DoubtKind.COPIES, ("A1", "A2", "A3", "M")),
    ],
)
def test_each_doubt_names_its_birds(found: Census, kind: DoubtKind, birds: tuple[str, ...]) -> None:
    assert [one.birds for one in found.doubts if one.kind is kind] == [birds]


def test_a_sound_flock_has_no_doubts(tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = write_flock(tmp_path_factory.mktemp("sound"), HOME, seen=HOME_SEEN)
    assert flock_doubts(verbs.flock(folder)) == ()


def test_chances_drawn_by_lot_are_doubtful_where_they_are_open(study: Study) -> None:
    exact = study.genotypes["O"]
    states = exact.posterior.states
    draws = Draws(
        probabilities=states, errors=states * 0.01, states=np.zeros((1, len(states)), np.uint8)
    )
    sampled = replace(exact, posterior=replace(exact.posterior, draws=draws))
    inferred = replace(study.inferred, genotypes={"O": sampled})
    doubts = flock_doubts(replace(study, inferred=inferred))
    (doubt,) = [one for one in doubts if one.kind is DoubtKind.CHANCES]
    assert doubt.locus == "O"
    assert set(doubt.birds) == {"A1", "A2", "A3", "M"}


def test_a_flock_without_breeders_has_no_founders(tmp_path_factory: pytest.TempPathFactory) -> None:
    young = tuple({**row, "status": "young"} for row in HOME)
    found = census(verbs.flock(write_flock(tmp_path_factory.mktemp("young"), young)))
    assert (found.founders, found.rates.diversity, found.rates.size_by_sexes) == (None, None, 0)
    assert all(one.within is None and one.to_others is None for one in found.lines)
