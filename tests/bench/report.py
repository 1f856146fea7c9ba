"""Measure the page of a season: ``python -m tests.bench report``.

Seconds of the whole command and of its parts, bytes of the file against what they may be, and, in
Chromium without a screen, how long the page takes until it answers and until an answer is shown.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.report.page.page import page_html
from tests.bench.commands import command_row
from tests.bench.flocks import hens_and_cocks, size_of
from tests.bench.folder_flocks import EXAMPLES, folder_flock
from tests.bench.measuring import timed
from tests.bench.rows import Row, Size
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from playwright.sync_api import Page

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


def rows(chosen: Namespace) -> Iterator[Row]:
    """The command, its parts, the file and the page, flock by flock."""
    with tempfile.TemporaryDirectory() as place:
        for name in chosen.flocks:
            folder, size = _flock(name, Path(place))
            file = Path(place) / f"{name}.html"
            words = ["report", "--in", str(folder), "-o", str(file)]
            yield command_row("the whole command", size, words, chosen.times)
            yield from _parts(size, folder)
            length, most = file.stat().st_size, MOST_BYTES.get(name, 6_000_000)
            verdict = "within" if length <= most else "OVER"
            yield Row(
                task="the file",
                size=size,
                unit="bytes",
                ours=(length,),
                note=f"{verdict} {most:,}",
            )
            yield from _in_browser(size, file)


def _flock(name: str, place: Path) -> tuple[Path, Size]:
    if (EXAMPLES / name).exists():
        return EXAMPLES / name, Size(name)
    return folder_flock(place / name, *hens_and_cocks(name)), size_of(name)


def _parts(size: Size, folder: Path) -> Iterator[Row]:
    """The parts one after another, each with all of the processors to itself."""

    def row(task: str, seconds: float, note: str = "") -> Row:
        return Row(task=f"part: {task}", size=size, ours=(seconds,), note=note)

    seconds, table = timed(partial(verbs.pairs, folder))
    yield row("pairs", seconds)
    seconds, plan = timed(partial(verbs.plan, table))
    yield row("plan", seconds)
    yield row("costs", timed(partial(verbs.pair_costs, plan, dives=24))[0])
    yield row("losses", timed(partial(verbs.precautions, plan))[0])
    seconds, report = timed(partial(verbs.report, table))
    costs = report.costs or {}
    known = sum(one.at_most is not None or one.impossible for one in costs.values())
    yield row("all of the report", seconds, f"costs bounded on both sides: {known} of {len(costs)}")
    yield row("page", timed(partial(page_html, report))[0])


def _in_browser(size: Size, file: Path) -> Iterator[Row]:
    """How long the page takes in a browser, where there is one."""
    path = os.environ.get("MATCHMAKER_BROWSER") or next(
        filter(None, map(shutil.which, BROWSERS)), None
    )
    if path is None:
        yield Row(task="in a browser", size=size, note="none is installed: not measured")
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(file.as_uri())
        ready = page.evaluate(
            "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
        )
        yield Row(task="in a browser: ready to answer", size=size, ours=(ready / 1000,))
        for task, where in CLICKS.items():
            yield _clicked(page, f"in a browser: {task} answers", size, where)
        browser.close()


def _clicked(page: Page, task: str, size: Size, where: tuple[str, str]) -> Row:
    took = page.evaluate(CLICK, list(where))
    if took is None or took < 0:
        note = f"there is none ({where[0]})" if took is None else "nothing changed"
        return Row(task=task, size=size, note=note)
    return Row(task=task, size=size, ours=(took / 1000,))


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="flocks",
            help="examples, or hens x cocks",
            whole=tuple(MOST_BYTES),
            short=("24x4",),
        ),
        Option(name="times", help="how often the command is run", whole=2, short=1, full=3),
    ),
)
