"""Who is kept for next spring by a keeper without the program: by looks and own scores."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.eye import keepers_eye
from matchmaker.ahead.retaining import NextFlock, counted, left_over, too_old
from matchmaker.pairs.rules import Rule
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.ahead.places import Size
    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.table import PairTable, Survey


def keep_by_eye(survey: Survey, size: Size) -> NextFlock:
    """Keep the best-looking birds of a flock on the eve of its spring.

    Of each line and sex as many as there are places, half of them young at least (where so many
    are): those that pass to the eye for what some row of their line needs, by their latest raw
    scores, no relatives' records and no family in view. Birds with a defect go, and those above
    four years but where a line would be without its sex. (Common practice, no source.)
    """
    table = survey.among(())
    flock, eye = table.study.flock, keepers_eye(table)
    fit = [bird for bird in flock.living if not _unfit(table, bird)]
    passing = {row.name: eye.passing(row) for row in table.crossings if row.tests is None}
    fit = [bird for bird in fit if _passes(table, passing, bird)]
    fit.sort(key=lambda bird: (-eye.scores[bird.band], bird.band))
    old = counted([bird for bird in fit if bird.record.status is not Status.YOUNG])
    kept: set[str] = set()
    for place, places in size.places(old).items():
        own = [bird for bird in fit if (bird.line, bird.sex) == place]
        own = [bird for bird in own if not too_old(bird, flock)] or own
        young = [bird for bird in own if bird.record.status is Status.YOUNG][: places.young]
        taken = {bird.band for bird in young}
        others = [bird for bird in own if bird.band not in taken]
        kept |= taken | {bird.band for bird in others[: max(places.wanted - len(young), 0)]}
    gone = frozenset(bird.band for bird in flock.living if bird.band not in kept)
    return NextFlock(table=left_over(survey.among(kept), kept, gone), gone=gone)


def _unfit(table: PairTable, bird: Bird) -> bool:
    return any(broken.rule is Rule.UNFIT for broken in table.of_birds.get(bird.band, ()))


def _passes(table: PairTable, passing: Mapping[str, frozenset[str]], bird: Bird) -> bool:
    """Whether the bird passes in some row that its line is in; where there is none, it does."""
    own = [
        bird.band in passing[row.name]
        for row in table.crossings
        if row.name in passing and bird.line in (row.hens if bird.sex is Sex.HEN else row.cocks)
    ]
    return not own or any(own)
