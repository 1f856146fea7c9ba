"""Pictures of the page for people to look at: ``python -m tests.screenshots --into DIR``.

Of each folder (the examples, unless others are named): desktop light and dark, whole and part by
part; phone light and dark, in slices; paper, sheet by sheet; and as seen without red and green, and
without any colour.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.page.browsing import (
    DESKTOP,
    EXAMPLES,
    EXAMPLES_FOLDER,
    PHONE,
    browser_path,
    folder_page,
    running_browser,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page, ViewportSize

TALLEST: Final = 2000
"""Pixels of one slice at most: a taller picture shows nothing once it is made to fit a screen."""

SEEN_AS: Final = ("deuteranopia", "achromatopsia")
"""Ways of seeing, as Chromium names them: without green, and without any colour."""

PAPERS: Final = ("A4", "Letter")
DOTS_PER_INCH: Final = 80


def main() -> None:
    """Make all pictures and print where they are."""
    parser = argparse.ArgumentParser(prog="python -m tests.screenshots")
    examples = [EXAMPLES_FOLDER / name for name in EXAMPLES]
    parser.add_argument("folders", nargs="*", type=Path, default=examples, metavar="FOLDER")
    parser.add_argument("--into", type=Path, required=True, metavar="DIR")
    args = parser.parse_args()
    path = browser_path()
    if path is None:
        parser.error("no browser is installed: install chromium, or set MATCHMAKER_BROWSER")
    for browser in running_browser(path):
        for folder in args.folders:
            for file in pictures(browser, folder, args.into / folder.resolve().name):
                print(file, flush=True)  # noqa: T201


def pictures(browser: Browser, folder: Path, into: Path) -> Iterator[Path]:
    """Make all pictures of a folder's page, each with its place once it is there."""
    into.mkdir(parents=True, exist_ok=True)
    file = into / "page.html"
    file.write_text(folder_page(folder), encoding="utf-8")
    yield file
    for dark in (False, True):
        light = "dark" if dark else "light"
        desktop = _opened(browser, file, DESKTOP, dark=dark)
        yield _shot(desktop, into / f"desktop-{light}.png")
        yield from _parts(desktop, into, light)
        yield from _slices(_opened(browser, file, PHONE, dark=dark), into / f"phone-{light}")
    for seeing in SEEN_AS:
        yield from _slices(_opened(browser, file, DESKTOP, seeing=seeing), into / seeing)
    for paper in PAPERS:
        yield from _printed(_opened(browser, file, DESKTOP), into / f"print-{paper}", paper)
    for context in browser.contexts:
        context.close()


def _opened(
    browser: Browser, file: Path, viewport: ViewportSize, *, dark: bool = False, seeing: str = ""
) -> Page:
    context = browser.new_context(viewport=viewport, color_scheme="dark" if dark else "light")
    page = context.new_page()
    page.goto(file.resolve().as_uri())
    if seeing:
        session = context.new_cdp_session(page)
        session.send("Emulation.setEmulatedVisionDeficiency", {"type": seeing})
    return page


def _shot(page: Page, file: Path) -> Path:
    page.screenshot(path=file, full_page=True)
    return file


def _parts(page: Page, into: Path, light: str) -> Iterator[Path]:
    """Each section of the page by itself."""
    for part in page.locator("main > section").all():
        file = into / f"desktop-{light}-{part.get_attribute('id')}.png"
        part.screenshot(path=file)
        yield file


def _slices(page: Page, stem: Path) -> Iterator[Path]:
    """The whole page from the top down, in slices."""
    width, height = page.evaluate(
        "[document.documentElement.clientWidth, document.documentElement.scrollHeight]"
    )
    for at, top in enumerate(range(0, height, TALLEST), start=1):
        file = stem.with_name(f"{stem.name}-{at:02}.png")
        tall = min(TALLEST, height - top)
        clip = {"x": 0, "y": top, "width": width, "height": tall}
        page.screenshot(path=file, full_page=True, clip=clip)  # type: ignore[arg-type]
        yield file


def _printed(page: Page, stem: Path, paper: str) -> Iterator[Path]:
    """The printed page as a PDF, and its sheets as pictures where there is a program for it."""
    file = stem.with_suffix(".pdf")
    page.pdf(path=file, format=paper)
    yield file
    program = shutil.which("pdftoppm")
    if program is not None:
        subprocess.run([program, "-r", str(DOTS_PER_INCH), "-png", file, stem], check=True)
        yield from sorted(stem.parent.glob(f"{stem.name}-*.png"))


if __name__ == "__main__":
    main()
