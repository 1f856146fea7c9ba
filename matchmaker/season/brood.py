"""What is expected to hatch and to be raised of the eggs that are set, by pen, line, sex, class."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.chances import chick_table
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.genetics.study import Study
    from matchmaker.season.lots import Lot
    from matchmaker.season.rates import Rates

ClassKey = tuple[str, Sex, int]
"""Locus, sex of the chicks, copies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Brood:
    """Expected numbers of one pen's chicks for one line (or of the test of ``tested``).

    ``hatched`` are chicks out of the shell, ``raised`` those that live for 16 weeks, half of each
    cockerels. ``wanted`` are raised chicks that the line wants, by sex; ``classes`` raised chicks
    by locus, sex and copies.
    """

    pen: str
    cock: str
    line: str
    tested: str
    eggs: int
    hatched: float
    raised: float
    wanted: Mapping[Sex, float]
    classes: Mapping[ClassKey, float]

    def unwanted(self, sex: Sex) -> float:
        """Raised chicks of a sex that the line does not want."""
        return max(0.0, self.raised / 2 - self.wanted[sex])

    @property
    def surplus_cockerels(self) -> float:
        """Cockerels out of the shell for which the line has no use."""
        share = self.raised / self.hatched if self.hatched else 0.0
        return self.unwanted(Sex.COCK) / share if share else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Eggs of a lot that are or will be set; they hatch like ``like`` unknown ones.

    ``like`` differs from ``eggs`` where the fertile ones or the chicks hatched were counted.
    """

    lot: Lot
    eggs: int
    like: float


def broods(study: Study, rates: Rates, batches: Iterable[Batch]) -> tuple[Brood, ...]:
    """The broods of batches of eggs, by line and pen; tests last."""
    rows = list(batches)
    kinds: dict[tuple[str, str, str, str], list[Batch]] = defaultdict(list)
    for one in rows:
        kinds[one.lot.tested, one.lot.line, one.lot.pen, one.lot.cock].append(one)
    hens = sorted({hen for one in rows for hen in one.lot.hens})
    cocks = sorted({one.lot.cock for one in rows})
    copies = _Copies(study=study, hens=hens, cocks=cocks)
    return tuple(
        _brood(key, own, rates, copies)
        for key, own in sorted(kinds.items(), key=lambda one: one[0])
    )


class _Copies:
    """Copies among the chicks of any of these pairs."""

    def __init__(self, *, study: Study, hens: Sequence[str], cocks: Sequence[str]) -> None:
        self._table = chick_table(study, hens, cocks) if hens else None
        self._hens = {band: at for at, band in enumerate(hens)}
        self._cocks = {band: at for at, band in enumerate(cocks)}
        self.loci = study.loci

    def of(self, hen: str, cock: str, locus: str, sex: Sex) -> list[float]:
        if self._table is None:
            return []
        chances = self._table.of(locus, sex)[self._hens[hen], self._cocks[cock]]
        return [float(one) for one in chances]


def _brood(
    key: tuple[str, str, str, str], rows: Sequence[Batch], rates: Rates, copies: _Copies
) -> Brood:
    tested, line, pen, cock = key
    shares = [
        (one, batch.like * one.eggs / sum(other.eggs for other in batch.lot.portions))
        for batch in rows
        for one in batch.lot.portions
    ]
    shell = rates.fertility.value * rates.hatch_of_fertile.value
    wanted = {
        sex: sum(eggs * one.wanted(sex) for one, eggs in shares) * rates.raised for sex in Sex
    }
    classes: dict[ClassKey, float] = defaultdict(float)
    for one, eggs in shares:
        for locus in copies.loci:
            for sex in Sex:
                chances = copies.of(one.pair.hen, one.pair.cock, locus, sex)
                for number, chance in enumerate(chances):
                    classes[locus, sex, number] += eggs * one.lives * rates.raised * chance / 2
    lives = sum(eggs * one.lives for one, eggs in shares)
    return Brood(
        pen=pen,
        cock=cock,
        line=line,
        tested=tested,
        eggs=sum(batch.eggs for batch in rows),
        hatched=lives * shell,
        raised=lives * rates.raised,
        wanted=wanted,
        classes={kind: number for kind, number in classes.items() if number > 0},
    )
