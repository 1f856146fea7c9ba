"""From a folder's scores to the forecast of every trait."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.errors import InputError
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity
from matchmaker.genetics.traits.scores import Told, tell_apart
from tests.builders import chick
from tests.unit.trait_flocks import (
    OLD,
    bands,
    by_sires,
    forecast_of,
    scored_flock,
    scores_of,
    young,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.traits.forecast import Forecast

EGGS = '[traits.eggs]\ndirection = "up"\nh2 = 0.25\nrepeatability = 0.4\ndepression = 0.0\n'
NO_GENES = EGGS.replace("0.25", "0.0")
SHARE = {"P": 1.0, "F": 0.5, "B": 0.75, "G": 0.5}
CROSSED = {"P": 0.0, "F": 1.0, "B": 0.5, "G": 0.5}


def planted(birds: list[str], noise: float = 0.0, seed: int = 1) -> dict[str, float]:
    """Return scores of a pure bird of 50, ten more than the donors, six for a first cross."""
    rng = random.Random(seed)  # noqa: S311
    return {
        band: 40 + 10 * SHARE[band[0]] + 6 * CROSSED[band[0]] + rng.gauss(0, 1) * noise
        for band in birds
    }


def of_planted(path: Path, kinds: str, settings: str = NO_GENES, birds: int = 3) -> Forecast:
    scored = bands(kinds, birds)
    return forecast_of(path, young(scored), settings, scores_of("eggs", planted(scored)))


def test_breed_and_vigour_are_found_where_they_can_be_told_apart(tmp_path: Path) -> None:
    trait = of_planted(tmp_path, "PFBG").trait("eggs")
    assert trait.told is Told.BOTH
    assert trait.pure_level == pytest.approx(50)
    assert trait.share_slope == pytest.approx(10)
    assert trait.vigour == pytest.approx(6)


def test_in_pure_backcrosses_the_share_stands_for_both(tmp_path: Path) -> None:
    """From pure to first cross share falls by a half: 5 eggs less by breed, 6 more by vigour."""
    trait = of_planted(tmp_path, "PFB").trait("eggs")
    assert trait.told is Told.CONFOUNDED
    assert trait.pure_level == pytest.approx(50)
    assert trait.share_slope == pytest.approx(-2)
    assert (trait.vigour, trait.vigour_error) == (0.0, 0.0)


def test_crosses_of_one_share_tell_of_vigour_alone(tmp_path: Path) -> None:
    trait = of_planted(tmp_path, "FG", birds=4).trait("eggs")
    assert trait.told is Told.VIGOUR_ONLY
    assert trait.share_slope == 0
    assert trait.vigour == pytest.approx(6)


def test_birds_bred_alike_tell_neither(tmp_path: Path) -> None:
    trait = of_planted(tmp_path, "B", birds=6).trait("eggs")
    assert trait.told is Told.NEITHER
    assert (trait.share_slope, trait.vigour) == (0.0, 0.0)
    assert trait.pure_level == pytest.approx(40 + 7.5 + 3)


def test_the_level_of_chicks_holds_all_that_was_planted(tmp_path: Path) -> None:
    settings = NO_GENES.replace("depression = 0.0", "depression = -2")
    trait = of_planted(tmp_path, "PFBG", settings).trait("eggs")
    found = trait.chick_level(
        np.array([1.0, 0.5, 0.75]),
        np.array([0.0, 1.0, 0.25]),
        np.array([0.0, 0.0, 0.25]),
        np.array([0.0, 0.0, 3.0]),
    )
    # ten per cent of inbreeding take two eggs: a quarter takes five
    levels = [50, 51, 47.5 + 1.5 + 3 - 5]
    assert trait.scored.records.values.tolist() == trait.scored.raw.tolist()  # none is inbred
    assert found == pytest.approx(levels)


def test_inbred_birds_are_compared_as_if_they_were_not(tmp_path: Path) -> None:
    """A chick of full sibs, F = 1/4, with five eggs less than the others loses nothing."""
    birds = bands("P", 6)
    inbred = chick("I", "hen", "P9", "P0", "Alder", hatched="2027-01-01")
    brother = chick("P9", "cock", "SC", "SH", "Alder", hatched="2026-04-01")
    peers = [chick(f"Q{at}", "hen", "SC", "SH", "Alder", hatched="2027-01-01") for at in range(5)]
    values = {**dict.fromkeys(birds, 50.0), **{f"Q{at}": 50.0 for at in range(5)}, "I": 45.0}
    settings = EGGS.replace("depression = 0.0", "depression = -2")
    rows = [*young(birds), brother, *peers, inbred]
    found = forecast_of(tmp_path, rows, settings, scores_of("eggs", values))
    trait = found.trait("eggs")
    assert found.inbreeding[found.position("I")] == 0.25
    assert trait.depression == -20
    assert trait.scored.records.values == pytest.approx(np.full(12, 50.0))
    assert sorted(trait.scored.raw) == [45.0, *[50.0] * 11]


def test_a_published_depression_goes_by_the_mean_of_the_scores(tmp_path: Path) -> None:
    birds = bands("P", 6)
    settings = EGGS.replace("depression = 0.0\n", "")
    scores = scores_of("eggs", dict(zip(birds, (40, 45, 50, 50, 55, 60), strict=True)))
    trait = forecast_of(tmp_path, young(birds), settings, scores).trait("eggs")
    assert trait.depression == pytest.approx(-0.03 * 50 * 10)


def test_one_trait_is_what_the_model_predicts(tmp_path: Path) -> None:
    birds = bands("PFBG", 4)
    flock = scored_flock(tmp_path, young(birds), EGGS, scores_of("eggs", planted(birds, noise=4)))
    found = forecast(flock)
    trait = found.trait("eggs")
    kindred = kindred_of(ancestry_of(flock.pedigree))
    alone = predict(kindred, trait.scored.records, Heredity(h2=0.25, repeatability=0.4))
    assert trait.prediction is not None
    assert trait.values == pytest.approx(alone.values)
    assert trait.reliability == pytest.approx(alone.reliability)
    assert trait.genetic_sd == alone.genetic_sd > 0
    assert trait.share_error == pytest.approx(alone.slope_errors[0])
    assert trait.vigour_error == pytest.approx(alone.slope_errors[1])
    errors = [alone.solved.errors(np.array([at]))[0, 0] for at in range(len(found.birds))]
    assert found.bird_errors[:, 0, 0] == pytest.approx(errors)
    assert trait.levels == pytest.approx(trait.pure_level + trait.values)


def test_rows_in_any_order_say_the_same(tmp_path: Path) -> None:
    birds = bands("PFBG", 4)
    scores = scores_of("eggs", planted(birds, noise=4))
    one = forecast_of(tmp_path / "one", young(birds), EGGS, scores).trait("eggs")
    other = forecast_of(tmp_path / "other", young(birds), EGGS, scores[::-1]).trait("eggs")
    assert one.values.tolist() == other.values.tolist()
    assert one.scored.raw.tolist() == other.scored.raw.tolist()
    assert one.scored.rows.tolist() == [len(birds) + 3 - row for row in other.scored.rows]


def test_every_record_knows_its_row(tmp_path: Path) -> None:
    birds = bands("PB", 4)
    values = planted(birds, noise=4)
    scores = [{"bird": "P0", "comb": "3"}, *scores_of("eggs", values)]
    found = forecast_of(tmp_path, young(birds), EGGS, scores)
    scored = found.trait("eggs").scored
    whose = [found.birds[at] for at in scored.records.birds]
    assert whose == sorted(birds)
    assert scored.rows.tolist() == [3 + birds.index(band) for band in whose]
    assert scored.raw == pytest.approx([values[band] for band in whose])


def test_scores_of_the_other_sex_stay_out(tmp_path: Path) -> None:
    """Of unknown sex, and with eggs to her name: a hen, and compared with the hens."""
    birds = bands("P", 6)
    rows = [*young(birds), *young(["P7"], "cock"), *young(["P8"], "")]
    scores = scores_of("eggs", {**planted(birds, noise=4), "P7": 12.0, "P8": 50.0})
    trait = forecast_of(tmp_path, rows, EGGS + 'sex = "hen"\n', scores).trait("eggs")
    assert trait.scored.wrong_sex == (8,)
    assert 12.0 not in trait.scored.raw.tolist()
    assert trait.scored.birds_scored == 7
    assert set(trait.scored.records.groups.tolist()) == {0}


def test_levels_are_those_of_hens(tmp_path: Path) -> None:
    hens, cocks = bands("P", 6), bands("B", 0) + [f"P{at}" for at in range(10, 20)]
    rows = [*young(hens), *young(cocks, "cock")]
    values = {**dict.fromkeys(hens, 2.0), **dict.fromkeys(cocks, 3.0), "P0": 2.3, "P10": 3.3}
    settings = '[traits.weight]\ndirection = "up"\nh2 = 0.0\n'
    scores = scores_of("weight", values)
    trait = forecast_of(tmp_path / "both", rows, settings, scores).trait("weight")
    assert trait.pure_level == pytest.approx(2.05)
    of_cocks = [row for row in scores if row["bird"] in cocks]
    trait = forecast_of(tmp_path / "cocks", rows, settings, of_cocks).trait("weight")
    assert trait.pure_level == pytest.approx(3.03)


def test_of_several_groups_the_mean_is_weighted_by_scores(tmp_path: Path) -> None:
    early, late = bands("P", 4), [f"P{at}" for at in range(10, 22)]
    rows = [*young(early), *young(late, hatched="2026-05-20")]
    values = {**dict.fromkeys(early, 40.0), **dict.fromkeys(late, 52.0)}
    trait = forecast_of(tmp_path, rows, NO_GENES, scores_of("eggs", values)).trait("eggs")
    assert trait.pure_level == pytest.approx((4 * 40 + 12 * 52) / 16)
    assert len(trait.scored.contemporaries.names) == 2


def test_scores_at_another_age_are_another_group(tmp_path: Path) -> None:
    birds = bands("P", 4)
    scores = scores_of("eggs", dict.fromkeys(birds, 50.0), date="2026-12-01")
    scores += scores_of("eggs", dict.fromkeys(birds, 40.0), date="2027-12-01")
    scored = forecast_of(tmp_path, young(birds), EGGS, scores).trait("eggs").scored
    assert scored.repeated
    assert scored.birds_scored == 4
    assert scored.contemporaries.names == (
        "hens hatched 2026-04-01",
        "hens hatched 2026-04-01, scored at one year",
    )
    assert scored.records.groups.tolist() == [0, 1] * 4


@pytest.mark.parametrize("count", [5, 6])
def test_from_fewer_than_six_birds_nothing_is_predicted(tmp_path: Path, count: int) -> None:
    birds, predicted = bands("P", count), count == 6
    scores = 2 * scores_of("eggs", planted(birds, noise=4))
    found = forecast_of(tmp_path, young(birds), EGGS, scores)
    trait = found.trait("eggs")
    assert (trait.prediction is not None) == predicted
    assert bool(trait.values.any()) == predicted
    assert (trait.genetic_sd > 0) == predicted
    assert bool(found.bird_errors.any()) == predicted
    assert trait.pure_level == pytest.approx(trait.scored.raw.mean(), abs=0.5)


def test_a_trait_scored_on_the_wrong_sex_alone(tmp_path: Path) -> None:
    scores = [{"bird": band, "eggs": "3"} for band in ("SC", "XC")]
    trait = forecast_of(tmp_path, young(bands("P", 6)), EGGS, scores).trait("eggs")
    assert trait.prediction is None
    assert (trait.pure_level, trait.depression, trait.told) == (0.0, 0.0, Told.NEITHER)


def test_no_traits_at_all(tmp_path: Path) -> None:
    scores = [{"bird": "P0", "date": "2026-05-01"}]
    found = forecast_of(tmp_path, young(bands("P", 2)), "", scores)
    assert (found.traits, found.aims, found.bird_errors.shape) == ((), (), (len(OLD) + 2, 0, 0))


COMB = EGGS.replace("eggs", "comb")
RELATED = '[[correlations]]\ntraits = ["eggs", "comb"]\ngenetic = -0.5\n'


def test_correlated_traits_are_predicted_together(tmp_path: Path) -> None:
    """Only half the birds are scored for combs; the eggs of the others speak against theirs."""
    birds = bands("P", 12)
    combs = {band: value for band, value in planted(birds, noise=4, seed=2).items() if band < "P5"}
    scores = scores_of("eggs", planted(birds, noise=4)) + scores_of("comb", combs)
    alone = forecast_of(tmp_path / "alone", young(birds), EGGS + COMB, scores)
    both = forecast_of(tmp_path / "both", young(birds), EGGS + COMB + RELATED, scores)
    assert [aim.trait for aim in both.aims] == ["comb", "eggs"]
    assert both.correlations.tolist() == [[1.0, -0.5], [-0.5, 1.0]]
    unscored = both.position("P9")
    assert not alone.bird_errors[:, 0, 1].any()
    assert both.bird_errors[unscored, 0, 0] < alone.bird_errors[unscored, 0, 0]
    assert both.bird_errors[unscored, 0, 1] < 0
    moved = both.trait("comb").values - alone.trait("comb").values
    eggs = alone.trait("eggs").values
    others = [both.position(band) for band in birds if band not in combs]
    assert np.corrcoef(moved[others], eggs[others])[0, 1] < -0.9


def test_a_correlated_trait_with_too_few_birds_is_left_out(tmp_path: Path) -> None:
    birds = bands("P", 12)
    combs = dict(list(planted(birds, noise=4).items())[:5])
    scores = scores_of("eggs", planted(birds, noise=4)) + scores_of("comb", combs)
    found = forecast_of(tmp_path, young(birds), EGGS + COMB + RELATED, scores)
    assert found.trait("comb").prediction is None
    assert found.bird_errors[:, 1, 1].all()
    assert not found.bird_errors[:, 0].any()


def test_correlations_that_cannot_all_be_true(tmp_path: Path) -> None:
    birds = bands("P", 6)
    pairs = (("eggs", "comb", -0.9), ("comb", "weight", -0.9), ("eggs", "weight", -0.9))
    settings = EGGS + "".join(
        f'[[correlations]]\ntraits = ["{one}", "{two}"]\ngenetic = {genetic}\n'
        for one, two, genetic in pairs
    )
    scores = [{"bird": band, "eggs": "50", "comb": "3", "weight": "2"} for band in birds]
    with pytest.raises(InputError) as caught:
        forecast_of(tmp_path, young(birds), settings, scores)
    (fault,) = caught.value.faults
    assert (fault.kind, fault.file, fault.row) == ("impossible-correlations", "matchmaker.toml", 9)


def test_like_an_unknown_trait_is_a_fault(tmp_path: Path) -> None:
    birds = bands("P", 6)
    settings = EGGS + 'like = "egg nubmer"\n'
    with pytest.raises(InputError) as caught:
        forecast_of(tmp_path, young(birds), settings, scores_of("eggs", planted(birds)))
    (fault,) = caught.value.faults
    assert (fault.kind, fault.row, fault.column) == ("unknown-trait", 9, "traits.eggs.like")
    assert fault.mend.startswith("did you mean egg number?")


ESTIMATE = EGGS.replace("0.25", '"estimate"').replace("0.4", "0.8")


def test_heritability_is_estimated_where_scores_are_many(tmp_path: Path) -> None:
    trait = by_sires(tmp_path, ESTIMATE, 12).trait("eggs")
    assert trait.estimate is not None
    assert trait.estimate.enough
    assert trait.aim.heredity.h2 == trait.estimate.leaning not in {0.22, 0.25}
    assert trait.prediction is not None
    assert trait.prediction.heredity == trait.aim.heredity
    assert trait.aim.heredity.repeatability == 0.8


def test_else_the_published_one_is_taken(tmp_path: Path) -> None:
    trait = by_sires(tmp_path, ESTIMATE, 2).trait("eggs")
    assert trait.estimate is not None
    assert not trait.estimate.enough
    assert trait.aim.heredity.h2 == 0.22


def test_a_bird_or_trait_nobody_knows(tmp_path: Path) -> None:
    found = of_planted(tmp_path, "PB")
    with pytest.raises(KeyError):
        found.position("nobody")
    with pytest.raises(KeyError):
        found.trait("comb")


def test_covariates_that_hardly_vary_are_left_alone() -> None:
    """Two birds a little off: 2 × 0.05² × (1 − 2/6) is far below what is asked for."""
    columns = np.array([[0.5, 0.5]] * 4 + [[0.55, 0.5]] * 2)
    assert tell_apart(np.zeros(6, dtype=np.int64), columns) is Told.NEITHER
    columns[:, 0] = [0.5, 0.5, 0.5, 0.5, 0.9, 0.9]
    assert tell_apart(np.zeros(6, dtype=np.int64), columns) is Told.SHARE_ONLY


def test_differences_between_groups_tell_nothing() -> None:
    columns = np.array([[0.5, 1.0]] * 3 + [[1.0, 0.0]] * 3)
    assert tell_apart(np.array([0, 0, 0, 1, 1, 1]), columns) is Told.NEITHER


def test_hardly_apart_is_confounded() -> None:
    """Twenty backcrosses and first crosses, one of them a little less crossed than it should be."""
    columns = np.array([[0.5, 1.0]] * 10 + [[0.75, 0.5]] * 10)
    columns[0, 1] = 0.98
    assert tell_apart(np.zeros(20, dtype=np.int64), columns) is Told.CONFOUNDED


def test_a_slip_is_pulled_in_and_moves_nobody_far(tmp_path: Path) -> None:
    """Somebody wrote 530 for 53: without pulling in, the genetic SD would be ten times as large."""
    birds = bands("PFBG", 10)
    sound = planted(birds, noise=3.0)
    slip = sound | {birds[3]: 10 * sound[birds[3]]}
    found = [
        forecast_of(tmp_path / name, young(birds), EGGS, scores_of("eggs", told)).trait("eggs")
        for name, told in (("sound", sound), ("slip", slip))
    ]
    assert found[0].odd == ()
    (odd,) = found[1].odd
    assert found[1].scored.raw[odd.record] == pytest.approx(slip[birds[3]], abs=0.01)
    assert odd.counted == pytest.approx(sound[birds[3]], abs=0.01)
    assert found[1].scored.records.values[odd.record] == pytest.approx(odd.counted)
    assert found[1].genetic_sd == pytest.approx(found[0].genetic_sd, rel=1e-3)
    assert found[1].values == pytest.approx(found[0].values, abs=0.01)


def test_too_few_scores_beyond_what_is_estimated_tell_nothing(tmp_path: Path) -> None:
    """Six birds: less a level and the slope of share, four scores are left to tell the spread."""
    trait = of_planted(tmp_path, "PB", settings=EGGS, birds=3).trait("eggs")
    assert trait.scored.birds_scored == 6
    assert trait.prediction is None
    assert not trait.values.any()
    more = of_planted(tmp_path / "more", "PB", settings=EGGS, birds=4).trait("eggs")
    assert more.prediction is not None
