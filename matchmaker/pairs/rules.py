"""Why a pair is rejected: each rule with what was measured, its limit and the facts behind it.

To add a rule: a member of ``Rule``, a function that returns a ``Broken`` or ``None``, its call in
``bird_rules`` or ``Judge.verdict``, the same of all pairs at once in ``sheet.Desk`` (a property
test holds the two against each other), and its sentence in ``report.wording``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.flock.bird import Bird
    from matchmaker.settings import Settings

Facts = Mapping[str, str | float | int]

NO_DATE = "no date given"
"""What stands for the end of a quarantine that nobody wrote."""


class Rule(StrEnum):
    """The rules, by the slug that tables and machine output use."""

    TOO_RELATED = "too-related"
    NO_WANTED_CHICKS = "no-wanted-chicks"
    LETHAL_CHICKS = "lethal-chicks"
    LINE_CLOSED = "line-closed"
    NOT_AVAILABLE = "not-available"
    TOO_YOUNG = "too-young"
    UNPROVEN = "unproven"
    WISHED_APART = "wished-apart"
    UNFIT = "unfit"
    NOTHING_TO_TEST = "nothing-to-test"


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """One rule that a pair breaks: ``measured`` against ``limit``, and facts for the sentence."""

    rule: Rule
    measured: float | None = None
    limit: float | None = None
    facts: Facts = field(default_factory=dict)

    @property
    def final(self) -> bool:
        """Whether no wish can waive it: the bird is gone, or both parents carry a lethal."""
        return self.facts.get("final", 0) == 1


def bird_rules(
    bird: Bird, settings: Settings, *, rests: str | None, floors: Iterator[Broken]
) -> tuple[Broken, ...]:
    """Rules that reject a bird whatever its mate; ``rests`` is the reason of a wish to rest it."""
    found = [
        _not_available(bird, settings.pen_up, rests),
        _too_young(bird, settings),
        *(_unfit(bird, defect) for defect in bird.record.defects),
        *floors,
    ]
    return tuple(broken for broken in found if broken is not None)


def _not_available(bird: Bird, pen_up: dt.date, rests: str | None) -> Broken | None:
    status = bird.record.status
    if not status.alive_here:
        return not_here(bird)
    if status is Status.QUARANTINE:
        release = bird.record.release_on
        if release is None or release > pen_up:
            until = str(release) if release else NO_DATE
            return Broken(
                rule=Rule.NOT_AVAILABLE,
                facts={"bird": bird.band, "why": "quarantine", "until": until},
            )
    if rests is not None:
        return Broken(
            rule=Rule.NOT_AVAILABLE, facts={"bird": bird.band, "why": "rest", "reason": rests}
        )
    return None


def not_here(bird: Bird) -> Broken:
    """The bird is sold, dead or culled."""
    facts: Facts = {"bird": bird.band, "why": str(bird.record.status), "final": 1}
    return Broken(rule=Rule.NOT_AVAILABLE, facts=facts)


def _too_young(bird: Bird, settings: Settings) -> Broken | None:
    age = bird.age_on(settings.pen_up)
    if age is None or age >= settings.limits.age_min_days:
        return None
    return Broken(
        rule=Rule.TOO_YOUNG,
        measured=age,
        limit=settings.limits.age_min_days,
        facts={"bird": bird.band, "day": str(settings.pen_up)},
    )


def _unfit(bird: Bird, defect: str) -> Broken:
    return Broken(rule=Rule.UNFIT, facts={"bird": bird.band, "defect": defect})


def below_floor(bird: str, trait: str, mean: float, floor: float) -> Broken | None:
    """Independent culling: the mean of a bird's own scores lies below the floor of the trait."""
    if mean >= floor - tolerance.LIMIT:
        return None
    return Broken(rule=Rule.UNFIT, measured=mean, limit=floor, facts={"bird": bird, "trait": trait})


def too_related(kinship: float, cap: float) -> Broken | None:
    """The kinship of the pair, which is the inbreeding of its chicks, exceeds the cap."""
    if kinship <= cap + tolerance.LIMIT:
        return None
    return Broken(rule=Rule.TOO_RELATED, measured=kinship, limit=cap)


def lethal_chicks(locus: str, fraction: float, limit: float, *, both_carry: bool) -> Broken | None:
    """Too many chicks are expected to have a lethal or sublethal genotype at a locus."""
    if fraction <= limit + tolerance.LIMIT:
        return None
    return Broken(
        rule=Rule.LETHAL_CHICKS,
        measured=fraction,
        limit=limit,
        facts={"locus": locus, "final": int(both_carry)},
    )


def unproven(bird: str, locus: str, chance: float, limit: float, *, carrier: bool) -> Broken | None:
    """A parent is not surely enough what its row needs: a carrier, or free of the allele."""
    if chance >= limit - tolerance.LIMIT:
        return None
    return Broken(
        rule=Rule.UNPROVEN,
        measured=chance,
        limit=limit,
        facts={"bird": bird, "locus": locus, "needs": "carrier" if carrier else "free"},
    )


def nothing_to_test(bird: str, mate: str, loci: str, *, known: bool) -> Broken:
    """A test mating would tell nothing: the bird is settled, or its chicks would look alike."""
    facts: Facts = {"bird": bird, "mate": mate, "locus": loci, "known": int(known)}
    return Broken(rule=Rule.NOTHING_TO_TEST, facts=facts)


def nearest_cause(broken: Iterable[Broken]) -> tuple[Broken, ...]:
    """What lies at the bottom: nothing else matters of a bird that is gone or does not carry."""
    kept = tuple(broken)
    gone = tuple(one for one in kept if one.final and one.rule is Rule.NOT_AVAILABLE)
    if gone:
        return gone
    if any(one.rule is Rule.UNPROVEN for one in kept):
        return tuple(one for one in kept if one.rule is not Rule.NO_WANTED_CHICKS)
    return kept
