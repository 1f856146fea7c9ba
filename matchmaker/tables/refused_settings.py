"""What is refused in ``matchmaker.toml``, key by key: its place, what is wrong, what to write."""

from __future__ import annotations

import datetime as dt
import math
import types
import typing
from typing import Any, Final

from matchmaker.errors import Fault
from matchmaker.section import Section, SettingError
from matchmaker.settings import Settings
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.toml_lines import line_of
from matchmaker.tables.toml_names import counted

if typing.TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pydantic
    from pydantic_core import ErrorDetails

Loc = tuple[str | int, ...]
"""The keys and places in lists that lead to a value."""

NUMBER_MAX: Final = 2**63
"""The largest whole number of TOML 1.0; a larger one cannot even be shown in figures."""

_DATES: Final = ("today", "pen_up", "collect_from", "collect_until")
_NO_BOOL: Final = "write the value the key asks for"
_YES_NO: Final[tuple[Loc, ...]] = (("rotation", "open"),)


def unusable_values(raw: object, rows: Mapping[str, int], at: Loc = ()) -> Iterator[Fault]:
    """Tell of values that the models would accept in a sense that is not meant.

    ``at`` is the key under which ``raw`` stands.
    """
    if isinstance(raw, dict | list):
        items = raw.items() if isinstance(raw, dict) else enumerate(raw)
        for key, value in items:
            yield from unusable_values(value, rows, (*at, key))
    elif isinstance(raw, int) and abs(raw) > NUMBER_MAX:
        yield _fault(at, rows, "bad-setting", "", ("the number is too large", "write a number"))
    elif isinstance(raw, float) and not math.isfinite(raw):
        yield _fault(at, rows, "bad-setting", raw, ("this is not a number", "write a number"))
    elif at and at[-1] in _DATES and not isinstance(raw, dt.date | str):
        yield _fault(at, rows, "bad-setting", raw, _WORDS["date"])
    elif isinstance(raw, bool) and at not in _YES_NO:
        yield _fault(at, rows, "bad-setting", raw, ("yes or no has no sense here", _NO_BOOL))


def refused_settings(
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
    told = _WORDS.get(kind.partition("_")[0], ("the value cannot be used", "mend the value"))
    return (told[0], _keys_wanted(at)) if kind.startswith("model_") else told


_LIMITS: Final = {"ge": "at least {}", "le": "at most {}", "gt": "above {}", "lt": "below {}"}


_HINTS: Final[Mapping[tuple[str, str], str]] = {
    ("h2", "less_than_equal"): ": 30 % is written 0.3",
    ("repeatability", "less_than_equal"): ": 30 % is written 0.3",
    ("weight", "greater_than_equal"): ': direction = "down" lets it fall',
}
"""What is most likely meant by a number out of bounds, by key and kind of refusal."""


def _keys_wanted(at: Loc) -> str:
    """Where the keys of a group are written, and what they are called."""
    name = ".".join(str(step) for step in at if isinstance(step, str))
    return f"write under a line [{name}] those you need of: {', '.join(_keys_of(_section_at(at)))}"


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
