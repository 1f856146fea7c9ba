"""Targets: cells, delimited text, books, and tables whose rows and cells are counted."""

from __future__ import annotations

import csv
import io
import re
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Final

from matchmaker.tables.cells import read_cell
from matchmaker.tables.columns import TABLES
from matchmaker.tables.delimited import HEADER_WITHIN
from matchmaker.tables.findings import Findings
from matchmaker.tables.formulas import unguarded
from matchmaker.tables.header import read_header
from matchmaker.tables.raw import read_raw
from matchmaker.tables.reading import Hints
from matchmaker.tables.rows import read_records
from matchmaker.tables.schema import known_headers
from tests.fuzz.books import NOT_XML, book, unzipped, zipped
from tests.fuzz.inputs import Target, fewer_bytes, kinds
from tests.fuzz.ledger import BrokenLawError, Read, settle
from tests.fuzz.mutation import mutated, text_mutated
from tests.fuzz.wild import cell, grid, grid_changed, packed, unpacked

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.tables.schema import Column
    from tests.fuzz.inputs import Outcome

HINTS: Final = (
    Hints(season=2027, loci=frozenset({"O"}), known_loci=frozenset({"O", "P"})),
    Hints(dates="day-first", season=2027, units={"weight": "kg", "comb": ""}),
    Hints(dates="month-first", known_loci=frozenset({"O", "P", "line"}), units={"a [b]": "g"}),
)
COLUMNS: Final[Mapping[str, Column]] = {
    f"{table.name}.{column.name}": column for table in TABLES.values() for column in table.columns
}


def _named(line: bytes, names: Sequence[str]) -> str:
    """Return what a first line names; any other line stands for one of the names too."""
    word = line.decode("utf-8", "replace").strip()
    return word if word in names else names[sum(line) % len(names)]


# ------------------------------------------------------------------------------------ single cells


def _make_cell(rng: random.Random) -> bytes:
    name = rng.choice(list(COLUMNS))
    return f"{name}\n{cell(rng, COLUMNS[name], 0.5)}".encode()


def _mutate_cell(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    first, _, text = content.partition(b"\n")
    if others and rng.random() < 0.1:
        text += rng.choice(others).partition(b"\n")[2]
    if rng.random() < 0.1:
        first = rng.choice(list(COLUMNS)).encode()
    told = text_mutated(rng, text.decode("utf-8", "replace"))
    return first + b"\n" + told[:20_000].encode("utf-8", "replace")


def _run_cell(content: bytes) -> Outcome:
    first, _, rest = content.partition(b"\n")
    column = COLUMNS[_named(first, list(COLUMNS))]
    text = rest.decode("utf-8", "replace").strip()
    found, said = [], set()
    for hints in HINTS:
        reading = read_cell(text, column, hints)
        found.append(reading)
        issue = reading.issue
        if issue is None:
            continue
        said.add(issue.kind)
        if not issue.problem.strip() or not issue.mend.strip():
            raise BrokenLawError(f"an issue without words: {issue!r:.300}")
        if reading.value is not None and not issue.doubt:
            raise BrokenLawError(f"a value in spite of a fault: {reading!r:.300}")
    return frozenset({column.kind.value, type(found[0].value).__name__, *said}), found


# ------------------------------------------------------------------------------- a table, as it is


def read_table(file: str, content: bytes, table: str, hints: Hints) -> Read:
    """Return what the readers make of a file, step by step as a folder is read."""
    findings = Findings()
    raw = read_raw(file, content, TABLES[table], findings)
    sheet = None if raw is None else read_header(raw, TABLES[table], hints, findings)
    records = [] if sheet is None else read_records(sheet, hints, findings)
    return Read(sheet, records, findings)


def _outcome(read: Read, *more: str) -> Outcome:
    said = kinds(read.said)
    size = "none" if not read.records else "some"
    return said | {size, *more}, (read.sheet, read.records, read.said)


def _make_text(rng: random.Random) -> bytes:
    name = rng.choice(list(TABLES))
    return f"{name}.csv\n".encode() + rendered(_dialect(rng), grid(rng, name))


def _run_text(content: bytes) -> Outcome:
    first, _, body = content.partition(b"\n")
    table = _named(first, [f"{name}.csv" for name in TABLES]).removesuffix(".csv")
    read = read_table(f"{table}.csv", body, table, HINTS[len(body) % 3])
    lines = plain_lines(body)
    if lines is not None:
        filled: dict[int, list[str]] = {
            at: [] for at, line in lines.items() if not _BLANK.fullmatch(line)
        }
        perhaps = frozenset(at for at, line in lines.items() if line.strip()) - filled.keys()
        settle(filled, read, perhaps)
    return _outcome(read, table)


_BLANK: Final = re.compile(r"[\s,;\t]*")


def plain_lines(body: bytes) -> dict[int, str] | None:
    """Return the lines of a text that has no quotes and a plain coding, else ``None``.

    Without quotes a line is a row, whatever the separator; its cells are not told apart here.
    """
    if b'"' in body or b"\0" in body or body[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return None
    text = None
    for coding in ("utf-8-sig", "cp1252"):
        with suppress(UnicodeDecodeError):
            text = body.decode(coding) if text is None else text
    if text is None or text[:4].lower() == "sep=":
        return None
    return dict(enumerate(re.split(r"\r\n|\r|\n", text), 1))


# --------------------------------------------------------------- tables whose every cell is counted


def _dialect(rng: random.Random) -> dict[str, Any]:
    return {
        "separator": rng.choice((",", ",", ";", "\t", "|")),
        "quoting": rng.choice((csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
        "end": rng.choice(("\n", "\r\n", "\r")),
        "coding": rng.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")),
    }


def rendered(dialect: Mapping[str, Any], rows: Sequence[Sequence[str]]) -> bytes:
    """Return rows as delimited text; a separator the readers do not try is named at the top."""
    stream = io.StringIO(newline="")
    end = dialect["end"]
    # the writer quotes just the line breaks its own rows end with, and any other would part rows
    breaks = any("\r" in str(cell) or "\n" in str(cell) for row in rows for cell in row)
    writer = csv.writer(
        stream,
        delimiter=dialect["separator"],
        quoting=csv.QUOTE_ALL if end == "\r" or breaks else dialect["quoting"],
        lineterminator=end,
    )
    for row in rows:
        writer.writerow(row)
    head = "sep=|\n" if dialect["separator"] == "|" else ""
    return (head + stream.getvalue()).encode(dialect["coding"], "replace")


def _make_grid(rng: random.Random) -> bytes:
    name = rng.choice(list(TABLES))
    rows = grid(rng, name)
    if rng.random() < 0.5:
        rows = grid_changed(rng, rows, name)
    return packed({"table": name, "dialect": _dialect(rng), "rows": rows})


def _mutate_grid(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    document = unpacked(content)
    if not _is_grid(document):
        return _make_grid(rng)
    rows = grid_changed(rng, document["rows"], document["table"])
    if rng.random() < 0.2:
        at = rng.randrange(len(rows)) if rows else 0
        if rows and rows[at]:
            place = rng.randrange(len(rows[at]))
            rows[at][place] = text_mutated(rng, rows[at][place])
    dialect = _dialect(rng) if rng.random() < 0.2 else document["dialect"]
    return packed({**document, "rows": rows, "dialect": dialect})


def _is_grid(document: Any) -> bool:
    return isinstance(document, dict) and document.get("table") in TABLES


def _coded(dialect: Mapping[str, Any], rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return rows as they come out of the coding: a letter it has not becomes a question mark."""
    coding = dialect["coding"]
    return [[c.encode(coding, "replace").decode(coding) for c in row] for row in rows]


def _filled(rows: Sequence[Sequence[str]]) -> dict[int, list[str]]:
    trimmed = {at: [unguarded(text.strip()) for text in row] for at, row in enumerate(rows, 1)}
    return {at: row for at, row in trimmed.items() if any(row)}


def _run_grid(content: bytes) -> Outcome:
    document = unpacked(content)
    if not _is_grid(document):
        return frozenset(), None
    table, dialect, rows = document["table"], document["dialect"], document["rows"]
    if any("\0" in text for row in rows for text in row):
        return frozenset(), None
    rows = _coded(dialect, rows)
    body = rendered(dialect, rows)
    read = read_table(f"{table}.csv", body, table, HINTS[len(rows) % 3])
    filled = _filled(rows)
    if not _separator_shows(table, rows):
        filled = {} if any("\n" in text for row in rows for text in row) else filled
        filled = {at: [] for at, row in filled.items() if not _BLANK.fullmatch("".join(row))}
        settle(filled, read, frozenset(range(1, len(body) + 2)))
    elif not _taken_otherwise(dialect, rows, body):
        settle(filled, read)
    return _outcome(read, table, dialect["separator"])


def _separator_shows(table: str, rows: Sequence[Sequence[str]]) -> bool:
    """Whether two known headers stand in one row: a single one is alike with any separator."""
    return any(known_headers(TABLES[table], row) > 1 for row in rows[:HEADER_WITHIN])


def _taken_otherwise(
    dialect: Mapping[str, Any], rows: Sequence[Sequence[str]], body: bytes
) -> bool:
    """Whether a text honestly has another reading: a first cell that names a separator, or bytes
    in an old coding that are as good in the new one."""
    if rows and rows[0] and rows[0][0].lower().startswith("sep="):
        return True
    if dialect["coding"] != "cp1252":
        return False
    try:
        return body.decode("utf-8") != body.decode("cp1252")
    except UnicodeDecodeError:
        return False


def fewer_rows(content: bytes) -> Iterator[bytes]:
    """Yield a table with rows and then cells taken out."""
    document = unpacked(content)
    if not isinstance(document, dict) or not isinstance(document.get("rows"), list):
        return
    rows = document["rows"]
    for at in range(len(rows)):
        yield packed({**document, "rows": [*rows[:at], *rows[at + 1 :]]})
    for place in range(max((len(row) for row in rows), default=0)):
        yield packed({**document, "rows": [[*row[:place], *row[place + 1 :]] for row in rows]})
    for at, row in enumerate(rows):
        for place, text in enumerate(row):
            for less in {"", text[: len(text) // 2]} - {text}:
                changed = [*row[:place], less, *row[place + 1 :]]
                yield packed({**document, "rows": [*rows[:at], changed, *rows[at + 1 :]]})


def _make_sheet(rng: random.Random) -> bytes:
    document = unpacked(_make_grid(rng))
    name = document["table"]
    names = [rng.choice((name, name.title(), "Sheet1", "Our birds"))]
    if rng.random() < 0.3:
        names.insert(rng.randrange(2), rng.choice(("old", "notes", *TABLES)))
    return packed(
        {
            **document,
            "suffix": rng.choice((*(".xlsx",) * 8, *(".ods",) * 6, ".xls")),
            "names": list(dict.fromkeys(names)),
            "hidden": [names[-1]] if rng.random() < 0.1 else [],
            "merged": rng.choice(([], [], ["A2:A3"], ["B1:C1"])),
        }
    )


def _mutate_sheet(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    document = unpacked(content)
    if not _is_grid(document) or "names" not in document:
        return _make_sheet(rng)
    return _mutate_grid(rng, content, others)


def _run_sheet(content: bytes) -> Outcome:
    """Every sheet holds the same rows, so that the one that is read can be held against them."""
    document = unpacked(content)
    if not _is_grid(document) or "names" not in document:
        return frozenset(), None
    table, suffix, names = document["table"], document["suffix"], document["names"]
    left_out = {**NOT_XML, 0xFEFF: ""}  # a mark of bytes to some readers, no letter
    rows = [[text.translate(left_out) for text in row] for row in document["rows"]]
    rows = [[text.replace("\r\n", "\n").replace("\r", "\n") for text in row] for row in rows]
    made = book(suffix, dict.fromkeys(names, rows), document["hidden"], document["merged"])
    read = read_table(f"{table}{suffix}", made, table, HINTS[len(rows) % 3])
    if suffix == ".xlsx":  # in ODS a text keeps its own blanks, in XLS its length
        settle(_filled(rows), read)
    else:
        settle({at: [] for at in _filled(rows)}, read)
    _settle_sheets(document, rows, read)
    return _outcome(read, table, suffix)


def _settle_sheets(document: Mapping[str, Any], rows: Sequence[Sequence[str]], read: Read) -> None:
    named = {one.value for one in read.said if one.kind in {"hidden-sheet", "sheet-not-read"}}
    silent = set(document["names"]) - named
    if read.sheet is not None and _filled(rows) and len(silent) > 1:
        raise BrokenLawError(f"of the sheets {sorted(silent)} only one was read")


# ------------------------------------------------------------------------------------ damaged books


def _make_book(rng: random.Random) -> bytes:
    document = unpacked(_make_sheet(rng))
    suffix, rows = document["suffix"], document["rows"]
    made = book(
        suffix, dict.fromkeys(document["names"], rows), document["hidden"], document["merged"]
    )
    return f"{document['table']}{suffix}\n".encode() + made


def _mutate_book(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    first, _, body = content.partition(b"\n")
    parts = unzipped(body)
    if not parts or rng.random() < 0.25:
        return first + b"\n" + mutated(rng, body, [])
    name = rng.choice(list(parts))
    if rng.random() < 0.1:
        parts[f"xl/{rng.randrange(9)}{name[-8:]}"] = parts.pop(name)
    else:
        parts[name] = _xml_mutated(rng, parts[name], others)
    return first + b"\n" + zipped(parts)


_VALUES: Final = re.compile(rb'"[^"]*"|>[^<]*<')
_ODD: Final = (
    *(b"", b"0", b"-1", b"1048577", b"4294967296", b"99999999999999999999", b"XFD1048576", b"A0"),
    *(b"1e999", b"NaN", b"s", b"b", b"e", b"d", b"str", b"n", b"inlineStr", b"&#x0;", b"&#55296;"),
    *(b"2026-13-45", b"45368.5", b"-45368", b"3000000", b"A1:A9", b"../../etc/passwd", b"&x;"),
    *(b"date", b"time", b"PT25H61M", b"percentage", b"boolean", b"R1C1", b"float", b"hidden"),
)


def _xml_mutated(rng: random.Random, part: bytes, others: list[bytes]) -> bytes:
    """Put an odd value in the place of an attribute's or a text's; or change bytes anyhow."""
    places = list(_VALUES.finditer(part))
    if not places or rng.random() < 0.3:
        return mutated(rng, part, others[:3])
    place = rng.choice(places)
    ends = place[0][:1], place[0][-1:]
    return part[: place.start()] + ends[0] + rng.choice(_ODD) + ends[1] + part[place.end() :]


def _run_book(content: bytes) -> Outcome:
    first, _, body = content.partition(b"\n")
    names = [f"{name}{suffix}" for name in TABLES for suffix in (".xlsx", ".ods", ".xls", ".xlsm")]
    file = _named(first, names)
    read = read_table(file, body, file.partition(".")[0], HINTS[0])
    if read.sheet is not None:
        raw = Findings()
        again = read_raw(file, body, read.sheet.table, raw)
        assert again is not None
        settle({row.row: list(row.cells) for row in again.rows}, read)
    return _outcome(read, file.partition(".")[2])


def _mutate_text(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    first, _, body = content.partition(b"\n")
    return first + b"\n" + mutated(rng, body, others)


TARGETS: Final = (
    Target(
        name="cell",
        share=560,
        make=_make_cell,
        mutate=_mutate_cell,
        run=_run_cell,
        smaller=fewer_bytes,
        seconds=1.0,
    ),
    Target(
        name="text",
        share=90,
        make=_make_text,
        mutate=_mutate_text,
        run=_run_text,
        smaller=fewer_bytes,
    ),
    Target(
        name="grid",
        share=70,
        make=_make_grid,
        mutate=_mutate_grid,
        run=_run_grid,
        smaller=fewer_rows,
    ),
    Target(
        name="sheet",
        share=12,
        make=_make_sheet,
        mutate=_mutate_sheet,
        run=_run_sheet,
        smaller=fewer_rows,
    ),
    Target(
        name="book",
        share=20,
        make=_make_book,
        mutate=_mutate_book,
        run=_run_book,
        smaller=fewer_bytes,
    ),
)
