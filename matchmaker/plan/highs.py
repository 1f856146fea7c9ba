"""HiGHS, or ``None`` where it is not installed: CBC then stands in."""

from __future__ import annotations

import importlib
from typing import Any

highspy: Any
try:
    highspy = importlib.import_module("highspy")
except ImportError:
    highspy = None


def one_thread_again() -> None:
    """Forget the threads of whatever solved before in this process: one thread is asked for.

    HiGHS keeps one scheduler for the whole process and stops unsolved where another model was run
    with another number of threads.
    """
    if highspy is not None:
        highspy.Highs.resetGlobalScheduler(True)  # noqa: FBT003  (the library takes it by position)
