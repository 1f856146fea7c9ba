"""The verdict on one hen with one cock in one row: which rules the pair breaks."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.odd import means_as_counted
from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.pairs.mechanism import Parents, rare, why_none
from matchmaker.pairs.rules import (
    Broken,
    Rule,
    below_floor,
    bird_rules,
    lethal_chicks,
    nothing_to_test,
    too_related,
    unproven,
)
from matchmaker.pairs.trials import in_question, trial_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChickTable
    from matchmaker.pairs.grids import Flags, Grid
    from matchmaker.pairs.trials import Trial
    from matchmaker.pairs.wishes import Wishes

LETHAL_CERTAINTY: Final = 0.95
"""Where both parents carry a lethal allele with at least this chance, no wish waives the rule."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Judge:
    """All that verdicts rest on: hens and cocks by position, their kinship and their chicks."""

    study: Study
    wishes: Wishes
    hens: Sequence[Bird]
    cocks: Sequence[Bird]
    kinship: Grid
    chicks: ChickTable
    of_birds: Mapping[str, tuple[Broken, ...]] = field(default_factory=dict)
    _caps: dict[str, float] = field(default_factory=dict, init=False, repr=False)
    _approximate: dict[tuple[str, ...], bool] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def carries(self) -> Mapping[str, Mapping[str, float]]:
        """P(at least one copy) by locus and bird, of all hens and cocks."""
        bands = [bird.band for bird in (*self.hens, *self.cocks)]
        return {
            symbol: dict(zip(bands, genotypes.carrier_probabilities(bands), strict=True))
            for symbol, genotypes in self.study.genotypes.items()
        }

    @cached_property
    def _related(self) -> list[list[float]]:
        """Kinship of each hen with each cock, as plain numbers."""
        numbers: list[list[float]] = self.kinship.tolist()
        return numbers

    @cached_property
    def _dying(self) -> list[tuple[str, list[list[float]]]]:
        """The loci with lethal chicks, with the part of each pair's chicks that are."""
        return [(locus, part.tolist()) for locus, part in self.chicks.lethal.items()]

    def opened(self, crossing: Crossing) -> Flags:
        """The pairs of a row's lines, shape (hens, cocks)."""
        hens = np.array([hen.line in crossing.hens for hen in self.hens], dtype=np.bool_)
        cocks = np.array([cock.line in crossing.cocks for cock in self.cocks], dtype=np.bool_)
        return hens[:, None] & cocks[None, :]

    def marked(self, pairs: Iterable[tuple[str, str]]) -> Flags:
        """Where some pairs, by bands of hen and cock, stand; shape (hens, cocks)."""
        hens, cocks = (
            {bird.band: at for at, bird in enumerate(side)} for side in (self.hens, self.cocks)
        )
        found = np.zeros((len(hens), len(cocks)), dtype=np.bool_)
        for hen, cock in pairs:
            if hen in hens and cock in cocks:
                found[hens[hen], cocks[cock]] = True
        return found

    def verdict(
        self, hen_at: int, cock_at: int, crossing: Crossing | None, wanted: float | None
    ) -> tuple[Broken, ...]:
        """Every rule the pair breaks; ``crossing`` is ``None`` where no row is open for it.

        The chicks of a test row are not kept, so its pairs may be related and need not carry.
        """
        hen, cock = self.hens[hen_at], self.cocks[cock_at]
        found = [*self.of_birds[hen.band], *self.of_birds[cock.band]]
        found += self._wished_apart(hen, cock)
        test = crossing is not None and crossing.tests is not None
        if not test:
            kinship = self._related[hen_at][cock_at]
            found += _maybe(too_related(kinship, self._cap(hen, cock, crossing)))
        found += self._lethal(hen_at, cock_at)
        if crossing is None:
            facts = {"hen": hen.band, "hens": hen.line, "cock": cock.band, "cocks": cock.line}
            return (*found, Broken(rule=Rule.LINE_CLOSED, facts=facts))
        if test:
            return (*found, *self._nothing_to_test(hen_at, cock_at, crossing))
        found += self._unproven(hen, cock, crossing)
        found += self._no_wanted_chicks(hen_at, cock_at, crossing, wanted or 0.0)
        return tuple(found)

    def trial(self, hen_at: int, cock_at: int, crossing: Crossing) -> Trial | None:
        """What the chicks of a pair in a test row tell; ``None`` where that is nothing."""
        return trial_of(self.study, self.chicks, crossing, hen_at, cock_at)

    def _nothing_to_test(self, hen_at: int, cock_at: int, crossing: Crossing) -> Iterator[Broken]:
        if self.trial(hen_at, cock_at, crossing) is not None:
            return
        pair = self.hens[hen_at].band, self.cocks[cock_at].band
        bird, mate = pair if crossing.tests is Sex.HEN else pair[::-1]
        copies = {symbol: self.study.genotypes[symbol].of(bird) for symbol in crossing.loci}
        named = crossing.keep.get(crossing.tests or Sex.HEN, {})
        known = not any(in_question(copies[symbol], named[symbol]) for symbol in copies)
        yield nothing_to_test(bird, mate, " and ".join(crossing.loci), known=known)

    def approximate(self, crossing: Crossing) -> bool:
        """Whether the chances of a row's chicks are not exact."""
        loci = crossing.loci
        if loci not in self._approximate:
            sampled = not self.chicks.sampled.isdisjoint(loci)
            self._approximate[loci] = sampled or self.study.inferred.approximate(loci)
        return self._approximate[loci]

    def _cap(self, hen: Bird, cock: Bird, crossing: Crossing | None) -> float:
        """The cap of the line the chicks join; without a row, the looser of the parents' lines."""
        if crossing is None:
            return max(self.cap_of(hen.line), self.cap_of(cock.line))
        return self.cap_of(crossing.chicks)

    def cap_of(self, line: str) -> float:
        """The highest kinship that the parents of a line's chicks may have."""
        if line not in self._caps:
            settings = self.study.flock.settings
            cap = settings.line(line).kinship_max
            self._caps[line] = settings.limits.kinship_max if cap is None else cap
        return self._caps[line]

    def _wished_apart(self, hen: Bird, cock: Bird) -> Iterator[Broken]:
        reason = self.wishes.apart.get((hen.band, cock.band))
        if reason is not None:
            yield Broken(rule=Rule.WISHED_APART, facts={"reason": reason})

    def _lethal(self, hen_at: int, cock_at: int) -> Iterator[Broken]:
        limit = self.study.flock.settings.limits.lethal_max
        pair = (self.hens[hen_at].band, self.cocks[cock_at].band)
        for locus, fractions in self._dying:
            fraction = fractions[hen_at][cock_at]
            carry = self.carries[locus]
            certain = fraction > limit and min(carry[bird] for bird in pair) >= LETHAL_CERTAINTY
            yield from _maybe(lethal_chicks(locus, fraction, limit, both_carry=certain))

    def _unproven(self, hen: Bird, cock: Bird, crossing: Crossing) -> Iterator[Broken]:
        """Parents must carry what the row needs; those that hold a line pure must be free of it."""
        limit = self.study.flock.settings.limits.proof_min
        for locus in crossing.loci:
            carries = self.carries[locus]
            free = crossing.purpose is Purpose.HOLD and crossing.needs_none(locus)
            for bird in (hen, cock):
                chance = carries[bird.band]
                if free:
                    yield from _maybe(unproven(bird.band, locus, 1 - chance, limit, carrier=False))
                elif bird.line in crossing.carrier_lines and crossing.needs_copy(locus):
                    yield from _maybe(unproven(bird.band, locus, chance, limit, carrier=True))

    def _no_wanted_chicks(
        self, hen_at: int, cock_at: int, crossing: Crossing, wanted: float
    ) -> Iterator[Broken]:
        limit = self.study.flock.settings.limits.wanted_chance_min
        if wanted > limit:
            return
        hen, cock = self.hens[hen_at].band, self.cocks[cock_at].band
        mechanism, locus = (
            rare(crossing)
            if wanted > 0
            else why_none(
                crossing,
                {s: self._parents(s, hen, cock) for s in crossing.loci},
                self.chicks.loci,
                {
                    s: {sex: self.chicks.of(s, sex)[hen_at, cock_at] for sex in Sex}
                    for s in crossing.loci
                },
            )
        )
        yield Broken(
            rule=Rule.NO_WANTED_CHICKS,
            measured=wanted,
            limit=limit,
            facts={
                "hen": hen,
                "cock": cock,
                "locus": locus,
                "mechanism": mechanism,
                "kept": " and ".join(
                    "sons" if s is Sex.COCK else "daughters" for s in crossing.sexes
                ),
            },
        )

    def _parents(self, locus: str, hen: str, cock: str) -> Parents:
        genotypes = self.study.genotypes[locus]
        return Parents(hen=genotypes.of(hen), cock=genotypes.of(cock))


def judge_birds(
    study: Study, wishes: Wishes, birds: Sequence[Bird]
) -> dict[str, tuple[Broken, ...]]:
    """The rules that reject each bird whatever its mate."""
    means = {
        (band, trait.aim.trait): mean
        for trait in study.forecast.traits
        if trait.aim.floor is not None
        for band, mean in means_as_counted(trait, study.forecast.birds).items()
    }
    return {
        bird.band: bird_rules(
            bird,
            study.flock.settings,
            rests=wishes.rest.get(bird.band),
            floors=_below_floors(study, bird.band, means),
        )
        for bird in birds
    }


def _below_floors(
    study: Study, bird: str, means: Mapping[tuple[str, str], float]
) -> Iterator[Broken]:
    for aim in study.aims:
        mean = means.get((bird, aim.trait))
        if aim.floor is not None and mean is not None:
            yield from _maybe(below_floor(bird, aim.trait, mean, aim.floor))


def _maybe(broken: Broken | None) -> tuple[Broken, ...]:
    return () if broken is None else (broken,)
