"""Under the plan: what its chicks are expected to be in each trait, and which traits lose."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.scores import Told
from matchmaker.plan.season.response import LEAST_LOSS, further_off, plan_response
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.numbers import amount, change_text, digits_of, without_dust
from matchmaker.report.screen import print_rows, say
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.plan.season.response import TraitResponse
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.documents import Document
    from matchmaker.settings import Settings

MUST_NOT_FALL: Final = "must not fall"

_COLUMNS: Final = (
    Column(heading="Trait", name=True),
    Column(heading="Aim"),
    *(
        Column(heading=heading, number=True)
        for heading in ("Counts", "Chicks at", "Change", "±", "Genes", "Breed", "Inbr.")
    ),
)
_SELDOM: Final = ("Breed", "Inbr.")
"""Columns that are left out where they would hold nothing."""


def print_response(console: Console, plan: SeasonPlan) -> None:
    """The table of traits, and a sentence for each that loses; nothing where nothing is scored."""
    found = plan_response(plan)
    if not found:
        return
    console.print()
    say(console, "Expected of the chicks", style="bold")
    table = response_table(plan.table.study.forecast, found)
    print_rows(console, table.columns, table.rows)
    say(console, table.legend)
    for one in found:
        sentence = response_sentence(one, plan.table.study.flock.settings)
        if sentence:
            say(console, sentence, style="bold" if one.loses else "")


def response_table(forecast: Forecast, found: Sequence[TraitResponse]) -> TextTable:
    """A row a trait, without the columns that would hold nothing."""
    rows = [_row(one) for one in found]
    shown = [
        at
        for at, column in enumerate(_COLUMNS)
        if column.heading not in _SELDOM or any(row[at] != "0" for row in rows)
    ]
    columns = [_COLUMNS[at] for at in shown]
    traits = [forecast.trait(one.aim.trait) for one in found]
    return TextTable(
        columns=columns,
        rows=[[row[at] for at in shown] for row in rows],
        legend=response_legend(traits, [column.heading for column in columns]),
    )


def _row(one: TraitResponse) -> list[str]:
    return [
        one.aim.trait,
        aim_text(one.aim),
        f"{one.aim.weight:.2f}",
        amount(one.level, one.genetic_sd, one.aim.unit),
        change_text(one.change, one.genetic_sd),
        amount(one.error, one.genetic_sd),
        *(
            change_text(part, one.genetic_sd)
            for part in (one.by_genes, one.by_breed, one.by_inbreeding)
        ),
    ]


def response_legend(traits: Sequence[TraitForecast], shown: Sequence[str]) -> str:
    """What the headings of the table mean, those of ``shown`` that it need not have included."""
    hens = " (hens' figure)" if any(map(on_both_sexes, traits)) else ""
    crosses = any(t.vigour or t.told is Told.CONFOUNDED for t in traits)
    words = {
        "Genes": "genes",
        "Breed": f"the breed's share{' with the vigour of a cross' if crosses else ''}",
        "Inbr.": "inbreeding",
    }
    given = " (what inbreeding does is taken as given)" if "Inbr." in shown else ""
    parts = [f"by {said}" for heading, said in words.items() if heading in shown]
    return (
        "Counts: what one genetic standard deviation more counts, in wanted chicks. Chicks at: "
        f"where this plan's wanted chicks are expected{hens}. Change: against the chicks of "
        f"average pairs of the same crossings, ± its standard error{given}"
        f"{'; of that, rounded, ' + ', '.join(parts) if parts[1:] else ''}."
    )


def on_both_sexes(trait: TraitForecast) -> bool:
    """Whether cocks and hens are scored for a trait; its levels are then those of hens."""
    return {Sex.COCK, Sex.HEN} <= set(trait.scored.contemporaries.sexes)


def aim_text(aim: TraitAim) -> str:
    """Which way a trait shall go.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> up, best = (SimpleNamespace(sign=s, optimum=o) for s, o in ((1, None), (0, 58.0)))
    >>> aim_text(up), aim_text(best)
    ('up', '58')
    """
    if aim.optimum is not None:
        return f"{aim.optimum:g}"
    return {1: "up", -1: "down", 0: "–"}[aim.sign]


def response_sentence(one: TraitResponse, settings: Settings) -> str | None:
    """What is about to be given up and what would hold it; ``None`` if nothing need be said."""
    if one.loses:
        return f"{_loss(one)}{_doubt(one)}{_help(one, settings)}"
    if settings.traits[one.aim.trait].weight == MUST_NOT_FALL:
        return _slight(one)
    return None


def _loss(one: TraitResponse) -> str:
    aim, sd = one.aim, one.genetic_sd
    if aim.optimum is not None:
        return (
            f"You are about to lose ground in {aim.trait}: the chicks are expected at "
            f"{amount(one.level, sd, aim.unit)}, {amount(_further(one), sd, aim.unit)} further "
            f"from the {aim.optimum:g} you want than those of average pairs."
        )
    lost = amount(abs(one.change), sd, aim.unit)
    if aim.sign < 0:
        return f"You are about to add {lost} of {aim.trait}, which shall go down{_cause(one)}."
    return f"You are about to give up {lost} of {aim.trait}{_cause(one)}."


def _further(one: TraitResponse) -> float:
    """How much further from the optimum, by the figures of the table as they are printed.

    Where rounding leaves nothing of it, as it is.
    """
    assert one.aim.optimum is not None  # noqa: S101  asked of an optimum only
    digits = digits_of(one.genetic_sd)
    printed = further_off(round(one.level, digits), round(one.change, digits), one.aim.optimum)
    return printed if round(printed, digits) > 0 else one.distance or 0.0


def _cause(one: TraitResponse) -> str:
    """What a loss comes from, where that is clearly more than what genes cost; else nothing."""
    parts = {
        "the breed's share and less vigour": one.by_breed,
        "inbreeding": one.by_inbreeding,
    }
    words, part = min(parts.items(), key=lambda item: one.aim.sign * item[1])
    more = one.aim.sign * (one.by_genes - part) / one.genetic_sd
    if more <= LEAST_LOSS:
        return ""
    return f", above all by {words} ({change_text(part, one.genetic_sd)})"


def _doubt(one: TraitResponse) -> str:
    """A caution where the loss is smaller than its own standard error."""
    return " It may be chance: the error is larger." if abs(one.change) < one.error else ""


def _help(one: TraitResponse, settings: Settings) -> str:
    aim = one.aim
    if settings.traits[aim.trait].weight == MUST_NOT_FALL:
        return f" You wrote that it must not fall: it counts {aim.weight:g}, give it more."
    if aim.optimum is not None and aim.weight and one.gain >= 0:
        return " Pair by pair, with the spread of the chicks, the plan counts no loss."
    if not aim.weight:
        return " It counts nothing in this plan."
    return f" Its weight of {aim.weight:g} does not outweigh the rest."


def _slight(one: TraitResponse) -> str | None:
    """What is said of a trait that must not fall and does, by too little to be called a loss."""
    lost = amount(abs(one.change), one.genetic_sd, one.aim.unit)
    if one.aim.sign * one.change >= 0 or change_text(one.change, one.genetic_sd) == "0":
        return None
    moves = "falls" if one.change < 0 else "rises"
    within = "within chance" if abs(one.change) < one.error else "too little to matter"
    return f"{one.aim.trait} {moves} by {lost} although it must not: {within}."


def response_entries(plan: SeasonPlan) -> list[Document]:
    """The same for ``plan --json``, in the traits' units unless the key says genetic SDs."""
    settings = plan.table.study.flock.settings
    return [_entry(one, settings) for one in plan_response(plan)]


def _entry(one: TraitResponse, settings: Settings) -> Document:
    return {
        "trait": one.aim.trait,
        "unit": one.aim.unit,
        "direction": {1: "up", -1: "down", 0: None}[one.aim.sign],
        "optimum": one.aim.optimum,
        "weight": one.aim.weight,
        "level": one.level,
        "change": without_dust(one.change),
        "change_error": one.error,
        "by_genes": without_dust(one.by_genes),
        "by_breed_and_vigour": without_dust(one.by_breed),
        "by_inbreeding": without_dust(one.by_inbreeding),
        "genetic_sd": one.genetic_sd,
        "change_in_genetic_sds": without_dust(one.change_in_sds),
        "gain_in_genetic_sds": without_dust(one.gain),
        "distance_change": None if one.distance is None else without_dust(one.distance),
        "loses": one.loses,
        "sentence": response_sentence(one, settings),
    }
