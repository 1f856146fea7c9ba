"""What a pen sheet says of chicks: how many to expect, which are kept, how those are told."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.genetics.loci.locus import Look
from matchmaker.pairs.certainty import PROVEN
from matchmaker.pairs.chances import chick_table
from matchmaker.report.season import brood_row
from matchmaker.report.season_dates import locus_name
from matchmaker.report.season_words import class_sentences
from matchmaker.report.wording import PURPOSES, counted, crossing_sentence, kept_sentence, listed
from matchmaker.season.dates import look_alike, look_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.chances import ChickTable
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.season.guide import SeasonGuide

YOUNG = {Sex.COCK: "cockerels", Sex.HEN: "pullets"}
ONE_YOUNG = {Sex.COCK: "cockerel", Sex.HEN: "pullet"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Chicks:
    """What is said of the chicks of a pen: numbers, classes, and for each row what is kept."""

    expected: tuple[str, ...]
    classes: tuple[str, ...]
    keep: tuple[str, ...]


def pen_chicks(guide: SeasonGuide, pairs: Sequence[Pair]) -> Chicks:
    """All that the sheet of a pen says of its chicks; ``guide`` is narrowed to that pen."""
    return Chicks(
        expected=tuple(_expected(guide)),
        classes=tuple(class_sentences(guide)),
        keep=tuple(_keep(guide, pairs)),
    )


def _expected(guide: SeasonGuide) -> Iterator[str]:
    """The numbers of the season's table, a sentence for each line, with the cock if they vary."""
    mixed = len({one.cock for one in guide.broods}) > 1
    for one in guide.broods:
        line, _, eggs, hatch, raised, cocks, pullets, unwanted = brood_row(one)
        whose = f"{line}, of {one.cock}" if mixed else line
        laid = counted(int(eggs), "egg")
        yield (
            f"{whose}: of {laid} {hatch} hatch, {raised} are raised; wanted are {cocks} "
            f"cockerels and {pullets} pullets, not wanted {unwanted}."
        )


def purposes(pairs: Sequence[Pair]) -> str:
    """What a pen is for, line by line, in the words of the plan.

    Examples
    --------
    >>> purposes([])
    'no line'
    """
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for pair in pairs:
        if pair.crossing is not None:
            found[pair.line or ""][PURPOSES[pair.crossing.purpose]] = None
    told = [f"{line} ({', '.join(why)})" if line else ", ".join(why) for line, why in found.items()]
    return listed(told) if told else "no line"


def _keep(guide: SeasonGuide, pairs: Sequence[Pair]) -> Iterator[str]:
    """For each row of matings which chicks are kept, and how each of its loci is told."""
    rows: dict[str, tuple[Crossing, list[Pair]]] = {}
    for pair in pairs:
        if pair.crossing is not None:
            rows.setdefault(pair.crossing.name, (pair.crossing, []))[1].append(pair)
    for crossing, own in rows.values():
        whose = f"Of {listed(dict.fromkeys(p.hen for p in own))}: " if len(rows) > 1 else ""
        if crossing.tests is not None:
            yield f"{whose}{crossing_sentence(crossing)}."
            continue
        said = f"chicks join {crossing.chicks}; {kept_sentence(crossing)}."
        yield whose + said if whose else said[0].upper() + said[1:]
        yield from _telling(guide, own, crossing)


def _telling(guide: SeasonGuide, pairs: Sequence[Pair], crossing: Crossing) -> Iterator[str]:
    if not crossing.loci:
        return
    hens, cocks = sorted({one.hen for one in pairs}), sorted({one.cock for one in pairs})
    chicks = chick_table(guide.table.study, hens, cocks)
    told = [*_loci_told(chicks, pairs, crossing)]
    yield from told
    if not told:
        who = ONE_YOUNG[crossing.sexes[0]] if len(crossing.sexes) == 1 else "chick"
        yield f"Every {who} has what is kept: there is nothing to tell apart."


def _loci_told(chicks: ChickTable, pairs: Sequence[Pair], crossing: Crossing) -> Iterator[str]:
    for symbol in crossing.loci:
        locus = chicks.loci[symbol]
        ways: dict[str, list[str]] = defaultdict(list)
        for sex in crossing.sexes:
            kept = crossing.keep.get(sex, {}).get(symbol)
            way = (
                "" if kept is None else _way(_chances(chicks, pairs, symbol, sex), locus, sex, kept)
            )
            if way:
                ways[way].append(YOUNG[sex])
        if ways:
            alone = len(ways) == 1 and len(next(iter(ways.values()))) == len(crossing.sexes)
            said = [way if alone else f"{listed(who)} {way}" for way, who in ways.items()]
            yield f"{locus_name(locus)}: {'; '.join(said)}."


def _chances(chicks: ChickTable, pairs: Sequence[Pair], symbol: str, sex: Sex) -> list[list[float]]:
    """The chances of 0, 1 and 2 copies among the chicks of each pair."""
    places = [(chicks.hens.index(one.hen), chicks.cocks.index(one.cock)) for one in pairs]
    return [[float(one) for one in chicks.of(symbol, sex)[at]] for at in places]


def _way(chances: Sequence[Sequence[float]], locus: Locus, sex: Sex, kept: Sequence[int]) -> str:
    """How chicks of a sex that are kept are told from others; "" where all are kept."""
    hatch = {
        copies
        for own in chances
        for copies in locus.copy_numbers(sex)
        if own[copies] > 1.0 - PROVEN
    }
    if hatch <= set(kept):
        return ""
    if any(look_alike(locus, sex, kept, own) for own in chances):
        return "by a DNA test only, they look alike"
    looks = dict.fromkeys(look_of(locus, copies, sex) for copies in sorted(hatch & set(kept)))
    words = [word for look in looks if (word := _seen(locus, look))]
    look_for = f", keep {listed(words, 'or')}" if words else ""
    return f"by sight {_age(locus)}{look_for}"


def _seen(locus: Locus, look: Look | None) -> str:
    """The keeper's word for a look: the first of those that may be written for it."""
    words = {
        Look.SHOWN: locus.shown_words,
        Look.ONE_COPY: locus.one_copy_words,
        Look.HIDDEN: locus.hidden_words,
    }.get(look or Look.HIDDEN, ())
    return f"\u201c{words[0]}\u201d" if words else ""


def _age(locus: Locus) -> str:
    days = locus.shows_at_days
    return "at a day old" if days <= 1 else f"at about {days} days"
