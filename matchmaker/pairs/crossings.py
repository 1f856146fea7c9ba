"""Which crossings between lines are open this season, where their chicks go, which are kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.settings import MatingSettings, Settings
    from matchmaker.tables.folder import FolderTables

PURE = 1 - 1e-9
"""Recurrent share from which a bird counts as pure: one, but for rounding of written shares."""

Keep = Mapping[Sex, Mapping[str, tuple[int, ...]]]
"""Copies kept per sex of the chick and per locus; a locus not named is free."""


class Purpose(StrEnum):
    """What a crossing is for."""

    BACKCROSS = "backcross"
    INTERCROSS = "intercross"
    HOLD = "hold"
    TEST = "test"


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """One row of matings that is open this season.

    Parents from ``carrier_lines`` must carry what the kept chicks need; ``sexes`` are the sexes
    of the chicks that are kept; ``by_sight`` counts only chicks that can be told by their looks.
    """

    name: str
    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    chicks: str
    purpose: Purpose
    keep: Keep
    carrier_lines: tuple[str, ...] = ()
    sexes: tuple[Sex, ...] = (Sex.COCK, Sex.HEN)
    by_sight: bool = False

    @property
    def loci(self) -> tuple[str, ...]:
        """The loci on which the kept chicks depend."""
        return tuple(sorted({locus for sex in self.sexes for locus in self.keep.get(sex, {})}))

    def needs_copy(self, locus: str) -> bool:
        """Whether every kept chick must have at least one copy at the locus."""
        kept = self._kept(locus)
        return len(kept) == len(self.sexes) and all(0 not in copies for copies in kept)

    def needs_none(self, locus: str) -> bool:
        """Whether every kept chick must be without the allele at the locus."""
        kept = self._kept(locus)
        return len(kept) == len(self.sexes) and all(copies == (0,) for copies in kept)

    def _kept(self, locus: str) -> list[tuple[int, ...]]:
        return [self.keep[sex][locus] for sex in self.sexes if locus in self.keep.get(sex, {})]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Where each living line stands: the lines at each step, in order of their names."""

    hold: tuple[str, ...]
    backcross: tuple[str, ...]
    intercross: tuple[str, ...]


def line_steps(flock: Flock, recurrent_share: Mapping[str, float]) -> Steps:
    """Sort the living lines by step: as set, else ``hold`` if all its birds are pure recurrent."""
    pure: dict[str, bool] = {}
    for bird in flock.living:
        pure[bird.line] = pure.get(bird.line, True) and recurrent_share[bird.band] >= PURE
    steps: dict[str, list[str]] = {"hold": [], "backcross": [], "intercross": []}
    for line in sorted(pure):
        step = flock.settings.line(line).step or ("hold" if pure[line] else "backcross")
        steps[step].append(line)
    return Steps(**{step: tuple(lines) for step, lines in steps.items()})


def open_crossings(
    settings: Settings, steps: Steps, loci: Mapping[str, Locus]
) -> tuple[Crossing, ...]:
    """The crossings open this season: the written rows if there are any, else those derived."""
    if settings.matings:
        return tuple(
            _written(row, at, steps.hold)
            for at, row in enumerate(settings.matings)
            if is_open(row, settings)
        )
    return tuple(_derived(settings, steps, loci))


def all_crossings(
    settings: Settings, steps: Steps, loci: Mapping[str, Locus]
) -> tuple[Crossing, ...]:
    """The crossings of every season: written rows whose turn it is not now are among them."""
    if settings.matings:
        return tuple(
            _written(row, at, steps.hold)
            for at, row in enumerate(settings.matings)
            if row.purpose != "test"
        )
    return tuple(_derived(settings, steps, loci))


def is_open(row: MatingSettings, settings: Settings) -> bool:
    """Whether a written row is open this season and can be planned by this version."""
    since = settings.season - (row.start or settings.season)
    return since >= 0 and since % row.every == 0 and row.purpose != "test"


def crossing_faults(tables: FolderTables) -> list[Fault]:
    """Rows that cannot be read as meant: a turn without a start, two rows of one name."""
    if tables.settings is None:
        return []
    faults = []
    names: set[str] = set()
    for at, row in enumerate(tables.settings.matings):
        where = f"matings.{at}"
        if row.every > 1 and row.start is None:
            faults.append(
                tables.setting_fault(
                    f"{where}.every",
                    kind="turn-without-start",
                    value=str(row.every),
                    problem="a row open every few seasons must say from which season on",
                    mend=f"add from = {tables.settings.season} (a season in which it is open)",
                )
            )
        name = row_name(row, at)
        if name in names:
            faults.append(
                tables.setting_fault(
                    f"{where}.name",
                    kind="duplicate-row",
                    value=name,
                    problem=f"two rows of matings are called {name!r}",
                    mend="give each row a name of its own",
                )
            )
        names.add(name)
    return faults


def closed_rows(tables: FolderTables, steps: Steps) -> list[Fault]:
    """Doubts on what opens nothing: test matings, a turn that is not now, lines without mates."""
    settings = tables.settings
    if settings is None:
        return []
    doubts = [
        tables.setting_fault(
            f"matings.{at}",
            kind="row-closed",
            value=row_name(row, at),
            problem="test matings are read, but this version does not plan them"
            if row.purpose == "test"
            else f"this row is not open in {settings.season}",
            mend="nothing needs doing if that is meant",
        )
        for at, row in enumerate(settings.matings)
        if not is_open(row, settings)
    ]
    if not settings.matings and steps.backcross and not steps.hold:
        doubts.append(
            tables.setting_fault(
                "recurrent",
                kind="no-recurrent-line",
                value=settings.recurrent,
                problem=f"no line consists of pure {settings.recurrent} birds, so no backcross is "
                "open",
                mend="check breed and line of the pure birds, or write [[matings]] rows",
            )
        )
    return doubts


def row_name(row: MatingSettings, at: int) -> str:
    """A written row's name, else one made of its lines."""
    made = f"{' + '.join(row.hens)} hens × {' + '.join(row.cocks)} cocks"
    return row.name or f"{made} ({at + 1})"


def _written(row: MatingSettings, at: int, pure_lines: Sequence[str]) -> Crossing:
    both = (Sex.COCK, Sex.HEN)
    lines = sorted({*row.hens, *row.cocks})
    must_carry = lines
    if row.purpose == "backcross":
        own = [row.chicks] if row.chicks in lines else lines
        must_carry = [line for line in own if line not in pure_lines]
    return Crossing(
        name=row_name(row, at),
        hens=row.hens,
        cocks=row.cocks,
        chicks=row.chicks,
        purpose=Purpose(row.purpose),
        keep={sex: row.keep_for(sex) for sex in both},
        carrier_lines=tuple(must_carry),
        sexes=both if row.keep_sex == "both" else (Sex(row.keep_sex),),
        by_sight=row.recognise == "sight",
    )


def _derived(settings: Settings, steps: Steps, loci: Mapping[str, Locus]) -> Iterator[Crossing]:
    target = settings.target
    for line in steps.hold:
        yield Crossing(
            name=f"{line} pure",
            hens=(line,),
            cocks=(line,),
            chicks=line,
            purpose=Purpose.HOLD,
            keep=kept_copies(Purpose.HOLD, target, loci),
        )
    for line in steps.backcross if steps.hold else ():
        keep = kept_copies(Purpose.BACKCROSS, target, loci)
        for name, hens, cocks in (
            (f"{line} hens", (line,), steps.hold),
            (f"{line} cocks", steps.hold, (line,)),
        ):
            yield Crossing(
                name=name,
                hens=hens,
                cocks=cocks,
                chicks=line,
                purpose=Purpose.BACKCROSS,
                keep=keep,
                carrier_lines=(line,),
            )
    for line in steps.intercross:
        others = tuple(other for other in steps.intercross if other != line) or (line,)
        yield Crossing(
            name=f"{line} intercross",
            hens=(line,),
            cocks=others,
            chicks=line,
            purpose=Purpose.INTERCROSS,
            keep=kept_copies(Purpose.INTERCROSS, target, loci),
            carrier_lines=steps.intercross,
        )


def kept_copies(purpose: Purpose, target: Mapping[str, int], loci: Mapping[str, Locus]) -> Keep:
    """Copies kept by derived rows, from the purpose and the copies wanted in the end.

    Pure lines keep birds without the donor's allele. A backcross keeps carriers and leaves
    unwanted alleles (target 0) alone: they go by further backcrossing. An intercross keeps the
    target itself.
    """
    return {
        sex: {
            locus: copies
            for locus, wanted in sorted(target.items())
            if (
                copies := _kept(purpose, wanted, hemizygous=loci[locus].z_linked and sex is Sex.HEN)
            )
        }
        for sex in (Sex.COCK, Sex.HEN)
    }


def _kept(purpose: Purpose, wanted: int, *, hemizygous: bool) -> tuple[int, ...]:
    if purpose is Purpose.HOLD:
        return (0,)
    most = min(wanted, 1) if hemizygous else wanted
    if purpose is Purpose.INTERCROSS:
        return (most,)
    return tuple(range(1, most + 1))


def crossing_by_wish(
    hen_line: str,
    cock_line: str,
    steps: Steps,
    target: Mapping[str, int],
    loci: Mapping[str, Locus],
) -> Crossing:
    """The row made for a pair that a wish allows although no row is open for it.

    The chicks join the dam's line unless she is of a pure line and her mate is not.
    """
    pure = steps.hold
    chicks = cock_line if hen_line in pure and cock_line not in pure else hen_line
    purpose = (
        Purpose.HOLD
        if chicks in pure
        else Purpose.INTERCROSS
        if hen_line in steps.intercross and cock_line in steps.intercross
        else Purpose.BACKCROSS
    )
    return Crossing(
        name=f"{hen_line} hens × {cock_line} cocks by wish",
        hens=(hen_line,),
        cocks=(cock_line,),
        chicks=chicks,
        purpose=purpose,
        keep=kept_copies(purpose, target, loci),
    )
