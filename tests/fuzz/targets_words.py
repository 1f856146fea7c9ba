"""Targets: the configuration, words typed with a command, documents and files given by name."""

from __future__ import annotations

import atexit
import dataclasses
import json
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from matchmaker.closing.settings_text import next_settings
from matchmaker.errors import InputError, MatchmakerError, UsageError
from matchmaker.hatch.asked import Asked, told_of
from matchmaker.hatch.form import read_form
from matchmaker.report.given_documents import given_documents
from matchmaker.settings import Settings
from matchmaker.tables.asked import day_asked
from matchmaker.tables.configuration import read_configuration
from matchmaker.tables.folder import FolderTables
from matchmaker.tables.read_plan import read_plan
from matchmaker.tables.read_verdicts import read_verdicts
from matchmaker.tables.records import BirdRecord, PenRecord
from tests.fuzz.inputs import Target, fewer_bytes, kinds
from tests.fuzz.ledger import BrokenLawError
from tests.fuzz.mutation import mutated, text_mutated
from tests.fuzz.targets_tables import _dialect, _mutate_text, rendered
from tests.fuzz.toml_wild import make_settings, mutate_settings
from tests.fuzz.wild import BANDS, WILD, grid, packed, unpacked

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    from tests.fuzz.inputs import Outcome

SETTINGS: Final = Settings(season=2027, recurrent="sussex", target={"O": 2}, dates="day-first")
MEMORY: Final = Path("/dev") / "shm"
ROOM: Final = Path(tempfile.mkdtemp(prefix="fuzz-", dir=MEMORY if MEMORY.is_dir() else None))
atexit.register(shutil.rmtree, ROOM, ignore_errors=True)
"""A folder in memory where there is one: files are written there by the thousand."""

FLOCK: Final = FolderTables(
    folder=ROOM,
    settings=None,
    birds=tuple(BirdRecord(row=at, bird=band) for at, band in enumerate(BANDS, 2)),
    pens=(PenRecord(row=2, pen="1", hens_max=8), PenRecord(row=3, pen="2", hens_max=8)),
)


# ----------------------------------------------------------------------------------- configuration


def _run_settings(content: bytes) -> Outcome:
    read = read_configuration(content)
    said = kinds(read.faults)
    if (read.settings is None) != bool(read.faults):
        raise BrokenLawError("settings in spite of faults, or neither of them")
    lines = content.replace(b"\r\n", b"\n").count(b"\n") + 1
    for row in [*read.key_rows.values(), *(fault.row or 1 for fault in read.faults)]:
        if not 1 <= row <= lines:
            raise BrokenLawError(f"line {row} of {lines} is named")
    _ = read.hints.season_end
    after = None if read.settings is None else _next_season(content.decode("utf-8-sig"))
    words = {fault.problem[:30] for fault in read.faults}
    return said | words | {type(after).__name__}, (read.settings, read.faults, read.key_rows, after)


def _next_season(text: str) -> str:
    """What the next season's settings would be; they must be readable, or it must be refused."""
    try:
        done, changes = next_settings(text)
    except UsageError as error:
        return str(error)
    again = read_configuration(done.encode())
    known = any(fault.column in {None, "season", "year"} for fault in again.faults)
    if again.faults and not known:
        raise BrokenLawError(f"the next season cannot be read: {again.faults!r:.300}")
    return f"{len(changes)} changes"


# ---------------------------------------------------------------------------- typed with a command

_ASKED: Final = tuple(field.name for field in dataclasses.fields(Asked))
_LISTS: Final = frozenset({"bands", "cock_chicks", "hen_chicks", "dead", "culled", "sold", "seen"})
_COUNTS: Final = frozenset({"eggs", "fertile", "hatched"})
_TYPED: Final = (
    *("C27-001..C27-012", "C1", "98..101", "C1..C4, C9", "P:pea=9,single=4", "P:single=C1,C7"),
    *("2027-04-01..2027-04-08", "1/4/2027..8/4/2027", "1/4/2027", "O: blue = C1..C4", "4..4", "4x"),
)


def _make_words(rng: random.Random) -> bytes:
    names = rng.sample(_ASKED, rng.randrange(1, 6))
    return packed({name: rng.choice((*_TYPED, rng.choice(WILD))) for name in names})


def _mutate_words(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    words = unpacked(content)
    if not isinstance(words, dict) or not words:
        return _make_words(rng)
    name = rng.choice((*words, rng.choice(_ASKED)))
    return packed({**words, name: text_mutated(rng, str(words.get(name, "")))[:20_000]})


def _run_words(content: bytes) -> Outcome:
    words = unpacked(content)
    if not isinstance(words, dict):
        return frozenset(), None
    typed: dict[str, Any] = {name: _as_typed(name, str(text)) for name, text in words.items()}
    return _refused_or(lambda: told_of(Asked.of(typed), SETTINGS), words)


def _as_typed(name: str, text: str) -> object:
    if name in _LISTS:
        return text.split("\n")
    if name in _COUNTS:
        return len(text)
    return text


def _refused_or(call: Callable[[], object], words: object) -> Outcome:
    """What a call gives, or in what words it refuses: a refusal must have some."""
    try:
        return frozenset({type(words).__name__, "done"}), call()
    except InputError as error:
        return kinds(error.faults) | {"faults"}, error.faults
    except MatchmakerError as error:
        if not str(error).strip():
            raise BrokenLawError("a refusal without words") from error
        return frozenset({" ".join(str(error).split()[-3:])}), str(error)


def _run_day(content: bytes) -> Outcome:
    text = content.decode("utf-8", "replace")
    return _refused_or(lambda: day_asked(text, SETTINGS, "put"), text)


def _make_day(rng: random.Random) -> bytes:
    return rng.choice(WILD).encode()


def _mutate_day(rng: random.Random, content: bytes, _others: list[bytes]) -> bytes:
    return text_mutated(rng, content.decode("utf-8", "replace"))[:20_000].encode("utf-8", "replace")


# ---------------------------------------------------------------------------- files given by name


_FORM_ROWS: Final = (
    ["pen", "dam", "set_on", "eggs", "hatched", "hatched_on", "bands", "sex", "P", "notes"],
    ["1", "H1", "1/3/2027", "12", "9", "22/3/2027", "C27-001..C27-004", "", "pea", ""],
    ["2", "", "2027-03-02", "10", "7", "2027-03-23", "Y1", "hen", "3 pea, 4 single", "weak"],
)


def _make_given(rng: random.Random) -> bytes:
    kind = rng.choice(("plan", "graded", "form"))
    rows = {
        "plan": grid(rng, "plan"),
        "graded": [["band", "verdict"], [rng.choice(BANDS), rng.choice(("keep", "wait", "sell"))]],
        "form": [list(row) for row in _FORM_ROWS[: rng.randrange(1, 4)]],
    }[kind]
    if len(rows) > 1 and rng.random() < 0.5:
        row = rng.choice(rows)
        row[rng.randrange(len(row))] = rng.choice(WILD)
    return f"{kind}.csv\n".encode() + rendered(_dialect(rng), rows)


def _run_given(content: bytes) -> Outcome:
    first, _, body = content.partition(b"\n")
    kinds_given = ("plan", "graded", "form")
    word = first.decode("utf-8", "replace").partition(".")[0]
    kind = word if word in kinds_given else kinds_given[len(first) % 3]
    file = ROOM / f"given-{kind}.csv"
    file.write_bytes(body)
    calls: dict[str, Callable[[], object]] = {
        "plan": lambda: read_plan(file, FLOCK),
        "graded": lambda: read_verdicts(file, FLOCK),
        "form": lambda: read_form(file, SETTINGS, ("O", "P")),
    }
    return _refused_or(calls[kind], kind)


def _make_document(rng: random.Random) -> bytes:
    head: dict[str, Any] = {
        "schema": rng.choice(("matchmaker/frontier/1", "matchmaker/ahead/1")),
        "inputs": {},
    }
    fields: dict[str, Any] = {
        name: rng.choice((1, [], {}, "x", None, [{}], 1e308))
        for name in ("pairs", "plans", "premise", "seasons", "springs", "lines", "policies")
    }
    return json.dumps({**head, **fields}).encode()


def _run_document(content: bytes) -> Outcome:
    file = ROOM / "given.json"
    file.write_bytes(content)
    return _refused_or(lambda: sorted(given_documents([file], {})), "document")


def _mutate_bytes(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    return mutated(rng, content, others)


TARGETS: Final = (
    Target(
        name="settings",
        share=50,
        make=make_settings,
        mutate=mutate_settings,
        run=_run_settings,
        smaller=fewer_bytes,
    ),
    Target(
        name="words",
        share=70,
        make=_make_words,
        mutate=_mutate_words,
        run=_run_words,
        smaller=fewer_bytes,
    ),
    Target(
        name="day",
        share=60,
        make=_make_day,
        mutate=_mutate_day,
        run=_run_day,
        smaller=fewer_bytes,
        seconds=1.0,
    ),
    Target(
        name="given",
        share=20,
        make=_make_given,
        mutate=_mutate_text,
        run=_run_given,
        smaller=fewer_bytes,
    ),
    Target(
        name="document",
        share=8,
        make=_make_document,
        mutate=_mutate_bytes,
        run=_run_document,
        smaller=fewer_bytes,
    ),
)
