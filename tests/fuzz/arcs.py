"""Which steps from line to line of the readers an input goes through, measured cheaply."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

import matchmaker

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import CodeType, FrameType
    from typing import Any, TypeAlias

    Tracer: TypeAlias = Callable[["FrameType", str, Any], Any]

PACKAGE: Final = Path(matchmaker.__file__).parent
ROOMS: Final = ("tables", "intake", "settings.py", "scheme_settings.py", "section.py")
FILES: Final = frozenset(
    {
        "closing/settings_text.py",
        "report/given_documents.py",
        *(f"hatch/{name}.py" for name in ("asked", "bands", "form", "form_looks", "seen_text")),
    }
)
WRITERS: Final = (*("disk", "history", "lock", "pen_up", "render", "undo", "unfinished", "write"),)
"""Modules of the tables that read nothing."""

QUIET: Final = 40
"""A function all of whose lines were seen, and that showed no new step so often, is followed only
once in ``SELDOM`` calls."""

SELDOM: Final = 64


@dataclass(slots=True)
class Arcs:
    """The steps seen so far; each is a code object with the line before and the line after."""

    seen: set[tuple[CodeType, int, int]] = field(default_factory=set)
    _within: dict[CodeType, bool] = field(default_factory=dict)
    _quiet: dict[CodeType, int] = field(default_factory=dict)
    _unseen: dict[CodeType, set[int]] = field(default_factory=dict)
    _new: int = 0

    def measured(self, call: Callable[[], None]) -> int:
        """Run a function; return how many steps were seen for the first time."""
        self._new = 0
        before = sys.gettrace()
        sys.settrace(self._called)
        try:
            call()
        finally:
            sys.settrace(before)
        return self._new

    def lines(self) -> dict[str, set[int]]:
        """Return the lines reached, by file."""
        found: dict[str, set[int]] = {}
        for code, _, line in self.seen:
            found.setdefault(code.co_filename, set()).add(line)
        return found

    def _called(self, frame: FrameType, _event: str, _argument: object) -> Tracer | None:
        code = frame.f_code
        within = self._within.get(code)
        if within is None:
            within = self._within[code] = in_readers(code.co_filename)
        if not within:
            return None
        quiet = self._quiet[code] = self._quiet.get(code, 0) + 1
        if code not in self._unseen:
            self._unseen[code] = {line for *_, line in code.co_lines() if line is not None}
            self._unseen[code].discard(code.co_firstlineno)
        if quiet > QUIET and quiet % SELDOM and not self._unseen[code]:
            return None
        return self._follow(code, frame.f_lineno)

    def _follow(self, code: CodeType, first: int) -> Tracer:
        before = first
        seen = self.seen

        def step(frame: FrameType, event: str, _argument: object) -> Tracer:
            nonlocal before
            if event == "line":
                arc = (code, before, frame.f_lineno)
                before = frame.f_lineno
                if arc not in seen:
                    seen.add(arc)
                    self._new += 1
                    self._quiet[code] = 0
                    self._unseen[code].discard(frame.f_lineno)
            return step

        return step


def in_readers(file: str) -> bool:
    """Whether a file belongs to what is looked at."""
    path = Path(file)
    if PACKAGE not in path.parents:
        return False
    inside = path.relative_to(PACKAGE)
    if inside.parts[0] == "tables" and path.stem.startswith(WRITERS):
        return False
    return inside.parts[0] in ROOMS or inside.as_posix() in FILES


def lines_of(file: Path) -> set[int]:
    """Return the lines of the functions of a module that can be run."""
    module = compile(file.read_text(encoding="utf-8"), str(file), "exec")
    return set(_lines_inside(module))


def _lines_inside(code: CodeType) -> Iterator[int]:
    for inner in code.co_consts:
        if hasattr(inner, "co_lines"):
            if inner.co_name[0] != "<" and inner.co_flags & 0x2:  # functions, not bodies of classes
                told = (line for *_, line in inner.co_lines() if line is not None)
                yield from (line for line in told if line != inner.co_firstlineno)
            yield from _lines_inside(inner)
