"""Which crossings between lines are open this season, where their chicks go, which are kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from matchmaker.scheme_settings import DEFAULT_TEST_WORTH
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.scheme_settings import MatingSettings
    from matchmaker.settings import Settings

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


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """One row of matings that is open this season.

    Parents from ``carrier_lines`` must carry what the kept chicks need; ``sexes`` are the sexes
    of the chicks that are kept; ``by_sight`` counts only chicks that can be told by their looks.
    ``worth`` multiplies what its pairs are worth. A test row keeps no chicks and feeds no line
    (``chicks`` is ""): ``tests`` is the sex of the birds on trial, ``keep`` holds for that sex the
    loci in question with the copies to be proved (none named: whatever is open), and ``worth`` is
    that of settling one bird of even odds, in wanted chicks.
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
    tests: Sex | None = None
    worth: float = 1.0

    @cached_property
    def loci(self) -> tuple[str, ...]:
        """The loci on which the kept chicks depend."""
        return tuple(sorted({locus for sex in self.sexes for locus in self.keep.get(sex, {})}))

    def needs_copy(self, locus: str) -> bool:
        """Whether every kept chick must have at least one copy at the locus."""
        return locus in self._with_a_copy

    def needs_none(self, locus: str) -> bool:
        """Whether every kept chick must be without the allele at the locus."""
        return locus in self._without

    @cached_property
    def _with_a_copy(self) -> frozenset[str]:
        return frozenset(
            locus
            for locus in self.loci
            if len(kept := self._kept(locus)) == len(self.sexes)
            and all(0 not in copies for copies in kept)
        )

    @cached_property
    def _without(self) -> frozenset[str]:
        return frozenset(
            locus
            for locus in self.loci
            if len(kept := self._kept(locus)) == len(self.sexes)
            and all(copies == (0,) for copies in kept)
        )

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
    """The crossings open this season.

    The written rows if there are any, else those derived; in a season of rotation its rows too.
    """
    rows = [(at, row) for at, row in enumerate(settings.matings) if is_open(row, settings)]
    turn = settings.rotation is not None and settings.rotation.is_open(settings.season)
    return tuple(_crossings(settings, steps, loci, rows=rows, rotates=turn))


def all_crossings(
    settings: Settings, steps: Steps, loci: Mapping[str, Locus]
) -> tuple[Crossing, ...]:
    """The crossings of every season: rows whose turn it is not now are among them."""
    rows = list(enumerate(settings.matings))
    return tuple(
        _crossings(settings, steps, loci, rows=rows, rotates=settings.rotation is not None)
    )


def _crossings(
    settings: Settings,
    steps: Steps,
    loci: Mapping[str, Locus],
    *,
    rows: Sequence[tuple[int, MatingSettings]],
    rotates: bool,
) -> Iterator[Crossing]:
    if settings.matings:
        found = [_written(row, at, steps.hold, settings.target) for at, row in rows]
    else:
        found = list(_derived(settings, steps, loci))
    yield from found
    if settings.rotation is not None and rotates:
        same = {_what(one) for one in found}
        turned = _rotation(settings.rotation.order, settings.target, steps, loci)
        yield from (one for one in turned if _what(one) not in same)


def _what(crossing: Crossing) -> tuple[object, ...]:
    """What a crossing opens, whatever its name: a rotation need not open it again."""
    return (crossing.hens, crossing.cocks, crossing.chicks, crossing.purpose)


def is_open(row: MatingSettings, settings: Settings) -> bool:
    """Whether a written row is open this season."""
    since = settings.season - (row.start or settings.season)
    return since >= 0 and since % row.every == 0


def row_name(row: MatingSettings, at: int) -> str:
    """A written row's name, else one made of its lines."""
    made = f"{' + '.join(row.hens)} hens × {' + '.join(row.cocks)} cocks"
    return row.name or f"{made} ({at + 1})"


def _written(
    row: MatingSettings, at: int, pure_lines: Sequence[str], target: Mapping[str, int]
) -> Crossing:
    both = (Sex.COCK, Sex.HEN)
    if row.tests is not None:
        return _test_row(row, at, Sex(row.tests), target)
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
        worth=1.0 if row.worth is None else row.worth,
    )


def _test_row(row: MatingSettings, at: int, tested: Sex, target: Mapping[str, int]) -> Crossing:
    return Crossing(
        name=row_name(row, at),
        hens=row.hens,
        cocks=row.cocks,
        chicks="",
        purpose=Purpose.TEST,
        keep={tested: row.keep_for(tested) or dict.fromkeys(sorted(target), ())},
        sexes=(tested,),
        tests=tested,
        worth=DEFAULT_TEST_WORTH if row.worth is None else row.worth,
    )


def rotation_rows(order: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Row, the line whose cocks serve, and the line whose hens they serve, of one rotation.

    Examples
    --------
    >>> [row for row, _, _ in rotation_rows(["Alder", "Birch"])]
    ['Alder cocks on Birch hens (rotation)', 'Birch cocks on Alder hens (rotation)']
    """
    for cocks, hens in zip(order, (*order[1:], order[0]), strict=True):
        yield f"{cocks} cocks on {hens} hens (rotation)", cocks, hens


def _rotation(
    order: Sequence[str], target: Mapping[str, int], steps: Steps, loci: Mapping[str, Locus]
) -> Iterator[Crossing]:
    """Rows of a rotation, between lines that live; in both of a row's lines birds must carry."""
    living = {*steps.hold, *steps.backcross, *steps.intercross}
    for name, cocks, hens in rotation_rows(order):
        if not {cocks, hens} <= living:
            continue
        purpose = _purpose(hens, cocks, hens, steps)
        carriers = [] if purpose is Purpose.HOLD else sorted({hens, cocks} - {*steps.hold})
        yield Crossing(
            name=name,
            hens=(hens,),
            cocks=(cocks,),
            chicks=hens,
            purpose=purpose,
            keep=kept_copies(purpose, target, loci),
            carrier_lines=tuple(carriers),
        )


def _purpose(hen_line: str, cock_line: str, chicks: str, steps: Steps) -> Purpose:
    """What a crossing between two lines is for, by the steps at which they stand."""
    if chicks in steps.hold:
        return Purpose.HOLD
    both = {hen_line, cock_line} <= {*steps.intercross}
    return Purpose.INTERCROSS if both else Purpose.BACKCROSS


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
    purpose = _purpose(hen_line, cock_line, chicks, steps)
    return Crossing(
        name=f"{hen_line} hens × {cock_line} cocks by wish",
        hens=(hen_line,),
        cocks=(cock_line,),
        chicks=chicks,
        purpose=purpose,
        keep=kept_copies(purpose, target, loci),
    )
