"""Crossings between lines that no row opens this season, as rows that might be written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.crossings import Crossing, crossing_by_wish
from matchmaker.scheme_settings import MatingSettings
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedRow:
    """A row that is not open: its name, and the lines of its hens and cocks."""

    hens: str
    cocks: str
    row: MatingSettings

    @property
    def name(self) -> str:
        """Its name."""
        return str(self.row.name)


def closed_rows(table: PairTable) -> tuple[ClosedRow, ...]:
    """A row for each two lines with living birds between which none is open, in order of names.

    Its purpose, and which chicks are kept in which line, follow from the steps of the two lines.
    """
    study = table.study
    opened = {(h, c) for row in table.crossings for h in row.hens for c in row.cocks if row.chicks}
    living: dict[Sex, set[str]] = {sex: set() for sex in Sex}
    for bird in study.flock.living:
        if bird.sex is not None:
            living[bird.sex].add(bird.line)
    taken = {row.name for row in table.scheme}
    found = []
    for hens in sorted(living[Sex.HEN]):
        for cocks in sorted(living[Sex.COCK]):
            if (hens, cocks) in opened:
                continue
            target = study.flock.settings.target
            crossing = crossing_by_wish(hens, cocks, table.steps, target, study.loci)
            name = f"{hens} hens with {cocks} cocks"
            if name not in taken:
                row = as_written(crossing).model_copy(update={"name": name})
                found.append(ClosedRow(hens=hens, cocks=cocks, row=row))
    return tuple(found)


def assumed_rows(table: PairTable) -> tuple[MatingSettings, ...]:
    """The rows that hold without being written: any row that is written takes their place."""
    settings = table.study.flock.settings
    if settings.matings:
        return ()
    rotating = settings.rotation is not None
    return tuple(
        as_written(row) for row in table.crossings if not (rotating and "(rotation)" in row.name)
    )


def as_written(crossing: Crossing) -> MatingSettings:
    """A crossing as the row of the settings that means it."""
    sons, daughters = (
        {locus: list(copies) for locus, copies in crossing.keep.get(sex, {}).items()}
        for sex in (Sex.COCK, Sex.HEN)
    )
    keep = sons if sons == daughters else {"cock": sons, "hen": daughters}
    return MatingSettings.model_validate(
        {
            "name": crossing.name,
            "hens": crossing.hens,
            "cocks": crossing.cocks,
            "chicks": crossing.chicks,
            "purpose": crossing.purpose.value,
            "keep": keep,
        }
    )
