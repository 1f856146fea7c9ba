"""What cannot be seen of a young bird yet: what it is, from when on it can be, and how."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import median
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.observed import birds_of
from matchmaker.genetics.traits.aims import trait_aims
from matchmaker.grade.known import SEX_TOLD_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.study import Study
    from matchmaker.grade.prospect import Need, Prospect
    from matchmaker.tables.records import ScoreRecord, Sex

FIRST_YEAR: Final = 365
"""Scores at a greater age tell nothing of when a young bird is scored."""

USUAL_DAYS: Final = 168
"""Where a trait was never scored before: by 24 weeks type and colour are judged (common practice,
no source)."""

LATE_DAYS: Final = 28
"""So long after the usual age a score is no longer waited for."""


class Kind(StrEnum):
    """Kinds of things that are not seen yet."""

    SEX = "sex"
    LOOK = "look"
    LOOK_NOW = "look-now"
    TEST = "test"
    SCORES = "scores"

    @property
    def free(self) -> bool:
        """Whether it will be seen by itself, without a test."""
        return self is not Kind.TEST


@dataclass(frozen=True, slots=True, kw_only=True)
class Unseen:
    """One thing not seen yet: a locus, or the traits of which scores are to come.

    ``since`` is the first day on which it can be seen, ``None`` where it could be now or where a
    test has to tell; ``at_lay`` says that a hen shows it when she lays. ``chance`` is that of
    turning out as the line wants; ``tells`` is the locus of which this one, linked to it, is a
    sign. ``sex`` is set where it is so only if the bird, whose sex is not told, is of that sex.
    """

    kind: Kind
    sex: Sex | None = None
    names: tuple[str, ...] = ()
    since: dt.date | None = None
    at_lay: bool = False
    chance: float | None = None
    tells: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """Who has been scored by the day, and at which age a trait is usually scored."""

    ages: Mapping[str, int]
    hatches: Mapping[str, frozenset[dt.date]]


def watched(scores: Sequence[ScoreRecord], birds: Mapping[str, Bird]) -> Watched:
    """The middle age at which each trait was scored in a bird's first year, and which hatches were.

    Only what was known on the day may be among the scores.
    """
    ages: dict[str, list[int]] = {}
    hatches: dict[str, set[dt.date]] = {}
    for score in scores:
        bird = birds.get(score.bird)
        if bird is None or bird.hatched is None:
            continue
        for trait in score.traits:
            hatches.setdefault(trait, set()).add(bird.hatched)
            age = None if score.date is None else (score.date - bird.hatched).days
            if age is not None and 0 <= age <= FIRST_YEAR:
                ages.setdefault(trait, []).append(age)
    return Watched(
        ages={trait: round(median(found)) for trait, found in ages.items()},
        hatches={trait: frozenset(found) for trait, found in hatches.items()},
    )


def unseen_of(prospects: Sequence[Prospect], day: dt.date, seen: Watched) -> tuple[Unseen, ...]:
    """All that cannot be seen of a bird on a day: its sex, what it must carry, scores to come."""
    bird, study = prospects[0].bird, prospects[0].table.study
    found: dict[tuple[Kind, tuple[str, ...]], Unseen] = {}
    if len(prospects) > 1 or bird.sex is None:
        found[Kind.SEX, ()] = Unseen(kind=Kind.SEX, since=_from(bird, SEX_TOLD_DAYS, day))
    for prospect in prospects:
        for need in prospect.open_needs:
            for one in (*_markers(prospect, need, day), _of_locus(prospect, need, day)):
                same = found.get((one.kind, one.names))
                found[one.kind, one.names] = one if same is None else replace(one, sex=None)
    for one in _scores(study, bird, day, seen):
        found[one.kind, one.names] = one
    return tuple(found.values())


def _of_locus(prospect: Prospect, need: Need, day: dt.date) -> Unseen:
    """How what a bird has at a locus will be seen."""
    locus = prospect.table.study.loci[need.locus]
    kind, since = _way(prospect, need.locus, day)
    return Unseen(
        kind=kind,
        sex=None if prospect.bird.sex is not None else prospect.sex,
        names=(need.locus,),
        since=since,
        at_lay=locus.shown_by == "hen" and kind is not Kind.TEST,
        chance=need.chance,
    )


def _markers(prospect: Prospect, need: Need, day: dt.date) -> Iterator[Unseen]:
    """Loci that are passed on together with one that is open, and that the bird shows itself."""
    study = prospect.table.study
    for pair in study.linked:
        if need.locus not in pair:
            continue
        marker = pair[0] if need.locus == pair[1] else pair[1]
        kind, since = _way(prospect, marker, day)
        if kind.free:
            yield Unseen(
                kind=kind,
                sex=None if prospect.bird.sex is not None else prospect.sex,
                names=(marker,),
                since=since,
                at_lay=study.loci[marker].shown_by == "hen",
                tells=need.locus,
            )


def _way(prospect: Prospect, symbol: str, day: dt.date) -> tuple[Kind, dt.date | None]:
    """Whether a look at the bird will tell of a locus, tells now, or only a test does."""
    study, sex, bird = prospect.table.study, prospect.sex, prospect.bird
    locus, known = study.loci[symbol], study.genotypes[symbol]
    copies = [at for at in locus.copy_numbers(sex) if known.of(bird.band)[at] > 0]
    looks = {locus.phenotype(at, sex) for at in copies}
    told = any(birds_of(one) == (bird.band,) for one in known.evidence)
    since = _from(bird, locus.shows_at_days, day)
    if len(looks) < 2 or told:
        return Kind.TEST, None
    return (Kind.LOOK_NOW, None) if since is None else (Kind.LOOK, since)


def _scores(study: Study, bird: Bird, day: dt.date, seen: Watched) -> Iterator[Unseen]:
    """The scores to come, those that come together as one."""
    together: dict[dt.date | None, list[str]] = {}
    for trait in _to_come(study, bird, day, seen):
        together.setdefault(_from(bird, _age(trait, seen), day), []).append(trait)
    for since in sorted(together, key=lambda one: one or day):
        yield Unseen(kind=Kind.SCORES, names=tuple(together[since]), since=since)


def _to_come(study: Study, bird: Bird, day: dt.date, seen: Watched) -> Iterator[str]:
    """Traits that count, scored so far or not, of which the bird's hatch will yet have a score."""
    if bird.hatched is None:
        return
    settings = study.flock.settings
    for aim in trait_aims(settings, tuple(settings.traits)):
        if not (aim.weight or aim.floor is not None) or aim.sex not in {None, bird.sex}:
            continue
        scored = bird.hatched in seen.hatches.get(aim.trait, ())
        late = bird.hatched + dt.timedelta(days=_age(aim.trait, seen) + LATE_DAYS)
        if not scored and day <= late:
            yield aim.trait


def _age(trait: str, seen: Watched) -> int:
    return seen.ages.get(trait, USUAL_DAYS)


def _from(bird: Bird, age: int, day: dt.date) -> dt.date | None:
    """The day on which a bird reaches an age, ``None`` where it has."""
    if bird.hatched is None:
        return None
    since = bird.hatched + dt.timedelta(days=age)
    return since if since > day else None


def kinds_of(unseen: Iterable[Unseen]) -> frozenset[Kind]:
    """The kinds among some things unseen."""
    return frozenset(one.kind for one in unseen)
