"""On which line of a TOML text each key stands, which the standard reader does not tell."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

_QUOTED: Final = re.compile(r""""(?:[^"\\]|\\.)*"|'[^']*'""")
_QUOTES: Final = ('"""', "'''", '"', "'")


@dataclass(slots=True)
class _Scan:
    """Where the scanner stands: the table around it and what is still open from lines before."""

    lines: dict[str, int] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    table: str = ""
    depth: int = 0
    quote: str = ""

    @property
    def inside_value(self) -> bool:
        return self.depth > 0 or bool(self.quote)


def key_lines(text: str) -> dict[str, int]:
    r"""Return the line (from 1) of every table and key of a valid TOML text, by dotted name.

    The tables of an array are numbered from 0: ``matings.0.keep``. Keys inside an inline table
    are not listed; they stand where the key of that table stands.

    Examples
    --------
    >>> key_lines("season = 2027\n\n[lines.Alder]\nfamilies = 3\n")
    {'season': 1, 'lines': 3, 'lines.Alder': 3, 'lines.Alder.families': 4}
    """
    scan = _Scan()
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        if scan.inside_value:
            _pass_over(scan, line)
        else:
            _read_line(scan, line.strip(), number)
    return scan.lines


def line_of(key: str, lines: Mapping[str, int]) -> int | None:
    """Return the line of a dotted key, or of the nearest key around it.

    Examples
    --------
    >>> line_of("limits.kinship_max", {"season": 1, "limits": 3})
    3
    """
    while key not in lines and "." in key:
        key = key.rpartition(".")[0]
    return lines.get(key)


def _read_line(scan: _Scan, line: str, number: int) -> None:
    if line.startswith("[["):
        name = _dotted(line[2 : _end(line, "]")], scan)
        scan.counts[name] = scan.counts.get(name, -1) + 1
        _enter(scan, f"{name}.{scan.counts[name]}", number)
    elif line.startswith("["):
        _enter(scan, _dotted(line[1 : _end(line, "]")], scan), number)
    elif line and not line.startswith("#"):
        equals = _end(line, "=")
        key = _dotted(line[:equals])
        _put(scan, f"{scan.table}.{key}" if scan.table else key, number)
        _pass_over(scan, line[equals + 1 :])


def _enter(scan: _Scan, table: str, number: int) -> None:
    scan.table = table
    _put(scan, table, number)


def _put(scan: _Scan, key: str, number: int) -> None:
    parts = key.split(".")
    for end in range(1, len(parts) + 1):
        scan.lines.setdefault(".".join(parts[:end]), number)


def _dotted(written: str, scan: _Scan | None = None) -> str:
    """Return a dotted key without quotes; inside an array's table, with that table's number."""
    nested = tomllib.loads(f"{written} = 0")
    parts: list[str] = []
    while isinstance(nested, dict):
        parts, nested = [*parts, *nested], next(iter(nested.values()))
    if scan is None:
        return ".".join(parts)
    for end in range(1, len(parts)):
        head = ".".join(parts[:end])
        if head in scan.counts:
            parts[end - 1] += f".{scan.counts[head]}"
    return ".".join(parts)


def _end(line: str, stop: str) -> int:
    """Return where ``stop`` first stands outside quotes."""
    bare = _QUOTED.sub(lambda quoted: "_" * len(quoted[0]), line)
    found = bare.find(stop)
    return len(line) if found < 0 else found


def _pass_over(scan: _Scan, value: str) -> None:
    """Follow quotes and brackets through (a part of) a value, up to the end of the line."""
    at = 0
    while at < len(value):
        at = _in_quotes(scan, value, at) if scan.quote else _bare(scan, value, at)
    if len(scan.quote) == 1:
        scan.quote = ""


def _in_quotes(scan: _Scan, value: str, at: int) -> int:
    if value[at] == "\\" and '"' in scan.quote:
        return at + 2
    if value.startswith(scan.quote, at):
        at += len(scan.quote)
        scan.quote = ""
        return at
    return at + 1


def _bare(scan: _Scan, value: str, at: int) -> int:
    if value[at] == "#":
        return len(value)
    opened = next((quote for quote in _QUOTES if value.startswith(quote, at)), None)
    if opened:
        scan.quote = opened
        return at + len(opened)
    scan.depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(value[at], 0)
    return at + 1
