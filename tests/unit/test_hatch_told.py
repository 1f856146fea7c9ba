"""What a keeper types or fills in: bands, classes, the command's words and the form."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.errors import Fault, InputError, UsageError
from matchmaker.hatch.asked import Asked, told_of
from matchmaker.hatch.bands import BandError, read_bands, whole_range
from matchmaker.hatch.form import read_form
from matchmaker.hatch.seen_text import SeenError, read_seen
from matchmaker.hatch.told import BandedChick, Told, check_told
from matchmaker.settings import Settings
from matchmaker.tables.records import Sex, Status
from tests.unit.hatch_flocks import SET, chicks, counted, flock, hatched
from tests.unit.hatch_flocks import told as told_of_hatch
from tests.unit.tables_helpers import xlsx

if TYPE_CHECKING:
    from pathlib import Path

SETTINGS = Settings(season=2027, recurrent="sussex", target={"O": 2})
DAY_FIRST = Settings(season=2027, recurrent="sussex", target={"O": 2}, dates="day-first")
DAY = dt.date(2027, 3, 2)


@given(st.integers(0, 9000), st.integers(0, 99), st.sampled_from(["", "C27-", "A "]))
def test_a_range_is_all_bands_between_its_ends(low: int, more: int, prefix: str) -> None:
    ends = f"{prefix}{low:05d}", f"{prefix}{low + more:05d}"
    found = read_bands("..".join(ends))
    assert found == tuple(f"{prefix}{n:05d}" for n in range(low, low + more + 1))
    assert whole_range(found) == ends


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("C1..", "is no range"),
        ("..C4", "is no range"),
        ("C1..C2..C3", "is no range"),
        ("C5..C2", "goes backwards"),
        ("C27-1..D27-4", "do not differ by a number alone"),
        ("red..blue", "do not differ by a number alone"),
        ("C01..C100", "unequal length"),
        ("C1..C999", "999 bands"),
        ("C1,C1", "named twice"),
        ("C27-001-C27-012", r"write two dots, C27-001\.\.C27-012"),
        ("27-001 – 27-004", r"write two dots, 27-001\.\.27-004"),
        ("C1 to C4", r"write two dots, C1\.\.C4"),
        ("C1..C4,C3", "named twice"),
    ],
)
def test_bands_that_cannot_be_read(text: str, says: str) -> None:
    with pytest.raises(BandError, match=says):
        read_bands(text)


def test_bands_with_gaps_are_no_range() -> None:
    assert whole_range([]) is None
    assert whole_range(["C1", "C2", "C4"]) is None
    assert whole_range(["C1", "D2"]) is None
    assert whole_range(["7"]) == ("7", "7")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("pea=4", "which locus"),
        ("P:", "which locus"),
        ("P:pea", "cannot be read"),
        ("P:=4", "cannot be read"),
        ("P:pea=", "cannot be read"),
        ("P:pea=4,,single=2", "cannot be read"),
        ("P:pea=4,pea=5", "twice"),
        ("P:pea=12", "12 chicks or the band 12"),
        ("P:pea=12..3", "goes backwards"),
    ],
)
def test_classes_that_cannot_be_read(text: str, says: str) -> None:
    with pytest.raises(SeenError, match=says):
        read_seen(text, ["12", "13"])


def test_plain_numbers_may_be_counts_or_bands() -> None:
    assert read_seen("P:pea=12x", ["12"])[0].chicks == 12
    assert read_seen("P:pea=12 chicks", ["12"])[0].chicks == 12
    assert read_seen("P:pea=12..12", ["12"])[0].bands == ("12",)
    assert read_seen("P:pea=12,13", ["12"])[0].bands == ("12", "13")


def asked(settings: Settings = SETTINGS, **words: Any) -> Told:
    return told_of(Asked(pen="2", **words), settings)


def test_the_words_of_the_command() -> None:
    found = asked(
        DAY_FIRST,
        set_on="2/3/2027",
        collected="23/02/2027..01/03/2027",
        hatched=7,
        bands=["C1..C4", "C9"],
        hen_chicks=["C1,C2"],
        cock_chicks=["C9"],
        dead=["C4"],
        sold=["C9"],
        seen=["P:single=C1,pea=C2", "P:pea=4,single=2"],
    )
    assert (found.set_on, found.collected) == (DAY, (dt.date(2027, 2, 23), dt.date(2027, 3, 1)))
    assert found.chicks == (
        BandedChick(band="C1", sex=Sex.HEN, seen={"P": "single"}),
        BandedChick(band="C2", sex=Sex.HEN, seen={"P": "pea"}),
        BandedChick(band="C3"),
        BandedChick(band="C4", status=Status.DEAD),
        BandedChick(band="C9", sex=Sex.COCK, status=Status.SOLD),
    )
    assert found.whole("P") == Counter(pea=4, single=2)
    assert found.not_by_band("P") == Counter(pea=3, single=1)
    assert asked(collected="2027-02-23").collected == (dt.date(2027, 2, 23),) * 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"set_on": "soon"}, "soon is not a date"),
        ({"collected": "2027-02-23..x"}, r"the day to collect eggs \(--collected FIRST..LAST\)"),
        ({"bands": ["C4..C1"]}, "--bands: C4..C1 goes backwards"),
        ({"bands": ["C1"], "dead": ["C2"]}, "--dead: C2 is not among the bands"),
        ({"bands": ["C1"], "dead": ["C1"], "sold": ["C1"]}, "--dead and --sold both name C1"),
        ({"bands": ["C1"], "seen": ["P:pea=C7"]}, "--seen: C7 is not among the bands"),
        ({"bands": ["C1"], "seen": ["P:pea=C1,single=C1"]}, "C1 is named as pea and as single"),
        ({"seen": ["pea"]}, "--seen: pea does not say which locus"),
    ],
)
def test_words_that_cannot_be_meant(words: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        asked(**words)


def test_which_options_were_given() -> None:
    assert Asked(pen="2", eggs=0, bands=["C1"], hen_chicks=()).given == (
        "--pen",
        "--eggs",
        "--bands",
    )


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"pen": ""}, "--pen: no pen is named"),
        ({}, "--pen 2: nothing is told"),
        ({"eggs": -1}, "--eggs -1: a count cannot be below nought"),
        ({"eggs": 20, "fertile": 21}, "--fertile 21: that is more than the 20 eggs"),
        ({"eggs": 20, "hatched": 21}, "--hatched 21: that is more than the 20 eggs"),
        ({"hatched": 1, "chicks": chicks("C1", "C2")}, "2 chicks are banded, but 1 hatched"),
        ({"hatched": 2, "chicks": chicks("C1", "C1")}, "--bands C1: the band is named twice"),
        ({"hatched": 5, "counts": counted(pea=4, single=2)}, "6 chicks are counted, but 5 hatched"),
        (
            {"hatched": 5, "counts": counted(pea=1), "chicks": chicks("C1", "C2", P="pea")},
            "2 chicks are named by bands, but 1 counted",
        ),
        ({"eggs": 4, "sire": "C04"}, "--sire C04: it is written down with chicks only"),
        ({"eggs": 4, "hatched_on": DAY}, "--hatched-on 2027-03-02: it is written"),
        ({"eggs": 4, "line": "Alder"}, "--line Alder: only banded chicks get one"),
        ({"eggs": 4, "clutch": "x"}, "--clutch x: only banded chicks get one"),
        ({"eggs": 4, "collected": (DAY, DAY - dt.timedelta(1))}, "before the first"),
        (
            {"eggs": 4, "set_on": DAY, "collected": (DAY, DAY + dt.timedelta(1))},
            "eggs were set on 2027-03-02, before the last was collected",
        ),
    ],
)
def test_what_contradicts_itself(told: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        check_told(Told(**{"pen": "2", **told}))


FORM = """\
Pen,hen,Set,collected from,collected to,eggs,hatched,Bands,Sex,Status,P,notes
2,,2027-03-02,2027-02-23,2027-03-01,20,15,C1..C4,,,"8 pea, 7 single",lively
2,,2027-03-02,,,,,C3,m,died,single,
2,,2027-03-02,,,,,C9,f,,pea,
T,H7,2027-03-02,,,5,3,,,,,
"""


def form(path: Path, text: str, settings: Settings = SETTINGS) -> tuple[Told, ...]:
    file = path / "spring.csv"
    file.write_text(text, encoding="utf-8")
    return read_form(file, settings, {"P", "O"})


def test_a_form_is_read(tmp_path: Path) -> None:
    first, second = form(tmp_path, FORM)
    assert (first.pen, first.set_on, first.eggs, first.hatched) == ("2", DAY, 20, 15)
    assert first.collected == (dt.date(2027, 2, 23), dt.date(2027, 3, 1))
    assert first.whole("P") == Counter(pea=8, single=7)
    assert first.not_by_band("P") == Counter(pea=7, single=6)
    assert [(c.band, c.sex, c.status, dict(c.seen)) for c in first.chicks] == [
        ("C1", None, Status.YOUNG, {}),
        ("C2", None, Status.YOUNG, {}),
        ("C3", Sex.COCK, Status.DEAD, {"P": "single"}),
        ("C4", None, Status.YOUNG, {}),
        ("C9", Sex.HEN, Status.YOUNG, {"P": "pea"}),
    ]
    assert (second.pen, second.dam, second.eggs, second.row) == ("T", "H7", 5, 5)


def test_a_form_in_a_workbook_is_read(tmp_path: Path) -> None:
    rows: list[list[object]] = [["pen", "set_on", "eggs"], ["2", "2027-03-02", 20]]
    file = tmp_path / "spring.xlsx"
    file.write_bytes(xlsx({"hatch": rows}))
    assert read_form(file, SETTINGS, set())[0].eggs == 20


def faults(path: Path, text: str) -> list[Fault]:
    with pytest.raises(InputError) as caught:
        form(path, text)
    return list(caught.value.faults)


@pytest.mark.parametrize(
    ("rows", "row", "column", "says"),
    [
        ("2,,soon,,,20,,,,,,", 2, "Set", "not a date"),
        (",,2027-03-02,,,20,,,,,,", 2, "Pen", "says nothing"),
        ("2,,2027-03-02,2027-02-23,,20,,,,,,", 2, "collected from", "one end"),
        ("2,,2027-03-02,,,20,9,C4..C1,,,,", 2, "Bands", "goes backwards"),
        ("2,,2027-03-02,,,20,9,C1..C4,,spare,,", 2, "Status", "young, dead, culled or sold"),
        ("2,,2027-03-02,,,20,9,,,,pea,", 2, "P", "each class needs its number"),
        ('2,,2027-03-02,,,,,C1..C4,,,"3 pea, 4 single",', 2, "P", "the row has bands (4)"),
        ("2,,2027-03-02,,,9,9,,,,9 pea,\n2,,2027-03-02,,,,,,,,1 pea,", 3, "P", "row 2 counts the"),
        ("2,,2027-03-02,,,20,,,,,,\n2,,2027-03-02,,,21,,,,,,", 3, "eggs", "row 2 says 20"),
        ("2,,2027-03-02,,,9,9,C1,m,,,\n2,,2027-03-02,,,,,C1,f,,,", 3, "Sex", "row 2 says"),
        ("2,,2027-03-02,,,9,9,C1,,,pea,\n2,,2027-03-02,,,,,C1,,,single,", 3, "P", "row 2 says"),
    ],
)
def test_faults_of_a_form_have_their_place(
    tmp_path: Path, rows: str, row: int, column: str, says: str
) -> None:
    header = FORM.splitlines()[0]
    found = faults(tmp_path, f"{header}\n{rows}\n")
    places = [(one.file, one.row, one.column) for one in found if says in one.problem]
    assert places == [("spring.csv", row, column)]


def test_a_column_nobody_reads_is_refused_and_an_empty_form_too(tmp_path: Path) -> None:
    (found,) = faults(tmp_path, "pen,set_on,eggs,weight\n2,2027-03-02,4,35\n")
    assert (found.row, found.column) == (1, "weight")
    (found,) = faults(tmp_path, "pen,set_on,eggs\n")
    assert found.kind == "no-rows"
    assert faults(tmp_path, "a,b\n1,2\n")[0].kind == "no-header"


def test_a_form_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no file"):
        read_form(tmp_path / "none.csv", SETTINGS, set())
    (tmp_path / "note.txt").write_text("pen")
    with pytest.raises(UsageError, match="is not a table"):
        read_form(tmp_path / "note.txt", SETTINGS, set())


def test_a_refusal_of_a_form_names_its_row() -> None:
    told = Told(pen="2", eggs=1, hatched=2, file="spring.csv", row=4, columns={"hatched": "Chicks"})
    with pytest.raises(InputError) as caught:
        check_told(told)
    (found,) = caught.value.faults
    assert (found.file, found.row, found.column, found.value) == ("spring.csv", 4, "Chicks", "2")


def test_rows_of_bands_add_up_and_no_count_is_lost(tmp_path: Path) -> None:
    rows = (
        "2,,2027-03-02,,,20,16,,,,,",
        "2,,2027-03-02,,,,,C1..C4,m,,4 pea,",
        "2,,2027-03-02,,,,,C5..C8,f,,pea,",
        '2,,2027-03-02,,,,,C9..C12,m,,"1 pea, 3 single",',
        "2,,2027-03-02,,,,,C13,f,,single,",
    )
    path = tmp_path / "form.csv"
    path.write_text("\n".join((FORM.splitlines()[0], *rows, "")), encoding="utf-8")
    (told,) = read_form(path, SETTINGS, {"P"})
    assert told.by_band("P") == {"pea": 8, "single": 1}
    assert told.whole("P") == {"pea": 9, "single": 4}
    assert told.not_by_band("P") == {"pea": 1, "single": 3}


def test_a_class_counted_by_two_options_is_refused() -> None:
    words = Asked(pen="2", seen=["P:pea=9,single=2", "P:pea=3"])
    with pytest.raises(UsageError, match="P:pea is counted as 9 and as 3"):
        told_of(words, SETTINGS)


@pytest.mark.parametrize("year", [2025, 2028])
def test_a_set_of_another_year_is_a_slip(tmp_path: Path, year: int) -> None:
    folder = flock(tmp_path)
    with pytest.raises(UsageError, match=r"the season of this folder is 2027\. Mend the year"):
        hatched(folder, told_of_hatch(set_on=SET.replace(year=year)))


def test_eggs_are_not_kept_for_a_year() -> None:
    days = (dt.date(2027, 2, 1), dt.date(2027, 3, 1))
    check_told(Told(pen="2", set_on=dt.date(2027, 3, 1), collected=days, eggs=9))
    slip = (dt.date(2026, 2, 23), dt.date(2027, 3, 1))
    with pytest.raises(UsageError, match="the first eggs would be 372 days old when set on"):
        check_told(Told(pen="2", set_on=DAY, collected=slip, eggs=9))
