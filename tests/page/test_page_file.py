"""The file itself: what it may not hold, how large it may be, and that it is always the same."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tests.page.browsing import EXAMPLES, EXAMPLES_FOLDER, folder_page
from tests.page.flocks import crowded_flock, shuffled, succession
from tests.page.hostile import hostile_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

PROGRAM = re.compile(r"<script>(.*?)</script>", re.DOTALL)
OUTSIDE = re.compile(
    r"\b(fetch|XMLHttpRequest|WebSocket|EventSource|sendBeacon|Worker|import\s*\(|importScripts"
    r"|localStorage|sessionStorage|indexedDB|caches|cookie|eval|Function\s*\("
    r"|innerHTML|outerHTML|insertAdjacentHTML|document\.write|setAttribute\(\s*[\"']on)"
)
"""Names of what asks a network, leaves something behind, or reads text as markup or program."""

REFERENCE = re.compile(r"""(?:\b(?:src|srcset|action|data)\s*=\s*["']|\burl\(|@import)""")
LINK = re.compile(r"""\bhref\s*=\s*["']([^"']*)""")
MEGABYTE = 1_000_000


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_script_asks_nothing_and_leaves_nothing_behind(
    example_page: Callable[[str], Path], name: str
) -> None:
    (script,) = PROGRAM.findall(example_page(name).read_text(encoding="utf-8"))
    assert OUTSIDE.findall(script) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_file_refers_to_nothing_outside(example_page: Callable[[str], Path], name: str) -> None:
    html = PROGRAM.sub("", example_page(name).read_text(encoding="utf-8"))
    assert REFERENCE.findall(html) == []
    assert [link for link in LINK.findall(html) if not link.startswith("#")] == []


@pytest.mark.parametrize(
    ("hens", "cocks", "most"),
    [(60, 8, 2 * MEGABYTE), pytest.param(200, 20, 6 * MEGABYTE, marks=pytest.mark.slow)],
)
def test_the_file_is_small_enough_to_be_sent(
    tmp_path: Path, hens: int, cocks: int, most: int
) -> None:
    page = folder_page(crowded_flock(tmp_path / "flock", hens, cocks))
    assert f"C{hens + cocks - 1:03}" in page  # the birds are in it
    assert len(page.encode()) <= most


@pytest.mark.parametrize("make", [succession, hostile_flock])
def test_the_same_tables_give_the_same_file(tmp_path: Path, make: Callable[[Path], Path]) -> None:
    folder = make(tmp_path / "flock")
    first = folder_page(folder)
    assert folder_page(folder) == first
    assert _made_elsewhere(folder) == first
    shuffled(folder)
    assert _but_fingerprints(folder_page(folder)) == _but_fingerprints(first)


def _but_fingerprints(html: str) -> str:
    """The page without what only tells one file of tables from another."""
    return re.sub(r"\b[0-9a-f]{64}\b|(?<=tables )[0-9a-f]{8}\b", "", html)


def _made_elsewhere(folder: Path) -> str:
    """The file as the command writes it, with another order of all sets."""
    file = folder.parent / "made.html"
    subprocess.run(
        [sys.executable, "-m", "matchmaker", "report", "--in", folder, "-o", file],
        env={**os.environ, "PYTHONHASHSEED": "1"},
        check=True,
        capture_output=True,
    )
    return file.read_text(encoding="utf-8")


def test_the_order_of_birds_in_the_table_does_not_matter(
    tmp_path: Path, example_page: Callable[[str], Path]
) -> None:
    folder = tmp_path / "tarn-croft"
    shutil.copytree(EXAMPLES_FOLDER / "tarn-croft", folder)
    shuffled(folder)
    kept = example_page("tarn-croft").read_text(encoding="utf-8")
    assert _but_fingerprints(folder_page(folder)) == _but_fingerprints(kept)
