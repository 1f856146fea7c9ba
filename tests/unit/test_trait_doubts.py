"""What is doubtful about scores, where it stands and how it is mended."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.traits import together
from matchmaker.genetics.traits.doubts import forecast_defaults, trait_doubts
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.traits.reml import Reason
from tests.builders import of_kind, where
from tests.unit.trait_flocks import bands, by_sires, forecast_of, scored_flock, scores_of, young

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.genetics.traits.forecast import Forecast

EGGS = '[traits.eggs]\ndirection = "up"\nh2 = 0.25\ndepression = 0.0\nunit = "eggs"\n'
HENS = bands("PF", 12)


def laid(spread: float = 4.0, **more: float) -> dict[str, float]:
    """Return scores of 24 hens, whole eggs around 50."""
    rng = random.Random(3)  # noqa: S311
    return {**{band: round(rng.gauss(50, spread)) for band in HENS}, **more}


def told(
    path: Path, values: Mapping[str, float], settings: str = EGGS, cocks: tuple[str, ...] = ()
) -> tuple[list[Fault], Forecast]:
    rows = [*young(HENS), *young(cocks, "cock")]
    flock = scored_flock(path, rows, settings, scores_of("eggs", values))
    found = forecast(flock)
    return trait_doubts(found, flock.tables), found


def test_plain_scores_leave_no_doubt(tmp_path: Path) -> None:
    assert told(tmp_path, laid())[0] == []


def test_a_slip_of_the_pen_is_told_and_counted(tmp_path: Path) -> None:
    doubts, found = told(tmp_path, laid(P3=500.0))
    (doubt,) = doubts
    assert (doubt.kind, *where(doubt)) == ("odd-score", "scores.csv", 5, "eggs", "500")
    assert doubt.problem.startswith("P3 has eggs 500, where ")
    assert doubt.problem.endswith(
        " eggs is expected from its contemporaries and kin (did you mean 50?)"
    )
    assert 500.0 in found.trait("eggs").scored.raw
    assert doubt.mend == "check the writing; until then it counts as 50"


def test_what_is_expected_is_as_the_keeper_would_write_it(tmp_path: Path) -> None:
    """The slip itself is not what is expected: the other hens laid around 50."""
    (doubt,) = told(tmp_path, laid(P3=500.0))[0]
    expected = float(doubt.problem.split("where ")[1].split(" ±")[0])
    assert 45 < expected < 55


def test_scores_on_the_wrong_sex_are_told_once(tmp_path: Path) -> None:
    cocks = tuple(f"P{at}" for at in range(20, 28))
    values = laid(**dict.fromkeys(cocks, 12.0))
    (doubt,) = told(tmp_path, values, EGGS + 'sex = "hen"\n', cocks)[0]
    assert (doubt.kind, *where(doubt)) == ("score-wrong-sex", "scores.csv", 26, "eggs", "8")
    assert doubt.problem == (
        "scores of eggs from cocks are not counted: P20 (12, row 26), P21 (12, row 27), "
        "P22 (12, row 28) and 5 more"
    )
    assert doubt.mend == "mend the band or the sex, or take sex out of [traits.eggs]"


def test_a_cock_that_lays_is_named(tmp_path: Path) -> None:
    """Nobody need say that eggs are for hens; so there is no sex to take out."""
    (doubt,) = told(tmp_path, laid(P20=12.0), EGGS, ("P20",))[0]
    assert doubt.problem == "P20 is a cock, yet has eggs 12 (row 26): not counted"
    assert doubt.mend == "mend the band or the sex"


def test_two_cocks_that_lay_are_named(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(P20=12.0, P21=13.0), EGGS, ("P20", "P21"))[0]
    assert doubt.problem == (
        "scores of eggs from cocks are not counted: P20 (12, row 26) and P21 (13, row 27)"
    )


def test_hens_scored_for_what_cocks_have(tmp_path: Path) -> None:
    doubts = told(tmp_path, laid(), EGGS + 'sex = "cock"\n')[0]
    (doubt,) = of_kind(doubts, "score-wrong-sex")
    assert doubt.problem.startswith("scores of eggs from hens are not counted: P0 (")
    assert doubt.problem.endswith(" and 21 more")


def test_too_few_scores_tell_nothing(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, dict(list(laid().items())[:5]))[0]
    assert (doubt.kind, *where(doubt)) == ("too-few-scores", "scores.csv", None, "eggs", "5")
    assert doubt.problem.startswith("5 birds are scored for eggs")


@pytest.mark.parametrize(("alike", "doubtful"), [(19, []), (20, ["scores-alike"])])
def test_a_scale_that_is_hardly_used(tmp_path: Path, alike: int, doubtful: list[str]) -> None:
    """Over four fifths of 24: twenty."""
    points = {band: 3.0 if at < alike else 4.0 + at % 2 for at, band in enumerate(HENS)}
    doubts = told(tmp_path, points)[0]
    assert [doubt.kind for doubt in doubts] == doubtful
    assert all(doubt.value == "3" for doubt in doubts)


def test_a_heritability_that_cannot_be_estimated(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(), EGGS.replace("0.25", '"estimate"'))[0]
    assert (doubt.kind, *where(doubt)) == (
        "h2-not-estimated",
        "matchmaker.toml",
        6,
        "traits.eggs.h2",
        "estimate",
    )
    assert "(24 birds are scored, 50 are needed): 0.22 is taken" in doubt.problem


def test_nor_from_a_handful_of_scores(tmp_path: Path) -> None:
    few = dict(list(laid().items())[:5])
    doubts = told(tmp_path, few, EGGS.replace("0.25", '"estimate"'))[0]
    (doubt,) = of_kind(doubts, "h2-not-estimated")
    assert "(5 birds are scored): 0.22 is taken" in doubt.problem


ESTIMATE = EGGS.replace("0.25", '"estimate"')


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (Reason.FEW_BIRDS, "72 birds are scored, 50 are needed"),
        (Reason.MANY_BIRDS, "72 birds are more than can be worked out"),
        (Reason.NO_SPREAD, "contemporaries do not differ"),
        (Reason.WIDE, "it may be anything from 0.05 to 0.81"),
    ],
)
def test_every_reason_against_an_estimate_is_said(
    tmp_path: Path, reason: Reason, words: str
) -> None:
    found = by_sires(tmp_path, ESTIMATE, 2)
    trait = found.trait("eggs")
    assert trait.estimate is not None
    estimate = replace(trait.estimate, birds=72, low=0.05, high=0.81, reason=reason)
    doubtful = replace(found, traits=(replace(trait, estimate=estimate),))
    tables = scored_flock(tmp_path, young(HENS), ESTIMATE, scores_of("eggs", laid())).tables
    (doubt,) = of_kind(trait_doubts(doubtful, tables), "h2-not-estimated")
    assert f"({words})" in doubt.problem


def test_an_estimate_in_use_is_said_and_no_doubt(tmp_path: Path) -> None:
    found = by_sires(tmp_path, ESTIMATE, 12)
    tables = scored_flock(tmp_path, young(HENS), ESTIMATE, scores_of("eggs", laid())).tables
    estimate = found.trait("eggs").estimate
    assert estimate is not None
    assert of_kind(trait_doubts(found, tables), "h2-not-estimated") == []
    (sentence,) = forecast_defaults(found)
    assert sentence == (
        f"heritability of eggs estimated from its 720 scored birds: {estimate.leaning:.2f} "
        f"({estimate.likely[0]:.2f} to {estimate.likely[1]:.2f} with 95 % certainty), leaning on "
        "the published one"
    )


def test_repeatability_below_heritability(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(), EGGS + "repeatability = 0.1\n")[0]
    assert (doubt.kind, *where(doubt)) == (
        "repeatability-below-h2",
        "matchmaker.toml",
        9,
        "traits.eggs.repeatability",
        "0.1",
    )
    assert "0.25 is taken" in doubt.problem


def test_what_points_and_crosses_cannot_tell_is_said(tmp_path: Path) -> None:
    points = {band: 1.0 + at % 5 for at, band in enumerate(HENS)}
    numbers, together = forecast_defaults(told(tmp_path, points)[1])
    assert numbers == "points taken as numbers, each step as long as the next: eggs"
    assert together == (
        "breed and the vigour of crosses taken off together, for too few birds are anything but "
        "pure or backcross to tell them apart (so the level of chicks of two crossbreds is less "
        "sure): eggs"
    )


def test_eggs_are_no_points(tmp_path: Path) -> None:
    (sentence,) = forecast_defaults(told(tmp_path, laid())[1])
    assert sentence.startswith("breed and the vigour")


WEIGHT = '[traits.weight]\ndirection = "up"\nh2 = 0.4\ndepression = 0.0\nunit = "g"\n'


def weighed(
    path: Path, values: Mapping[str, float], light: Collection[str] = (), settings: str = WEIGHT
) -> list[Fault]:
    """Return the doubts about weights, those of the ``light`` written on a day of their own."""
    rows = [
        *scores_of("weight", {b: v for b, v in values.items() if b not in light}),
        *scores_of("weight", {b: v for b, v in values.items() if b in light}, date="2026-09-01"),
    ]
    flock = scored_flock(path, young(HENS), settings, rows)
    return trait_doubts(forecast(flock), flock.tables)


def grams(*kilograms: str, factor: float = 1000.0) -> dict[str, float]:
    """Return weights of 24 hens in grams, of those named a thousandth."""
    rng = random.Random(4)  # noqa: S311
    weights = {band: round(rng.gauss(2300, 150)) for band in HENS}
    return {b: w / factor if b in kilograms else w for b, w in weights.items()}


def test_two_units_in_one_column(tmp_path: Path) -> None:
    """The doubt names the scores that are fewer, and no bird is called odd for it."""
    doubts = weighed(tmp_path, grams("P2", "P5", "F3"), ("P2", "P5", "F3"))
    assert {one.kind for one in doubts} == {"mixed-units", "score-without-date"}
    (doubt,) = of_kind(doubts, "mixed-units")
    assert (doubt.kind, doubt.file, doubt.row, doubt.column) == (
        "mixed-units",
        "scores.csv",
        23,
        "weight",
    )
    assert doubt.problem.startswith("3 scores of weight are about 2.")
    assert "(of 2026-09-01, rows 23, 24, 25), the other 21 about 2" in doubt.problem
    assert doubt.mend == "write them in one unit; until then weight does not count"


def test_days_are_named_where_they_tell_the_units_apart(tmp_path: Path) -> None:
    """One of the others was weighed that day too."""
    doubts = weighed(tmp_path, grams("P2", "P5", "F3"), ("P2", "P5", "F3", "F4"))
    (doubt,) = of_kind(doubts, "mixed-units")
    assert "(rows 22, 23, 24)" in doubt.problem


def test_one_slip_is_no_second_unit(tmp_path: Path) -> None:
    (doubt,) = weighed(tmp_path, grams("P2"))
    assert doubt.kind == "odd-score"
    assert f"(did you mean {grams()['P2']:g}?)" in doubt.problem


def test_two_slips_among_counts_are_odd_scores(tmp_path: Path) -> None:
    """Eggs have no second unit."""
    eggs = laid()
    doubts = told(tmp_path, {**eggs, "P3": 10 * eggs["P3"], "F2": 10 * eggs["F2"]})[0]
    assert [doubt.kind for doubt in doubts] == ["odd-score", "odd-score"]
    for doubt, band in zip(sorted(doubts, key=lambda one: one.row or 0), ("P3", "F2"), strict=True):
        assert f"did you mean {eggs[band]:g}?" in doubt.problem


def test_two_kinds_of_values_that_are_no_units(tmp_path: Path) -> None:
    """Thirty times apart."""
    assert of_kind(weighed(tmp_path, grams("P2", "P5", factor=31.6)), "mixed-units") == []
    assert of_kind(weighed(tmp_path, grams("P2", "P5", factor=1000)), "mixed-units") != []


def test_a_heritability_of_nothing(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(), EGGS.replace("0.25", "0"))[0]
    assert (doubt.kind, *where(doubt)) == ("h2-zero", "matchmaker.toml", 6, "traits.eggs.h2", "0")


@pytest.mark.parametrize(
    ("way", "depression", "doubtful"),
    [("up", 1.8, 1), ("up", -1.8, 0), ("down", -1.8, 1), ("down", 1.8, 0)],
)
def test_inbreeding_that_would_improve(
    tmp_path: Path, way: str, depression: float, doubtful: int
) -> None:
    settings = EGGS.replace('"up"', f'"{way}"').replace("0.0", f"{depression}")
    doubts = told(tmp_path, laid(), settings)[0]
    assert [doubt.kind for doubt in doubts] == ["depression-improves"] * doubtful
    for doubt in doubts:
        assert where(doubt)[1:] == (7, "traits.eggs.depression", f"{depression:g}")
        assert f"write {-depression:g} if inbreeding" in doubt.mend


@pytest.mark.parametrize(("optimum", "doubtful"), [(2.3, 1), (2100, 0), (3100, 0)])
def test_an_optimum_nothing_comes_near(tmp_path: Path, optimum: float, doubtful: int) -> None:
    """2.3 kg are wanted and grams written; 3,100 g is far, and yet may be meant."""
    settings = WEIGHT.replace('direction = "up"', f"optimum = {optimum}")
    doubts = weighed(tmp_path, grams(), (), settings)
    assert [doubt.kind for doubt in doubts] == ["optimum-out-of-reach"] * doubtful
    for doubt in doubts:
        assert where(doubt)[1:] == (5, "traits.weight.optimum", "2.3")
        assert "far from the optimum 2.3" in doubt.problem


@pytest.mark.parametrize(
    ("floor", "words"),
    [(2000, []), (2500, ["all 8 scored hens: the best has 2"]), (3600, ["all 16 scored birds"])],
)
def test_a_floor_that_leaves_nobody(tmp_path: Path, floor: float, words: list[str]) -> None:
    """Hens weigh from 2,100 to 2,450, cocks from 3,100 to 3,450; a dead cock weighed more."""
    hens = [f"P{at}" for at in range(8)]
    cocks = [f"P{at}" for at in range(10, 18)]
    birds = [*young(hens), *young(cocks, "cock"), *young(["P20"], "cock")]
    birds[-1] = {**birds[-1], "status": "dead"}
    values = {band: 2100.0 + 50 * at for at, band in enumerate(hens)}
    values |= {band: 3100.0 + 50 * at for at, band in enumerate(cocks)} | {"P20": 3700.0}
    flock = scored_flock(
        path=tmp_path,
        birds=birds,
        settings=f"{WEIGHT}floor = {floor}\n",
        scores=scores_of("weight", values),
    )
    doubts = of_kind(trait_doubts(forecast(flock), flock.tables), "floor-shuts-out-all")
    assert [where(doubt) for doubt in doubts] == [
        ("matchmaker.toml", 9, "traits.weight.floor", str(floor)) for _ in words
    ]
    for doubt, said in zip(doubts, words, strict=True):
        assert f"the floor {floor} for weight shuts out {said}" in doubt.problem


def test_what_is_taken_of_correlated_traits_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings = EGGS + EGGS.replace("eggs", "comb")
    settings += '[[correlations]]\ntraits = ["eggs", "comb"]\ngenetic = 0.3\n'
    numbers = laid()
    scores = [{"bird": b, "eggs": f"{v}", "comb": f"{v / 10}"} for b, v in numbers.items()]
    whole = "taken to go together by their genes alone, not by their keeping: comb, eggs"
    sentences = forecast_defaults(forecast_of(tmp_path, young(HENS), settings, scores))
    assert whole in sentences
    assert not any("bird by bird" in sentence for sentence in sentences)
    monkeypatch.setattr(together, "WHOLE", 10)
    sentences = forecast_defaults(forecast_of(tmp_path, young(HENS), settings, scores))
    assert whole in sentences
    assert any("approximate predictions of comb, eggs" in sentence for sentence in sentences)


def test_scores_spread_over_too_many_groups_tell_nothing(tmp_path: Path) -> None:
    few = {band: laid()[band] for band in ("P0", "P1", "P2", "F0", "F1", "F2")}
    doubts, found = told(tmp_path, few)
    (doubt,) = of_kind(doubts, "too-few-scores")
    assert found.trait("eggs").prediction is None
    assert doubt.problem.startswith("6 scores of eggs are hardly more than")


def test_a_row_written_twice(tmp_path: Path) -> None:
    scores = [{"bird": band, "date": "2026-05-02", "eggs": f"{v:g}"} for band, v in laid().items()]
    flock = scored_flock(tmp_path, young(HENS), EGGS, [*scores, scores[2]])
    (doubt,) = of_kind(trait_doubts(forecast(flock), flock.tables), "score-twice")
    assert where(doubt) == ("scores.csv", len(scores) + 2, "bird", HENS[2])
    assert doubt.problem.startswith("row 4 has the same scores")
    later = {**scores[2], "date": "2026-06-02"}
    flock = scored_flock(tmp_path / "later", young(HENS), EGGS, [*scores, later])
    assert of_kind(trait_doubts(forecast(flock), flock.tables), "score-twice") == []


def test_scores_without_a_date_among_others(tmp_path: Path) -> None:
    scores = [{"bird": band, "date": "2026-05-02", "eggs": f"{v:g}"} for band, v in laid().items()]
    scores[3]["date"] = scores[5]["date"] = ""
    flock = scored_flock(tmp_path, young(HENS), EGGS, scores)
    (doubt,) = of_kind(trait_doubts(forecast(flock), flock.tables), "score-without-date")
    assert doubt.problem.startswith("2 scores have no date (rows 5, 7)")
    assert of_kind(told(tmp_path / "none", laid())[0], "score-without-date") == []


def test_per_cent_written_for_units(tmp_path: Path) -> None:
    """Eggs: −3 % of 50 is 1.5 for every 10 %; −2 may be, −9 is hardly meant."""
    for given, doubted in (("-2", False), ("-9", True)):
        settings = EGGS.replace("depression = 0.0", f"depression = {given}")
        doubts = of_kind(told(tmp_path / given, laid(), settings)[0], "depression-far-off")
        assert bool(doubts) == doubted
