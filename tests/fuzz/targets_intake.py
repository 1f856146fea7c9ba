"""Targets: a keeper's own books taken in, every filled row and cell of them accounted for."""

from __future__ import annotations

import functools
from collections import Counter
from typing import TYPE_CHECKING, Any, Final

from matchmaker.errors import MatchmakerError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.intake.blocks import read_blocks
from matchmaker.intake.guess import guess
from matchmaker.intake.remembered import Remembered
from matchmaker.intake.remembered_text import read_remembered, remembered_text
from matchmaker.intake.take import CellHints, take
from matchmaker.tables.columns import TABLES
from matchmaker.tables.findings import Findings
from matchmaker.tables.formulas import unguarded
from matchmaker.taking_in.proposal import propose
from matchmaker.taking_in.settings_proposed import Given, look_words, reads_look
from tests.fuzz.books import NOT_XML, book
from tests.fuzz.inputs import Target, fewer_bytes, kinds
from tests.fuzz.ledger import BrokenLawError
from tests.fuzz.mutation import mutated, text_mutated
from tests.fuzz.targets_folders import FLOCK
from tests.fuzz.targets_tables import _dialect, rendered
from tests.fuzz.targets_words import ROOM
from tests.fuzz.wild import WILD, grid, grid_changed, packed, unpacked

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from matchmaker.intake.model import Block, BlockGuess, Taken
    from tests.fuzz.inputs import Outcome

OWN_WORDS: Final = {
    "bird": ("Ring no. (left leg)", "Leg ring", "Band", "Nr", "Ring"),
    "sex": ("Cock / hen", "M or F", "sex"),
    "sire": ("Father (cock)", "Out of", "Sire?"),
    "dam": ("Mother", "Dam (hen)", "From hen"),
    "hatched": ("Hatched", "Born on", "Out of the egg"),
    "pen": ("House", "Stall", "Where"),
    "hens_max": ("Room for (hens)", "Most hens"),
    "weight": ("Weight (kg)", "20 week weight", "kg"),
    "moved_in": ("In", "Put in", "since"),
    "status": ("Here?", "What became of it"),
}
"""Headers of keepers' own making; invented."""


@functools.cache
def _loci() -> Mapping[str, tuple[str, ...]]:
    return {symbol: (locus.name, *look_words(symbol)) for symbol, locus in catalogue().items()}


def _make_taking(rng: random.Random) -> bytes:
    sheets: dict[str, list[list[str]]] = {}
    for _ in range(rng.randrange(1, 4)):
        name = rng.choice(list(TABLES))
        rows = [list(row) for row in FLOCK[name]] if rng.random() < 0.6 else grid(rng, name)
        rows[0] = [rng.choice((word, *OWN_WORDS.get(word, (word,)))) for word in rows[0]]
        if rng.random() < 0.6:
            rows = grid_changed(rng, rows, name)
        sheets[rng.choice((name, name.title(), "Sheet1", "Our birds", "Log"))] = rows
    suffix = rng.choice((".xlsx", ".xlsx", ".ods", ".csv"))
    merged = rng.choice(([], [], ["A2:A4"], ["B1:C1"], ["C2:C3", "A1:B1"]))
    return packed({"suffix": suffix, "sheets": sheets, "merged": merged, "dialect": _dialect(rng)})


def _mutate_taking(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    document = unpacked(content)
    if not _is_taking(document):
        return _make_taking(rng)
    sheets = dict(document["sheets"])
    name = rng.choice(list(sheets))
    rows = grid_changed(rng, sheets[name], rng.choice(list(TABLES)))
    if rng.random() < 0.3 and rows and rows[-1]:
        row = rng.choice([row for row in rows if row])
        place = rng.randrange(len(row))
        row[place] = text_mutated(rng, row[place])[:3000]
    return packed({**document, "sheets": {**sheets, name: rows}})


def _is_taking(document: Any) -> bool:
    return isinstance(document, dict) and bool(document.get("sheets"))


def _books(document: Mapping[str, Any]) -> dict[tuple[str, str], tuple[Path, dict[int, list[str]]]]:
    """Write the book or the files; return, by file and sheet, path and rows that went in."""
    suffix, sheets = document["suffix"], document["sheets"]
    left_out = {**NOT_XML, 0xFEFF: "", 13: ""}
    rows = {
        name: [[text.translate(left_out) for text in row] for row in table]
        for name, table in sheets.items()
    }
    if suffix == ".csv":
        return {
            (f"book-{at}.csv", ""): (_written_csv(at, table, document["dialect"]), _numbered(table))
            for at, table in enumerate(rows.values())
        }
    path = ROOM / f"book{suffix}"
    path.write_bytes(book(suffix, rows, merged=document["merged"]))
    return {(path.name, name): (path, _numbered(table)) for name, table in rows.items()}


def _written_csv(at: int, rows: Sequence[Sequence[str]], dialect: Mapping[str, Any]) -> Path:
    path = ROOM / f"book-{at}.csv"
    path.write_bytes(rendered({**dialect, "coding": "utf-8-sig"}, rows))
    return path


def _numbered(rows: Sequence[Sequence[str]]) -> dict[int, list[str]]:
    trimmed = {at: [unguarded(text.strip()) for text in row] for at, row in enumerate(rows, 1)}
    return {at: row for at, row in trimmed.items() if any(row)}


def _run_taking(content: bytes) -> Outcome:
    document = unpacked(content)
    if not _is_taking(document):
        return frozenset(), None
    guesses, findings = _guessed(document)
    taken, facts = take(guesses, {}, CellHints(reads_look=reads_look, look_words=look_words))
    _settle_taken(guesses, taken)
    said = kinds([*findings.faults, *findings.doubts, *taken.doubts])
    asked = {question.key.partition(":")[0] for question in taken.questions}
    return said | asked | {one.table for one in guesses}, (guesses, taken, facts)


def _guessed(document: Mapping[str, Any]) -> tuple[tuple[BlockGuess, ...], Findings]:
    written = _books(document)
    findings = Findings()
    paths = {path for path, _ in written.values()}
    blocks = tuple(
        block for path in sorted(paths) for block in read_blocks(path, frozenset(_loci()), findings)
    )
    if not findings.faults:
        for (file, sheet), (_, rows) in written.items():
            own = [block for block in blocks if (block.file, block.sheet) == (file, sheet)]
            if document["suffix"] != ".csv" or not _quoted_breaks(rows):
                _settle_blocks(f"{file} {sheet}", rows, own)
    return guess(blocks, _loci(), Remembered()), findings


def _quoted_breaks(rows: Mapping[int, Sequence[str]]) -> bool:
    """Whether a separator that is read otherwise would also tell the rows apart otherwise."""
    signs = ("\n", ",", ";", "\t", "|", '"', "sep=")
    return any(sign in text for row in rows.values() for text in row for sign in signs)


def _settle_blocks(name: str, rows: Mapping[int, Sequence[str]], blocks: Sequence[Block]) -> None:
    """Each filled row is a header, a row of a block or outside; each cell of a row is in one."""
    heads = {block.header_row for block in blocks}
    outside = {one.row for block in blocks for one in block.outside}
    cells: dict[int, Counter[str]] = {}
    for block in blocks:
        for row in block.rows:
            cells.setdefault(row.row, Counter()).update(" ".join(c.split()) for c in row.cells if c)
    for number, filled in rows.items():
        if number not in heads | outside | cells.keys():
            raise BrokenLawError(
                f"a row of the book is nowhere: {name} row {number} {filled!r:.200}"
            )
        if number in cells and number not in heads | outside:
            lost = Counter(" ".join(cell.split()) for cell in filled if cell) - cells[number]
            if lost:
                raise BrokenLawError(
                    f"cells of a row are nowhere: {name} row {number} {lost!r:.200}"
                )


def _settle_taken(guesses: Sequence[BlockGuess], taken: Taken) -> None:
    """Each row of each block gave a row of a table, or stands among what was left."""
    sources = set(taken.sources.values())
    left = {(one.file, one.sheet, one.row) for one in taken.left}
    if any(not one.why.strip() for one in taken.left):
        raise BrokenLawError("something is left without a reason")
    for one in guesses:
        block = one.block
        for row in block.rows:
            place = (block.file, block.sheet, row.row)
            if place not in sources and place not in left:
                raise BrokenLawError(f"a row is neither taken nor left: {place} {row.cells!r:.200}")
    for (table, at), place in taken.sources.items():
        if at >= len(taken.tables.get(table, ())):
            raise BrokenLawError(f"a source of no row: {table} {at} {place}")


def _run_proposal(content: bytes) -> Outcome:
    """The whole folder that a book would make, checked."""
    document = unpacked(content)
    if not _is_taking(document):
        return frozenset(), None
    guesses, _ = _guessed(document)
    given = Given(breed="sussex", locus="O", copies=2)
    try:
        proposal = propose(guesses, given, {})
    except MatchmakerError as error:
        return frozenset({type(error).__name__}), str(error)
    found = proposal.found
    said = kinds([*found.faults, *found.doubts]) if found else frozenset()
    return said, (proposal.files, proposal.questions)


def _fewer_sheets(content: bytes) -> Iterator[bytes]:
    document = unpacked(content)
    if not _is_taking(document):
        return
    sheets = document["sheets"]
    for name in sheets:
        others = {other: rows for other, rows in sheets.items() if other != name}
        yield packed({**document, "sheets": others})
    for name, rows in sheets.items():
        for less in _fewer_cells(rows):
            yield packed({**document, "sheets": {**sheets, name: less}})


def _fewer_cells(rows: list[list[str]]) -> Iterator[list[list[str]]]:
    for at in range(len(rows)):
        yield [*rows[:at], *rows[at + 1 :]]
    for place in range(max((len(row) for row in rows), default=0)):
        yield [[*row[:place], *row[place + 1 :]] for row in rows]
    for at, row in enumerate(rows):
        for place, text in enumerate(row):
            if text:
                yield [
                    *rows[:at],
                    [*row[:place], text[: len(text) // 2], *row[place + 1 :]],
                    *rows[at + 1 :],
                ]


# -------------------------------------------------------------------------- what is remembered

_REMEMBERED: Final = """# decided before
[books.marsh.Birds]
table = "birds"

[books.marsh.Birds.columns]
"Ring no." = "birds.bird"
Father = "birds.sire"
Remarks = "aside"

[answers]
breed = "sussex"
"word:birds.status:eaten" = "culled"

[written]
birds = "7097e413 6fc3d368"
"""


def _make_remembered(_rng: random.Random) -> bytes:
    return _REMEMBERED.encode()


def _mutate_remembered(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    if rng.random() < 0.4:
        return mutated(rng, content, others)
    lines = content.decode("utf-8", "replace").split("\n")
    at = rng.randrange(len(lines))
    key, equals, value = lines[at].partition("=")
    words = ('"aside"', '"birds.sire"', '"scores.x"', '"birds."', '"nowhere.x"', "1", "[]", "true")
    if equals and rng.random() < 0.6:
        value = rng.choice((*words, f'"{rng.choice(WILD)}"'))
    else:
        key = text_mutated(rng, key)
    lines[at] = f"{key}{equals}{value}"
    return "\n".join(lines)[:20_000].encode("utf-8", "replace")


def _run_remembered(content: bytes) -> Outcome:
    """What is read and not refused must be written so that it reads alike."""
    findings = Findings()
    remembered = read_remembered(content.decode("utf-8", "replace"), findings)
    said = kinds([*findings.faults, *findings.doubts])
    again = Findings()
    if read_remembered(remembered_text(remembered), again) != remembered or again.faults:
        raise BrokenLawError("what is remembered reads otherwise when it is written")
    words = {found.problem[:30] for found in findings.faults}
    return said | words, (remembered, findings.faults)


TARGETS: Final = (
    Target(
        name="taking",
        share=1.5,
        make=_make_taking,
        mutate=_mutate_taking,
        run=_run_taking,
        smaller=_fewer_sheets,
        seconds=5.0,
    ),
    Target(
        name="proposal",
        share=0.1,
        make=_make_taking,
        mutate=_mutate_taking,
        run=_run_proposal,
        smaller=_fewer_sheets,
        seconds=40.0,
    ),
    Target(
        name="remembered",
        share=30,
        make=_make_remembered,
        mutate=_mutate_remembered,
        run=_run_remembered,
        smaller=fewer_bytes,
    ),
)
