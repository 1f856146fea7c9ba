"""From rules loosened to the edits of files that loosen them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.pairs.certainty import poisson_mean
from matchmaker.plan.arithmetic.bounds import is_below
from matchmaker.plan.no_plan.loosened import COUNTED, Kind
from matchmaker.plan.no_plan.repair import Act, Edit
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.no_plan.loosened import Loosened
    from matchmaker.plan.no_plan.repair import Cell
    from matchmaker.scheme_settings import MatingSettings
    from matchmaker.tables.records import PenRecord

NEW_PEN = "New"
"""What a pen that is not yet there is called; the keeper may call it what he likes."""

WHY = "way out"
"""What stands as the reason of a wish that is added."""

SURE = {"sure_cocks_min": "wanted_cocks_min", "sure_hens_min": "wanted_hens_min"}
"""The setting behind each minimum that must be reached with a certainty."""


def edits_of(
    table: PairTable,
    loosened: Iterable[Loosened],
    rows: Mapping[str, tuple[MatingSettings, ...]],
) -> tuple[Edit, ...]:
    """The edits that loosen these rules.

    ``rows`` are, for each pair of lines that might be opened, the rows to write for it.
    """
    found: list[Edit] = []
    for one in loosened:
        if one.rule.kind is Kind.ROW:
            found.append(_row(table, one, rows))
        else:
            found += _EDITS[one.rule.kind](table, one)
    return tuple(found)


def _setting(table: PairTable, key: tuple[str, ...], after: Cell, about: str = "") -> Edit:
    settings = table.study.flock.settings
    section, *names, last = key
    holder = settings.line(names[0]) if section == "lines" else getattr(settings, section)
    return Edit(
        act=Act.WRITE,
        file=SETTINGS_FILE,
        key=key,
        about=about,
        before=getattr(holder, last),
        after=after,
    )


def _minimum(table: PairTable, one: Loosened) -> Iterator[Edit]:
    line, field = one.rule.subject, one.rule.field
    if field in SURE:
        yield from _sure(table, one, SURE[field])
        return
    after = int(one.to) if field in COUNTED else one.to
    yield _setting(table, ("lines", line, field), after, line)


def _sure(table: PairTable, one: Loosened, key: str) -> Iterator[Edit]:
    """Fewer chicks of a sex with the same certainty; where none is left, certainty goes too."""
    line = one.rule.subject
    own = table.study.flock.settings.line(line)
    number = round(getattr(own, key))
    certainty = own.certainty or 0.5
    while number and is_below(one.to, poisson_mean(number, certainty)):
        number -= 1
    other = set(SURE.values()) - {key}
    if number or any(getattr(own, name) for name in other):
        yield _setting(table, ("lines", line, key), number, line)
        return
    for name, least in ((key, 0.0), ("certainty", None)):
        yield Edit(
            act=Act.REMOVE,
            file=SETTINGS_FILE,
            key=("lines", line, name),
            about=line,
            before=getattr(own, name),
            after=least,
        )


def _share(table: PairTable, one: Loosened) -> Iterator[Edit]:
    line = one.rule.subject
    key = ("lines", line, "sire_share_max") if line else ("limits", "sire_share_max")
    yield _setting(table, key, one.to, line)


def _kinship(table: PairTable, one: Loosened) -> Iterator[Edit]:
    line = one.rule.subject
    key = ("lines", line, "kinship_max") if line else ("limits", "kinship_max")
    yield replace(_setting(table, key, one.to, line), before=one.rule.now)


def _limit(*key: str, whole: bool = False) -> Callable[[PairTable, Loosened], Iterator[Edit]]:
    def edits(table: PairTable, one: Loosened) -> Iterator[Edit]:
        yield _setting(table, key, int(one.to) if whole else one.to)

    return edits


def _pairs(_: PairTable, one: Loosened) -> Iterator[Edit]:
    yield Edit(act=Act.ASK, about="matings", before=int(one.rule.now), after=int(one.to))


def _wish(table: PairTable, one: Loosened) -> Iterator[Edit]:
    """The row of a wish, found by the words that name it."""
    for record in table.study.flock.tables.wishes:
        if one.rule.subject.startswith(f"wish in row {record.row}:"):
            yield _without_wish(table, record.row, one.rule.subject)


def _apart(table: PairTable, one: Loosened) -> Iterator[Edit]:
    for record in table.study.flock.tables.wishes:
        birds = f"{record.bird} {record.partner}", f"{record.partner} {record.bird}"
        if record.wish == "apart" and one.rule.subject in birds:
            words = f"wish in row {record.row}: {record.bird} apart {record.partner}"
            yield _without_wish(table, record.row, words)


def _without_wish(table: PairTable, row: int, words: str) -> Edit:
    file = table.study.flock.tables.place("wishes")["file"]
    return Edit(
        act=Act.DELETE,
        file=file,
        table="wishes",
        row=row,
        about=words.partition(": ")[2],
    )


def _allow(table: PairTable, one: Loosened) -> Iterator[Edit]:
    file = table.study.flock.tables.place("wishes")["file"]
    for hen, cock in one.pairs:
        cells = (("bird", hen), ("with", cock), ("wish", "allow"), ("why", WHY))
        kinship = next((pair.kinship for pair in table.by_birds[hen, cock]), None)
        about = f"{hen} {cock}"
        yield Edit(
            act=Act.ADD, file=file, table="wishes", about=about, cells=cells, kinship=kinship
        )


def _pen_cells(
    column: str, after: Callable[[Loosened], Cell]
) -> Callable[[PairTable, Loosened], Iterator[Edit]]:
    def edits(table: PairTable, one: Loosened) -> Iterator[Edit]:
        for record in _records(table, one.pens):
            yield _pen_cell(table, record, column, after(one))

    return edits


def _records(table: PairTable, pens: Iterable[str]) -> list[PenRecord]:
    return [record for record in table.study.flock.tables.pens if record.pen in pens]


def _pen_cell(table: PairTable, record: PenRecord, column: str, after: Cell) -> Edit:
    place = table.study.flock.tables.place("pens", record.row, column)
    return Edit(
        act=Act.CELL,
        file=place["file"],
        table="pens",
        row=record.row,
        column=column,
        about=record.pen,
        before=getattr(record, column),
        after=after,
    )


def _pen(table: PairTable, one: Loosened) -> Iterator[Edit]:
    """A closed pen opened, or one more pen."""
    closed = _records(table, (one.rule.subject,))
    for record in closed:
        yield _pen_cell(table, record, "open", after=True)
    if not closed:
        yield Edit(
            act=Act.ADD,
            file=table.study.flock.tables.place("pens")["file"],
            table="pens",
            about=NEW_PEN,
            cells=(("pen", NEW_PEN), ("hens_max", str(new_pen_size(table)))),
        )


def new_pen_size(table: PairTable) -> int:
    """Places of one more pen: those of the largest there is now, six if there is none."""
    return max((pen.hens_max for pen in table.study.flock.tables.pens if pen.open), default=6)


def _hens(table: PairTable, one: Loosened) -> Iterator[Edit]:
    bird = table.study.flock.by_band()[one.rule.subject]
    place = table.study.flock.tables.place("birds", bird.record.row, "hens_max")
    yield Edit(
        act=Act.CELL,
        file=place["file"],
        table="birds",
        row=bird.record.row,
        column="hens_max",
        about=bird.band,
        before=int(one.rule.now),
        after=int(one.to),
    )


def _row(table: PairTable, one: Loosened, rows: Mapping[str, tuple[MatingSettings, ...]]) -> Edit:
    matings = rows[one.rule.subject]
    assumed = () if table.study.flock.settings.matings else matings[:-1]
    return Edit(
        act=Act.OPEN_ROW,
        file=SETTINGS_FILE,
        key=("matings",),
        about=one.rule.subject,
        matings=(*assumed, matings[-1]),
    )


_EDITS: Mapping[Kind, Callable[[PairTable, Loosened], Iterable[Edit]]] = {
    Kind.MINIMUM: _minimum,
    Kind.SIRE_SHARE: _share,
    Kind.MEAN_INBREEDING: _limit("limits", "mean_inbreeding_max"),
    Kind.CHICKS: _limit("year", "rearing_room", whole=True),
    Kind.EGGS: _limit("year", "incubator_per_week", whole=True),
    Kind.PAIRS: _pairs,
    Kind.WISH: _wish,
    Kind.PLACES: _pen_cells("hens_max", lambda one: int(one.to)),
    Kind.PEN_MINIMUM: _pen_cells("hens_min", lambda one: int(one.to)),
    Kind.PEN_LINE: _pen_cells("line", lambda _: ""),
    Kind.PEN_USE: _pen_cells("use", lambda _: ""),
    Kind.PEN: _pen,
    Kind.HENS_PER_COCK: _hens,
    Kind.PENS_PER_COCK: _limit("limits", "pens_per_cock", whole=True),
    Kind.KINSHIP: _kinship,
    Kind.PROOF: _limit("limits", "proof_min"),
    Kind.CHANCE: _limit("limits", "wanted_chance_min"),
    Kind.APART: _apart,
    Kind.ALLOW: _allow,
    Kind.GROUP_KINSHIP: _limit("limits", "group_kinship_max"),
}
