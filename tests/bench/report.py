"""Measure the page of a season: ``python -m tests.bench report``.

Seconds of the whole command and of its parts, bytes of the file against what they may be, and, in
Chromium without a screen, how long the page takes until it answers and until an answer is shown.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.report.page.page import page_html
from tests.bench.folder_flocks import folder_flock

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import TypeVar

    from playwright.sync_api import Page

    Found = TypeVar("Found")

EXAMPLES: Final = Path(__file__).parents[2] / "examples"
MOST_BYTES: Final = {"holm-fen": 2_000_000, "60x8": 2_000_000, "200x20": 6_000_000}
BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome")

CLICKS: Final = {
    "a pair of the list": ("#pairs [data-cock], #pairs .pair-entry", "#pairs"),
    "a cell of the kinship table": ("#pairs .kin-table tbody td", "#pairs"),
}
"""What is clicked, and where the answer is shown."""

CLICK: Final = """
async ([button, answer]) => {
  const found = document.querySelector(button);
  const place = document.querySelector(answer);
  if (!found || !place) return null;
  let seen = false;
  const watch = new MutationObserver(() => { seen = true; });
  watch.observe(place, { childList: true, subtree: true, characterData: true });
  const begun = performance.now();
  found.click();
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  const took = performance.now() - begun;
  watch.disconnect();
  return seen ? took : -1;
}
"""
"""Milliseconds from a click until the next picture is drawn; -1 if nothing changed by then."""


def main(arguments: list[str]) -> None:
    """Print a few lines a flock."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench report")
    parser.add_argument("--flocks", default=",".join(MOST_BYTES), help="their names, by commas")
    parser.add_argument("--times", type=int, default=3, help="how often the command is run")
    args = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as place:
        for name in args.flocks.split(","):
            folder = _folder(name, Path(place))
            file = Path(place) / f"{name}.html"
            for line in (*_command(folder, file, args.times), *_parts(folder)):
                print(f"{name}: {line}", flush=True)  # noqa: T201
            size, most = file.stat().st_size, MOST_BYTES.get(name, 6_000_000)
            verdict = "within" if size <= most else "OVER"
            print(f"{name}: {size:,} bytes, {verdict} {most:,}", flush=True)  # noqa: T201
            for line in _in_browser(file):
                print(f"{name}: {line}", flush=True)  # noqa: T201


def _folder(name: str, place: Path) -> Path:
    if (EXAMPLES / name).exists():
        return EXAMPLES / name
    hens, _, cocks = name.partition("x")
    return folder_flock(place / name, int(hens), int(cocks))


def _command(folder: Path, file: Path, times: int) -> Iterator[str]:
    """The whole process, the least of a few runs, of the clock and of the processors."""
    walls, used = [], []
    for _ in range(times):
        before, begun = _children(), time.perf_counter()
        words = ("report", "--in", str(folder), "-o", str(file))
        subprocess.run(
            [sys.executable, "-m", "matchmaker", *words], check=True, capture_output=True
        )
        walls.append(time.perf_counter() - begun)
        used.append(_children() - before)
    yield f"the whole command {min(walls):.2f} s ({min(used):.2f} s of processors)"


def _children() -> float:
    """Seconds of processors that processes started from here have taken."""
    taken = resource.getrusage(resource.RUSAGE_CHILDREN)
    return taken.ru_utime + taken.ru_stime


def _parts(folder: Path) -> Iterator[str]:
    """The parts one after another, each with all of the processors to itself."""
    times: dict[str, float] = {}

    def timed(name: str, work: Callable[[], Found]) -> Found:
        begun = time.perf_counter()
        found = work()
        times[name] = time.perf_counter() - begun
        return found

    table = timed("pairs", lambda: verbs.pairs(folder))
    plan = timed("plan", lambda: verbs.plan(table))
    timed("costs", lambda: verbs.pair_costs(plan, dives=24))
    timed("losses", lambda: verbs.precautions(plan))
    report = timed("all of the report", lambda: verbs.report(table))
    timed("page", lambda: page_html(report))
    yield ", ".join(f"{name} {seconds:.2f} s" for name, seconds in times.items())
    if report.costs is not None:
        known = sum(one.at_most is not None or one.impossible for one in report.costs.values())
        yield f"costs bounded on both sides: {known} of {len(report.costs)}"


def _in_browser(file: Path) -> Iterator[str]:
    """How long the page takes in a browser, where there is one."""
    path = os.environ.get("MATCHMAKER_BROWSER") or next(
        filter(None, map(shutil.which, BROWSERS)), None
    )
    if path is None:
        yield "no browser is installed: not measured there"
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(file.as_uri())
        ready = page.evaluate(
            "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
        )
        yield f"ready to answer after {ready:.0f} ms"
        for name, (button, answer) in CLICKS.items():
            yield _clicked(page, name, (button, answer))
        browser.close()


def _clicked(page: Page, name: str, where: tuple[str, str]) -> str:
    took = page.evaluate(CLICK, list(where))
    if took is None:
        return f"{name}: there is none ({where[0]})"
    return f"{name}: nothing changed" if took < 0 else f"{name}: answer after {took:.0f} ms"


if __name__ == "__main__":
    main(sys.argv[1:])
