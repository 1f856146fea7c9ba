from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of, ancestry_of_parents
from matchmaker.genetics.traits import model, together
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.surprise import deletions, outliers, surprising_among
from matchmaker.genetics.traits.together import predict_together
from tests.oracle.animal_model import random_records, relationship, tangled_pedigree, written_out

HEREDITY = Heredity(h2=0.3, repeatability=0.5)
PEDIGREE = tangled_pedigree(4)
KINDRED = kindred_of(ancestry_of(PEDIGREE))
RECORDS = random_records(4, 30)


def without(records: Records, at: int) -> Records:
    return replace(
        records,
        birds=np.delete(records.birds, at),
        values=np.delete(records.values, at),
        groups=np.delete(records.groups, at),
        covariates=np.delete(records.covariates, at, axis=0),
    )


def test_what_is_expected_of_a_score_is_what_all_others_say() -> None:
    differences, variances = deletions(predict(KINDRED, RECORDS, HEREDITY), RECORDS)
    related = relationship(PEDIGREE)
    for at in range(len(RECORDS.birds)):
        fewer = without(RECORDS, at)
        rest = predict(KINDRED, fewer, HEREDITY)
        bird = RECORDS.birds[at]
        mates = np.flatnonzero(fewer.birds == bird)
        expected = rest.levels[RECORDS.groups[at]] + RECORDS.covariates[at] @ rest.slopes
        expected += rest.values[bird]
        # what lasts in its surroundings, as its other scores tell it
        lasting = HEREDITY.repeatability - HEREDITY.h2
        own = rest.deviations[mates] - rest.values[bird]
        expected += lasting * own.sum() / (1 - HEREDITY.repeatability + len(mates) * lasting)
        assert RECORDS.values[at] - differences[at] == pytest.approx(expected, abs=1e-8)
    projection = written_out(related, RECORDS, HEREDITY).projection
    np.testing.assert_allclose(variances, 1 / projection.diagonal(), atol=1e-8)


def test_a_slip_is_found_and_what_was_expected_instead() -> None:
    values = RECORDS.values.copy()
    values[7] += 100
    records = replace(RECORDS, values=values)
    found = outliers(predict(KINDRED, records, HEREDITY), records)
    assert [one.record for one in found] == [7]  # and not the bird's other score
    assert found[0].value == values[7]
    assert found[0].expected == pytest.approx(RECORDS.values[7], abs=3 * found[0].sd)
    assert found[0].distance == pytest.approx((values[7] - found[0].expected) / found[0].sd)
    assert 3 < found[0].sd < 12
    assert found[0].limit == surprising_among(len(values)) < found[0].distance
    honest = outliers(predict(KINDRED, RECORDS, HEREDITY), RECORDS)
    assert honest == []


def test_the_worst_slip_comes_first() -> None:
    values = RECORDS.values.copy()
    values[[3, 12]] += [-60, 90]
    records = replace(RECORDS, values=values)
    found = outliers(predict(KINDRED, records, HEREDITY), records)
    assert [(one.record, one.distance > 0) for one in found] == [(12, True), (3, False)]


def test_two_slips_are_each_judged_by_the_honest_scores() -> None:
    values = RECORDS.values.copy()
    values[[3, 12]] += [-60, 90]
    both = replace(RECORDS, values=values)
    found = outliers(predict(KINDRED, both, HEREDITY), both)
    only = without(
        replace(RECORDS, values=np.where(np.arange(40) == 3, values, RECORDS.values)), 12
    )
    alone = outliers(predict(KINDRED, only, HEREDITY), only)
    assert [one.record for one in alone] == [3]
    assert found[1].expected == pytest.approx(alone[0].expected, abs=1e-8)
    assert found[1].sd == pytest.approx(alone[0].sd, rel=1e-8)


def test_no_more_than_about_a_tenth_is_set_aside() -> None:
    """Five of twenty scores are ten times too high: three are told, and the rest is left alone."""
    values = np.arange(41.0, 61.0)
    values[[2, 5, 9, 14, 18]] *= 10
    flock = kindred_of(ancestry_of_parents([-1] * 20, [-1] * 20))
    records = replace(
        RECORDS,
        birds=np.arange(20),
        values=values,
        groups=np.zeros(20, dtype=np.int64),
        covariates=np.empty((20, 0)),
    )
    found = outliers(predict(flock, records, HEREDITY), records)
    assert [one.record for one in found] == [18, 14, 9]


def test_a_scale_of_few_whole_numbers_has_no_slips() -> None:
    values = np.full(len(RECORDS.birds), 3.0)
    values[:12] = [2, 4, 2, 4, 2, 4, 2, 4, 2, 4, 3, 5]
    records = replace(RECORDS, values=values)
    as_written = values.copy()
    found = predict(KINDRED, records, HEREDITY)
    assert outliers(found, records) == []
    # with what is known beforehand taken off they are no longer whole, but still few as written
    less = replace(records, values=values - 0.01 * np.arange(len(values)))
    slip = replace(less, values=less.values + 40 * (np.arange(len(values)) == 5))
    assert outliers(predict(KINDRED, slip, HEREDITY), slip, as_written) == []
    assert outliers(predict(KINDRED, slip, HEREDITY), slip)[0].record == 5


def test_few_scores_and_scores_all_alike_are_not_judged() -> None:
    flock = kindred_of(ancestry_of_parents([-1] * 12, [-1] * 12))

    def of(values: list[float]) -> Records:
        return Records(
            trait="eggs",
            birds=np.arange(len(values)),
            values=np.array(values),
            groups=np.zeros(len(values), dtype=np.int64),
            covariates=np.empty((len(values), 0)),
        )

    few = of([50.0, 51, 52, 53, 54, 55, 56, 57, 58, 59, 200])
    assert outliers(predict(flock, few, HEREDITY), few) == []
    more = of([50.0, 51, 52, 53, 54, 55, 56, 57, 58, 59, 60, 200])
    assert [one.record for one in outliers(predict(flock, more, HEREDITY), more)] == [11]
    alike = of([0.5] * 12)
    assert outliers(predict(flock, alike, HEREDITY), alike) == []
    nearly = of([0.5] * 11 + [9.0])
    assert outliers(predict(flock, nearly, HEREDITY), nearly) == []


def test_whole_numbers_far_apart_are_no_points() -> None:
    """A dozen hens between 50 and 54, and one 153: few values, but nobody scores by such points."""
    values = np.array([50.0, 51, 52, 53, 54] * 4 + [153.0])
    flock = kindred_of(ancestry_of_parents([-1] * 21, [-1] * 21))
    records = replace(
        RECORDS,
        birds=np.arange(21),
        values=values,
        groups=np.zeros(21, dtype=np.int64),
        covariates=np.empty((21, 0)),
    )
    (found,) = outliers(predict(flock, records, HEREDITY), records)
    assert found.record == 20
    assert found.expected < 70


@pytest.mark.parametrize("birds", [12, 30, 80])
def test_sound_scores_are_seldom_called_odd(birds: int) -> None:
    """One flock in a hundred; in 300 flocks 11 or more would be five standard errors beyond."""
    flock = kindred_of(ancestry_of_parents([-1] * birds, [-1] * birds))
    rng = np.random.default_rng(birds)
    called = 0
    for _ in range(300):
        sound = Records(
            trait="eggs",
            birds=np.arange(birds),
            values=rng.normal(50, 5, birds),
            groups=np.zeros(birds, dtype=np.int64),
            covariates=np.empty((birds, 0)),
        )
        called += bool(outliers(predict(flock, sound, HEREDITY), sound))
    assert called <= 11
    assert surprising_among(birds) > 3.5


def test_a_score_alone_in_its_group_has_nothing_to_differ_from() -> None:
    groups = RECORDS.groups.copy()
    groups[5] = 3
    records = replace(RECORDS, groups=groups)
    differences, variances = deletions(predict(KINDRED, records, HEREDITY), records)
    assert differences[5] == 0
    assert np.isinf(variances[5])
    assert outliers(predict(KINDRED, records, HEREDITY), records) == []


@pytest.mark.parametrize("whole", [together.WHOLE, 10])
def test_scores_are_judged_by_their_own_trait_alone(
    whole: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(together, "WHOLE", whole)
    traits = [RECORDS, random_records(9, 30)]
    found, _ = predict_together(KINDRED, traits, [HEREDITY] * 2, np.array([[1.0, 0.3], [0.3, 1.0]]))
    with pytest.raises(TypeError, match=f"{RECORDS.trait} was predicted with other traits"):
        outliers(found[0], RECORDS)


def test_large_flocks_say_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    expected = deletions(predict(KINDRED, RECORDS, HEREDITY), RECORDS)
    slips = replace(RECORDS, values=RECORDS.values + 100 * (np.arange(40) == 7))
    told = outliers(predict(KINDRED, slips, HEREDITY), slips)
    monkeypatch.setattr(model, "LARGE", 10)
    found = deletions(predict(KINDRED, RECORDS, HEREDITY), RECORDS)
    np.testing.assert_allclose(found, expected, rtol=1e-8)
    again = outliers(predict(KINDRED, slips, HEREDITY), slips)
    assert [one.record for one in again] == [one.record for one in told] == [7]
    assert again[0].expected == pytest.approx(told[0].expected)
    assert again[0].sd == pytest.approx(told[0].sd, rel=0.2)
