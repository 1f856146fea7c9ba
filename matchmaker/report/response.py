"""Under the plan: what its chicks are expected to be in each trait, and which traits lose."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.plan.response import plan_response
from matchmaker.report.numbers import amount, change_text
from matchmaker.report.screen import Column, print_rows, say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.plan.response import TraitResponse
    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.report.documents import Document
    from matchmaker.settings import Settings

LEGEND: Final = (
    "Chicks at: where the wanted chicks of this plan are expected (as hens). Change: against the "
    "chicks of average pairs of the same crossings, ± its standard error; of that by genes, by the "
    "breed's share with the vigour of a cross, and by inbreeding."
)

_COLUMNS: Final = (
    Column(heading="Trait"),
    Column(heading="Wanted"),
    *(
        Column(heading=heading, number=True)
        for heading in ("Weight", "Chicks at", "Change", "±", "Genes", "Breed", "Inbr.")
    ),
)


def print_response(console: Console, plan: SeasonPlan) -> None:
    """The table of traits, and a sentence for each that loses; nothing where nothing is scored."""
    found = plan_response(plan)
    if not found:
        return
    console.print()
    say(console, "Expected of the chicks", style="bold")
    print_rows(console, _COLUMNS, [_row(one) for one in found])
    say(console, LEGEND)
    for sentence in losing_sentences(found, plan.table.study.flock.settings):
        say(console, sentence, style="bold")


def _row(one: TraitResponse) -> list[str]:
    return [
        one.aim.trait,
        wanted_text(one.aim),
        f"{one.aim.weight:.2f}",
        amount(one.level, one.genetic_sd, one.aim.unit),
        change_text(one.change, one.genetic_sd),
        amount(one.error, one.genetic_sd),
        *(
            change_text(part, one.genetic_sd)
            for part in (one.by_genes, one.by_breed, one.by_inbreeding)
        ),
    ]


def wanted_text(aim: TraitAim) -> str:
    """Which way a trait shall go.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> up, best = (SimpleNamespace(sign=s, optimum=o) for s, o in ((1, None), (0, 58.0)))
    >>> wanted_text(up), wanted_text(best)
    ('up', '58')
    """
    if aim.optimum is not None:
        return f"{aim.optimum:g}"
    return {1: "up", -1: "down", 0: "–"}[aim.sign]


def losing_sentences(found: Sequence[TraitResponse], settings: Settings) -> list[str]:
    """What is about to be given up, and what would hold it."""
    return [f"{_loss(one)}{_doubt(one)}{_help(one, settings)}" for one in found if one.loses]


def _loss(one: TraitResponse) -> str:
    aim, sd = one.aim, one.genetic_sd
    if one.distance is not None:
        off = amount(one.distance, sd, aim.unit)
        return (
            f"You are about to lose ground in {aim.trait}: the chicks will lie {off} further from "
            f"the {aim.optimum:g} you want than those of average pairs."
        )
    lost = amount(abs(one.change), sd, aim.unit)
    if aim.sign < 0:
        return f"You are about to add {lost} of {aim.trait}, which shall go down{_cause(one)}."
    return f"You are about to give up {lost} of {aim.trait}{_cause(one)}."


def _cause(one: TraitResponse) -> str:
    """What a loss comes from above all, if not from genes."""
    parts = {
        "": one.by_genes,
        "the breed's share and less vigour": one.by_breed,
        "inbreeding": one.by_inbreeding,
    }
    words, part = min(parts.items(), key=lambda item: one.aim.sign * item[1])
    return f", above all by {words} ({change_text(part, one.genetic_sd)})" if words else ""


def _doubt(one: TraitResponse) -> str:
    """A caution where the loss is smaller than its own standard error."""
    return " It may be chance: the error is larger." if abs(one.change) < one.error else ""


def _help(one: TraitResponse, settings: Settings) -> str:
    aim = one.aim
    wanted = settings.traits[aim.trait].weight
    if wanted == "must not fall":
        return f" You wrote that it must not fall: it counts {aim.weight:g}, give it more."
    if not aim.weight:
        return " It counts nothing in this plan."
    return f" Its weight of {aim.weight:g} does not outweigh the rest."


def response_entries(plan: SeasonPlan) -> list[Document]:
    """The same for ``plan --json``, in the traits' units unless the key says genetic SDs."""
    settings = plan.table.study.flock.settings
    found = plan_response(plan)
    return [
        {
            "trait": one.aim.trait,
            "unit": one.aim.unit,
            "direction": {1: "up", -1: "down", 0: None}[one.aim.sign],
            "optimum": one.aim.optimum,
            "weight": one.aim.weight,
            "level": one.level,
            "change": one.change,
            "change_error": one.error,
            "by_genes": one.by_genes,
            "by_breed_and_vigour": one.by_breed,
            "by_inbreeding": one.by_inbreeding,
            "genetic_sd": one.genetic_sd,
            "change_in_genetic_sds": one.change_in_sds,
            "gain_in_genetic_sds": one.gain,
            "distance_change": one.distance,
            "loses": one.loses,
            "sentence": next(iter(losing_sentences([one], settings)), None),
        }
        for one in found
    ]
