"""The calendar file: read back by a library, and checked line by line against RFC 5545."""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

import pytest
from icalendar import Calendar

from matchmaker.report.calendar import calendar_text, event_name
from matchmaker.report.season_dates import due_words
from matchmaker.season.dates import Task
from tests.season_flocks import guide_of, small_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.guide import SeasonGuide


@pytest.fixture(scope="module")
def guide(tmp_path_factory: pytest.TempPathFactory) -> SeasonGuide:
    return guide_of(small_flock(tmp_path_factory.mktemp("calendar"), pen="Top, by; the \\ gate"))


def events(text: str) -> list[dict[str, str]]:
    """Properties of each event by name, unfolded and unescaped: an own plain reader."""
    found: list[dict[str, str]] = []
    for line in re.sub(r"\r\n[ \t]", "", text).split("\r\n"):
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and not line.startswith(("BEGIN", "END")):
            found[-1][name] = re.sub(
                r"\\(.)", lambda match: "\n" if match[1] in "nN" else match[1], value
            )
    return found


def test_every_line_is_as_the_standard_asks(guide: SeasonGuide) -> None:
    """RFC 5545, 3.1 and 3.4: lines end in CRLF, none is longer than 75 octets."""
    text = calendar_text(guide)
    assert text.endswith("END:VCALENDAR\r\n")
    assert text.count("\n") == text.count("\r\n") == text.count("\r")
    lines = text.encode().split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert any(line.startswith(b" ") for line in lines)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert {b"VERSION:2.0", b"CALSCALE:GREGORIAN"} <= set(lines)
    assert sum(line.startswith(b"PRODID:") for line in lines) == 1
    content = re.compile(rb"[A-Z-]+(;[A-Z-]+=[^;:]+)*:.*| .*")
    assert all(content.fullmatch(line) for line in lines if line)


def test_begins_and_ends_match(guide: SeasonGuide) -> None:
    opened: list[str] = []
    for line in calendar_text(guide).split("\r\n"):
        if line.startswith("BEGIN:"):
            opened.append(line[6:])
        elif line.startswith("END:"):
            assert opened.pop() == line[4:]
    assert opened == []


def test_every_event_has_what_the_standard_requires_once(guide: SeasonGuide) -> None:
    """RFC 5545, 3.6.1: UID and DTSTAMP (in UTC); DTEND is the day after a whole day."""
    found = events(calendar_text(guide))
    assert len(found) == len(guide.dates)
    names = [one["UID"] for one in found]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[0-9a-f]{32}@matchmaker\.invalid", name) for name in names)
    for one in found:
        assert one["DTSTAMP"] == "20270120T000000Z"
        first, last = (
            dt.datetime.strptime(one[f"{key};VALUE=DATE"], "%Y%m%d").replace(tzinfo=dt.UTC)
            for key in ("DTSTART", "DTEND")
        )
        assert last - first == dt.timedelta(days=1)
        assert one["TRANSP"] == "TRANSPARENT"


def test_a_library_reads_back_what_was_meant(guide: SeasonGuide) -> None:
    """The icalendar package as reference reader."""
    read = Calendar.from_ical(calendar_text(guide))
    days = sorted((one.decoded("dtstart"), str(one["uid"])) for one in read.walk("VEVENT"))
    assert days == sorted((due.day, event_name(due, guide)) for due in guide.dates)


def test_commas_semicolons_and_backslashes_survive(guide: SeasonGuide) -> None:
    text = calendar_text(guide)
    assert r"Top\, by\; the \\ gate" in re.sub(r"\r\n ", "", text)
    summaries = {one["SUMMARY"] for one in events(text)}
    (up,) = [due for due in guide.dates if due.task is Task.PEN_UP]
    assert f"{due_words(up, guide.table)} (pens Top, by; the \\ gate, Yard)" in summaries
    read = Calendar.from_ical(text)
    assert summaries == {str(one["summary"]) for one in read.walk("VEVENT")}


def test_the_same_books_give_the_same_file(guide: SeasonGuide, tmp_path: Path) -> None:
    again = guide_of(small_flock(tmp_path, pen="Top, by; the \\ gate"))
    assert calendar_text(again) == calendar_text(guide)


def test_an_event_keeps_its_name_when_its_day_moves(tmp_path: Path) -> None:
    """So a calendar that reads the newer file moves it instead of showing it twice."""
    early = guide_of(small_flock(tmp_path / "a"))
    late = guide_of(small_flock(tmp_path / "b", pen_up="2027-02-08", today="2027-01-27"))
    one, other = events(calendar_text(early)), events(calendar_text(late))
    days = [{event["UID"]: event["DTSTART;VALUE=DATE"] for event in all_} for all_ in (one, other)]
    shared = days[0].keys() & days[1].keys()
    assert len(shared) > 20
    assert sum(days[0][name] != days[1][name] for name in shared) > 20
    assert int(other[0]["SEQUENCE"]) == int(one[0]["SEQUENCE"]) + 7


def test_another_season_has_other_names(tmp_path: Path) -> None:
    one = guide_of(small_flock(tmp_path / "a"))
    other = guide_of(small_flock(tmp_path / "b", breed="hamburgh"))
    names = [{event_name(due, guide) for due in guide.dates} for guide in (one, other)]
    assert not names[0] & names[1]
