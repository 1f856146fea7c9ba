"""Ctrl-C ends the program at once and says so, even while a solver runs.

A command that has something worth keeping asks to be stopped gently first: then the first Ctrl-C
only tells it so, and the second ends the program.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from typing import TYPE_CHECKING

from matchmaker.cli.streams import note

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import TypeVar

    Word = TypeVar("Word", bound=Callable[[], str])

_last_words: list[Callable[[], str]] = []
_gentle: list[Callable[[], None]] = []
_whole = threading.Lock()
"""Held while several files are written: they are all written, or none, before the program ends."""


def end_on_interrupt() -> None:
    """Wait for Ctrl-C in a thread of its own and then end with code 130.

    A signal that waits for the main thread would come after a solve, however long, and libraries
    that catch everything while they are imported would swallow it. Nothing is lost: files are
    written whole or not at all.
    """
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        threading.Thread(target=_wait_and_end, daemon=True).start()


@contextlib.contextmanager
def stopped_gently(stop: Callable[[], None]) -> Iterator[None]:
    """Within this block the first Ctrl-C calls ``stop``; another one ends the program."""
    _gentle.append(stop)
    try:
        yield
    finally:
        if stop in _gentle:
            _gentle.remove(stop)


@contextlib.contextmanager
def last_word(word: Word) -> Iterator[Word]:
    """Within this block Ctrl-C also says what ``word`` returns: how far a long work was."""
    _last_words.append(word)
    try:
        yield word
    except KeyboardInterrupt:
        note(word())
        raise
    finally:
        _last_words.remove(word)


@contextlib.contextmanager
def written_whole() -> Iterator[None]:
    """Within this block Ctrl-C waits for its end: files that belong together are being written."""
    with _whole:
        yield


def _wait_and_end() -> None:
    signal.sigwait({signal.SIGINT})
    if _gentle:
        for stop in reversed(_gentle):
            stop()
        note("Stopping: the best plan found so far follows. Ctrl-C again ends at once.")
        sys.stderr.flush()
        signal.sigwait({signal.SIGINT})
    with _whole:
        if _last_words and sys.stderr.isatty():
            sys.stderr.write("\n")  # what is shown of the progress stays as it is
        for word in _last_words:
            note(word())
        note("Interrupted.")
        sys.stderr.flush()
        os._exit(130)
