"""What the simulation takes for granted, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.first_look import BANDED
from matchmaker.ahead.retaining import OLDEST
from matchmaker.grade.places import YOUNG_PART

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.ahead.places import Size
    from matchmaker.ahead.today import Past
    from matchmaker.grade.places import Place
    from matchmaker.settings import Settings
    from matchmaker.tables.records import Sex


def assumptions(settings: Settings, size: Size, ready: float) -> Iterator[str]:
    """What is taken for granted of the coming seasons, beside what a plan takes for granted."""
    yield (
        "pens, dates, rooms and what lines ask for stay as they are; wishes hold this spring only, "
        "but for birds kept apart or allowed together"
    )
    yield (
        "no bird comes from outside and none is tested: of genes the keeper knows what shows, of "
        "traits what he scores as often and at the age that he did so far"
    )
    if settings.matings:
        yield "your own crossings stay open in all seasons as they are written" + (
            ", those with every in their turn: in a season in which none falls no egg is set"
            if any(row.every > 1 for row in settings.matings)
            else ""
        )
    else:
        yield (
            f"a line whose young birds are expected to be {_percent(ready)} {settings.recurrent} "
            "crosses its carriers with each other, others are taken back to the recurrent breed "
            "(or, where that gives no wanted chick, the other way round); --ready-share changes it"
        )
    yield f"birds kept from spring to spring, hens + cocks: {_sizes(size.wanted)}"
    yield (
        f"at eight weeks {BANDED:g} chicks get a band for each place of a young bird, the "
        "likeliest to be wanted first; by spring grade's rules choose among them, young birds "
        f"taking {_percent(YOUNG_PART)} of the places at least; no bird is kept beyond "
        f"{OLDEST // 365} years unless nobody else of its line and sex is left"
    )
    young, grown, old = (
        _percent(chance)
        for chance in (settings.risk.cock_young, settings.risk.cock_grown, settings.risk.cock_old)
    )
    yield (
        f"each bird, hen or cock, dies within the year with a chance of {young} (under a year "
        f"old), {grown} or {old} (over three years); a cock that dies is not replaced in that "
        "season"
    )
    yield (
        "traits are made by very many genes of small effect; crossovers come as the map of the "
        "fowl says (30 autosomes and the Z), without hindering each other"
    )


def doubts_of_the_past(past: Past) -> Iterator[str]:
    """Where today's birds could not be drawn exactly from all that was seen; nothing where so."""
    if past.method == "sampled":
        yield (
            "the birds' genes and unsure parents are drawn by sampling: too much hangs together to "
            "work them out exactly"
        )
    if past.given_parents:
        yield (
            f"what was seen of {', '.join(past.given_parents)} tells nothing of who the unsure "
            "parents are: too much hangs together to use it for that"
        )


def _percent(part: float) -> str:
    return f"{100 * part:.3g} %"


def _sizes(wanted: Mapping[Place, int]) -> str:
    by_line: dict[str, dict[Sex, int]] = {}
    for (line, sex), number in sorted(wanted.items()):
        by_line.setdefault(line, {})[sex] = number
    return ", ".join(
        f"{line} {' + '.join(str(own[sex]) for sex in sorted(own, reverse=True))}"
        for line, own in by_line.items()
    )
