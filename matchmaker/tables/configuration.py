"""``matchmaker.toml``: checked settings, or every fault with its line, in plain words."""

from __future__ import annotations

import re
import tomllib
import typing
from dataclasses import dataclass, field
from typing import Any, Final

import pydantic

from matchmaker.errors import Fault
from matchmaker.settings import Settings
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.reading import Hints
from matchmaker.tables.refused_settings import refused_settings, unusable_values
from matchmaker.tables.toml_lines import key_lines

if typing.TYPE_CHECKING:
    from collections.abc import Mapping


EXAMPLE: Final = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}'
"""The smallest configuration, shown where there is none."""

DEPTH_MAX: Final = 20
"""So many brackets and dots in one another; the settings themselves have five."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Configuration:
    """What the configuration file says; ``hints`` are read from it even where it has faults.

    Of a file that is not ``readable`` nothing is known, not even how dates are written.
    """

    settings: Settings | None = None
    faults: tuple[Fault, ...] = ()
    key_rows: Mapping[str, int] = field(default_factory=dict)
    hints: Hints = field(default_factory=Hints)
    readable: bool = True


SIZE_MAX: Final = 200_000
"""Letters; the settings of a flock with every key there is are a hundredth of this."""

_DEEP: Final = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){30}"""
)
"""A name of so many parts that reading it takes minutes; no key has more than four."""


def missing_configuration() -> Configuration:
    """Return the fault of a folder without a configuration."""
    fault = Fault(
        kind="no-configuration",
        file=SETTINGS_FILE,
        problem="the folder has no matchmaker.toml",
        mend=f"write one, for example with these three lines:\n{EXAMPLE}",
    )
    return Configuration(faults=(fault,))


def read_configuration(content: bytes) -> Configuration:
    """Return the settings in a configuration file, or all that is wrong with it."""
    try:
        text = content.decode("utf-8-sig")
        if (refused := _beyond_reason(text)) is not None:
            return refused
        raw = _shallow(tomllib.loads(text))
    except UnicodeDecodeError:
        return _not_read(None, "the file is not UTF-8 text", "save it again as UTF-8")
    except tomllib.TOMLDecodeError as error:
        return _syntax(str(error))
    except (RecursionError, ValueError) as error:
        return _not_read(None, _beyond_the_reader(error), "mend the file")
    rows = key_lines(text)
    faults = [*unusable_values(raw, rows)]
    settings = None
    try:
        settings = Settings.model_validate(raw)
    except pydantic.ValidationError as error:
        told = {fault.column for fault in faults}
        faults += [
            fault for fault in refused_settings(error, raw, rows) if fault.column not in told
        ]
    return Configuration(
        settings=None if faults else settings,
        faults=tuple(faults),
        key_rows=rows,
        hints=_hints(raw),
    )


def _beyond_the_reader(error: RecursionError | ValueError) -> str:
    """Why the reader of settings gave up on a text that is no plain slip of the pen."""
    deep = isinstance(error, RecursionError)
    return f"{'brackets are nested too deep' if deep else 'a number has thousands of digits'} in it"


def _shallow(raw: dict[str, Any]) -> dict[str, Any]:
    """Refuse values that stand in one another more often than ``DEPTH_MAX`` times.

    Raises
    ------
    RecursionError
        If they do, as the reader does where there are still more.
    """
    level: list[object] = [raw]
    for _ in range(DEPTH_MAX):
        tables = [one for one in level if isinstance(one, dict)]
        lists = [one for one in level if isinstance(one, list)]
        level = [inner for table in tables for inner in table.values()]
        level += [inner for listed in lists for inner in listed]
    if level:
        raise RecursionError
    return raw


def _beyond_reason(text: str) -> Configuration | None:
    """Refuse what would take minutes to read, and is no flock's settings."""
    if len(text) > SIZE_MAX:
        problem = f"the file is longer than {SIZE_MAX // 1000},000 letters"
        return _not_read(None, problem, "keep only the settings in it")
    deep = _DEEP.search(text)
    if deep is None:
        return None
    row = text.count("\n", 0, deep.start()) + 1
    return _not_read(row, "a name has far too many parts, with dots between", "mend the name")


def _not_read(row: int | None, problem: str, mend: str) -> Configuration:
    fault = Fault(kind="unreadable-file", file=SETTINGS_FILE, row=row, problem=problem, mend=mend)
    return Configuration(faults=(fault,), readable=False)


def _syntax(message: str) -> Configuration:
    at = re.search(r"\(at line (\d+), column \d+\)", message)
    what = re.sub(r"\s*\(at .*\)$", "", message)
    return _not_read(
        int(at[1]) if at else None,
        f"the file cannot be read here: {what[:1].lower()}{what[1:]}",
        'each line is a key, = and a value; words stand in "quotation marks", and so do names with '
        'blanks or other signs in a heading: [traits."Egg weight"]',
    )


def _hints(raw: Mapping[str, Any]) -> Hints:
    """Return what is needed to read the tables, from what is usable in the configuration."""
    season, dates = raw.get("season"), raw.get("dates")
    traits = _mapping(raw.get("traits"))
    units = {name: str(_mapping(trait).get("unit", "")) for name, trait in traits.items()}
    return Hints(
        dates=dates if dates in ("iso", "day-first", "month-first") else "iso",
        season=season if isinstance(season, int) and 1900 <= season <= 2200 else None,
        loci=frozenset({*_mapping(raw.get("target")), *_mapping(raw.get("loci"))}),
        units=units,
    )


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}
