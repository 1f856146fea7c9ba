"""Print the lowest release that pyproject.toml allows of each dependency: constraints for pip."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
BOUNDED = re.compile(r"(?P<name>[\w.-]+)>=(?P<release>[\w.]+)")


def pin(needed: str) -> str:
    """Return the pin of one dependency, or end with what is wrong with it."""
    found = BOUNDED.match(needed)
    if found is None:
        sys.exit(f"pyproject.toml: no lower bound in {needed!r}; write it as name>=release,<next")
    return f"{found['name']}=={found['release']}"


if __name__ == "__main__":
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    sys.stdout.writelines(f"{pin(needed)}\n" for needed in project["dependencies"])
