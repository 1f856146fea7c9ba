"""What a measurement was taken on: the machine, the versions, the state of the code."""

from __future__ import annotations

import datetime as dt
import os
import platform
import re
import subprocess
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

PROJECT: Final = Path(__file__).parents[2]

LIBRARIES: Final = (
    "numpy", "scipy", "pandas", "networkx", "pulp", "highspy", "python-calamine",
    "sgkit", "msprime", "pgmpy",
)  # fmt: skip
"""Those whose speed is in the figures: what we rest on, and the peers."""


def machine() -> dict[str, str]:
    """Facts to stand above the tables, name and value, in order."""
    return {
        "date": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d %H:%M UTC"),
        "commit": commit(),
        "processor": processor(),
        "cores": str(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else "?"),
        "memory": memory(),
        "load before, of 1 and 15 minutes": load(),
        "system": platform.platform(terse=True),
        "Python": platform.python_version(),
        **{name: installed(name) for name in LIBRARIES},
    }


def commit() -> str:
    """The commit that is measured, and whether its files have changed since."""
    words = _git("rev-parse", "--short=12", "HEAD")
    return (
        f"{words} with changes"
        if words and _git("status", "--porcelain", "--untracked-files=no")
        else words or "?"
    )


def _git(*words: str) -> str:
    try:
        ended = subprocess.run(
            ["git", *words],  # noqa: S607
            cwd=PROJECT,
            capture_output=True,
            text=True,
            check=False,
        )
    except OSError:
        return ""
    return ended.stdout.strip() if ended.returncode == 0 else ""


def processor() -> str:
    """The name of the processor, as the kernel tells it."""
    told = Path("/proc/cpuinfo")
    text = told.read_text(encoding="utf-8") if told.exists() else ""
    found = re.search(r"^model name\s*:\s*(.+)$", text, flags=re.MULTILINE)
    return found[1] if found else platform.processor() or platform.machine()


def memory() -> str:
    """Memory of the machine."""
    try:
        whole = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (ValueError, OSError):
        return "?"
    return f"{whole / 2**30:.0f} GiB"


def load() -> str:
    """How busy the machine was: a benchmark beside other work tells little."""
    one, _, fifteen = os.getloadavg()
    return f"{one:.1f}, {fifteen:.1f}"


def installed(name: str) -> str:
    """The version of a library, or that it is not there."""
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
