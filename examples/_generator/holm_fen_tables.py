"""Holm Fen's tables as its keeper has them."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from _generator.book import HEN, Bird, dice_of
from _generator.files import Row, number, write_table
from _generator.holm_fen import (
    BLUE,
    PEA,
    TODAY,
    TRAITS,
    Farm,
    blue,
    bought,
    breed_farm,
    pea,
)
from _generator.holm_fen_today import (
    comb_unwritten,
    decide,
    last_carrier,
    living,
    not_laying_yet,
    tested_cocks,
)
from _generator.kin import Kin
from _generator.measure import Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SCORING_SEED, PENCIL_SEED = 130, 2
FIRST_EGGS = dt.timedelta(days=200)
SECOND_SPRING = dt.timedelta(days=400)
RINGS = {"Alder": "green", "Birch": "white", "Cedar": "red", "Sussex": ""}
BIRD_COLUMNS = (
    *("bird", "sex", "hatched", "sire", "dam", "line", "breed", "source", "status", "left_on"),
    *("release_on", "defects", "lay_per_week", "fertility", "hens_max", "ring_colour", "notes"),
)
EGG_COLUMNS = (
    *("pen", "hen", "cock", "collected_from", "collected_to", "set_on", "eggs", "fertile"),
    *("hatched", "raised", "first_band", "last_band"),
)
PEN_ROWS: tuple[Row, ...] = (
    ("1", 8, "", "yes", "", "trap nests"),
    ("2", 8, "", "yes", "", "trap nests"),
    ("3", 6, "", "yes", "", "trap nests"),
    ("4", 7, "", "no", "", ""),
    ("5", 6, "", "no", "", ""),
    ("6", 6, "", "no", "", "leaks in the north corner"),
    ("7", 5, "", "no", "Sussex", "beside the gate, where visitors see it"),
    ("T", 1, "", "yes", "", "test pen, one hen"),
)


def write(folder: Path) -> None:
    """Write every table of Holm Fen into the folder."""
    farm = breed_farm()
    decide(farm)
    write_table(folder / "birds.csv", BIRD_COLUMNS, map(_bird_row, farm.book.birds))
    pen_columns = ("pen", "hens_max", "hens_min", "dam_known", "line", "notes")
    write_table(folder / "pens.csv", pen_columns, PEN_ROWS)
    seen_columns = ("date", "bird", "hen", "cock", "pen", "locus", "what", "count", "how")
    write_table(folder / "seen.csv", seen_columns, _seen_rows(farm))
    _write_scores(folder, farm)
    write_table(folder / "wishes.csv", ("bird", "with", "wish", "why"), _wish_rows(farm))
    write_table(folder / "plan.csv", ("pen", "line", "cock", "hen", "why"), _plan_rows(farm))
    write_table(
        folder / "moves.csv", ("bird", "pen", "moved_in", "moved_out"), sorted(_move_rows(farm))
    )
    eggs = sorted(farm.season.eggs, key=lambda row: (str(row[5]), str(row[0])))
    write_table(folder / "eggs.csv", EGG_COLUMNS, eggs)


def _bird_row(bird: Bird) -> Row:
    return (
        bird.band,
        bird.sex if bird.sex_cell is None else bird.sex_cell,
        bird.hatched if bird.date_cell is None else bird.date_cell,
        _parent(bird.sire, bird.sire_cell),
        _parent(bird.dam, bird.dam_cell),
        bird.line,
        bird.breed,
        bird.source,
        bird.status,
        bird.left_on,
        bird.release_on,
        bird.defects,
        bird.lay_per_week,
        bird.fertility,
        bird.hens_max,
        RINGS[bird.line] if bird.alive else "",
        bird.note,
    )


def _parent(parent: Bird | None, cell: str | None) -> str:
    if cell is not None:
        return cell
    return parent.band if parent else ""


def _seen_rows(farm: Farm) -> list[Row]:
    rows = [*_combs(farm), *_shells(farm), *_chicks(farm), *_laboratory(farm)]
    test = farm.pens[-1]
    pullets = ("", test.hens[0].band, test.cock.band, "", "O", "3 not blue", "", "adult")
    rows.append((dt.date(2026, 11, 14), *pullets))
    return sorted(rows, key=lambda row: (str(row[0]), str(row[1]), str(row[2])))


def _combs(farm: Farm) -> Iterator[Row]:
    unwritten, pencil = comb_unwritten(farm), dice_of(PENCIL_SEED)
    for bird in farm.book.birds:
        if bird is unwritten or pencil.random() < 0.08:
            continue
        grown = bool(bird.source) or pencil.random() < 0.2
        on = bird.hatched + dt.timedelta(days=1)
        if grown:
            on = bird.hatched + (SECOND_SPRING if bird.source else dt.timedelta(days=60))
        if on <= (bird.left_on or TODAY):
            what = "pea" if pea(bird) else "single"
            yield (on, bird.band, "", "", "", "P", what, "", "adult" if grown else "day-old")


def _shells(farm: Farm) -> Iterator[Row]:
    waiting, pencil = not_laying_yet(farm), dice_of(PENCIL_SEED)
    for bird in farm.book.birds:
        on = bird.hatched + (SECOND_SPRING if bird.source else FIRST_EGGS)
        if bird.sex != HEN or bird is waiting or on > (bird.left_on or TODAY) or bird.date_cell:
            continue
        if bird.line == "Sussex" and pencil.random() < 0.6:
            continue
        colour = ("blue", "green")[bird.recurrent_share > 0.8 and bird.band.endswith("5")]
        what = colour if blue(bird) else "not blue"
        yield (on, bird.band, "", "", "", "O", what, "", "adult")


def _chicks(farm: Farm) -> Iterator[Row]:
    for on, hen, cock, peas, singles in farm.season.counts:
        parents = ("", hen.band, cock.band, "")
        if on.year == 2025 and peas and singles:
            yield (on, *parents, "P", "pea", peas, "day-old")
            yield (on, *parents, "P", "single", singles, "day-old")
        else:
            counted = ((peas, "pea"), (singles, "single"))
            what = ", ".join(f"{count} {word}" for count, word in counted if count)
            yield (on, *parents, "P", what, "", "day-old")
    yield (dt.date(2026, 3, 17), "", "", "", "7", "P", "14 single", "", "day-old")


def _laboratory(farm: Farm) -> Iterator[Row]:
    for cock in tested_cocks(farm):
        copies = str(cock.copies(BLUE))
        yield (dt.date(2026, 11, 20), cock.band, "", "", "", "O", copies, "", "dna")
    for cock in tested_cocks(farm)[1:]:
        copies = str(cock.copies(PEA))
        yield (dt.date(2026, 11, 20), cock.band, "", "", "", "P", copies, "", "dna")


def _write_scores(folder: Path, farm: Farm) -> None:
    sheet = Sheet(book=farm.book, today=TODAY, dice=dice_of(SCORING_SEED))
    scored = [bird for bird in farm.book.birds if bird.hatched.year > 2022 or bird.alive]
    sheet.grade(scored)
    sheet.record_lay(scored)
    names = [trait.name for trait in TRAITS]
    rows = (
        (band, on, group, *(number(got[name]) if name in got else "" for name in names))
        for band, on, group, got in sorted(sheet.rows, key=lambda row: (row[1], row[0]))
    )
    write_table(folder / "scores.csv", ("bird", "date", "group", *names), rows)


def _wish_rows(farm: Farm) -> Iterator[Row]:
    kin = Kin(farm.book, {"sussex": 0.015625}, {"Withybank": 0.0625})
    cedar, alder = last_carrier(farm), next(filter(blue, living(farm, "Alder", 2026, HEN)))
    hens, cocks = living(farm, "Sussex", 2025, HEN), _recurrent_cocks(farm)
    mate = next(hen for hen in hens if kin.between(hen, tested_cocks(farm)[1]) < 0.06)
    rival = next(cock for cock in cocks if kin.between(alder, cock) < 0.06)
    near = min(
        (cock for cock in cocks if kin.between(cedar, cock) > 0.125),
        key=lambda cock: kin.between(cedar, cock),
    )
    yield (mate.band, tested_cocks(farm)[1].band, "together", "ran together all autumn, settled")
    yield (alder.band, rival.band, "apart", "he tore her back in the autumn run")
    yield (cedar.band, near.band, "allow", "related, but nobody else has his back and tail")
    yield (cedar.band, "", "use", "last blue layer of Cedar, she must be in a pen")
    yield (hens[-1].band, "", "rest", "bare back, let her feather up")


def _recurrent_cocks(farm: Farm) -> list[Bird]:
    return [
        bird
        for bird in farm.book.birds
        if bird.line == "Sussex" and bird.sex == "cock" and bird.status in {"breeder", "spare"}
    ]


def _plan_rows(farm: Farm) -> Iterator[Row]:
    for pen in farm.pens:
        cock = farm.successor if pen.pen == "2" and farm.successor else pen.cock
        for hen in pen.hens:
            yield (pen.pen, pen.line, cock.band, hen.band, pen.why)


def _move_rows(farm: Farm) -> Iterator[tuple[str, ...]]:
    start, end, change = "2026-02-01", "2026-05-10", "2026-03-20"
    for pen in farm.pens:
        for hen in pen.hens:
            yield (hen.band, pen.pen, start, end)
        if pen.pen == "2" and farm.successor:
            yield (pen.cock.band, pen.pen, start, change)
            yield (farm.successor.band, pen.pen, "2026-03-21", end)
        else:
            yield (pen.cock.band, pen.pen, start, end)
    for bird in (farm.pens[0].cock, *farm.pens[0].hens[:2]):
        yield (bird.band, "1", "2026-10-10", "2026-11-03")
    winter = living(farm, "Sussex", 2025, HEN)[2:4]
    for bird in (bought(farm.book, "Moorside", "cock")[1], *winter):
        yield (bird.band, "6", "2026-12-20", "2027-01-25")
