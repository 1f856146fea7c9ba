"""What a young bird could be for next spring: its pairs, its best one, and what bars it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.pairs.crossings import Purpose
from matchmaker.pairs.rules import Broken, Rule, unproven
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable

SETTLED: Final = 0.95
"""From this chance on what a bird carries counts as settled, and below what is left of it that it
does not (common practice, no source)."""

LASTING: Final = frozenset({Rule.NO_WANTED_CHICKS, Rule.UNPROVEN, Rule.UNFIT})
"""Rules that reject a bird's pairs in this season and in every other; chicks that would die are no
such reason, for with another mate they need not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What the rows of a bird's line ask of it at a locus, and the chance that it has it."""

    locus: str
    carrier: bool
    chance: float

    @property
    def is_open(self) -> bool:
        """Whether it is not settled yet."""
        return 1 - SETTLED < self.chance < SETTLED


@dataclass(frozen=True, slots=True, kw_only=True)
class Prospect:
    """A young bird of a sex: its pairs of next spring, allowed and not, and what it must carry.

    Where nobody has told its sex it stands here once as a hen and once as a cock.
    """

    bird: Bird
    sex: Sex
    table: PairTable
    pairs: tuple[Pair, ...]
    needs: tuple[Need, ...]

    @property
    def band(self) -> str:
        """The bird's band."""
        return self.bird.band

    @property
    def place(self) -> tuple[str, Sex]:
        """Its line and its sex: birds of one place stand in for each other."""
        return (self.bird.line, self.sex)

    @property
    def best(self) -> Pair | None:
        """The allowed pair that counts most, of equal ones the first; ``None`` without one."""
        return best_of(self.pairs)

    @property
    def fit(self) -> bool:
        """Whether some pair of it is allowed next spring."""
        return self.best is not None

    @property
    def value(self) -> float:
        """What its best pair counts next spring, in wanted chicks; 0 without one."""
        best = self.best
        return 0.0 if best is None else best.value or 0.0

    @property
    def merit(self) -> float:
        """Its own merit, in wanted chicks."""
        return self.table.study.merit(self.band)

    @property
    def chance(self) -> float:
        """The chance that it is all that its line's rows ask of it."""
        found = 1.0
        for need in self.needs:
            found *= need.chance
        return found

    @property
    def parted(self) -> bool:
        """Whether a gene that is wanted has surely parted in it from a near one that is not.

        Such a bird is rare, and without its like the one is never had without the other.
        """
        study = self.table.study
        target = study.flock.settings.target
        wanted = [symbol for symbol, copies in target.items() if copies]
        return self.bird.line not in self.table.steps.hold and any(
            self._sure(one, carrier=True) and self._sure(other, carrier=False)
            for one, other in product(wanted, set(target) - set(wanted))
            if (recombination_between(study.loci[one], study.loci[other]) or 0.5) < 0.5
        )

    def _sure(self, locus: str, *, carrier: bool) -> bool:
        chance = self.table.study.genotypes[locus].carrier_probability(self.band)
        return (chance if carrier else 1 - chance) >= SETTLED

    @property
    def open_needs(self) -> tuple[Need, ...]:
        """What is not settled of that."""
        return tuple(need for need in self.needs if need.is_open)

    @property
    def has_rows(self) -> bool:
        """Whether some row of the scheme, of this spring or another, breeds from such a bird."""
        return any(
            self.bird.line in (row.hens if self.sex is Sex.HEN else row.cocks)
            for row in self.table.scheme
            if row.tests is None
        )

    @property
    def rows(self) -> tuple[Pair, ...]:
        """Its pairs in rows that are open next spring, those of test matings left out."""
        return tuple(
            pair for pair in self.pairs if pair.crossing is not None and pair.crossing.tests is None
        )

    @property
    def on_trial(self) -> bool:
        """Whether test chicks may prove it next spring."""
        return any(
            pair.allowed and pair.trial is not None and pair.trial.bird == self.band
            for pair in self.pairs
        )

    @property
    def unfit(self) -> tuple[Broken, ...]:
        """Defects that cull it, floors that it lies below, and a double dose that harms it."""
        own = self.table.of_birds.get(self.band, ())
        return (*(broken for broken in own if broken.rule is Rule.UNFIT), *self._harmed())

    def _harmed(self) -> Iterator[Broken]:
        study = self.table.study
        for symbol, locus in study.loci.items():
            chances = study.genotypes[symbol].of(self.band)
            harmful = [at for at in locus.copy_numbers(self.sex) if locus.is_lethal(at, self.sex)]
            if sum(float(chances[at]) for at in harmful) >= SETTLED:
                defect = f"its copies of {locus.name} ({symbol}) harm it"
                yield Broken(rule=Rule.UNFIT, facts={"bird": self.band, "defect": defect})

    @property
    def lasting(self) -> tuple[Broken, ...]:
        """Why no season can use it; () where one may.

        A defect, or rules that stand against every pair it could have in a row of its scheme, of
        which at least one speaks of the bird itself or of both. Where no row is open for it next
        spring: what those of other seasons ask of it and it surely has not.
        """
        if self.unfit:
            return self.unfit
        if not self.rows:
            return self._lacking
        ruled_out = [self._lasting_of(pair) for pair in self.rows]
        if not all(ruled_out) or self.fit:
            return ()
        return min(ruled_out, key=len)

    @property
    def _lacking(self) -> tuple[Broken, ...]:
        limit = self.table.study.flock.settings.limits.proof_min
        found = (
            unproven(self.band, need.locus, need.chance, limit, carrier=need.carrier)
            for need in self.needs
            if need.chance <= 1 - SETTLED
        )
        return tuple(broken for broken in found if broken is not None)

    @property
    def passing(self) -> tuple[Broken, ...]:
        """What stands against its least rejected pair next spring, where nothing lasting does."""
        own = self.table.of_birds.get(self.band, ())
        if own:
            return own
        nearest = min(
            self.pairs,
            key=lambda pair: (pair.crossing is None, len(pair.broken), pair.kinship, pair.key),
            default=None,
        )
        return () if nearest is None else nearest.broken

    def _lasting_of(self, pair: Pair) -> tuple[Broken, ...]:
        """What of a pair's rules lies in the bird itself; nothing where its mate is not proven."""
        found = [broken for broken in pair.broken if broken.rule in LASTING]
        own = [one for one in found if one.facts.get("bird", self.band) == self.band]
        if any(one.rule is Rule.UNPROVEN for one in found if one not in own):
            return tuple(one for one in own if "bird" in one.facts)
        return tuple(own)


def prospects_of(birds: Iterable[Bird], table: PairTable, sex: Sex | None = None) -> list[Prospect]:
    """The prospects of birds in a judged flock, with their sex or taken to be of one."""
    pairs: dict[str, list[Pair]] = {}
    for pair in table.pairs:
        pairs.setdefault(pair.hen, []).append(pair)
        pairs.setdefault(pair.cock, []).append(pair)
    return [
        Prospect(
            bird=bird,
            sex=own,
            table=table,
            pairs=tuple(pairs.get(bird.band, ())),
            needs=tuple(needs_of(table, bird, own)),
        )
        for bird in birds
        if (own := sex or bird.sex) is not None
    ]


def best_of(pairs: Iterable[Pair]) -> Pair | None:
    """The allowed pair with a value that counts most, of equal ones the first."""
    open_ = (pair for pair in pairs if pair.allowed and pair.trial is None)
    return min(open_, key=lambda pair: (-(pair.value or 0.0), pair.key), default=None)


def needs_of(table: PairTable, bird: Bird, sex: Sex) -> list[Need]:
    """What the rows that a bird of a line and a sex could breed in ask of it, easiest row counting.

    Of rows of other seasons where none is open for it next spring.
    """
    for rows in (table.crossings, table.scheme):
        asked = [
            _asked(table, bird, row)
            for row in rows
            if row.tests is None and bird.line in (row.hens if sex is Sex.HEN else row.cocks)
        ]
        if asked:
            return _easiest(asked)
    return []


def _easiest(asked: Sequence[Sequence[Need]]) -> list[Need]:
    def chance(needs: Iterable[Need]) -> float:
        found = 1.0
        for need in needs:
            found *= need.chance
        return found

    return list(max(asked, key=chance))


def _asked(table: PairTable, bird: Bird, row: Crossing) -> list[Need]:
    """What a row asks of the birds of a line: to carry, or to be free of what a line holds pure."""
    genotypes = table.study.genotypes
    found = []
    for locus in row.loci:
        carries = genotypes[locus].carrier_probability(bird.band)
        if row.purpose is Purpose.HOLD and row.needs_none(locus):
            found.append(Need(locus=locus, carrier=False, chance=1 - carries))
        elif bird.line in row.carrier_lines and row.needs_copy(locus):
            found.append(Need(locus=locus, carrier=True, chance=carries))
    return found


def by_band(prospects: Iterable[Prospect]) -> Mapping[str, tuple[Prospect, ...]]:
    """The prospects of each bird: one, or two where its sex is not told."""
    found: dict[str, tuple[Prospect, ...]] = {}
    for one in prospects:
        found[one.band] = (*found.get(one.band, ()), one)
    return found
