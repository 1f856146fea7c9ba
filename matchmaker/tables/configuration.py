"""``matchmaker.toml``: checked settings, or every fault with its line, in plain words."""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
import types
import typing
from dataclasses import dataclass, field
from typing import Any, Final

import pydantic

from matchmaker.errors import Fault
from matchmaker.section import Section, SettingError
from matchmaker.settings import Settings
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.reading import Hints
from matchmaker.tables.toml_lines import key_lines, line_of
from matchmaker.tables.toml_names import counted

if typing.TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic_core import ErrorDetails

EXAMPLE: Final = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}'
"""The smallest configuration, shown where there is none."""

DEPTH_MAX: Final = 20
"""So many brackets and dots in one another; the settings themselves have five."""

Loc = tuple[str | int, ...]


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
    faults = [*_unusable_numbers(raw, rows)]
    settings = None
    try:
        settings = Settings.model_validate(raw)
    except pydantic.ValidationError as error:
        told = {fault.column for fault in faults}
        faults += [fault for fault in _faults_of(error, raw, rows) if fault.column not in told]
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


def _unusable_numbers(raw: object, rows: Mapping[str, int], at: Loc = ()) -> Iterator[Fault]:
    """Tell of values the models would accept in a sense that is not meant."""
    if isinstance(raw, dict | list):
        items = raw.items() if isinstance(raw, dict) else enumerate(raw)
        for key, value in items:
            yield from _unusable_numbers(value, rows, (*at, key))
    elif isinstance(raw, int) and abs(raw) > NUMBER_MAX:
        yield _fault(at, rows, "bad-setting", "", ("the number is too large", "write a number"))
    elif isinstance(raw, float) and not math.isfinite(raw):
        yield _fault(at, rows, "bad-setting", raw, ("this is not a number", "write a number"))
    elif at and at[-1] in _DATES and not isinstance(raw, dt.date | str):
        yield _fault(at, rows, "bad-setting", raw, _WORDS["date"])
    elif isinstance(raw, bool) and at not in _YES_NO:
        yield _fault(at, rows, "bad-setting", raw, ("yes or no has no sense here", _NO_BOOL))


NUMBER_MAX: Final = 2**63
"""The largest whole number of TOML 1.0; a larger one cannot even be shown in figures."""

_DATES: Final = ("today", "pen_up", "collect_from", "collect_until")
_NO_BOOL: Final = "write the value the key asks for"
_YES_NO: Final[tuple[Loc, ...]] = (("rotation", "open"),)


def _faults_of(
    error: pydantic.ValidationError, raw: Mapping[str, Any], rows: Mapping[str, int]
) -> Iterator[Fault]:
    """One fault for each key, although a key that takes several forms is refused once by each."""
    by_key: dict[Loc, list[ErrorDetails]] = {}
    for detail in error.errors(include_url=False):
        by_key.setdefault(_written(detail, raw), []).append(detail)
    for at, details in by_key.items():
        first = details[0]
        kind = _KINDS.get(first["type"], "bad-setting")
        value = "" if kind == "missing-setting" else first["input"]
        if first["type"] == "extra_forbidden":
            words = _unknown_key(at)
        elif kind == "missing-setting":
            words = (f"{at[-1]} is not given", f"write a line {at[-1]} = ...")
        else:
            words = _joined([_words(detail, at) for detail in _telling(details)])
        refusal = first.get("ctx", {}).get("error")
        if isinstance(refusal, SettingError) and isinstance(value, dict):
            yield _fault((*at, refusal.key), rows, kind, value[refusal.key], words)
        else:
            yield _fault(at, rows, kind, value, words)


def _telling(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Refusals that tell something: a number is refused as a number, not as none of the words."""
    if isinstance(details[0]["input"], int | float):
        return [one for one in details if one["type"] != "literal_error"] or details
    return details


_KINDS: Final = {"extra_forbidden": "unknown-setting", "missing": "missing-setting"}


def _written(detail: ErrorDetails, raw: Mapping[str, Any]) -> Loc:
    """Return the key as written, without the names of alternatives that the models add."""
    at: list[str | int] = []
    value: Any = raw
    for step in detail["loc"]:
        inside = isinstance(value, dict) and step in value
        listed = isinstance(value, list) and isinstance(step, int) and step < len(value)
        if not inside and not listed:
            return (*at, step) if detail["type"] == "missing" else tuple(at)
        at.append(step)
        value = value[step]
    return tuple(at)


def _fault(
    at: Loc, rows: Mapping[str, int], kind: str, value: object, words: tuple[str, str]
) -> Fault:
    key = ".".join(str(step) for step in at)
    return Fault(
        kind=kind,
        file=SETTINGS_FILE,
        row=line_of(key, rows),
        column=counted(key) or None,
        value=_shown(value),
        problem=words[0],
        mend=words[1],
    )


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) > NUMBER_MAX:
        return "a number of many digits"
    if isinstance(value, dict):
        return ", ".join(f"{key} = {_shown(inner)}" for key, inner in value.items())[:80]
    if isinstance(value, list):
        return ", ".join(map(_shown, value))[:80] or "[]"
    return str(value)[:80]


_WORDS: Final[Mapping[str, tuple[str, str]]] = {
    "string": ("a word is wanted here", 'write a word in "quotation marks"'),
    "int": ("a whole number is wanted here", "write a whole number without quotation marks"),
    "float": ("a number is wanted here", "write a number with a decimal point"),
    "date": ("a date is wanted here", "write a date as year-month-day, for example 2027-02-01"),
    "bool": ("yes or no is wanted here", "write true or false, without quotation marks"),
    "dict": ("a group of keys is wanted here", "write its keys under a line in [brackets]"),
    "model": ("a group of keys is wanted here", "write its keys under a line in [brackets]"),
    "tuple": ("a list is wanted here", "write a list in [brackets]"),
}


def _words(detail: ErrorDetails, at: Loc) -> tuple[str, str]:
    """Return problem and mend in the keeper's words."""
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "literal_error":
        allowed = str(context["expected"]).replace("'", '"')
        return "the word is not one of those allowed", f"write {allowed}"
    if kind == "value_error":
        error = context["error"]
        return str(error), error.mend if isinstance(error, SettingError) else "mend the value"
    limit = next((_LIMITS[key].format(n) for key, n in context.items() if key in _LIMITS), None)
    if limit:
        hint = _HINTS.get((str(at[-1]), kind), "")
        return f"the value must be {limit}", f"write a value that is {limit}{hint}"
    if kind == "too_short":
        return "nothing is listed", "list at least one"
    return _WORDS.get(kind.partition("_")[0], ("the value cannot be used", "mend the value"))


_LIMITS: Final = {"ge": "at least {}", "le": "at most {}", "gt": "above {}", "lt": "below {}"}


_HINTS: Final[Mapping[tuple[str, str], str]] = {
    ("h2", "less_than_equal"): ": 30 % is written 0.3",
    ("repeatability", "less_than_equal"): ": 30 % is written 0.3",
    ("weight", "greater_than_equal"): ': direction = "down" lets it fall',
}
"""What is most likely meant by a number out of bounds, by key and kind of refusal."""


def _joined(words: list[tuple[str, str]]) -> tuple[str, str]:
    problems = dict.fromkeys(problem for problem, _ in words)
    mends = dict.fromkeys(mend for _, mend in words)
    return ", and ".join(problems), ", or ".join(mends)


def _unknown_key(at: Loc) -> tuple[str, str]:
    key = str(at[-1])
    known = _keys_of(_section_at(at[:-1]))
    near = close_matches(key, known)
    if near:
        return f"there is no key {key}", f"did you mean {near[0]}?"
    return f"there is no key {key}", f"the keys here are {', '.join(known)}"


def _keys_of(section: type[Section]) -> list[str]:
    return [info.alias or name for name, info in section.model_fields.items()]


def _section_at(at: Loc) -> type[Section]:
    """Return the model that stands at a place of the file."""
    section: type[Section] = Settings
    for step in at:
        fields = {info.alias or name: info for name, info in section.model_fields.items()}
        if step in fields:
            section = next(_sections_in(fields[str(step)].annotation), section)
    return section


def _sections_in(annotation: object) -> Iterator[type[Section]]:
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        if issubclass(annotation, Section):
            yield annotation
        return
    for inner in typing.get_args(annotation):
        yield from _sections_in(inner)
