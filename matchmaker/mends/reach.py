"""How far each finding reaches: which birds that can be penned this spring rest on its cell.

The rule, by what the cell is. A bird's parents, clutch, sex, hatching, line, breed, source or band
move the bird and all that descend from it: 1 for the bird, ½ for each generation below, one of
several possible parents by its probability (``Descent.passed_on``). What was seen or scored on a
bird also speaks of its forebears and all of theirs (``Descent.relatives``). Its status, days, lay,
fertility, defects and most hens move the bird alone, as do wishes, the standing plan, stays and
eggs the birds they name; a cock's stay also moves the hens that were with him. A pen is one of the
pens for every bird of its line, or of all lines: each counts one part in as many pens. A key of
the settings moves its line, its source or breed with what descends from them, else every bird; so
does what is wrong with a whole table of birds, pens, sightings or scores, or with a file that is
not read; with another whole table the birds it names.

A finding reaches as far as its own cell and those that its mend would write.

The *weight* of a finding is the sum of these parts over the breeders it touches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from matchmaker.flock.about import About, Parts
from matchmaker.flock.descent import Descent
from matchmaker.flock.flock import line_of
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.checking import Check
    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

Way = Callable[[str], Parts]
"""From a bird to those that something about it moves."""

OF_THE_BIRD_ALONE: Final = frozenset(
    {"status", "left_on", "release_on", "defects", "lay_per_week", "fertility", "hens_max"}
)
"""Columns of the birds that say nothing of any other bird."""

OF_THE_CLUTCH: Final = frozenset({"sire", "dam", "clutch"})
"""Columns of the birds in which one chick of a clutch stands for all of it."""

WHOLE: Final = frozenset({"", "birds", "seen", "scores"})
"""Tables out of which the figures of every bird are worked: what is wrong with all of one, or with
a file nobody reads, moves them all."""

NOT_IN_THE_PLAN: Final = frozenset({"header-row", "hidden-sheet", "old-encoding"})
"""Findings about what is not read, or is read as it stands: nothing in the plan rests on them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """One finding with the breeders whose figures rest on it, each with its part of 0 to 1.

    ``stops`` says that it is a fault, so that there is no plan before it is mended.
    """

    fault: Fault
    stops: bool
    touched: Mapping[str, float]

    @property
    def weight(self) -> float:
        """The parts of all breeders it touches: as many breeders' own cells it counts for."""
        return sum(self.touched.values())

    @property
    def order(self) -> tuple[bool, bool, float, tuple[str, int, str, str, str]]:
        """Sort key: faults, settings before the cells they spoil; then by weight, file and row."""
        settings = self.stops and self.fault.file == SETTINGS_FILE
        return (not self.stops, not settings, -round(self.weight, 9), self.fault.order)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaches:
    """All that was found, what changes most first; ``breeders`` can be penned this spring."""

    breeders: tuple[str, ...]
    found: tuple[Reach, ...]


def reach_of(found: Check) -> Reaches:
    """Every fault and doubt with the breeders it touches: faults first, then by weight."""
    rule = _Rule(found.tables, breeders_of(found))
    reaches = [_reach(fault, rule, stops=True) for fault in found.faults]
    reaches += [_reach(doubt, rule, stops=False) for doubt in found.doubts]
    return Reaches(
        breeders=rule.breeders, found=tuple(sorted(reaches, key=lambda reach: reach.order))
    )


def breeders_of(found: Check) -> tuple[str, ...]:
    """The birds that can be penned this spring: those no rule keeps out, and all kept for it.

    A living bird that is not a young one counts even if it is kept out as it is written, by a
    defect or its age for example: the cell that keeps it out may be the one that is wrong.
    """
    kept = {
        one.bird
        for one in found.tables.birds
        if one.status.alive_here and one.status is not Status.YOUNG
    }
    if found.table is not None:
        kept |= {band for band, broken in found.table.of_birds.items() if not broken}
    return tuple(sorted(kept))


def _reach(fault: Fault, rule: _Rule, *, stops: bool) -> Reach:
    return Reach(fault=fault, stops=stops, touched=rule.touched(fault))


@dataclass
class _Rule:
    """The rule at the head of this module, for one folder."""

    tables: FolderTables
    breeders: tuple[str, ...]

    def touched(self, fault: Fault) -> Parts:
        """Return the part of each breeder that rests on a finding."""
        found = self._moved(fault)
        return {band: found[band] for band in self.breeders if found.get(band, 0.0) > 0}

    def _moved(self, fault: Fault) -> Parts:
        """What the finding's own cell moves, and what the cells do that its mend would write."""
        if fault.kind in NOT_IN_THE_PLAN:
            return {}
        table = self._table_of.get(fault.file, "")
        found = [self._own(fault, table, self._column(table, fault.column))]
        for mend in fault.mends:
            at = (mend.table, mend.row)
            if at != (table, fault.row):
                found.append(self._of_cell(*at, mend.column, mend.was))
        return _most(found)

    def _own(self, fault: Fault, table: str, column: str) -> Parts:
        if fault.birds:
            return _one_by_one(dict.fromkeys(fault.birds, 1.0), self._way(table, column))
        if fault.file == SETTINGS_FILE:
            return self._of_setting(fault.column or "")
        return self._of_cell(table, fault.row, column, fault.value)

    def _of_cell(self, table: str, row: int | None, column: str, value: str) -> Parts:
        if table == "pens":
            return self._of_pen(row)
        if row is None or row < self._about.first_row(table):
            return self._all if table in WHOLE else _one_by_one(self._about.whole(table), _alone)
        parts = self._about.row(table, row)
        if parts is None:
            parts = {value: 1.0}  # the row was dropped; its value may be the band
        if table == "birds" and column in OF_THE_CLUTCH:
            parts = {mate: part for band, part in parts.items() for mate in self._clutch_of(band)}
        return _one_by_one(parts, self._way(table, column))

    def _column(self, table: str, header: str | None) -> str:
        """The declared name of a column that is given by its header."""
        headers = self.tables.headers.get(table, {})
        return next((name for name, told in headers.items() if told == header), header or "")

    def _way(self, table: str, column: str) -> Way:
        seen = table == "birds" and column in self.tables.loci_columns
        if seen or table in {"seen", "scores"}:
            return self._descent.relatives
        if table in {"birds", "", SETTINGS_FILE} and column not in OF_THE_BIRD_ALONE:
            return self._descent.passed_on
        return _alone

    def _of_pen(self, row: int | None) -> Parts:
        pen = next((pen for pen in self.tables.pens if pen.row == row), None)
        if pen is None:
            return self._all
        part = 1 / len(self.tables.pens)
        return {band: part for band in self.breeders if pen.line in {"", self._lines.get(band, "")}}

    def _of_setting(self, key: str) -> Parts:
        group, _, rest = key.partition(".")
        name = rest.partition(".")[0]
        if group == "lines" and name:
            return {band: 1.0 for band, line in self._lines.items() if line == name}
        if group == "sources" and name:
            return self._descending(one for one in self.tables.birds if one.source == name)
        if group == "breeds" and name:
            return self._descending(one for one in self.tables.birds if name in one.breed)
        return self._all

    def _descending(self, records: Iterable[BirdRecord]) -> Parts:
        return _one_by_one({record.bird: 1.0 for record in records}, self._descent.passed_on)

    @cached_property
    def _all(self) -> Parts:
        return dict.fromkeys(self.breeders, 1.0)

    @cached_property
    def _about(self) -> About:
        return About(self.tables)

    @cached_property
    def _descent(self) -> Descent:
        return Descent(self.tables, self.breeders)

    @cached_property
    def _table_of(self) -> dict[str, str]:
        return {file: table for table, file in self.tables.files.items()}

    @cached_property
    def _records(self) -> dict[str, BirdRecord]:
        return {record.bird: record for record in self.tables.birds}

    @cached_property
    def _lines(self) -> dict[str, str]:
        return {
            band: line_of(self._records[band], self._records)
            for band in self.breeders
            if band in self._records
        }

    @cached_property
    def _clutches(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for record in self.tables.birds:
            if record.clutch:
                found.setdefault(record.clutch, []).append(record.bird)
        return {clutch: tuple(bands) for clutch, bands in found.items()}

    def _clutch_of(self, band: str) -> tuple[str, ...]:
        record = self._records.get(band)
        return (band,) if record is None or not record.clutch else self._clutches[record.clutch]


def _alone(band: str) -> Parts:
    return {band: 1.0}


def _one_by_one(parts: Parts, way: Way) -> Parts:
    """What birds move, each counted by its part; of each bird moved the most."""
    return _most(
        {moved: part * share for moved, share in way(band).items()} for band, part in parts.items()
    )


def _most(parts: Iterable[Parts]) -> Parts:
    found: Parts = {}
    for part in parts:
        for band, share in part.items():
            found[band] = max(found.get(band, 0.0), share)
    return found
