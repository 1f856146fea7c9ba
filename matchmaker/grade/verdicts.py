"""Keep, let go or wait: the verdict on each young bird, with its grounds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from matchmaker.grade.hope import hope_of
from matchmaker.grade.prospect import by_band
from matchmaker.grade.unseen import Kind, Unseen, kinds_of
from matchmaker.pairs.rules import Rule

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.grade.choosing import Ground, Kept, Pool
    from matchmaker.grade.places import Place, Places
    from matchmaker.grade.prospect import Prospect
    from matchmaker.pairs.rules import Broken

SURE: Final = 0.95
"""So sure shall it be that among birds waiting for a test one for each open place is as wanted."""

FULL: Final = 2.0
"""Beyond so many birds for each place, kept and waiting, a line is full many times over (common
practice, no source)."""

WAITS: Final = frozenset(
    {
        Rule.TOO_YOUNG,
        Rule.NOT_AVAILABLE,
        Rule.LINE_CLOSED,
        Rule.WISHED_APART,
        Rule.UNPROVEN,  # of the mates: a bird that is not proven itself does not come so far
    }
)
"""Rules that another spring lifts."""


class Verdict(StrEnum):
    """What becomes of a young bird."""

    KEEP = "keep"
    WAIT = "wait"
    LET_GO = "let go"


class Why(StrEnum):
    """Why a bird waits or goes; one that is kept has a ``Ground``."""

    RULED_OUT = "ruled-out"
    NO_MATE = "no-mate"
    FULL = "full"
    UNSEEN = "unseen"
    SCORES = "scores"
    LATER = "later"
    TRIAL = "trial"
    REST = "rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """The verdict on a bird and what it rests on.

    ``ground`` says why it is kept, or would be once what is unseen is seen as wanted; ``why`` why
    it waits or goes, with the rules ``broken`` behind it. ``hope`` is what its best pair could
    count, in wanted chicks, if all that is unseen turns out well.
    """

    verdict: Verdict
    ground: Ground | None = None
    why: Why | None = None
    broken: tuple[Broken, ...] = ()
    hope: float = 0.0


class _Waiting:
    """Who waits for each place so far: by the chance that they are as wanted."""

    def __init__(self, kept: Kept, places: Mapping[Place, Places]) -> None:
        self._kept, self._places = kept, places
        self._chances: dict[Place, list[float]] = {}
        self._tested: dict[Place, list[float]] = {}

    def room(self, place: Place, chance: float) -> bool:
        """Whether a bird more may wait for a place, its chance taken; it then counts as waiting."""
        places, waiting = self._places[place], self._chances.setdefault(place, [])
        most = FULL * max(places.young, 1)
        if self._kept.filled(place) + sum(waiting) + chance > most + 1e-9 and waiting:
            return False
        waiting.append(chance)
        return True

    def room_for_test(self, place: Place, chance: float) -> bool:
        """Whether one bird more to be tested makes it likelier that the open places are filled."""
        open_ = max(1, math.ceil(self._places[place].young - self._kept.filled(place) - 1e-9))
        tested = self._tested.setdefault(place, [])
        if at_least(tested, open_) >= SURE:
            return False
        tested.append(chance)
        return True


def at_least(chances: Sequence[float], number: int) -> float:
    """The chance that at least so many of several things come true, each on its own.

    Examples
    --------
    >>> at_least([0.5] * 5, 1), at_least([0.5, 1.0], 2), at_least([], 1)
    (0.96875, 0.5, 0.0)
    """
    counts = [1.0]
    for chance in chances:
        stays = [one * (1 - chance) for one in (*counts, 0.0)]
        moves = [one * chance for one in (0.0, *counts)]
        counts = [one + other for one, other in zip(stays, moves, strict=True)]
    return float(sum(counts[number:]))


def rulings(
    pool: Pool, kept: Kept, unseen: Mapping[str, tuple[Unseen, ...]]
) -> Mapping[str, Ruling]:
    """The verdict on every young bird, those who may yet be better than others first."""
    waiting = _Waiting(kept, pool.places)
    found: dict[str, Ruling] = {}
    left: list[tuple[Prospect, ...]] = []
    for band, own in by_band(pool.prospects).items():
        ruling = _kept_or_ruled_out(_open(own), kept, unseen[band])
        if ruling is None:
            left.append(own)
        else:
            found[band] = ruling
    hopes = _hopes(pool, left)
    for own in sorted(
        left, key=lambda own: (-round(hopes[own[0].band], 6), min(map(pool.order, own)))
    ):
        band = own[0].band
        found[band] = _rest(own, hopes[band], (pool, kept, waiting), unseen[band])
    return {band: found[band] for band in sorted(found)}


def _hopes(pool: Pool, left: Iterable[Sequence[Prospect]]) -> Mapping[str, float]:
    """The hope of each bird, as the better of the sexes that it may have.

    Full sibs of which the same is known have the same hopes: it is worked out once.
    """
    known: dict[tuple[object, ...], float] = {}
    found = {}
    for own in left:
        hopes = []
        for one in own:
            chances = tuple((need.locus, round(need.chance, 9)) for need in one.needs)
            key = (one.place, pool.families[one.band], round(one.value, 6), chances)
            if key not in known:
                known[key] = hope_of(one)
            hopes.append(known[key])
        found[own[0].band] = max(hopes)
    return found


def _open(own: Sequence[Prospect]) -> Sequence[Prospect]:
    """The bird as the sexes that some season may use; as all that it may be where none can.

    What bars a hen alone, one copy on her only Z for example, says nothing of a cock.
    """
    return [one for one in own if one.open_needs or not one.lasting] or own


def _kept_or_ruled_out(
    own: Sequence[Prospect], kept: Kept, unseen: Iterable[Unseen]
) -> Ruling | None:
    """What can be said at once: it is chosen, or no season can use it, or not this spring's."""
    band = own[0].band
    if band in kept.grounds:
        one = next(one for one in kept.taken if one.band == band)
        waits = bool(kinds_of(unseen) & {Kind.LOOK, Kind.LOOK_NOW}) and bool(one.open_needs)
        return Ruling(
            verdict=Verdict.WAIT if waits else Verdict.KEEP,
            ground=kept.grounds[band],
            why=Why.UNSEEN if waits else None,
            hope=one.value,
        )
    if all(one.unfit for one in own):
        return Ruling(verdict=Verdict.LET_GO, why=Why.RULED_OUT, broken=own[0].unfit)
    if all(one.lasting and not one.open_needs for one in own):
        return Ruling(verdict=Verdict.LET_GO, why=Why.RULED_OUT, broken=own[0].lasting)
    waits = any(one.table.of_birds.get(band) for one in own)
    if not any(one.fit for one in own) and (waits or not any(one.lasting for one in own)):
        return _not_next_spring(own)
    return None


def _not_next_spring(own: Sequence[Prospect]) -> Ruling | None:
    """A bird without a pair next spring for a reason that passes; ``None`` for want of a mate."""
    broken = own[0].passing
    rules = {one.rule for one in broken}
    if any(one.facts.get("why") == "rest" for one in broken):
        return Ruling(verdict=Verdict.KEEP, why=Why.REST, broken=broken)
    if any(one.on_trial for one in own):
        return Ruling(verdict=Verdict.WAIT, why=Why.TRIAL, broken=broken)
    if not any(one.has_rows for one in own):
        return Ruling(verdict=Verdict.LET_GO, why=Why.NO_MATE, broken=broken)
    if not rules or rules & WAITS:
        return Ruling(verdict=Verdict.WAIT, why=Why.LATER, broken=broken)
    return None


def _rest(
    own: Sequence[Prospect],
    hope: float,
    state: tuple[Pool, Kept, _Waiting],
    unseen: Sequence[Unseen],
) -> Ruling:
    """A bird that could breed, or may turn out to, and has no place yet."""
    pool, kept, waiting = state
    kinds, part, own = kinds_of(unseen), 1.0 / len(own), _open(own)
    if not any(one.fit or one.lasting for one in own):
        stays = [waiting.room(one.place, part * one.chance) for one in own]
        verdict = Verdict.WAIT if any(stays) else Verdict.LET_GO
        return Ruling(verdict=verdict, why=Why.NO_MATE, broken=own[0].passing, hope=hope)
    hopeful = [one for one in own if _would_be_kept(one, hope, pool, kept)]
    why, granted = Why.UNSEEN, list[bool]()
    if hopeful and kinds & {Kind.SEX, Kind.LOOK, Kind.LOOK_NOW}:
        granted = [waiting.room(one.place, part * one.chance) for one in hopeful]
    elif hopeful and Kind.TEST in kinds:
        granted = [waiting.room_for_test(one.place, one.chance) for one in hopeful]
    elif Kind.SCORES in kinds:
        why = Why.SCORES
        granted = [waiting.room(one.place, part * one.chance) for one in own if one.fit]
    if any(granted):
        return Ruling(verdict=Verdict.WAIT, why=why, hope=hope)
    ruled_out = next((one.lasting for one in own if one.lasting), ())
    if ruled_out and not any(one.fit for one in own):
        return Ruling(verdict=Verdict.LET_GO, why=Why.RULED_OUT, broken=ruled_out, hope=hope)
    return Ruling(verdict=Verdict.LET_GO, why=Why.FULL, hope=hope)


def _would_be_kept(one: Prospect, hope: float, pool: Pool, kept: Kept) -> bool:
    """Whether a bird would find a place if all that is unseen of it turns out as wanted."""
    if hope <= 0:
        return False
    better = sum(
        other.chance
        for other in kept.taken
        if other.place == one.place and other.value >= hope - 1e-9
    )
    return better < pool.places[one.place].young - 1e-9
