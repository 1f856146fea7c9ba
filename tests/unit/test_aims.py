"""Aims of traits, the published numbers they lean on, and what is said of both."""

from __future__ import annotations

import pytest

from matchmaker.genetics.traits.aims import HIGHEST, TraitAim, trait_aims, trait_defaults
from matchmaker.genetics.traits.published import (
    GENERAL_H2,
    GENERAL_REPEATABILITY,
    published_traits,
    recognised,
)
from matchmaker.settings import Settings, TraitSettings
from matchmaker.tables.records import Sex


def settings(**traits: TraitSettings) -> Settings:
    return Settings(season=2027, recurrent="sussex", target={"O": 2}, traits=traits)


def aim(name: str, wanted: TraitSettings) -> TraitAim:
    (found,) = trait_aims(settings(**{name: wanted}), [name])
    return found


def up(**more: object) -> TraitSettings:
    return TraitSettings.model_validate({"direction": "up", **more})


@pytest.mark.parametrize(
    ("column", "trait"),
    [
        ("eggs_12wk", "egg number"),
        ("eggs", "egg number"),
        ("Egg number", "egg number"),
        ("egg_weight", "egg weight"),
        ("EggWeight_g", "egg weight"),
        ("weight_of_eggs", "egg weight"),
        ("weight_20wk", "body weight"),
        ("weight_kg", "body weight"),
        ("BW12", "body weight"),
        ("shell_shade", "shell colour"),
        ("egg colour", "shell colour"),
        ("shell_quality", "shell quality"),
        ("shell_weight", "shell quality"),
        ("first_egg_days", "age at first egg"),
        ("age at first egg", "age at first egg"),
        ("shank_length", "breast and shank measures"),
        ("keel", "breast and shank measures"),
        ("fertility", "fertility"),
        ("hatch_of_fertile", "hatch of fertile"),
        ("temper", "temperament"),
        ("survival", "viability"),
        ("type", None),
        ("comb", None),
        ("feather", None),
        ("shank_colour", None),
        ("chick_weight", None),
        ("day_old_weight", None),
        ("weight_gain", None),
        ("hatch_date", None),
        ("eggshell", None),
        ("overweight", None),
        ("beggs", None),
        ("yolk_colour", None),
        ("temper and weight", None),
        ("", None),
    ],
)
def test_columns_are_recognised_by_whole_words(column: str, trait: str | None) -> None:
    found = recognised(column)
    assert (found.name if found else None) == trait


def test_published_numbers_can_be_used() -> None:
    """Repeatability is at least the heritability, which lies in the range read."""
    for trait in published_traits().values():
        assert 0 < trait.h2 <= trait.repeatability < 1
        assert trait.lowest is None or trait.lowest <= trait.h2
        assert trait.highest is None or trait.h2 <= trait.highest
        assert trait.h2_how
        assert trait.source
        assert trait.sure in {"good", "fair", "little"}


def test_no_two_published_traits_share_a_name() -> None:
    words = [phrase for trait in published_traits().values() for phrase in trait.words]
    assert len(words) == len(set(words))


def test_every_published_trait_is_recognised_by_its_names() -> None:
    for trait in published_traits().values():
        for phrase in trait.words:
            found = recognised(" ".join(phrase))
            assert found is trait, phrase


def test_what_is_given_is_taken() -> None:
    wanted = up(h2=0.1, repeatability=0.2, depression=-1.5, weight=0.4, unit="eggs", sex="hen")
    found = aim("eggs", wanted)
    assert (found.heredity.h2, found.heredity.repeatability) == (0.1, 0.2)
    assert (found.sign, found.weight, found.unit, found.sex) == (1, 0.4, "eggs", Sex.HEN)
    assert (found.depression, found.depression_percent) == (-15.0, 0.0)
    assert not found.estimate


def test_else_what_is_published() -> None:
    found = aim("eggs", up())
    published = published_traits()["egg number"]
    assert (found.heredity.h2, found.heredity.repeatability) == (
        published.h2,
        published.repeatability,
    )
    assert (found.published, found.depression, found.depression_percent) == (
        "egg number",
        None,
        -3.0,
    )


def test_else_what_is_common_practice() -> None:
    found = aim("comb", up())
    assert (found.heredity.h2, found.heredity.repeatability) == (GENERAL_H2, GENERAL_REPEATABILITY)
    assert (found.published, found.depression_percent) == (None, 0.0)


def test_like_overrides_the_name() -> None:
    assert aim("eggs", up(like="egg weight")).published == "egg weight"
    assert aim("comb", up(like="shell colour")).published == "shell colour"


def test_like_an_unknown_trait() -> None:
    with pytest.raises(KeyError):
        aim("eggs", up(like="egg nubmer"))


def test_until_it_is_estimated_the_published_serves() -> None:
    found = aim("egg_weight", up(h2="estimate"))
    assert found.estimate
    assert found.heredity.h2 == published_traits()["egg weight"].h2


@pytest.mark.parametrize(
    ("h2", "repeatability", "used"),
    [(0.3, 0.1, 0.3), (0.7, None, 0.7), (1.0, 1.0, HIGHEST), (0.0, 0.0, 0.0)],
)
def test_repeatability_lies_between_heritability_and_nearly_one(
    h2: float, repeatability: float | None, used: float
) -> None:
    found = aim("comb", up(h2=h2, repeatability=repeatability)).heredity
    assert (found.h2, found.repeatability) == (min(h2, HIGHEST), used)


@pytest.mark.parametrize(
    ("weight", "counts"),
    [(None, 0.15), ("must improve", 0.30), ("must not fall", 0.15), ("ignore", 0.0), (0.4, 0.4)],
)
def test_weights(weight: object, counts: float) -> None:
    assert aim("comb", up(weight=weight)).weight == counts


def test_signs_and_optima() -> None:
    assert aim("comb", up()).sign == 1
    assert aim("comb", TraitSettings(direction="down")).sign == -1
    best = aim("egg_weight", TraitSettings(optimum=58.0, weight=0.2))
    assert (best.sign, best.optimum, best.weight) == (0, 58.0, 0.2)


def test_a_floor_alone_has_no_weight() -> None:
    found = aim("eggs", TraitSettings(floor=40.0))
    assert (found.floor, found.weight, found.sign) == (40.0, 0.0, 0)


def test_what_must_not_fall_is_wanted_up() -> None:
    alone = TraitSettings(weight="must not fall")
    assert (aim("comb", alone).sign, aim("comb", alone).weight) == (1, 0.15)
    down = TraitSettings(weight="must not fall", direction="down")
    assert aim("comb", down).sign == -1
    best = TraitSettings(weight="must not fall", optimum=3.0)
    assert (aim("comb", best).sign, aim("comb", best).optimum) == (0, 3.0)
    sentences = said(comb=alone, crest=down, type=best)
    assert 'direction up taken, as "must not fall" is given alone: comb' in sentences


EGG_TRAITS = {"egg number", "egg weight", "age at first egg", "shell colour", "shell quality"}


def test_hens_alone_have_eggs() -> None:
    """What eggs show is scored on hens, whatever the keeper calls it, unless he says otherwise."""
    hens = {trait.name for trait in published_traits().values() if trait.sex is Sex.HEN}
    assert hens == EGG_TRAITS
    assert all(trait.sex in {None, Sex.HEN} for trait in published_traits().values())
    assert aim("eggs_12wk", up()).sex is Sex.HEN
    assert aim("comb", up(like="shell colour")).sex is Sex.HEN
    assert aim("eggs_12wk", up(sex="cock")).sex is Sex.COCK
    assert aim("weight", up()).sex is None
    sentences = said(eggs_12wk=up(), egg_weight=up(), shell_shade=up(sex="hen"))
    assert "taken to be scored on hens alone: egg_weight, eggs_12wk" in sentences


def test_depression_in_units_or_by_the_mean() -> None:
    """Three per cent of 50 eggs for every 10 %: 15 from none to full."""
    assert aim("eggs", up()).depression_at(50.0) == pytest.approx(-15.0)
    assert aim("eggs", up(depression=-1.8)).depression_at(50.0) == -18.0
    assert aim("comb", up()).depression_at(50.0) == 0.0


def test_aims_come_in_order_of_names_for_traits_with_scores() -> None:
    both = settings(weight=up(), eggs=up(), comb=up())
    assert [found.trait for found in trait_aims(both, ["weight", "temper", "eggs"])] == [
        "eggs",
        "weight",
    ]


def said(**traits: TraitSettings) -> tuple[str, ...]:
    return trait_defaults(settings(**traits), list(traits))


def test_nothing_is_said_where_all_is_given() -> None:
    assert said(eggs=up(weight=0.1, h2=0.2, repeatability=0.3, depression=0.0, sex="hen")) == ()


OTHERS = "what is published was found in other flocks; yours may differ"


def test_published_numbers_are_said_with_their_sources_and_a_warning() -> None:
    *sentences, warning = said(eggs=up(weight=0.1, sex="hen"))
    assert sentences == [
        "heritability as published: eggs 0.22 (0.04–0.4; Venturini et al. 2012 and 2 others)",
        "repeatability taken as the published heritability and 0.20, without a source: eggs 0.42",
        "change of the mean with 10 % of inbreeding as published: eggs −3 % (Flock et al. 1991)",
    ]
    assert warning == OTHERS


def test_traits_are_said_together_and_the_warning_once() -> None:
    sentences = said(eggs=up(weight=0.1, sex="hen"), weight=up(weight=0.1))
    assert len(sentences) == 4
    assert sentences[1].endswith(": eggs 0.42, weight 0.73")
    assert sentences[-1] == OTHERS
    assert said(comb=up(weight=0.1))[-1] != OTHERS


def test_only_what_was_taken_is_said() -> None:
    sentences = said(egg_weight=up(weight=0.1, h2=0.2, depression=-2, sex="hen"))
    assert sentences == (
        "repeatability as published: egg_weight 0.74 (three Leghorn strains)",
        OTHERS,
    )


def test_every_number_has_a_source_or_says_that_it_has_none() -> None:
    """The issue of a number's origin: those of one study are not passed off as another's."""
    for trait in published_traits().values():
        own = trait.repeatability_how.startswith("h2 and 0.20")
        assert own != bool(trait.repeatability_source)
        if own:
            assert trait.repeatability == pytest.approx(trait.h2 + 0.20)
        assert bool(trait.depression_percent) == bool(trait.depression_source)


def test_where_one_value_was_read_there_is_no_range() -> None:
    for name, column in (("shell quality", "cracks"), ("viability", "survival")):
        told = said(**{column: up(weight=0.1, depression=0, sex="hen")})[0]
        h2 = published_traits()[name].h2
        assert told.startswith(f"heritability as published: {column} {h2:g} (")
        assert "–" not in told


def test_figures_from_memory_are_called_so() -> None:
    assert "temper 0.15 (0.1–0.2; figure from memory)" in said(temper=up(weight=0.1))[0]


def test_words_and_common_practice_are_said() -> None:
    usual = "common practice, without a source"
    sentences = said(
        comb=up(weight="must not fall"),
        crest=up(weight="must improve", h2=0.4),
        plumage=up(),
        type=up(weight="ignore"),
    )
    assert sentences == (
        "weight 0.15 taken for: plumage",
        '"must improve" counts 0.3 of a wanted chick for each genetic SD: crest',
        '"must not fall" counts 0.15 of a wanted chick for each genetic SD: comb',
        '"ignore" counts nothing: type',
        f"heritability 0.3, repeatability 0.5 taken for comb, plumage, type: {usual}",
        f"repeatability 0.5 taken for crest: {usual}",
    )


def test_an_estimate_still_names_what_serves_until_then() -> None:
    (sentence,) = said(comb=up(weight=0.1, h2="estimate", repeatability=0.5))
    assert sentence == "heritability 0.3 taken for comb: common practice, without a source"
