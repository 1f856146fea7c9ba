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


def broods(study: Study, rates: Rates, rows: Iterable[tuple[Lot, int]]) -> tuple[Brood, ...]:
    """The broods of so many eggs of each lot, by line and pen; tests last."""
    rows = list(rows)
    kinds: dict[tuple[str, str, str, str], list[tuple[Lot, int]]] = defaultdict(list)
    for lot, count in rows:
        kinds[lot.tested, lot.line, lot.pen, lot.cock].append((lot, count))
    hens = sorted({hen for lot, _ in rows for hen in lot.hens})
    cocks = sorted({lot.cock for lot, _ in rows})
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
    key: tuple[str, str, str, str], rows: Sequence[tuple[Lot, int]], rates: Rates, copies: _Copies
) -> Brood:
    tested, line, pen, cock = key
    shares = [
        (one, count * one.eggs / sum(other.eggs for other in lot.portions))
        for lot, count in rows
        for one in lot.portions
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
        eggs=sum(count for _, count in rows),
        hatched=lives * shell,
        raised=lives * rates.raised,
        wanted=wanted,
        classes={kind: number for kind, number in classes.items() if number > 0},
    )
