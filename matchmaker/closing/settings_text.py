"""The settings of the next season: the same text with its season and its dates moved on."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from typing import TYPE_CHECKING, Any, Final

from matchmaker.closing.change import Change, Step
from matchmaker.errors import UsageError
from matchmaker.tables.dates import years_on
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.toml_lines import key_lines, line_of

if TYPE_CHECKING:
    from collections.abc import Iterator

DATED: Final = ("pen_up", "collect_from", "collect_until")
"""Keys of ``[year]`` that are days of the season."""

_VALUE: Final = re.compile(r"^(?P<key>[^=]*=\s*)(?P<value>[^#]*?)(?P<rest>\s*(?:#.*)?)$")


def next_settings(text: str) -> tuple[str, tuple[Change, ...]]:
    r"""Return the text of ``matchmaker.toml`` for the next season, and what was changed in it.

    The season is counted on; the days of ``[year]`` move a year on; ``today`` is taken out, as it
    would hold the new season in the old year, and so is ``rotation.open``, which decides for one
    season only. Comments and everything else stay as they are.

    Raises
    ------
    UsageError
        If one of these keys does not stand on a line of its own.

    Examples
    --------
    >>> print(next_settings("season = 2027 # fourth\n[year]\npen_up = 2027-02-01\n")[0], end="")
    season = 2028 # fourth
    [year]
    pen_up = 2028-02-01
    """
    raw = tomllib.loads(text)
    changes = tuple(_changes(raw, key_lines(text)))
    lines = text.split("\n")
    for change in changes:
        at = (change.row or 1) - 1
        lines[at] = _rewritten(lines[at], change)
    dropped = {(change.row or 1) - 1 for change in changes if not change.new}
    done = "\n".join(line for at, line in enumerate(lines) if at not in dropped)
    _refuse_unlike(done, raw, changes)
    return done, changes


def _changes(raw: dict[str, Any], rows: dict[str, int]) -> Iterator[Change]:
    yield _change(Step.SEASON, "season", rows, raw["season"], raw["season"] + 1)
    if "today" in raw:
        yield _change(Step.TODAY, "today", rows, raw["today"], None)
    for key in DATED:
        day = raw.get("year", {}).get(key)
        if isinstance(day, dt.date):
            yield _change(Step.YEAR_ON, f"year.{key}", rows, day, years_on(day, 1))
        elif isinstance(day, str):
            written = dt.date.fromisoformat(day)
            new = f'"{years_on(written, 1)}"'
            yield _change(Step.YEAR_ON, f"year.{key}", rows, f'"{day}"', new)
    if "open" in (raw.get("rotation") or {}):
        is_open = "true" if raw["rotation"]["open"] else "false"
        yield _change(Step.ROTATION, "rotation.open", rows, is_open, None)


def _change(step: Step, key: str, rows: dict[str, int], old: object, new: object) -> Change:
    return Change(
        step=step,
        file=SETTINGS_FILE,
        row=line_of(key, rows),
        subject=key,
        old=str(old),
        new="" if new is None else str(new),
    )


def _rewritten(line: str, change: Change) -> str:
    ended = "\r" if line.endswith("\r") else ""
    found = _VALUE.match(line.removesuffix("\r"))
    if found is None or not change.new:
        return line
    return f"{found['key']}{change.new}{found['rest']}{ended}"


def _refuse_unlike(text: str, raw: dict[str, Any], changes: tuple[Change, ...]) -> None:
    """Let nothing but the named keys be changed: a text that says anything else is not written."""
    wanted = {key: dict(value) if isinstance(value, dict) else value for key, value in raw.items()}
    for change in changes:
        section, _, key = change.subject.rpartition(".")
        table = wanted[section] if section else wanted
        table.pop(key)
        if change.new:
            table[key] = tomllib.loads(f"x = {change.new}")["x"]
    try:
        same = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        keys = ", ".join(change.subject for change in changes)
        raise UsageError(
            f"{SETTINGS_FILE} cannot be moved on to the next season: write each of {keys} on a "
            "line of its own"
        )
