"""The dates of a season: from bringing the birds into condition to choosing the next breeders."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import natural
from matchmaker.pairs.certainty import PROVEN
from matchmaker.pairs.chances import GRADING_DAYS, chick_table
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.tables.dates import years_on

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

    from matchmaker.genetics.loci.locus import Locus, Look
    from matchmaker.pairs.table import PairTable
    from matchmaker.season.safe import Safe
    from matchmaker.season.standing import Pens
    from matchmaker.tables.records import Sex

CONDITION_DAYS: Final = 42
"""Breeder ration, grit, shell and a check for worms and mites from 4 to 6 weeks before eggs are
kept (common practice, no source); 14 hours of light for as long (Damerow, Storey's Guide to
Raising Chickens, 4 to 6 weeks for cocks)."""

CANDLE_DAYS: Final = 7
"""First candling on day 7 to 10 (common practice); on day 6 to 7 (training texts)."""

MOVE_DAYS: Final = 18
"""To the hatcher after 18 of 21 days, turning stops (Fasenko 2007, Poult Sci 86:1020; FAO 2004)."""

GRADING_WEEKS: Final = (8, 16, 24)
"""Ages at which chicks are looked through (common practice, no source)."""

IN_LAY_DAYS: Final = 182
"""March pullets come into lay in September or October (common practice, no source)."""

SAMPLE_DAY: Final = (10, 15)
RESULT_DAY: Final = (11, 30)
"""Results of tests come in by November, before the next plan (common practice, no source)."""


class Task(StrEnum):
    """What is done on a day."""

    CONDITION = "condition"
    LIGHT = "light"
    PEN_UP = "pen-up"
    SAFE = "safe-eggs"
    SET = "set"
    CANDLE = "candle"
    MOVE = "move"
    HATCH = "hatch"
    READ = "read"
    LAST_SET = "last-set"
    GRADE = "grade"
    BREAK_UP = "break-up"
    SAMPLES = "samples"
    RESULTS = "results"
    CHOOSE = "choose"
    DECIDE = "decide"


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One date: what, in which pens, from ``day`` to ``last``; ``key`` tells it from all others.

    ``about`` holds what the words need: names, numbers, loci.
    """

    day: dt.date
    last: dt.date
    task: Task
    key: str
    pens: tuple[str, ...] = ()
    about: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class EggSet:
    """Eggs set on one day: the number of the set, its eggs by pen, whether it is set already."""

    number: str
    set_on: dt.date
    eggs: Mapping[str, int]
    first: dt.date | None = None
    last: dt.date | None = None
    done: bool = False

    @property
    def total(self) -> int:
        """All its eggs."""
        return sum(self.eggs.values())

    @property
    def pens(self) -> tuple[str, ...]:
        """Its pens."""
        return in_pens(self.eggs)

    @property
    def hatches(self) -> dt.date:
        """The day on which it hatches."""
        return self.set_on + days(HATCH_DAYS)


def in_pens(pens: Iterable[str]) -> tuple[str, ...]:
    """Pens in the order in which people count them, each once."""
    return tuple(sorted(set(pens), key=natural))


def season_dates(pens: Pens, safe: Iterable[Safe], sets: Iterable[EggSet]) -> tuple[Due, ...]:
    """All dates of a season in order."""
    sets = sorted(sets, key=lambda one: (one.set_on, one.number))
    found = [*_before(pens), *_safe(safe), *_of_sets(sets), *_after(pens, sets)]
    order = list(Task)
    return tuple(sorted(found, key=lambda due: (due.day, order.index(due.task), due.key)))


def _due(
    day: dt.date, task: Task, key: str = "", *, pens: Iterable[str] = (), **about: object
) -> Due:
    """What is due on one day; ``key`` tells it from others of its task, ``about`` is for words."""
    name = f"{task}-{key}" if key else str(task)
    return Due(day=day, last=day, task=task, key=name, pens=in_pens(pens), about=about)


def _before(pens: Pens) -> Iterator[Due]:
    settings = pens.table.study.flock.settings
    begin = settings.collect_from - days(CONDITION_DAYS)
    yield _due(begin, Task.CONDITION)
    yield _due(begin, Task.LIGHT)
    up: dict[dt.date, list[str]] = defaultdict(list)
    for pen in {stay.pen for stay in pens.stays}:
        firsts = [s.first or settings.pen_up for s in pens.stays if s.pen == pen]
        up[min(firsts)].append(pen)
    for at, (day, penned) in enumerate(sorted(up.items())):
        yield _due(day, Task.PEN_UP, "" if at == 0 else str(at + 1), pens=penned)


def _safe(safe: Iterable[Safe]) -> Iterator[Due]:
    """Pens that are safe from the same day on together, hens that wait each with the reason."""
    plain: dict[dt.date, list[str]] = defaultdict(list)
    for one in safe:
        if one.since is None:
            continue
        if one.waits_for:
            key = "-".join((one.pen, one.cock, *one.hens))
            about = {"hens": one.hens, "cock": one.cock, "waits_for": one.waits_for}
            yield _due(one.since, Task.SAFE, key, pens=(one.pen,), **about)
        else:
            plain[one.since].append(one.pen)
    for at, (day, named) in enumerate(sorted(plain.items()), start=1):
        yield _due(day, Task.SAFE, str(at), pens=named)


def _of_sets(sets: Iterable[EggSet]) -> Iterator[Due]:
    for one in sets:
        steps = (
            (Task.SET, 0),
            (Task.CANDLE, CANDLE_DAYS),
            (Task.MOVE, MOVE_DAYS),
            (Task.HATCH, HATCH_DAYS),
        )
        for task, after in steps:
            yield _due(one.set_on + days(after), task, one.number, pens=one.pens, set=one)


def _after(pens: Pens, sets: list[EggSet]) -> Iterator[Due]:
    """What follows from the hatches; nothing where no egg is set."""
    if not sets:
        return
    table = pens.table
    first, last = sets[0].hatches, max(one.hatches for one in sets)
    of_sets = in_pens(pen for one in sets for pen in one.pens)
    reads = tuple(_reads(table, first, last))
    yield from reads
    for weeks in GRADING_WEEKS:
        yield Due(
            day=first + days(7 * weeks),
            last=last + days(7 * weeks),
            task=Task.GRADE,
            key=f"{Task.GRADE}-{weeks}",
            pens=of_sets,
            about={"weeks": weeks},
        )
    yield from _broken_up(sets)
    yield from _tests(pens)
    yield from _late(table)
    season, decided = table.study.flock.settings.season, next_decision(table)
    graded = last + days(7 * GRADING_WEEKS[-1])
    chosen = max([graded, *(due.last for due in reads if due.last <= decided)])
    yield _due(chosen, Task.CHOOSE)
    yield _due(max(decided, chosen), Task.DECIDE, season=season + 1)


def _reads(table: PairTable, first: dt.date, last: dt.date) -> Iterator[Due]:
    for symbol, locus in later_loci(table).items():
        yield Due(
            day=first + days(locus.shows_at_days),
            last=last + days(locus.shows_at_days),
            task=Task.READ,
            key=f"{Task.READ}-{symbol}",
            about={"locus": locus},
        )


def later_loci(table: PairTable) -> dict[str, Locus]:
    """Loci that do not show at a day old."""
    return {s: locus for s, locus in table.study.loci.items() if locus.shows_at_days > 1}


def day_old_loci(table: PairTable) -> dict[str, Locus]:
    """Loci that show when a chick is banded."""
    return {s: locus for s, locus in table.study.loci.items() if locus.shows_at_days <= 1}


def _broken_up(sets: list[EggSet]) -> Iterator[Due]:
    for pen in in_pens(pen for one in sets for pen in one.pens):
        day = max(one.hatches for one in sets if pen in one.pens)
        yield _due(day, Task.BREAK_UP, pen, pens=(pen,))


def _tests(pens: Pens) -> Iterator[Due]:
    """When samples are taken and results are in, where birds cannot be told by eye."""
    hidden = untold(pens)
    if not hidden:
        return
    season = pens.table.study.flock.settings.season
    for task, (month, day) in ((Task.SAMPLES, SAMPLE_DAY), (Task.RESULTS, RESULT_DAY)):
        yield _due(dt.date(season, month, day), task, loci=hidden)


def untold(pens: Pens) -> tuple[tuple[str, str], ...]:
    """Loci and sexes of which chicks are kept that by grading time look like others.

    Only what chicks of the pens' pairs may be counts: where all sons of a pair carry there is
    nothing to test. A row that keeps chicks by sight asks for none of them.
    """
    pairs = [pair for pair in pens.pairs if pair.crossing is not None]
    study = pens.table.study
    hens, cocks = sorted({one.hen for one in pairs}), sorted({one.cock for one in pairs})
    if not pairs:
        return ()
    chicks = chick_table(study, hens, cocks)
    found = set()
    for pair in pairs:
        row, at = pair.crossing, (hens.index(pair.hen), cocks.index(pair.cock))
        if row is None or row.tests is not None or row.by_sight:
            continue
        for sex in row.sexes:
            for symbol, kept in row.keep.get(sex, {}).items():
                chances = [float(one) for one in chicks.of(symbol, sex)[at]]
                if look_alike(study.loci[symbol], sex, kept, chances):
                    found.add((symbol, str(sex)))
    return tuple(sorted(found))


def look_alike(locus: Locus, sex: Sex, kept: Collection[int], chances: Sequence[float]) -> bool:
    """Whether some chicks that may hatch and are kept look like others that may and are not."""
    looks = {
        copies: look_of(locus, copies, sex)
        for copies in locus.copy_numbers(sex)
        if chances[copies] > 1.0 - PROVEN
    }
    wanted = {look for copies, look in looks.items() if copies in kept}
    return bool(wanted & {look for copies, look in looks.items() if copies not in kept})


def look_of(locus: Locus, copies: int, sex: Sex) -> Look | None:
    """How a chick looks by grading time; ``None`` where that is not known."""
    if locus.series or locus.shows_at_days > GRADING_DAYS:
        return None
    return locus.phenotype(copies, sex)


def next_decision(table: PairTable) -> dt.date:
    """The day on which the next season is planned: its first (common practice, no source)."""
    return dt.date(table.study.flock.settings.season + 1, 1, 1)


def _late(table: PairTable) -> Iterator[Due]:
    for key, latest, about in late_limits(table):
        yield replace(_due(latest - days(HATCH_DAYS), Task.LAST_SET, key), about=about)


def late_limits(table: PairTable) -> list[tuple[str, dt.date, dict[str, object]]]:
    """The last hatch days for what the next season has to know or use, with what it is.

    A pullet must show a locus, or be in lay where a trait of hens is scored, when the next season
    is planned; every chick must be old enough when the next pens are made up.
    """
    study, decided = table.study, next_decision(table)
    settings = study.flock.settings
    found: list[tuple[str, dt.date, dict[str, object]]] = [
        (symbol, decided - days(locus.shows_at_days), {"locus": locus, "symbol": symbol})
        for symbol, locus in later_loci(table).items()
        if locus.shown_by == "hen"
    ]
    traits = tuple(
        aim.trait for aim in study.aims if aim.weight and settings.traits[aim.trait].sex == "hen"
    )
    if traits:
        found.append(("traits", decided - days(IN_LAY_DAYS), {"traits": traits}))
    up = settings.pen_up
    again = years_on(up, 1)
    age = settings.limits.age_min_days
    found.append(("age", again - days(age), {"age": age, "pen_up": again}))
    return found
