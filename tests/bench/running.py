"""One benchmark: its options in three scales, its rows printed as they come."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tests.bench.rows import line

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterable

    from tests.bench.rows import Row


class Scale(StrEnum):
    """How much is measured: what a few minutes allow, what the tables rest on, everything."""

    SHORT = "short"
    WHOLE = "whole"
    FULL = "full"


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """What may be chosen: a number, words, yes or no, or several by commas (a tuple).

    ``whole`` is taken unless something else is asked for, ``short`` and ``full`` with the
    scale of that name where they differ from it.
    """

    name: str
    help: str
    whole: Any
    short: Any = None
    full: Any = None

    def at(self, scale: Scale) -> Any:
        """What is taken at a scale."""
        other = {Scale.SHORT: self.short, Scale.FULL: self.full}.get(scale)
        return self.whole if other is None else other

    @property
    def told(self) -> str:
        """What it is, and what is taken where nothing is typed, at each scale if they differ.

        >>> Option(name="sizes", help="birds", whole=(20, 300), short=(5,)).told
        'birds; whole: 20,300; short: 5'
        """
        taken = {"whole": self.whole, "short": self.short, "full": self.full}
        shown = (f"{name}: {_typed(one)}" for name, one in taken.items() if one is not None)
        return "; ".join((self.help, *shown))

    def read(self, words: str) -> Any:
        """The value of what was typed.

        >>> Option(name="sizes", help="birds", whole=(20, 300)).read("5,60")
        (5, 60)
        >>> Option(name="seconds", help="limit", whole=30.0).read("2")
        2.0
        """
        if isinstance(self.whole, tuple):
            kind = type((*self.whole, *(self.full or ()), "")[0])
            return tuple(kind(one) for one in words.split(",") if one)
        return type(self.whole)(words)


def _typed(value: Any) -> str:
    return ",".join(map(str, value)) or "none" if isinstance(value, tuple) else str(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A benchmark: what may be chosen, and the rows that are then measured."""

    rows: Callable[[Namespace], Iterable[Row]]
    options: tuple[Option, ...] = ()


ROWS_OPTION: Final = "--rows"
"""With a file: each row is added to it as a line of JSON, for whoever collects them."""


def chosen(name: str, bench: Bench, words: list[str]) -> Namespace:
    """What was asked for, by option and by scale."""
    parser = argparse.ArgumentParser(prog=f"python -m tests.bench {name}")
    scales = parser.add_mutually_exclusive_group()
    for scale in (Scale.SHORT, Scale.FULL):
        scales.add_argument(f"--{scale}", dest="scale", action="store_const", const=scale)
    parser.add_argument(ROWS_OPTION, type=Path, help="add the rows to this file, as JSON")
    for option in bench.options:
        more: dict[str, Any] = {"type": option.read}
        if isinstance(option.whole, bool):
            more = {"action": argparse.BooleanOptionalAction}
        flag = f"--{option.name.replace('_', '-')}"
        parser.add_argument(flag, dest=option.name, help=option.told.replace("%", "%%"), **more)
    found = parser.parse_args(words)
    found.scale = found.scale or Scale.WHOLE
    for option in bench.options:
        if getattr(found, option.name) is None:
            setattr(found, option.name, option.at(found.scale))
    return found


def run(name: str, bench: Bench, words: list[str]) -> None:
    """Measure, print a line a row, and write the rows down where that is asked for."""
    asked = chosen(name, bench, words)
    for row in bench.rows(asked):
        sys.stdout.write(f"{line(row)}\n")
        sys.stdout.flush()
        if asked.rows:
            with asked.rows.open("a", encoding="utf-8") as file:
                file.write(f"{json.dumps(row.as_json())}\n")
