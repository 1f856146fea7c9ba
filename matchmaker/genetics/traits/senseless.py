"""Settings of traits that are allowed and yet hardly meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.aims import recognised_as
from matchmaker.genetics.traits.odd import means_as_counted
from matchmaker.tables.records import Sex
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.settings import TraitSettings
    from matchmaker.tables.folder import FolderTables

OUT_OF_REACH: Final = 4.0
"""An optimum so many SDs of single scores beyond all scores is hardly meant."""

FAR_OFF: Final = 4.0
"""A depression so many times what is published is hardly meant."""

FEWEST_SHUT_OUT: Final = 2
"""A floor that shuts out one bird does what it is for."""


def senseless_settings(
    tables: FolderTables, forecast: Forecast, trait: TraitForecast
) -> Iterator[Fault]:
    """Doubts about what the settings say of a trait, seen beside its scores."""
    wanted = tables.settings.traits.get(trait.aim.trait) if tables.settings else None
    if wanted is None:
        return
    yield from _no_heredity(tables, trait, wanted)
    yield from _optimum_out_of_reach(tables, trait)
    yield from _inbreeding_improves(tables, trait, wanted)
    yield from _depression_far_off(tables, trait, wanted)
    yield from _floor_shuts_out(tables, forecast, trait)


def _no_heredity(
    tables: FolderTables, trait: TraitForecast, wanted: TraitSettings
) -> Iterator[Fault]:
    if wanted.h2 == 0:
        yield tables.setting_fault(
            f"traits.{trait.aim.trait}.h2",
            kind="h2-zero",
            value="0",
            problem=f"with a heritability of 0 nothing of {trait.aim.trait} is passed on, so "
            "nothing is predicted",
            mend="take h2 out, and a usual value is taken, or write one above 0",
        )


def _optimum_out_of_reach(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    optimum, raw = trait.aim.optimum, trait.scored.raw
    if optimum is None or len(raw) < FEWEST_SHUT_OUT or trait.mixed is not None:
        return
    sd = trait.prediction.phenotypic_sd if trait.prediction else float(raw.std(ddof=1))
    low, high = float(raw.min()), float(raw.max())
    beyond = max(low - optimum, optimum - high)
    if sd > 0 and beyond > OUT_OF_REACH * sd:
        yield tables.setting_fault(
            f"traits.{trait.aim.trait}.optimum",
            kind="optimum-out-of-reach",
            value=f"{optimum:g}",
            problem=f"all scores of {trait.aim.trait} lie from {low:g} to {high:g}, far from the "
            f"optimum {optimum:g}",
            mend='check its unit; if only more or less is wanted, write direction = "up" or '
            '"down" in its place',
        )


def _inbreeding_improves(
    tables: FolderTables, trait: TraitForecast, wanted: TraitSettings
) -> Iterator[Fault]:
    given, sign = wanted.depression, trait.aim.sign
    if given is None or given * sign <= 0:
        return
    does, other = ("raises", "lowers") if sign > 0 else ("lowers", "raises")
    yield tables.setting_fault(
        f"traits.{trait.aim.trait}.depression",
        kind="depression-improves",
        value=f"{given:g}",
        problem=f"a depression of {given:g} says that inbreeding {does} {trait.aim.trait}, which "
        "is the way it shall go",
        mend=f"it is the change for every 10 % of inbreeding: write {-given:g} if inbreeding "
        f"{other} it",
    )


def _depression_far_off(
    tables: FolderTables, trait: TraitForecast, wanted: TraitSettings
) -> Iterator[Fault]:
    """Per cent written for units: many times what was published for a trait."""
    given, published = wanted.depression, recognised_as(trait.aim.trait, wanted)
    if given is None or published is None or not len(trait.scored.raw):
        return
    usual = published.depression_percent / 100 * float(trait.scored.raw.mean())
    if usual and abs(given) > FAR_OFF * abs(usual):
        unit = f" {trait.aim.unit}" if trait.aim.unit else ""
        yield tables.setting_fault(
            f"traits.{trait.aim.trait}.depression",
            kind="depression-far-off",
            value=f"{given:g}",
            problem=f"{abs(given):g}{unit} for every 10 % of inbreeding is far more than the "
            f"{abs(usual):.2g}{unit} that {published.depression_percent:+g} % would be, as "
            f"published for {published.name}".replace("-", "−"),
            mend=f"it is in the unit of the trait, not in per cent: {usual:.2g} would be usual",
        )


def _floor_shuts_out(
    tables: FolderTables, forecast: Forecast, trait: TraitForecast
) -> Iterator[Fault]:
    floor, name = trait.aim.floor, trait.aim.trait
    if floor is None:
        return
    scored = means_as_counted(trait, forecast.birds)
    living = [b for b in tables.birds if b.status.alive_here and b.bird in scored]
    means = [(bird.sex, scored[bird.bird]) for bird in living]
    for whose, those in (
        ("birds", [mean for _, mean in means]),
        ("cocks", [mean for sex, mean in means if sex is Sex.COCK]),
        ("hens", [mean for sex, mean in means if sex is Sex.HEN]),
    ):
        if len(those) >= FEWEST_SHUT_OUT and max(those) < floor - LIMIT:
            yield tables.setting_fault(
                f"traits.{name}.floor",
                kind="floor-shuts-out-all",
                value=f"{floor:g}",
                problem=f"the floor {floor:g} for {name} shuts out all {len(those)} scored "
                f"{whose}: the best has {max(those):g}",
                mend="lower the floor, or check its unit",
            )
            return
