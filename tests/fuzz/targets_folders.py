"""Targets: whole folders, read and checked as the command does it, and tables changed in place."""

from __future__ import annotations

import hashlib
import shutil
from typing import TYPE_CHECKING, Any, Final

from matchmaker.checking import check, tables_of
from matchmaker.errors import UsageError
from matchmaker.tables.amend import Amendment, amended
from matchmaker.tables.columns import TABLES
from matchmaker.tables.findings import Findings
from matchmaker.tables.history import HISTORY_FILE
from matchmaker.tables.raw import read_raw
from matchmaker.tables.reading import Hints
from tests.cli.run import run_here
from tests.fuzz.inputs import Target, fewer_bytes, kinds
from tests.fuzz.ledger import BrokenLawError
from tests.fuzz.mutation import mutated, text_mutated
from tests.fuzz.targets_tables import _dialect, read_table, rendered
from tests.fuzz.targets_words import ROOM
from tests.fuzz.wild import WILD, grid, grid_changed, packed, settings_text, unpacked

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from matchmaker.tables.folder import FolderTables
    from tests.fuzz.inputs import Outcome

FLOCK: Final[dict[str, list[list[str]]]] = {
    "birds": [
        ["bird", "sex", "hatched", "sire", "dam", "line", "breed", "status", "O", "notes"],
        ["C1", "cock", "2024-04-01", "founder", "founder", "Sussex", "sussex", "breeder", "", ""],
        ["H1", "hen", "2024-04-02", "founder", "founder", "Sussex", "sussex", "breeder", "", ""],
        ["D1", "cock", "2023", "founder", "founder", "", "marans", "dead", "blue", "died of age"],
        ["C2", "cock", "2025-05-01", "D1", "H1", "Alder", "", "breeder", "blue", ""],
        ["H2", "hen", "2025-05-01", "D1", "H1", "Alder", "", "breeder", "blue", ""],
        ["H3", "hen", "2026-05-03", "C1|C2", "H2", "Alder", "", "breeder", "not blue", ""],
        ["Y1", "", "2026-08-01", "C1", "H2", "Alder", "", "young", "", ""],
    ],
    "pens": [
        ["pen", "hens_max", "dam_known", "line"],
        ["1", "6", "yes", "Alder"],
        ["2", "6", "", ""],
    ],
    "seen": [
        ["date", "bird", "locus", "what", "how"],
        ["2026-06-01", "H3", "O", "not blue", "dna"],
    ],
    "scores": [
        ["bird", "date", "weight"],
        ["H1", "2025-08-01", "2.4"],
        ["H2", "2026-01-05", "2,1"],
        ["H3", "2026-11-05", "2.3"],
    ],
    "moves": [["bird", "pen", "moved_in", "moved_out"], ["C1", "1", "2026-02-01", "2026-06-01"]],
    "eggs": [["pen", "set_on", "eggs", "hatched"], ["1", "2026-04-12", "12", "7"]],
    "wishes": [["bird", "with", "wish", "why"], ["C1", "H2", "together", "calm"]],
    "plan": [["pen", "line", "cock", "hen"], ["1", "Alder", "C1", "H2"]],
}
"""An invented flock small enough to be worked through in a few hundredths of a second."""


def _make_folder(rng: random.Random) -> bytes:
    tables = {
        name: rows
        for name, rows in FLOCK.items()
        if name in {"birds", "pens"} or rng.random() < 0.5
    }
    for _ in range(rng.randrange(3)):
        name = rng.choice(list(tables))
        tables[name] = grid_changed(rng, tables[name], name)
    if rng.random() < 0.1:
        name = rng.choice(list(TABLES))
        tables[name] = grid(rng, name)
    files = {
        f"{name}.csv": rendered(_dialect(rng), rows).decode("latin-1")
        for name, rows in tables.items()
    }
    return packed({"matchmaker.toml": settings_text(rng), **files})


def _mutate_folder(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    files = unpacked(content)
    if not isinstance(files, dict) or not files:
        return _make_folder(rng)
    name = rng.choice(list(files))
    kind = rng.random()
    if kind < 0.05:
        other = rng.choice(
            ("Birds.CSV", "brids.csv", "birds.tsv", "pens.xlsx", "seen.txt", "ü.csv")
        )
        files[other] = files[name]
    elif kind < 0.55:
        files[name] = _cell_changed(rng, str(files[name]))
    elif kind < 0.75:
        files[name] = text_mutated(rng, str(files[name]))[:30_000]
    else:
        files[name] = mutated(rng, str(files[name]).encode("utf-8", "replace"), [])[:30_000].decode(
            "latin-1"
        )
    return packed(files)


def _cell_changed(rng: random.Random, text: str) -> str:
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    cells = lines[at].split(",")
    cells[rng.randrange(len(cells))] = rng.choice((*WILD, rng.choice(rng.choice(lines).split(","))))
    lines[at] = ",".join(cells)
    return "\n".join(lines)


def written(files: Mapping[str, str]) -> Path:
    """Return a fresh folder with these files; letters are bytes, as far as they go."""
    folder = ROOM / "flock"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, text in files.items():
        safe = name.replace("/", "_").replace("\0", "_")[:80]
        if safe.strip("."):
            (folder / safe).write_bytes(str(text).encode("latin-1", "replace"))
    return folder


def _folder_in(content: bytes) -> Path | None:
    files = unpacked(content)
    return written(files) if isinstance(files, dict) else None


def _run_folder(content: bytes) -> Outcome:
    folder = _folder_in(content)
    if folder is None:
        return frozenset(), None
    found = check(folder)
    said = kinds([*found.faults, *found.doubts])
    if (found.table is None) != bool(found.faults):
        raise BrokenLawError("pairs judged in spite of faults, or neither of them")
    _settle_folder(folder, found.tables)
    pairs = None if found.table is None else len(found.table.pairs)
    return said | {type(found.table).__name__}, (found.faults, found.doubts, pairs)


def _run_tables(content: bytes) -> Outcome:
    folder = _folder_in(content)
    if folder is None:
        return frozenset(), None
    tables = tables_of(folder)
    _settle_folder(folder, tables)
    return kinds([*tables.faults, *tables.doubts]), tables


def _settle_folder(folder: Path, tables: FolderTables) -> None:
    """Every raw row of every table read is a record, or a finding names it."""
    if not any(tables.headers.values()):
        return
    named: dict[str, set[int]] = {}
    for one in (*tables.faults, *tables.doubts):
        named.setdefault(one.file, set()).add(one.row or 0)
    for name, file in tables.files.items():
        raw = read_raw(file, (folder / file).read_bytes(), TABLES[name], Findings())
        if raw is None or name not in tables.headers:
            continue
        kept = {record.row for record in getattr(tables, name)}
        second = [
            one.row for one in tables.faults if (one.file, one.kind) == (file, "second-table")
        ]
        end = min((row for row in second if row), default=raw.rows[-1].row + 1 if raw.rows else 0)
        header = _header_row(folder / file, name)
        lost = [
            r.row
            for r in raw.rows
            if header < r.row < end and r.row not in kept | named.get(file, set())
        ]
        if lost:
            raise BrokenLawError(f"{file}: rows {lost} are neither kept nor named")


def _header_row(file: Path, table: str) -> int:
    read = read_table(file.name, file.read_bytes(), table, Hints())
    return read.sheet.header_row if read.sheet else 0


def _fewer_files(content: bytes) -> Iterator[bytes]:
    """Yield a folder with files, then lines, then cells taken out."""
    files = unpacked(content)
    if not isinstance(files, dict):
        return
    for name in files:
        yield packed({other: text for other, text in files.items() if other != name})
    for name, text in files.items():
        lines = str(text).split("\n")
        for at, line in enumerate(lines):
            yield packed({**files, name: "\n".join([*lines[:at], *lines[at + 1 :]])})
            cells = line.split(",")
            for place, cell in enumerate(cells):
                if cell:
                    fewer = ",".join([*cells[:place], cell[: len(cell) // 2], *cells[place + 1 :]])
                    yield packed({**files, name: "\n".join([*lines[:at], fewer, *lines[at + 1 :]])})


def _run_screen(content: bytes) -> Outcome:
    """The command itself: its words on any screen, and its document."""
    folder = _folder_in(content)
    if folder is None:
        return frozenset(), None
    told = run_here("check", "--in", folder)
    document = run_here("check", "--in", folder, "--json")
    if told.code != document.code or told.code not in {0, 2, 3}:
        raise BrokenLawError(f"exit {told.code} and {document.code}: {told.err[-300:]}")
    if told.code != 2 and not isinstance(document.document, dict):
        raise BrokenLawError("no document")
    return frozenset({str(told.code)}), (told.out, told.err, document.out)


# ------------------------------------------------------------------------ tables changed in place


def _make_amend(rng: random.Random) -> bytes:
    name = rng.choice(list(TABLES))
    rows = grid_changed(rng, FLOCK[name], name)
    text = rendered(_dialect(rng), rows)
    return packed({"table": name, "text": text.decode("latin-1"), "new": rng.choice(WILD)})


def _mutate_amend(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    document = unpacked(content)
    if not isinstance(document, dict) or document.get("table") not in TABLES:
        return _make_amend(rng)
    body = mutated(rng, str(document.get("text")).encode("latin-1", "replace"), [])[:20_000]
    new = text_mutated(rng, str(document.get("new")))[:5000]
    return packed({**document, "text": body.decode("latin-1"), "new": new})


def _run_amend(content: bytes) -> Outcome:
    """Change one cell and add a row: all the other cells must read as before."""
    document = unpacked(content)
    if not isinstance(document, dict) or document.get("table") not in TABLES:
        return frozenset(), None
    name, new = document["table"], str(document.get("new"))
    new = new.replace("\0", "").encode("utf-8", "replace").decode("utf-8").strip()
    folder = written({f"{name}.csv": str(document.get("text"))})
    tables = tables_of_one(folder)
    before = _cells(folder / f"{name}.csv", name)
    records = getattr(tables, name)
    column = TABLES[name].needed[0]
    if not before or not records or column not in tables.headers.get(name, ()):
        return frozenset({"nothing to change"}), None
    row = records[-1].row
    change = Amendment(cells={(row, column): new}, added=({column: "Z-99"},))
    try:
        path, text = amended(folder, name, change, tables)
    except UsageError as error:
        return frozenset({"refused"}), str(error)
    path.write_bytes(text.encode("utf-8"))
    _hold_against(before, _cells(path, name), (row, new))
    return frozenset({"changed"}), text


def tables_of_one(folder: Path) -> FolderTables:
    """Return what is read of a folder with one table and plain settings."""
    plain = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
    (folder / "matchmaker.toml").write_text(plain, encoding="utf-8")
    return tables_of(folder)


def _cells(file: Path, table: str) -> dict[int, tuple[str, ...]]:
    findings = Findings()
    raw = read_raw(file.name, file.read_bytes(), TABLES[table], findings)
    if raw is None or findings.faults:
        return {}
    return {row.row: tuple(_without_end(row.cells)) for row in raw.rows}


def _without_end(cells: tuple[str, ...]) -> list[str]:
    kept = list(cells)
    while kept and not kept[-1]:
        kept.pop()
    return kept


def _hold_against(
    before: dict[int, tuple[str, ...]], after: dict[int, tuple[str, ...]], change: tuple[int, str]
) -> None:
    row, new = change
    others = {at: cells for at, cells in before.items() if at != row}
    if {at: after.get(at) for at in others} != others:
        raise BrokenLawError("a row that was not to be changed reads otherwise")
    gained = after.keys() - before.keys()
    if len(gained) != 1 or "Z-99" not in after[next(iter(gained))]:
        raise BrokenLawError(f"the row added reads as {[after[at] for at in gained]}")
    kept = after.get(row, ())
    if new and new not in kept:
        raise BrokenLawError(f"{new!r:.80} was written and reads as {kept!r:.200}")


def _fewer_in(content: bytes) -> Iterator[bytes]:
    document: Any = unpacked(content)
    if isinstance(document, dict):
        for key in ("text", "new"):
            text = str(document.get(key, ""))
            size = len(text) // 2
            while size:
                for at in range(0, len(text), size):
                    yield packed({**document, key: text[:at] + text[at + size :]})
                size //= 2


# --------------------------------------------------------------- the history of writes, damaged


def _sound_files() -> dict[str, bytes]:
    tables = {f"{name}.csv": FLOCK[name] for name in ("birds", "pens")}
    plain = {"separator": ",", "quoting": 0, "end": "\n", "coding": "utf-8"}
    return {name: rendered(plain, rows) for name, rows in tables.items()}


def _make_writes(rng: random.Random) -> bytes:
    """Return a history whose last write was stopped, most of it true to the tables there are."""
    changes = []
    for name, content in _sound_files().items():
        true = hashlib.sha256(content).hexdigest()
        digests = (true, None, "0" * 64)
        changes.append(
            {
                "name": rng.choice((name, name, "seen.csv", "../x", "")),
                "before": rng.choice(digests),
                "after": rng.choice(digests),
                "copy": rng.choice((f"{name}.1.bak", None)),
            }
        )
    write = {
        "token": "0123456789ab",
        "told": "plan --write",
        "when": "2027-01-26T10:00:00",
        "process": rng.choice((1, 99999)),
        "stage": rng.choice(("preparing", "writing", "done")),
        "files": changes,
        "takes_back": "",
    }
    return packed({"schema": "matchmaker/writes/1", "writes": [write] * rng.randrange(1, 3)})


def _mutate_writes(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    return mutated(rng, content, others) if rng.random() < 0.8 else _make_writes(rng)


def _run_writes(content: bytes) -> Outcome:
    """However the history is damaged: each table is as it was, or what it held is in a copy."""
    sound = _sound_files()
    folder = written({name: text.decode("latin-1") for name, text in sound.items()})
    for name, text in sound.items():
        (folder / f"{name}.1.bak").write_bytes(text)
    (folder / HISTORY_FILE).write_bytes(content)
    (folder.parent / "x").write_bytes(b"outside")
    found = []
    for _ in range(2):
        try:
            tables = tables_of_one(folder)
            found.append(sorted(fault.kind for fault in (*tables.faults, *tables.doubts)))
        except UsageError as error:
            found.append([str(error)[:40]])
    left = [file.read_bytes() for file in folder.iterdir() if file.is_file()]
    if any(text not in left for text in sound.values()):
        raise BrokenLawError("a table is lost")
    if (folder.parent / "x").read_bytes() != b"outside":
        raise BrokenLawError("a file outside the folder was changed")
    return frozenset(found[0]), found


TARGETS: Final = (
    Target(
        name="writes",
        share=2,
        make=_make_writes,
        mutate=_mutate_writes,
        run=_run_writes,
        smaller=fewer_bytes,
        seconds=5.0,
    ),
    Target(
        name="amend",
        share=3,
        make=_make_amend,
        mutate=_mutate_amend,
        run=_run_amend,
        smaller=_fewer_in,
    ),
    Target(
        name="tables",
        share=3,
        make=_make_folder,
        mutate=_mutate_folder,
        run=_run_tables,
        smaller=_fewer_files,
        seconds=5.0,
    ),
    Target(
        name="folder",
        share=0.8,
        make=_make_folder,
        mutate=_mutate_folder,
        run=_run_folder,
        smaller=_fewer_files,
        seconds=20.0,
    ),
    Target(
        name="screen",
        share=0.03,
        make=_make_folder,
        mutate=_mutate_folder,
        run=_run_screen,
        smaller=_fewer_files,
        seconds=40.0,
    ),
)
