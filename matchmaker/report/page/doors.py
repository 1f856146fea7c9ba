"""The pen sheets: a page for the door of each pen."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.report.days import day_text
from matchmaker.report.numbers import share_text
from matchmaker.report.page.door_cautions import cautions, loss_texts
from matchmaker.report.page.door_chicks import pen_chicks, purposes
from matchmaker.report.page.door_eggs import pen_eggs, safe_days
from matchmaker.report.page.door_fit import Block, Contents, Named, sheets
from matchmaker.report.page.door_stays import breeding_pens, occupancy
from matchmaker.report.page.view import View
from matchmaker.report.season_dates import date_text
from matchmaker.report.season_words import source_sentence
from matchmaker.report.wording import breed_name, listed
from matchmaker.season.standing import Source

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.pair import Pair
    from matchmaker.report.page.door_chicks import Chicks
    from matchmaker.report.page.door_eggs import Eggs
    from matchmaker.report.page.door_stays import Occupancy
    from matchmaker.reporting import SeasonReport
    from matchmaker.season.guide import SeasonGuide

SOURCES: Final = {
    Source.MOVES: "pens by moves.csv",
    Source.PLAN: "pens by plan.csv",
    Source.BEST: "pens by the best plan",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A pen in the list at the top: where its sheet is, and who stands there."""

    at: str
    pen: str
    cocks: str
    hens: str
    purpose: str


def doors_view(report: SeasonReport) -> View:
    """The pen sheets: a page for the door of each pen."""
    guide = report.guide
    tiles, pages = [], []
    for at, pen in enumerate(breeding_pens(guide), start=1):
        narrow = of_pen(guide, pen)
        place = occupancy(guide, pen)
        contents = _contents(report, narrow, place)
        tiles.append(
            Tile(
                at=f"doors-pen-{at}",
                pen=pen,
                cocks=_cocks(place),
                hens=_count(len(place.hens)),
                purpose=contents.purpose,
            )
        )
        pages.append((f"doors-pen-{at}", sheets(contents)))
    return View(
        values={
            "tiles": tiles,
            "pens": pages,
            "source": source_sentence(guide),
            "footer": _footer(guide),
        }
    )


def of_pen(guide: SeasonGuide, pen: str) -> SeasonGuide:
    """The season narrowed to one pen: its safe days, sets, eggs and chicks."""
    return replace(
        guide,
        safe=tuple(one for one in guide.safe if one.pen == pen),
        sets=tuple(
            replace(one, eggs={pen: one.eggs[pen]}) for one in guide.sets if one.eggs.get(pen)
        ),
        broods=tuple(one for one in guide.broods if one.pen == pen),
    )


def tables_fingerprint(inputs: Mapping[str, str]) -> str:
    """Eight signs that change with any byte of the tables: from the SHA-256 of each file.

    Examples
    --------
    >>> tables_fingerprint({"birds.csv": "ab", "pens.csv": "cd"})
    'eeae7862'
    """
    text = "\n".join(f"{name} {value}" for name, value in sorted(inputs.items()))
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def _footer(guide: SeasonGuide) -> str:
    flock = guide.table.study.flock
    settings, today = flock.settings, flock.today
    proved = "" if guide.pens.proved else ", not proved"
    return (
        f"Pens for {settings.season} · {SOURCES[guide.pens.source]}{proved} · tables "
        f"{tables_fingerprint(flock.tables.inputs)} · as of {day_text(today)} {today.year}"
    )


def _count(hens: int) -> str:
    return "1 hen" if hens == 1 else f"{hens} hens"


def _cocks(place: Occupancy) -> str:
    return listed([stay.bird for stay in place.cocks]) if place.cocks else "no cock"


def _contents(report: SeasonReport, guide: SeasonGuide, place: Occupancy) -> Contents:
    pairs = _pairs(guide, place.pen)
    eggs, chicks = pen_eggs(guide, place.pen), pen_chicks(guide, pairs)
    blocks = (
        _egg_block(eggs),
        _chick_block(chicks),
        _change_block(place),
        Block(key="loss", title="If the cock dies", texts=loss_texts(report, place)),
        Block(key="beware", title="Beware", texts=cautions(guide, place, pairs)),
    )
    return Contents(
        pen=place.pen,
        purpose=f"for {purposes(pairs)}",
        beside=tuple(_beside(guide, place, eggs)),
        cocks=tuple(_cock(guide, stay.bird, stay.last) for stay in place.cocks),
        hens=tuple(_hens(guide, place, eggs)),
        hens_title=_hens_title(guide, place),
        blocks=tuple(block for block in blocks if block.texts or block.rows),
    )


def _pairs(guide: SeasonGuide, pen: str) -> tuple[Pair, ...]:
    """The pairs that stand in a pen this season."""
    cocks = {stay.bird for stay in guide.pens.stays if stay.pen == pen}
    found = (
        guide.pens.pair(hen, one.cock)
        for one in guide.safe
        if one.cock in cocks
        for hen in one.hens
    )
    return tuple(pair for pair in found if pair is not None)


def _beside(guide: SeasonGuide, place: Occupancy, eggs: Eggs) -> Iterable[str]:
    season = guide.table.study.flock.settings.season
    yield f"As on {date_text(place.day, season)}"
    if eggs.first_safe:
        yield f"Eggs are safe from {eggs.first_safe}"
    yield eggs.marks


def _cock(guide: SeasonGuide, cock: str, until: dt.date | None) -> Named:
    study = guide.table.study
    breed = breed_name(study.flock.settings.recurrent)
    share = share_text(study.recurrent_share[cock])
    ends = f", until {day_text(until)}" if until else ""
    return Named(band=cock, said=f"{breed} {share}, line {study.flock.by_band()[cock].line}{ends}")


def _lines(flock: Flock, place: Occupancy) -> list[str]:
    birds = flock.by_band()
    return sorted({birds[stay.bird].line for stay in place.hens})


def _hens_title(guide: SeasonGuide, place: Occupancy) -> str:
    lines = _lines(guide.table.study.flock, place)
    return _count(len(place.hens)) + (f", line {lines[0]}" if len(lines) == 1 else "")


def _hens(guide: SeasonGuide, place: Occupancy, eggs: Eggs) -> Iterable[Named]:
    """Each hen with her line, her first safe day and her end where they are not those of all."""
    flock = guide.table.study.flock
    birds, mixed = flock.by_band(), len(_lines(flock, place)) > 1
    safe = safe_days(guide, frozenset(stay.bird for stay in place.cocks))
    first = min((day for day in safe.values() if day is not None), default=None)
    for stay in place.hens:
        said = [birds[stay.bird].line] if mixed else []
        since = safe.get(stay.bird)
        if since is not None and since != first:
            said.append(f"from {day_text(since)}")
        if since is None and place.cocks:
            said.append("no safe eggs")
        if stay.bird in eggs.by_hen:
            said.append(f"{eggs.by_hen[stay.bird]} eggs to set")
        if stay.last is not None:
            said.append(f"until {day_text(stay.last)}")
        yield Named(band=stay.bird, said=", ".join(said))


def _egg_block(eggs: Eggs) -> Block:
    return Block(
        key="eggs",
        title=f"Eggs to set: {eggs.total}" if eggs.rows else "Eggs to set",
        caption="",
        head=("Laid", "Set", "Set on", "Eggs", "Hatch") if eggs.rows else (),
        rows=tuple(
            (row.laid, row.number, row.set_on, str(row.eggs), row.hatches) for row in eggs.rows
        ),
        texts=(*eggs.last, *eggs.safe),
    )


def _chick_block(chicks: Chicks) -> Block:
    mixed = len({row.cock for row in chicks.rows}) > 1
    head = (
        "Chicks join",
        "Eggs",
        "Hatch",
        "Raised",
        "Wanted cocks",
        "Wanted pullets",
        "Not wanted",
    )
    return Block(
        key="chicks",
        title="Chicks to expect, and which to keep",
        head=head if chicks.rows else (),
        rows=tuple(
            (
                f"{row.line}, of {row.cock}" if mixed else row.line,
                row.eggs,
                row.hatch,
                row.raised,
                row.cocks,
                row.pullets,
                row.unwanted,
            )
            for row in chicks.rows
        ),
        texts=(*chicks.keep, *chicks.classes),
    )


def _change_block(place: Occupancy) -> Block:
    return Block(key="changes", title="Who comes and goes", texts=place.changes)
