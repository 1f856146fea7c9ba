"""A season's dates as a calendar file that other programs read (iCalendar, RFC 5545)."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING, Final

from icalendar import Calendar, Event

from matchmaker import __version__
from matchmaker.report.season_dates import due_reason, due_words, pens_words

if TYPE_CHECKING:
    from matchmaker.season.dates import Due
    from matchmaker.season.guide import SeasonGuide

DOMAIN: Final = "matchmaker.invalid"
"""Right of the @ of an event's name: a domain that is nobody's (RFC 2606)."""


def calendar_text(guide: SeasonGuide) -> str:
    """The dates as whole-day events, lines ended and folded as the standard asks.

    An event keeps its name (UID) when its day moves, so that a calendar which reads a newer file
    moves it. Its stamp is the flock's own today and its sequence number rises with that, so the
    same books always give the same file.
    """
    flock = guide.table.study.flock
    calendar = Calendar()
    calendar.add("prodid", f"-//matchmaker//season {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", f"Breeding season {flock.settings.season}")
    for due in guide.dates:
        calendar.add_component(_event(due, guide))
    text: str = calendar.to_ical().decode("utf-8")
    return text


def _event(due: Due, guide: SeasonGuide) -> Event:
    settings = guide.table.study.flock.settings
    today = guide.table.study.flock.today
    event = Event()
    event.add("uid", event_name(due, guide))
    event.add("dtstamp", dt.datetime.combine(today, dt.time(), tzinfo=dt.UTC))
    event.add("sequence", max(0, (today - dt.date(settings.season - 1, 1, 1)).days))
    event.add("dtstart", due.day)
    event.add("dtend", due.day + dt.timedelta(days=1))
    text = due_words(due, guide.table)
    event.add("summary", f"{text[:1].upper()}{text[1:]}{pens_words(due.pens)}")
    reason = due_reason(due, guide.table)
    if reason:
        event.add("description", reason)
    event.add("categories", [str(due.task)])
    event.add("transp", "TRANSPARENT")
    return event


def event_name(due: Due, guide: SeasonGuide) -> str:
    """What a calendar knows an event by: of this flock's season and this task, not of its day."""
    settings = guide.table.study.flock.settings
    target = ",".join(f"{locus}={copies}" for locus, copies in sorted(settings.target.items()))
    said = "\n".join([str(settings.season), settings.recurrent, target, due.key])
    return f"{hashlib.sha256(said.encode()).hexdigest()[:32]}@{DOMAIN}"
