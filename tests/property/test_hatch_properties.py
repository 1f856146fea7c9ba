"""What holds of every hatch: random ones written into folders in random handwriting.

What was said reads back as it was said; every byte that was there stays, in its place; and the
folder is sound as before. All birds and dates are invented.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker import verbs
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.told import BandedChick, Counted, Told
from matchmaker.tables.read import read_folder
from matchmaker.tables.records import Sex, Status
from tests.builders import write_flock
from tests.cli.run import contents
from tests.unit.hatch_flocks import BIRDS, PENS, SEEN, SETTINGS, STAYS

if TYPE_CHECKING:
    from tests.builders import Row

FORMS = {"iso": "%Y-%m-%d", "day-first": "%d/%m/%Y"}
HEADERS = {"bird": "Band", "sex": "Sex", "hatched": "Born", "sire": "Father", "line": "Family"}


@dataclass(frozen=True)
class Hand:
    """How a keeper writes his tables."""

    separator: str
    line_end: str
    mark: str
    dates: str
    own_headers: bool
    last_line_open: bool


def hand_of(rng: random.Random) -> Hand:
    return Hand(
        separator=rng.choice(",;"),
        line_end=rng.choice(["\n", "\r\n"]),
        mark=rng.choice(["", "\ufeff"]),
        dates=rng.choice(["iso", "day-first"]),
        own_headers=rng.random() < 0.5,
        last_line_open=rng.random() < 0.3,
    )


def table(rows: list[Row], hand: Hand, headers: dict[str, str]) -> bytes:
    """The table in this handwriting, with a column of remarks that nobody reads."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=hand.separator, lineterminator=hand.line_end)
    writer.writerow([*(headers.get(name, name) for name in names), "remarks"])
    for at, row in enumerate(rows):
        writer.writerow([*(_text(row.get(name, ""), hand) for name in names), f'say "{at}", so'])
    text = stream.getvalue()
    text = text.removesuffix(hand.line_end) if hand.last_line_open else text
    return (hand.mark + text).encode()


def _text(text: str, hand: Hand) -> str:
    try:
        return dt.date.fromisoformat(text).strftime(FORMS[hand.dates])
    except ValueError:
        return text


def folder_of(path: Path, hand: Hand) -> Path:
    write_flock(path, BIRDS, f'dates = "{hand.dates}"\n' + SETTINGS, pens=PENS, moves=STAYS)
    headers = HEADERS if hand.own_headers else {}
    for name, rows in (("birds", BIRDS), ("moves", STAYS), ("seen", SEEN)):
        (path / f"{name}.csv").write_bytes(table(list(rows), hand, headers))
    return path


def told_by(rng: random.Random) -> Told:
    pen = rng.choice(["Orchard", "Yard"])
    dam = rng.choice(["", "A1", "A2"]) if pen == "Yard" else rng.choice(["", "S1"])
    set_on = dt.date(2027, 3, 2) + dt.timedelta(rng.randrange(30))
    hatched = rng.randrange(1, 14)
    banded = rng.randrange(hatched + 1)
    looks = [rng.choice(["pea", "single"]) for _ in range(hatched)] if pen == "Orchard" else []
    fates = [Status.YOUNG] * 6 + [Status.DEAD, Status.CULLED, Status.SOLD]
    chicks = tuple(
        BandedChick(
            band=f"K{100 + at + 2 * (at > 5)}",
            sex=rng.choice([None, Sex.COCK, Sex.HEN]),
            status=rng.choice(fates),
            seen={"P": looks[at]} if looks and rng.random() < 0.5 else {},
        )
        for at in range(banded)
    )
    counts = tuple(
        Counted(locus="P", words=words, chicks=looks.count(words)) for words in sorted(set(looks))
    )
    return Told(
        pen=pen,
        dam=dam,
        set_on=set_on,
        collected=rng.choice([None, (set_on - dt.timedelta(7), set_on - dt.timedelta(1))]),
        eggs=rng.randrange(hatched, 25),
        hatched=hatched,
        chicks=chicks,
        counts=counts,
    )


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_what_is_said_reads_back_and_nothing_else_changes(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311
    hand, told = hand_of(rng), told_by(rng)
    with tempfile.TemporaryDirectory() as name:
        folder = folder_of(Path(name) / "flock", hand)
        before = contents(folder)
        tables = read_folder(folder, known_loci=frozenset(catalogue()))
        answer = verbs.hatch(tables, [told])
        assert contents(folder) == before
        verbs.write_hatch(answer, stamp="now")
        _nothing_else_changed(before, contents(folder), hand)
        _reads_back(folder, told, tables.birds[-1].row)


def _nothing_else_changed(before: dict[str, bytes], after: dict[str, bytes], hand: Hand) -> None:
    for name, old in before.items():
        new = after[name]
        if new == old:
            assert f"{name}.now.bak" not in after
            continue
        assert after[f"{name}.now.bak"] == old
        own, more = old.split(b"\n"), new.split(b"\n")
        # a column that was not there is named in the header; all rows below stand as they stood
        header = own[0].rstrip(b"\r")
        assert more[0].startswith(header)
        body = b"\n".join(own[1:])
        assert b"\n".join(more[1:]).startswith(body)
        assert new.endswith(hand.line_end.encode())
        assert new.startswith(hand.mark.encode())
    assert set(after) - set(before) <= {"eggs.csv", *(f"{name}.now.bak" for name in before)}


def _reads_back(folder: Path, told: Told, last_row: int) -> None:
    found = verbs.check(folder)
    assert found.faults == ()
    tables = found.tables
    (egg,) = tables.eggs
    assert (egg.pen, egg.hen, egg.set_on) == (told.pen, told.dam, told.set_on)
    assert (egg.eggs, egg.hatched, egg.raised) == (told.eggs, told.hatched, None)
    if told.collected is not None:
        assert (egg.collected_from, egg.collected_to) == told.collected
    new = [bird for bird in tables.birds if bird.row > last_row]
    assert [bird.bird for bird in new] == [chick.band for chick in told.chicks]
    assert told.set_on is not None
    day = told.set_on + dt.timedelta(21)
    hens = {"Orchard": ["S1", "S2"], "Yard": ["A1", "A2"]}[told.pen]
    for bird, chick in zip(new, told.chicks, strict=True):
        assert (bird.sex, bird.status, bird.hatched) == (chick.sex, chick.status, day)
        assert bird.left_on == (None if chick.status is Status.YOUNG else day)
        assert [band for band, _ in bird.sire.candidates] == [_cock(told.pen)]
        assert [band for band, _ in bird.dam.candidates] == ([told.dam] if told.dam else hens)
        assert bird.line == "Alder"
        assert bird.breed == {}
    seen = tables.seen[len(SEEN) :]
    total = sum(number for row in seen for _, number in row.what)
    assert total == sum(one.chicks for one in told.counts)
    for words in ("pea", "single"):
        written = sum(n for row in seen for name, n in row.what if name == words)
        assert written == told.whole("P")[words]
    assert {row.date for row in seen} <= {day}


def _cock(pen: str) -> str:
    return {"Orchard": "AC", "Yard": "SC"}[pen]
