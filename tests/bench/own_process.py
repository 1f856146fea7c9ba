"""Run one measurement in a process of its own, so that its peak of memory is its own.

``python -m tests.bench.own_process MODULE FUNCTION ARGUMENTS`` calls a function of a module with
arguments in JSON and prints what it returns, in JSON, on the last line.
"""

from __future__ import annotations

import importlib
import json
import os
import subprocess
import sys
from typing import TYPE_CHECKING, ParamSpec, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

    Given = ParamSpec("Given")
    Found = TypeVar("Found")


def in_own_process(
    function: Callable[Given, Found], *arguments: Given.args, **named: Given.kwargs
) -> Found:
    """What a function of a module returns when it is called in a new process.

    It takes and returns what JSON can hold, and is worked on one thread of linear algebra, as are
    the peers: what is compared is the work, not the number of processors.
    """
    given = json.dumps([arguments, named])
    words = [sys.executable, "-m", __name__, function.__module__, function.__qualname__, given]
    alone = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    ended = subprocess.run(words, capture_output=True, text=True, check=False, env=alone)
    sys.stderr.write(ended.stderr)
    if ended.returncode:
        last = ended.stderr.strip().splitlines()[-1:] or [f"exit code {ended.returncode}"]
        raise RuntimeError(f"{function.__module__}.{function.__qualname__}: {last[0]}")
    found: Found = json.loads(ended.stdout.splitlines()[-1])
    return found


def main(words: list[str]) -> None:
    """Call the function and print what it returns."""
    module, name, given = words
    arguments, named = json.loads(given)
    found = getattr(importlib.import_module(module), name)(*arguments, **named)
    sys.stdout.write(f"\n{json.dumps(found)}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
