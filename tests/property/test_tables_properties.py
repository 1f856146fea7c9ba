"""Laws of reading: what is written reads back, nothing raises, no row is lost without a word."""

from __future__ import annotations

import dataclasses
import datetime as dt
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.tables.columns import TABLES
from matchmaker.tables.configuration import read_configuration
from matchmaker.tables.findings import Findings
from matchmaker.tables.header import read_header
from matchmaker.tables.raw import read_raw
from matchmaker.tables.reading import BLANK_WORDS, Hints
from matchmaker.tables.records import (
    BirdRecord,
    EggRecord,
    MoveRecord,
    Origin,
    Parentage,
    PenRecord,
    PlanRecord,
    ScoreRecord,
    SeenRecord,
    Sex,
    Status,
    WishRecord,
)
from matchmaker.tables.rows import read_records
from matchmaker.tables.toml_lines import key_lines
from tests.one_table import write_table

LETTERS = st.characters(codec="utf-8", exclude_characters="|:,;\0", exclude_categories=["Cs", "Cc"])
NOT_NAMES = BLANK_WORDS | {"founder", "na"}
NAMES = (
    st.text(LETTERS, min_size=1, max_size=8)
    .map(str.strip)
    .filter(lambda name: name and name.casefold() not in NOT_NAMES)
)
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20).map(str.strip)
DAYS = st.dates(dt.date(1950, 1, 1), dt.date(2026, 12, 31))
MAYBE_DAYS = st.none() | DAYS
COUNTS = st.none() | st.integers(0, 1000)
SHARES = st.lists(st.integers(1, 9), min_size=2, max_size=4).map(
    lambda parts: [part / sum(parts) for part in parts]
)
HINTS = Hints(season=2027, loci=frozenset({"O"}), units={"weight": "kg", "comb": ""})


@st.composite
def weights(draw: st.DrawFn) -> dict[str, float]:
    shares = draw(st.just([1.0]) | SHARES)
    names = draw(st.lists(NAMES, min_size=len(shares), max_size=len(shares), unique=True))
    return dict(zip(names, shares, strict=True))


def names_a_breed(shares: dict[str, float]) -> bool:
    """Whether a lone name can be a breed's: 93, 7/8 or F1 alone is a share or a generation."""
    return len(shares) > 1 or not any(letter.isdigit() for name in shares for letter in name)


KNOWN = weights().map(
    lambda shares: Parentage(origin=Origin.KNOWN, candidates=tuple(shares.items()))
)
PARENTS = KNOWN | st.sampled_from([Origin.FOUNDER, Origin.UNKNOWN]).map(
    lambda origin: Parentage(origin=origin)
)
HATCHED = st.one_of(
    MAYBE_DAYS.map(lambda day: (day, False)),
    st.integers(1950, 2027).map(lambda year: (dt.date(year, 5, 1), True)),
)
ROW = st.just(0)
BIRDS = HATCHED.flatmap(
    lambda hatched: st.builds(
        BirdRecord,
        row=ROW,
        bird=NAMES,
        sex=st.none() | st.sampled_from(Sex),
        hatched=st.just(hatched[0]),
        hatched_is_year=st.just(hatched[1]),
        sire=PARENTS,
        dam=PARENTS,
        line=st.just("") | NAMES,
        breed=st.just({}) | weights().filter(names_a_breed),
        source=st.just("") | NAMES,
        status=st.sampled_from(Status),
        left_on=MAYBE_DAYS,
        release_on=MAYBE_DAYS,
        defects=st.lists(NAMES.filter(lambda name: name not in {"no", "0"}), max_size=3).map(tuple),
        lay_per_week=st.none() | st.floats(0, 10),
        fertility=st.none() | st.floats(0, 1),
        hens_max=st.none() | st.integers(0, 200),
        seen=st.just({}) | st.builds(lambda word: {"O": word}, NAMES),
    )
)
PENS = st.builds(
    PenRecord,
    row=ROW,
    pen=NAMES,
    hens_max=st.integers(1, 200),
    hens_min=st.integers(0, 200),
    dam_known=st.booleans(),
    line=st.just("") | NAMES,
    open=st.booleans(),
    first_day=MAYBE_DAYS,
    last_day=MAYBE_DAYS,
)
CLASSES = st.sampled_from(["pea", "single", "not blue", "2 copies", "0"])
SEEN = st.one_of(
    st.builds(
        SeenRecord,
        row=ROW,
        date=MAYBE_DAYS,
        bird=NAMES,
        hen=st.just(""),
        cock=st.just(""),
        pen=st.just(""),
        locus=NAMES,
        what=CLASSES.map(lambda name: ((name, 1),)),
        how=st.sampled_from(["day-old", "adult", "dna", "report"]),
    ),
    st.builds(
        SeenRecord,
        row=ROW,
        date=MAYBE_DAYS,
        bird=st.just(""),
        hen=NAMES,
        cock=st.just("") | NAMES,
        pen=st.just("") | NAMES,
        locus=NAMES,
        what=st.dictionaries(
            st.sampled_from(["pea", "single", "not blue", "2 copies"]),
            st.integers(0, 99),
            min_size=1,
        ).map(lambda counts: tuple(counts.items())),
        how=st.sampled_from(["day-old", "adult", "dna", "report"]),
    ),
)
SCORES = st.builds(
    ScoreRecord,
    row=ROW,
    bird=NAMES,
    date=MAYBE_DAYS,
    group=st.just("") | NAMES,
    traits=st.dictionaries(st.sampled_from(["weight", "comb"]), st.floats(-1e6, 1e6)),
)
MOVES = st.builds(
    MoveRecord, row=ROW, bird=NAMES, pen=NAMES, moved_in=MAYBE_DAYS, moved_out=MAYBE_DAYS
)
EGGS = st.builds(
    EggRecord,
    row=ROW,
    pen=NAMES,
    hen=st.just("") | NAMES,
    cock=st.just("") | NAMES,
    collected_from=MAYBE_DAYS,
    collected_to=MAYBE_DAYS,
    set_on=MAYBE_DAYS,
    eggs=COUNTS,
    fertile=COUNTS,
    hatched=COUNTS,
    raised=COUNTS,
    first_band=st.just("") | NAMES,
    last_band=st.just("") | NAMES,
)
WISHES = st.builds(
    WishRecord,
    row=ROW,
    bird=NAMES,
    partner=st.just("") | NAMES,
    wish=st.sampled_from(["together", "apart", "allow", "use", "rest"]),
    why=TEXTS,
)
PLANS = st.builds(
    PlanRecord, row=ROW, pen=NAMES, line=st.just("") | NAMES, cock=NAMES, hen=NAMES, why=TEXTS
)


def numbered(records: list[object]) -> list[object]:
    return [
        dataclasses.replace(record, row=row)  # type: ignore[type-var]
        for row, record in enumerate(records, start=2)
    ]


def read_back(table: str, content: bytes) -> tuple[list[object], Findings]:
    findings = Findings()
    raw = read_raw(f"{table}.csv", content, TABLES[table], findings)
    sheet = raw and read_header(raw, TABLES[table], HINTS, findings)
    return (read_records(sheet, HINTS, findings) if sheet else []), findings


@pytest.mark.parametrize(
    ("table", "strategy"),
    [
        ("birds", BIRDS),
        ("pens", PENS),
        ("seen", SEEN),
        ("scores", SCORES),
        ("moves", MOVES),
        ("eggs", EGGS),
        ("wishes", WISHES),
        ("plan", PLANS),
    ],
)
def test_what_is_written_reads_back(table: str, strategy: st.SearchStrategy[object]) -> None:
    @settings(max_examples=60, deadline=None)
    @given(st.lists(strategy, min_size=1, max_size=4))
    def law(records: list[object]) -> None:
        written = numbered(records)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{table}.csv"
            write_table(path, table, written)
            found, findings = read_back(table, path.read_bytes())
        assert findings.faults == []
        assert found == written

    law()


ANY_CELL = st.sampled_from(["", "C1", "H1", "m", "8", "2026", "?", '"', "é", "a\nb", "1e999"])
ANY_ROWS = st.lists(st.lists(ANY_CELL | TEXTS, max_size=9), max_size=8)
HEADERS = {name: [column.name for column in table.columns] for name, table in TABLES.items()}


def as_csv(rows: list[list[str]]) -> str:
    lines = (",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows)
    return "".join(f"{line}\n" for line in lines)


@settings(max_examples=90, deadline=None)
@given(st.sampled_from(sorted(TABLES)), ANY_ROWS)
def test_every_row_is_kept_or_named(table: str, rows: list[list[str]]) -> None:
    content = as_csv([HEADERS[table], *rows]).encode()
    records, findings = read_back(table, content)
    filled = {
        number for number, row in enumerate(rows, start=2) if any(cell.strip() for cell in row)
    }
    kept = {getattr(record, "row") for record in records}  # noqa: B009  objects of eight types
    named = {fault.row for fault in findings.faults}
    assert kept <= filled
    assert filled - kept <= named


@settings(max_examples=90, deadline=None)
@given(st.sampled_from(sorted(TABLES)), st.binary(max_size=200) | st.text(max_size=200))
def test_no_content_of_a_table_raises(table: str, content: bytes | str) -> None:
    data = content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass")
    records, findings = read_back(table, data)
    assert records or findings.faults or findings.doubts or known_header(data)


def known_header(data: bytes) -> bool:
    """Whether the content may be a header alone, which for most tables is no fault."""
    return any(name.encode() in data.lower() for name in ("bird", "pen", "id", "ring", "tag"))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["birds.xlsx", "birds.xls", "birds.ods"]), st.binary(max_size=300))
def test_no_content_of_a_book_raises(name: str, content: bytes) -> None:
    findings = Findings()
    assert read_raw(name, content, TABLES["birds"], findings) is None
    assert [fault.kind for fault in findings.faults] == ["unreadable-file"]


@settings(max_examples=90, deadline=None)
@given(
    st.binary(max_size=120)
    | st.text(max_size=120).map(lambda text: text.encode("utf-8", "replace"))
)
def test_no_content_of_a_configuration_raises(content: bytes) -> None:
    configuration = read_configuration(content)
    assert configuration.settings is None
    assert configuration.faults


KEYS = st.sampled_from(["a", '"b c"', "'d.e'", "f-1", '"g\\"h"', "i . j"])
VALUES = st.sampled_from(
    [
        *("1", '"x = 1"', "'# no'", "[1, 2]", "[\n  'x', # ]\n  2,\n]", "{k = 1}"),
        *('"""\nq = 1\n[t]\n"""', "'''\n'q' = \"1\n'''", '"\\""', "2027-02-01", '""""x"""', "''"),
    ]
)


@settings(max_examples=90, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.tuples(KEYS, VALUES).map(lambda pair: f"{pair[0]} = {pair[1]} # = [x]"),
            st.integers(0, 9).map(lambda number: f"[t{number}]  # ]"),
            st.just("[[rows]]"),
            st.just(""),
            st.just("# z = 1"),
        ),
        max_size=8,
    )
)
def test_every_key_of_a_configuration_has_its_line(parts: list[str]) -> None:
    text = "\n".join(parts)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    starts = [1 + "\n".join(parts[:at]).count("\n") + (at > 0) for at in range(len(parts))]
    wanted = {start for start, part in zip(starts, parts, strict=True) if part and part[0] != "#"}
    lines = key_lines(text)
    assert set(lines.values()) <= wanted
    assert len(set(lines.values())) == len(wanted)
