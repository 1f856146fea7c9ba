"""Lines that are about to die out: what each lacks, before it is too late."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.table import PairTable


class Peril(StrEnum):
    """Why a line is about to die out."""

    NO_ROW = "no-row"
    """No row that is open this season gives it chicks."""
    NO_CARRIER = "no-carrier"
    """No bird of it that may breed carries what its rows need."""
    MISSING_SEX = "missing-sex"
    """Each of its rows lacks birds on one side."""
    NO_PAIR = "no-pair"
    """There are birds for a row, but every pair of them is rejected."""
    LAST_CARRIER = "last-carrier"
    """One carrier is left that may breed."""
    LAST_OF_SEX = "last-of-sex"
    """A line that is kept pure has one cock, or one hen, left that may breed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRisk:
    """A line at risk, and why.

    ``birds`` are the last ones of their kind; ``loci`` those that a carrier must have, ``chance``
    the least probability with which it must. ``row`` is the row that lacks birds of ``sex`` out of
    ``lines``. ``cocks`` and ``hens`` count the line's birds that may breed this season.
    """

    line: str
    peril: Peril
    cocks: int
    hens: int
    birds: tuple[str, ...] = ()
    loci: tuple[str, ...] = ()
    chance: float = 0.0
    row: str = ""
    sex: Sex | None = None
    lines: tuple[str, ...] = ()

    @property
    def ends(self) -> bool:
        """Whether the line gets no chicks this season as things stand."""
        return self.peril not in {Peril.LAST_CARRIER, Peril.LAST_OF_SEX}


def lines_at_risk(table: PairTable) -> tuple[LineRisk, ...]:
    """The living lines that are about to die out, in order of their names.

    The first peril that holds is told, the gravest first. Birds that may breed are those that no
    rule rejects whatever their mate.
    """
    steps = table.steps
    lines = sorted({*steps.hold, *steps.backcross, *steps.intercross})
    found = (next(_perils(table, line), None) for line in lines)
    return tuple(risk for risk in found if risk is not None)


def breeding_carriers(table: PairTable, line: str) -> tuple[str, ...]:
    """The birds of a line that may breed and carry what its open rows need.

    Carriers are those with a chance of at least ``limits.proof_min`` at every locus at which some
    open row needs a copy from this line. None where no row does.
    """
    rows = [row for row in table.crossings if line in row.carrier_lines]
    loci = _needed(rows)
    return tuple(b.band for b in _breeders(table, [line]) if loci and _carries(table, b.band, loci))


def _perils(table: PairTable, line: str) -> Iterator[LineRisk]:
    own = _breeders(table, [line])
    cocks, hens = _of_sex(own, Sex.COCK), _of_sex(own, Sex.HEN)

    risk = LineRisk(line=line, peril=Peril.NO_ROW, cocks=len(cocks), hens=len(hens))
    rows = [row for row in table.crossings if row.chicks == line]
    if not rows:
        yield risk
        return
    loci = _needed(row for row in table.crossings if line in row.carrier_lines)
    carriers = breeding_carriers(table, line)
    chance = table.study.flock.settings.limits.proof_min
    if loci and not carriers:
        yield replace(risk, peril=Peril.NO_CARRIER, loci=loci, chance=chance)
    lacking = [_lacking(table, row) for row in rows]
    missing = next((one for one in lacking if one is not None), None)
    if missing is not None and None not in lacking:
        row, sex = missing
        yield replace(
            risk,
            peril=Peril.MISSING_SEX,
            row=row.name,
            sex=sex,
            lines=row.hens if sex is Sex.HEN else row.cocks,
            loci=_needed([row]),
        )
    if not any(pair.line == line for pair in table.allowed):
        yield replace(risk, peril=Peril.NO_PAIR)
    if len(carriers) == 1:
        yield replace(risk, peril=Peril.LAST_CARRIER, birds=carriers, loci=loci, chance=chance)
    last = min((cocks, hens), key=len)
    if line in table.steps.hold and len(last) == 1:
        sex = Sex.COCK if last is cocks else Sex.HEN
        yield replace(risk, peril=Peril.LAST_OF_SEX, birds=tuple(last), sex=sex)


def _lacking(table: PairTable, row: Crossing) -> tuple[Crossing, Sex] | None:
    """The side of a row on which no bird may breed (and carries, where it must)."""
    loci = _needed([row])
    for sex, lines in ((Sex.COCK, row.cocks), (Sex.HEN, row.hens)):
        fit = [
            bird
            for bird in _breeders(table, lines)
            if bird.sex is sex
            and (bird.line not in row.carrier_lines or _carries(table, bird.band, loci))
        ]
        if not fit:
            return row, sex
    return None


def _breeders(table: PairTable, lines: Sequence[str]) -> list[Bird]:
    return [
        bird
        for bird in table.study.flock.living
        if bird.line in lines and bird.sex is not None and not table.of_birds.get(bird.band, ())
    ]


def _of_sex(birds: Iterable[Bird], sex: Sex) -> list[str]:
    return [bird.band for bird in birds if bird.sex is sex]


def _needed(rows: Iterable[Crossing]) -> tuple[str, ...]:
    return tuple(sorted({locus for row in rows for locus in row.loci if row.needs_copy(locus)}))


def _carries(table: PairTable, bird: str, loci: Iterable[str]) -> bool:
    study = table.study
    limit = study.flock.settings.limits.proof_min - tolerance.LIMIT
    return all(study.genotypes[locus].carrier_probability(bird) >= limit for locus in loci)
