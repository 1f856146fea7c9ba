"""The pen sheets: a page for the door of each pen."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import natural
from matchmaker.report.days import day_text, weekday_text, whole_day
from matchmaker.report.numbers import share_text
from matchmaker.report.own_changes_words import fault_sentences
from matchmaker.report.page.door_cautions import cautions, loss_texts
from matchmaker.report.page.door_chicks import pen_chicks, purposes
from matchmaker.report.page.door_eggs import pen_eggs
from matchmaker.report.page.door_fit import sheets
from matchmaker.report.page.door_sizes import Block, Contents, Named
from matchmaker.report.page.door_stays import breeding_pens, occupancy
from matchmaker.report.page.view import View
from matchmaker.report.pens import SURPLUS_CAUTION
from matchmaker.report.season_words import source_sentence
from matchmaker.report.wording import breed_name, counted, listed
from matchmaker.season.standing import Source

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.pair import Pair
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
                hens=counted(len(place.hens), "hen"),
                purpose=contents.strip[0],
            )
        )
        pages.append((f"doors-pen-{at}", sheets(contents)))
    return View(
        values={
            "tiles": tiles,
            "pens": pages,
            "source": source_sentence(guide),
            "faults": list(fault_sentences(report.changed)) if report.changed else [],
            "caution": SURPLUS_CAUTION,
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
    '807b3f26'
    """
    text = "\n".join(f"{name} {value}" for name, value in sorted(inputs.items()))
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def _footer(guide: SeasonGuide) -> str:
    flock = guide.table.study.flock
    settings, today = flock.settings, flock.today
    proved = "" if guide.pens.proved else ", not proved"
    return (
        f"Pens for {settings.season} · {SOURCES[guide.pens.source]}{proved} · tables "
        f"{tables_fingerprint(flock.tables.inputs)} · as of {whole_day(today)}"
    )


def _cocks(place: Occupancy) -> str:
    return listed([stay.bird for stay in place.cocks]) if place.cocks else "no cock"


def _contents(report: SeasonReport, guide: SeasonGuide, place: Occupancy) -> Contents:
    pairs = _pairs(guide, place.pen)
    eggs = pen_eggs(guide, place.pen, frozenset(stay.bird for stay in place.cocks))
    chicks = pen_chicks(guide, pairs)
    blocks = (
        Block(title="Beware", texts=cautions(guide, place, pairs), warns=True),
        Block(title="Who comes and goes", texts=place.changes),
        _egg_block(eggs),
        Block(title="Which chicks to keep", texts=chicks.keep),
        Block(title="Chicks to expect", texts=(*chicks.expected, *chicks.classes)),
        Block(title="If the cock dies", texts=loss_texts(report, place)),
    )
    return Contents(
        pen=place.pen,
        strip=tuple(_strip(eggs, purposes(pairs))),
        cocks=tuple(_cock(guide, stay.bird, stay.last) for stay in place.cocks),
        hens=tuple(_hens(guide, place, eggs)),
        hens_title=_hens_title(guide, place),
        blocks=tuple(block for block in blocks if block.texts or block.items),
        caution=SURPLUS_CAUTION,
        footer=f"Pen {place.pen} · {_footer(guide)}",
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


def _strip(eggs: Eggs, purpose: str) -> Iterable[str]:
    yield f"for {purpose}"
    yield eggs.strip
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
    flock = guide.table.study.flock
    lines = _lines(flock, place)
    of_line = f" of line {lines[0]}" if len(lines) == 1 else ""
    day = weekday_text(place.day, flock.settings.season)
    return f"{counted(len(place.hens), 'hen')}{of_line}, as on {day}"


def _hens(guide: SeasonGuide, place: Occupancy, eggs: Eggs) -> Iterable[Named]:
    """Each hen with her line, her first safe day and her end where they are not those of all."""
    flock = guide.table.study.flock
    birds, mixed = flock.by_band(), len(_lines(flock, place)) > 1
    for stay in sorted(place.hens, key=lambda one: natural(one.bird)):
        said = [birds[stay.bird].line] if mixed else []
        since = eggs.safe_from.get(stay.bird)
        if since is None and eggs.first_safe is not None:
            said.append("no safe eggs")
        elif since is not None and since != eggs.first_safe:
            said.append(f"safe from {day_text(since)}")
        if stay.last is not None:
            said.append(f"until {day_text(stay.last)}")
        yield Named(band=stay.bird, said=", ".join(said))


def _egg_block(eggs: Eggs) -> Block:
    return Block(
        title=f"Eggs to set: {eggs.total}" if eggs.total else "Eggs to set",
        items=tuple(
            (row.set_on, f"{row.eggs} set" if row.done else str(row.eggs)) for row in eggs.rows
        ),
        texts=(*eggs.by_hen, eggs.last, *eggs.safe),
    )
