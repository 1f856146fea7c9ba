"""What gets known of the birds between two springs: looks of genes, and scores."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.ahead.books import hatched_in
from matchmaker.ahead.looks import seen_as
from matchmaker.ahead.luck import Event
from matchmaker.ahead.scoring import scores_of
from matchmaker.tables.dates import years_on

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.ahead.birds import Birds
    from matchmaker.ahead.books import Chick
    from matchmaker.ahead.scoring import Pattern
    from matchmaker.ahead.world import Fate, World
    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.table import PairTable

YEAR: Final = 365


def looks(
    chicks: Sequence[Chick], birds: Birds, table: PairTable, fate: Fate
) -> Iterator[tuple[str, str, str]]:
    """What banded chicks show by next spring: band, locus and words.

    Every locus that a bird of its sex shows by then is written down, nothing is tested.
    """
    rng = fate.stream(Event.LOOKS)
    settings = table.study.flock.settings
    age = (years_on(settings.pen_up, 1) - hatched_in(settings)).days
    loci = [table.study.loci[symbol] for symbol in fate.nature.loci]
    copies = fate.nature.copies(birds).tolist()
    for at, chick in enumerate(chicks):
        for place, locus in enumerate(loci):
            if locus.shows_at_days <= age:
                alleles = birds.alleles[at, :, place]
                words = seen_as(locus, alleles, copies[at][place], chick.sex, rng)
                if words is not None:
                    yield chick.band, locus.symbol, words


def scores(
    world: World, flock: Flock, patterns: Sequence[Pattern], fate: Fate
) -> Mapping[str, Mapping[str, float]]:
    """The scores of a year by band: of each trait whose age a bird reaches in it.

    ``flock`` is that of the spring before: birds that are not in it hatched since. Who has a score
    already gets another only of a trait of which birds had several before.
    """
    settings, told = flock.settings, _told(flock)
    hatched = {bird.band: bird.hatched for bird in flock.living}
    days = [hatched.get(band, hatched_in(settings)) for band in world.bands]
    known = np.array([day is not None for day in days], dtype=np.bool_)
    before = np.array(
        [0 if day is None else (settings.pen_up - day).days for day in days], dtype=np.int64
    )
    years = before // YEAR
    found = scores_of(
        world.birds,
        fate.nature,
        patterns,
        fate.stream(Event.SCORES),
        groups=years - years.min(initial=0),
    )
    scored: dict[str, dict[str, float]] = {}
    for at, one in enumerate(patterns):
        age = one.age_days or 0
        due = known & (before < age) & (age <= before + YEAR) & ~np.isnan(found[:, at])
        for number in np.flatnonzero(due):
            band = world.bands[number]
            if one.repeated or (band, one.trait) not in told:
                scored.setdefault(band, {})[one.trait] = float(found[number, at])
    return scored


def _told(flock: Flock) -> set[tuple[str, str]]:
    """Of whom a score is written in which trait."""
    return {(row.bird, trait) for row in flock.tables.scores for trait in row.traits}
