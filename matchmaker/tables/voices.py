"""Cock or hen: what each row of the tables makes of a bird, and which side is likelier wrong."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.findings import listed
from matchmaker.tables.mentions import mentions
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

ROWS_TOLD: Final = 4
"""So many rows that speak for a sex are named; of more, how many there are."""

OUTVOTED_BY: Final = 3
"""So many rows must speak against a sex that no other row bears out before its own cell is taken
for the wrong one: two chicks of one hatch are often written down in one go (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One row that makes a bird a cock or a hen."""

    sex: Sex
    table: str
    row: int
    how: str


@dataclass(frozen=True, slots=True)
class Voices:
    """All rows that speak of the sex of one bird, beside the cell of its sex."""

    band: str
    all: tuple[Voice, ...]

    def of(self, sex: Sex) -> tuple[Voice, ...]:
        """The rows that speak for one sex."""
        return tuple(voice for voice in self.all if voice.sex is sex)

    def outvote(self, sex: Sex) -> bool:
        """Whether so many rows speak against a sex, and none for it, that its cell is wrong."""
        return not self.of(sex) and len(self.of(sex.other)) >= OUTVOTED_BY

    def told(self, sex: Sex) -> str:
        """The rows that speak for a sex, by what they say."""
        return rows_told(self.of(sex))


def rows_told(voices: Sequence[Voice]) -> str:
    """Return rows by what they say, the first few by number.

    Examples
    --------
    >>> rows_told([Voice(Sex.HEN, "birds", row, "dam") for row in (4, 5)])
    'dam in birds rows 4, 5'
    """
    grouped: dict[tuple[str, str], list[int]] = defaultdict(list)
    for voice in voices:
        grouped[voice.how, voice.table].append(voice.row)
    return "; ".join(
        f"{how} in {table} row{'s' if len(rows) > 1 else ''} "
        f"{listed(list(map(str, rows)), ROWS_TOLD)}"
        for (how, table), rows in grouped.items()
    )


def voices_of(tables: FolderTables) -> Mapping[str, Voices]:
    """Return what the rows say of each bird of which they say anything."""
    found: dict[str, list[Voice]] = defaultdict(list)
    for one in mentions(tables):
        if one.sex is not None:
            found[one.band].append(Voice(one.sex, one.table, one.row, one.column))
    for bird in tables.birds:
        for sex, column in _own_cells(bird):
            found[bird.bird].append(Voice(sex, "birds", bird.row, column))
    return {band: Voices(band, tuple(all_of_it)) for band, all_of_it in found.items()}


def _own_cells(bird: BirdRecord) -> Iterator[tuple[Sex, str]]:
    """Cells of its own row that only a hen or only a cock has filled."""
    if bird.lay_per_week:
        yield Sex.HEN, "lay_per_week"
    if bird.hens_max is not None:
        yield Sex.COCK, "hens_max"


def outvoted(tables: FolderTables, voices: Mapping[str, Voices]) -> frozenset[str]:
    """Return the birds whose written sex every other row contradicts."""
    return frozenset(
        bird.bird
        for bird in tables.birds
        if bird.sex is not None and bird.bird in voices and voices[bird.bird].outvote(bird.sex)
    )


def outvoted_sexes(tables: FolderTables, voices: Mapping[str, Voices]) -> Iterator[Fault]:
    """One fault for each sex that every other row contradicts, in place of one a row."""
    wrong = outvoted(tables, voices)
    for bird in tables.birds:
        if bird.bird not in wrong or bird.sex is None:
            continue
        meant = bird.sex.other
        yield tables.fault(
            "birds",
            bird.row,
            "sex",
            kind="sex-contradicted",
            value=str(bird.sex),
            problem=f"{bird.bird} is written as a {bird.sex}, but {len(voices[bird.bird].all)} "
            f"rows make it a {meant} ({voices[bird.bird].told(meant)}) and none a {bird.sex}",
            mend=f"look at the bird; write {meant} if it is one, else put the right bands there",
            mends=(_sex_cell(bird, str(bird.sex), meant),),
            birds=(bird.bird,),
        )


def sexes_not_written(tables: FolderTables, voices: Mapping[str, Voices]) -> Iterator[Fault]:
    """Doubt a blank sex where eggs and chicks both say hen: then it can be written down."""
    for bird in tables.birds:
        told = voices.get(bird.bird)
        if bird.sex is not None or told is None or told.of(Sex.COCK):
            continue
        if {"eggs", "birds"} <= {voice.table for voice in told.of(Sex.HEN)}:
            yield tables.fault(
                "birds",
                bird.row,
                "sex",
                kind="sex-not-written",
                value="",
                problem=f"the sex of {bird.bird} is not written, but it is a hen: "
                f"{told.told(Sex.HEN)}",
                mend="write hen",
                mends=(_sex_cell(bird, "", Sex.HEN),),
                safe=True,
                birds=(bird.bird,),
            )


def _sex_cell(bird: BirdRecord, was: str, sex: Sex) -> CellMend:
    return CellMend(table="birds", row=bird.row, column="sex", was=was, becomes=str(sex))


def likelier(voices: Voices | None, written: Sex) -> str:
    """Which side of a contradiction is likelier wrong, in words; "" where that is even.

    Examples
    --------
    >>> rows = [Voice(Sex.HEN, "birds", row, "dam") for row in (4, 5)]
    >>> told = Voices("H1", (*rows, Voice(Sex.COCK, "birds", 9, "sire")))
    >>> likelier(told, Sex.HEN)
    '. Likelier this cell is wrong: its sex and dam in birds rows 4, 5 say hen'
    """
    if voices is None:
        return ""
    same, other = voices.of(written), voices.of(written.other)
    if len(same) + 1 > len(other):
        told = f" and {rows_told(same)}" if same else ""
        return f". Likelier this cell is wrong: its sex{told} say {written}" if same else ""
    if len(other) > len(same) + 1:
        return f". Likelier its sex is wrong: {rows_told(other)} say {written.other}"
    return ""
