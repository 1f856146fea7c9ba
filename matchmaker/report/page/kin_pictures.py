"""The two maps of kinship: hens with cocks, and all living birds with each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.kin.diversity import line_kinship
from matchmaker.genetics.kin.forebears import relation
from matchmaker.pairs.rules import Rule
from matchmaker.report.numbers import kinship_text
from matchmaker.report.page.chart_inbreeding import limits_of
from matchmaker.report.page.figure import Table
from matchmaker.report.page.kin_map import KinMap, by_line
from matchmaker.report.wording import counted, listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.genetics.kin.diversity import LineKinship
    from matchmaker.reporting import SeasonReport

CLOSEST: Final = 12
"""So many closest relatives are listed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KinPicture:
    """A map with its heading, what to see in words, and the tables behind it."""

    map: KinMap
    title: str
    sentences: tuple[str, ...]
    tables: tuple[Table, ...]
    limit_words: str = ""


def overview(report: SeasonReport) -> KinPicture | None:
    """Breeding hens against cocks, with those of the pens that stand; None if a sex is missing."""
    table, flock = report.table, report.table.study.flock
    standing = {(pair.hen, pair.cock) for pair in report.guide.pens.pairs}
    penned = {band for couple in standing for band in couple}
    known = set(table.study.kinship.birds)
    chosen = {bird.band for bird in flock.breeders} | penned
    birds = [bird for bird in flock.birds if bird.band in chosen & known]
    hens, cocks = ([b for b in birds if b.sex is sex] for sex in (Sex.HEN, Sex.COCK))
    if not hens or not cocks:
        return None
    over = frozenset(
        couple
        for couple, entries in table.by_birds.items()
        if any(one.rule is Rule.TOO_RELATED for entry in entries for one in entry.broken)
    )
    found = KinMap(
        key="overview",
        rows=by_line(hens),
        columns=by_line(cocks),
        row_word="hen",
        column_word="cock",
        kinship=table.study.kinship,
        over=over,
        paired=standing,
    )
    return KinPicture(
        map=found,
        title="Kinship of every hen with every cock",
        sentences=tuple(_overview_sentences(found, report)),
        tables=(_by_lines(found),),
        limit_words=_limit_words(report),
    )


def _limit_words(report: SeasonReport) -> str:
    limits = limits_of(report.table.study.flock.settings, sorted(report.table.needs))
    if len(limits) < 2:
        return f"above the limit of {kinship_text(next(iter(limits), 0.0))}"
    told = (f"{kinship_text(limit)} for {listed(lines)}" for limit, lines in sorted(limits.items()))
    return f"above the limit of the line that the chicks would join: {listed(told)}"


def _overview_sentences(found: KinMap, report: SeasonReport) -> Iterable[str]:
    hens, cocks = found.row_birds, found.column_birds
    couples = [(hen, cock) for hen in hens for cock in cocks]
    over = sum(couple in found.over for couple in couples)
    none = sum(found.kinship.between(*couple) == 0 for couple in couples)
    yield (
        f"{counted(len(hens), 'hen')} with {counted(len(cocks), 'cock')}: the stronger the "
        f"shade, the closer the kin. Of {counted(len(couples), 'pair')} {over} "
        f"{'is' if over == 1 else 'are'} "
        f"{_limit_words(report)} (✕)."
    )
    if none:
        yield f"Not related by the tables: {counted(none, 'pair')}."
    paired = sorted(couple for couple in couples if couple in found.paired)
    if paired:
        yield _closest_paired(found, paired)


def _closest_paired(found: KinMap, paired: Sequence[tuple[str, str]]) -> str:
    """Which of the pairs in the pens are the closest kin."""
    hen, cock = max(paired, key=lambda couple: found.kinship.between(*couple))
    kinship = found.kinship.between(hen, cock)
    if len(paired) == 1:
        return f"One pair is in the pens this season, {hen} with {cock}: {kinship_text(kinship)}."
    pens = f"Of the {len(paired)} pairs in the pens this season"
    if kinship == 0:
        return f"{pens} none are related by the tables."
    return f"{pens}, {hen} with {cock} are the most closely related: {kinship_text(kinship)}."


def _by_lines(found: KinMap) -> Table:
    """Mean kinship of the hens of every line with the cocks of every line."""
    rows = []
    for hens in found.rows:
        cells = []
        for cocks in found.columns:
            over = sum((hen, cock) in found.over for hen in hens.birds for cock in cocks.birds)
            total = len(hens.birds) * len(cocks.birds)
            mean = kinship_text(_mean(found, hens.birds, cocks.birds))
            cells.append(f"{mean} ({over} of {total} ✕)")
        rows.append((f"{hens.line} hens", *cells))
    heads = ("Hens", *(f"{cocks.line} cocks" for cocks in found.columns))
    caption = "Mean kinship of hens with cocks, and how many pairs are above the limit (✕)"
    return Table(caption=caption, heads=heads, rows=tuple(rows))


def _mean(found: KinMap, hens: Iterable[str], cocks: Iterable[str]) -> float:
    place = found.kinship.position
    grid = np.ix_([place(hen) for hen in hens], [place(cock) for cock in cocks])
    return float(found.kinship.values[grid].mean())


def living(report: SeasonReport) -> KinPicture | None:
    """All living birds with each other; None where there are fewer than two."""
    study = report.table.study
    if len(study.flock.living) < 2:
        return None
    groups = by_line(study.flock.living)
    found = KinMap(
        key="living",
        rows=groups,
        columns=groups,
        row_word="bird",
        column_word="bird",
        kinship=study.kinship,
    )
    breeders = {bird.band: bird.line for bird in study.flock.breeders}
    lines = line_kinship(study.kinship, breeders)
    closest = _closest(report, found)
    tables = [closest] if closest.rows else []
    if breeders:
        rows = tuple(
            (one, *(kinship_text(lines.between(one, other)) for other in lines.lines))
            for one in lines.lines
        )
        caption = "Mean kinship of the breeders of each line (itself included) and of two lines"
        tables.insert(0, Table(caption=caption, heads=("Line", *lines.lines), rows=rows))
    return KinPicture(
        map=found,
        title="Kinship of all living birds",
        sentences=tuple(_living_sentences(found, report)),
        tables=tuple(tables),
    )


def _living_sentences(found: KinMap, report: SeasonReport) -> Iterable[str]:
    breeders = {bird.band: bird.line for bird in report.table.study.flock.breeders}
    birds = len(found.row_birds)
    yield f"{birds} living birds, line by line: strong blocks along the diagonal are families."
    lines = line_kinship(report.table.study.kinship, breeders) if breeders else None
    if lines is None or len(lines.lines) < 2:
        return
    yield from _within_lines(lines)
    couples = [
        (one, other) for at, one in enumerate(lines.lines) for other in lines.lines[at + 1 :]
    ]
    near = max(couples, key=lambda couple: lines.between(*couple))
    far = min(couples, key=lambda couple: lines.between(*couple))
    nearest, farthest = (kinship_text(lines.between(*two)) for two in (near, far))
    if len(couples) == 1:
        yield f"{listed(near)} have {nearest} on average with each other."
    elif nearest == farthest:
        yield f"Any two lines have {nearest} on average with each other."
    else:
        yield f"Of two lines {listed(near)} are the nearest: {nearest}."
        yield f"The farthest apart are {listed(far)}: {farthest}."


def _within_lines(lines: LineKinship) -> Iterable[str]:
    """Whose breeders are the closest kin, where one line's are."""
    told = {line: kinship_text(lines.within(line)) for line in lines.lines}
    within = max(lines.lines, key=lines.within)
    if list(told.values()).count(told[within]) == 1:
        yield (
            f"The breeders of {within} are the most closely related among themselves: "
            f"{told[within]} on average, each bird with itself included."
        )


def _closest(report: SeasonReport, found: KinMap) -> Table:
    """The most closely related birds, with what they are to each other."""
    flock, kinship = report.table.study.flock, found.kinship
    birds, at = flock.by_band(), [kinship.position(band) for band in found.row_birds]
    values = kinship.values[np.ix_(at, at)]
    firsts, seconds = np.triu_indices(len(at), 1)
    order = np.argsort(-values[firsts, seconds], kind="stable")[:CLOSEST]
    order = order[values[firsts[order], seconds[order]] > 0]
    rows = []
    for one in order:
        first, second = found.row_birds[firsts[one]], found.row_birds[seconds[one]]
        words = relation(flock.pedigree, first, second, birds[second].sex)
        lines = listed(dict.fromkeys((birds[first].line, birds[second].line)))
        rows.append(
            (first, second, lines, words or "–", kinship_text(kinship.between(first, second)))
        )
    heads = ("Bird", "Its relative", "Line", "What it is to the bird", "Kinship")
    return Table(caption="The closest relatives", heads=heads, rows=tuple(rows), words=4)
