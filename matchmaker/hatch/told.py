"""What the keeper tells of one set of eggs and of its chicks."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NoReturn

from matchmaker.errors import Fault, InputError, UsageError
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

MOST_KEPT: Final = 28
"""Days that an egg is kept before it is set, at most: after three weeks hardly any hatches (common
practice, no source); more is a slip of the pen."""

COMMAND: Final = "the command"
"""Stands for the file where the command line itself tells of a hatch."""

NEW_ROW: Final = 1_000_000
"""Rows that a set gets now are numbered from here on while the rest is worked out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BandedChick:
    """One banded chick; ``seen`` maps a locus to what was seen of it, in the keeper's words."""

    band: str
    sex: Sex | None = None
    status: Status = Status.YOUNG
    seen: Mapping[str, str] = field(default_factory=dict)
    row: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Chicks of the whole set counted in one class of a locus, banded ones among them."""

    locus: str
    words: str
    chicks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One set: what of it is new. ``None`` and "" stand for what is not told.

    ``collected`` are the first and the last day of collecting; ``hatched`` counts chicks, banded
    or not. ``sire`` is written as in ``birds.csv`` and only needed where the clock cannot know
    him. ``file`` and ``row`` say where it is told, ``columns`` how its columns are called there.
    """

    pen: str
    dam: str = ""
    sire: str = ""
    set_on: dt.date | None = None
    collected: tuple[dt.date, dt.date] | None = None
    eggs: int | None = None
    fertile: int | None = None
    hatched: int | None = None
    hatched_on: dt.date | None = None
    chicks: tuple[BandedChick, ...] = ()
    counts: tuple[Counted, ...] = ()
    line: str = ""
    clutch: str = ""
    file: str = COMMAND
    row: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """How the set is called in a message."""
        of = f" of hen {self.dam}" if self.dam else ""
        on = f", set on {self.set_on}" if self.set_on else ""
        return f"pen {self.pen}{of}{on}"

    @property
    def loci(self) -> tuple[str, ...]:
        """The loci of which something was seen, in the order told."""
        of_chicks = [locus for chick in self.chicks for locus in chick.seen]
        return tuple(dict.fromkeys([*(one.locus for one in self.counts), *of_chicks]))

    def by_band(self, locus: str) -> Counter[str]:
        """How many banded chicks were seen in each class of a locus."""
        return Counter(chick.seen[locus] for chick in self.chicks if locus in chick.seen)

    def whole(self, locus: str) -> Counter[str]:
        """Chicks by class of a locus: as counted over the whole set, else over the banded ones."""
        counted = Counter({o.words: o.chicks for o in self.counts if o.locus == locus})
        return counted or self.by_band(locus)

    def not_by_band(self, locus: str) -> Counter[str]:
        """Chicks by class that were counted and not told by band: no chick counts twice."""
        counted = Counter({o.words: o.chicks for o in self.counts if o.locus == locus})
        return counted - self.by_band(locus)

    def called(self, column: str) -> str:
        """How a column is called where the hatch is told: the option, or the form's own header."""
        if self.file == COMMAND:
            return "--" + column.replace("_", "-")
        return self.columns.get(column, column)

    def refuse(
        self, column: str, value: object, problem: str, mend: str, *, row: int | None = None
    ) -> NoReturn:
        """Refuse a thing that was told, saying where it stands.

        Raises
        ------
        InputError
            Where a file tells of the hatch.
        UsageError
            Where the command line does.
        """
        called = self.called(column)
        if self.file == COMMAND:
            what = f"{called} {value}".strip()
            raise UsageError(f"{what}: {problem}. {mend[:1].upper()}{mend[1:]}")
        fault = Fault(
            kind="hatch",
            file=self.file,
            row=self.row if row is None else row,
            column=called,
            value=str(value),
            problem=problem,
            mend=mend,
        )
        raise InputError((fault,))


def check_told(told: Told) -> None:
    """Refuse what contradicts itself, whatever the book says.

    Raises
    ------
    UsageError, InputError
        Naming what is wrong, see ``Told.refuse``.
    """
    if not told.pen:
        told.refuse("pen", "", "no pen is named", "name the pen in which the eggs were laid")
    _refuse_idle(told)
    _check_counts(told)
    _check_days(told)
    _check_bands(told)
    _check_classes(told)


def _refuse_idle(told: Told) -> None:
    """Refuse what would have no effect."""
    if not (told.chicks or told.loci):
        pair = told.eggs is not None and bool(told.dam) and not set("|:") & set(told.sire)
        for name in ("hatched_on",) if pair else ("sire", "hatched_on"):
            if getattr(told, name):
                told.refuse(
                    name,
                    getattr(told, name),
                    "it is written down with chicks only",
                    "tell of the chicks too (their bands, or what was seen), or leave it out",
                )
    if not told.chicks:
        for name in ("line", "clutch"):
            if getattr(told, name):
                told.refuse(
                    name,
                    getattr(told, name),
                    "only banded chicks get one",
                    "tell of their bands too, or leave it out",
                )
    numbers = (told.eggs, told.fertile, told.hatched)
    if not (told.chicks or told.loci or any(number is not None for number in numbers)):
        told.refuse(
            "pen",
            told.pen,
            "nothing is told of its eggs or chicks",
            "tell of eggs, fertile, hatched, bands or seen",
        )


def _check_counts(told: Told) -> None:
    numbers = [(name, getattr(told, name)) for name in ("eggs", "fertile", "hatched")]
    given = [(name, number) for name, number in numbers if number is not None]
    for name, number in given:
        if number < 0:
            told.refuse(name, number, "a count cannot be below nought", "write the number")
    if told.eggs == 0:
        told.refuse("eggs", 0, "a set has one egg at least", "write how many were set")
    for (more, most), (name, number) in pairwise(given):
        if number > most:
            told.refuse(name, number, f"that is more than the {most} {more}", "mend one of the two")


def _check_days(told: Told) -> None:
    if told.collected is None:
        return
    first, last = told.collected
    days = f"{first}..{last}"
    if last < first:
        told.refuse("collected", days, "the last day is before the first", "turn them round")
    if told.set_on is not None and told.set_on < last:
        told.refuse(
            "collected",
            days,
            f"eggs were set on {told.set_on}, before the last was collected",
            "mend one of the days",
        )
    kept = 0 if told.set_on is None else (told.set_on - first).days
    if kept > MOST_KEPT:
        told.refuse(
            "collected",
            days,
            f"the first eggs would be {kept} days old when set on {told.set_on}; {MOST_KEPT} at "
            "most go",
            "mend one of the days",
        )


def _check_bands(told: Told) -> None:
    twice = [band for band, n in Counter(c.band for c in told.chicks).items() if n > 1]
    if twice:
        told.refuse("bands", twice[0], "the band is named twice", "name each band once")
    if told.hatched is not None and len(told.chicks) > told.hatched:
        told.refuse(
            "bands",
            f"{told.chicks[0].band} …",
            f"{len(told.chicks)} chicks are banded, but {told.hatched} hatched",
            "mend the number or the bands",
        )


def _check_classes(told: Told) -> None:
    for locus, words, problem in _wrong_classes(told):
        told.refuse(
            "seen", f"{locus}:{words}", problem, "count every chick once: the banded ones too"
        )


def _wrong_classes(told: Told) -> Iterator[tuple[str, str, str]]:
    for locus in told.loci:
        counted, by_band = told.whole(locus), told.by_band(locus)
        for words, chicks in by_band.items():
            if chicks > counted[words]:
                yield (
                    locus,
                    words,
                    f"{chicks} chicks are named by bands, but {counted[words]} counted in all",
                )
        total = sum(counted.values())
        if told.hatched is not None and total > told.hatched:
            words = ", ".join(f"{words}={chicks}" for words, chicks in counted.items())
            yield locus, words, f"{total} chicks are counted, but {told.hatched} hatched"
