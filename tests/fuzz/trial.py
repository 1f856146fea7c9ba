"""One input given to one reader, with an eye on the clock; and what was wrong, in one line."""

from __future__ import annotations

import re
import signal
import traceback
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.tables import parents, schema
from tests.fuzz.arcs import PACKAGE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

    from tests.fuzz.inputs import Outcome, Target


class TooSlowError(Exception):
    """The reader took more processor time than it may."""


@dataclass(frozen=True, slots=True)
class Broken:
    """What went wrong: ``what`` is alike for inputs that show the same."""

    what: str
    story: str


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Raise ``TooSlowError`` when so much processor time has gone."""

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise TooSlowError(f"more than {seconds:g} s of processor time")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def tried(target: Target, content: bytes, slack: float = 1.0) -> Outcome | Broken:
    """Return what comes of an input, or what was wrong with it."""
    try:
        with within(target.seconds * slack):
            return target.run(content)
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001  whatever there is, it is what is looked for
        return Broken(_in_short(error), "".join(traceback.format_exception(error))[-6000:])


def _in_short(error: BaseException) -> str:
    """Name the kind of error and the last place in the project that it went through."""
    if isinstance(error, AssertionError):
        words = re.sub(r"'.*'|\".*\"|\[.*\]|\d+", "_", str(error).partition(": ")[0])
        return f"{type(error).__name__}: {words[:60]}"
    steps = traceback.extract_tb(error.__traceback__)
    ours = [step for step in steps if step.filename.startswith(str(PACKAGE))]
    place = (
        f"{ours[-1].filename.removeprefix(str(PACKAGE))}:{ours[-1].name}" if ours else "no place"
    )
    return f"{type(error).__name__} in {place}"


def forget_readings() -> None:
    """Empty the readers' memories, so that an input is read anew."""
    parents.bands_in.cache_clear()
    schema.plain.cache_clear()


def smallest(target: Target, content: bytes, broken: Broken, tries: int = 400) -> bytes:
    """Return a smaller input that shows the same, as far as so many tries lead."""
    going = True
    while going and tries > 0:
        going = False
        for less in target.smaller(content):
            tries -= 1
            if tries < 0:
                break
            again = tried(target, less) if len(less) < len(content) else None
            if isinstance(again, Broken) and again.what == broken.what:
                content, going = less, True
                break
    return content
