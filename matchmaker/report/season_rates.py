"""Sentences of the flock's own rates: how they come about, what to write down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import percent
from matchmaker.report.wording import counted, listed
from matchmaker.season.shrinkage import PRIOR_EGGS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.rates import Rate

RATES: Final = {
    "lay_per_week": "Eggs a hen and week",
    "fertility": "Fertile, of eggs set",
    "hatch_of_fertile": "Hatched, of fertile",
    "rearing": "Alive at 16 weeks",
}


UNSURE: Final = {
    "fertility": "how many eggs are fertile",
    "hatch_of_fertile": "how many fertile ones hatch",
    "rearing": "how many chicks live",
}


def rate_remarks(guide: SeasonGuide) -> Iterator[str]:
    """What to do about rates that differ, and what the books could not tell."""
    rates = guide.rates
    differing = [one for one in rates.all if one.differs]
    if differing:
        keys = listed([f"{one.key} = {one.value:.2f}" for one in differing])
        yield (
            f"Your own counts speak against what the plan takes. Write under [year] in "
            f"matchmaker.toml: {keys}."
        )
    if guide.table.study.flock.tables.eggs:
        yield (
            "raised in eggs.csv is not read as survival: it counts chicks that were kept. Losses "
            "are those of banded chicks that birds.csv calls dead."
        )
    if rates.most_laid is not None and rates.most_laid[0] > rates.lay.high:
        each, row = rates.most_laid
        yield (
            f"eggs.csv, row {row}: {each:.1f} eggs a hen and week were set, more than counted with "
            "here. If your hens lay so well, write lay_per_week."
        )
    if rates.too_many:
        yield (
            f"eggs.csv, {_rows(rates.too_many)}: more eggs than their "
            "hens can lay in those days; look at hens or dates. Their hatch counts all the same."
        )
    if guide.doubtful:
        yield (
            f"eggs.csv, {_rows(guide.doubtful)}: set this season, but "
            "whose they are is not certain, so they count for no line."
        )
    for row, (doubtful, eggs) in guide.partly_doubtful.items():
        yield (
            f"eggs.csv, row {row}: about {doubtful} of the {eggs} eggs count for no line: they may "
            "be of another cock than the rest, or of a hen that no row of matings takes with him."
        )
    left = rates.fertility.left_out
    if left and rates.fertility.sets:
        yield f"{left} of the sets tell no fertility: write how many were fertile at candling."


def _rows(numbers: Sequence[int]) -> str:
    return f"row{'s' if len(numbers) > 1 else ''} {listed([str(row) for row in numbers])}"


def egg_sentence(guide: SeasonGuide) -> str:
    """How the chance of a raised chick comes about, with its terms."""
    rates, year = guide.rates, guide.table.study.flock.settings.year
    parts = (rates.fertility, rates.hatch_of_fertile, rates.rearing)
    fertile, hatched, alive = (percent(one.value) for one in parts)
    return (
        f"Of 100 eggs {100 * rates.raised:.0f} chicks are raised: {fertile} fertile, {hatched} of "
        f"those hatch, {alive} of those live; a pair has more or less by its cock's fertility, and "
        f"{year.depression:g} × its chicks' inbreeding less."
    )


def trust_sentence() -> str:
    """How what was taken is weighed against what was counted."""
    return (
        f"What was taken counts like {PRIOR_EGGS:g} eggs (so much do flocks differ). Your own sets "
        "weigh the more, the more there are and the better they agree with each other."
    )


def cock_sentence(guide: SeasonGuide) -> str:
    """Fertility of the cocks that are penned, by their own sets; "" where nothing is known."""
    penned = {stay.bird for stay in guide.pens.stays}
    known = [(cock, rate) for cock, rate in guide.rates.cocks.items() if cock in penned]
    if not known:
        return ""
    return "By cock: " + ", ".join(f"{cock} {_of_sets(rate)}" for cock, rate in known) + "."


def _of_sets(rate: Rate) -> str:
    sets = counted(rate.sets, "set")
    return f"{percent(rate.value)} fertile ({sets}, {rate.tries} eggs)"
