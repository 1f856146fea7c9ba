"""What the simulation takes for granted, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.first_look import BANDED
from matchmaker.ahead.retaining import OLDEST
from matchmaker.grade.places import YOUNG_PART

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.ahead.places import Size
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
        yield "your own crossings stay open in all seasons as they are written"
    else:
        yield (
            f"a line whose young birds are expected to be {ready:.0%} {settings.recurrent} crosses "
            "its carriers with each other, others are taken back to the recurrent breed (or, where "
            "that gives no wanted chick, the other way round); --ready-share changes it"
        )
    yield f"birds kept from spring to spring, hens + cocks: {_sizes(size.wanted)}"
    yield (
        f"at eight weeks {BANDED:g} chicks get a band for each place of a young bird, the likeliest "
        f"to be wanted first; by spring grade's rules choose among them, young birds taking "
        f"{YOUNG_PART:.0%} of the places at least; no bird is kept beyond {OLDEST // 365} years"
    )
    risk = settings.risk
    yield (
        f"each bird, hen or cock, dies within the year with a chance of {risk.cock_young:.0%} "
        f"(under a year old), {risk.cock_grown:.0%} or {risk.cock_old:.0%} (over three years); a "
        "cock that dies is not replaced in that season"
    )
    yield (
        "traits are made by very many genes of small effect; crossovers come as the map of the "
        "fowl says (30 autosomes and the Z), without hindering each other"
    )


def _sizes(wanted: Mapping[Place, int]) -> str:
    by_line: dict[str, dict[Sex, int]] = {}
    for (line, sex), number in sorted(wanted.items()):
        by_line.setdefault(line, {})[sex] = number
    return ", ".join(
        f"{line} {' + '.join(str(own[sex]) for sex in sorted(own, reverse=True))}"
        for line, own in by_line.items()
    )
