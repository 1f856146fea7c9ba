"""A browser for the tests of the page, and the pages of the examples, made once."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from matchmaker.report.page.page import page_html
from tests.page.browsing import (
    EXAMPLES_FOLDER,
    Facts,
    Opener,
    browser_path,
    browser_required,
    folder_report,
    made_once,
    running_browser,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser

    from matchmaker.reporting import SeasonReport


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """One browser for all tests of the page; closed before others, which its loop would disturb."""
    path = browser_path()
    if path is None:
        lacking = "No browser is installed: install chromium, or set MATCHMAKER_BROWSER."
        if browser_required():
            pytest.fail(lacking)
        pytest.skip(reason=lacking)  # only at home: .ci/run installs one and requires it
    yield from running_browser(path)


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    """Opens pages from disk; afterwards each must have been quiet: see ``Opener``."""
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()


@pytest.fixture(scope="session")
def example_season() -> Callable[[str], SeasonReport]:
    """All that the page of an example shows, worked out once."""
    made: dict[str, SeasonReport] = {}

    def season(name: str) -> SeasonReport:
        if name not in made:
            made[name] = folder_report(EXAMPLES_FOLDER / name)
        return made[name]

    return season


@pytest.fixture(scope="session")
def example_page(
    tmp_path_factory: pytest.TempPathFactory, example_season: Callable[[str], SeasonReport]
) -> Callable[[str], Path]:
    """The page of an example as a file, made once, by whichever process needs it first."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent  # that of this run, shared by its workers

    def make(file: Path) -> None:
        report = example_season(file.stem)
        own = tmp_path_factory.mktemp("made")
        for text, kind in ((Facts.of(report).written(), "json"), (page_html(report), "html")):
            (own / kind).write_text(text, encoding="utf-8")
            (own / kind).replace(file.with_suffix(f".{kind}"))

    def page(name: str) -> Path:
        file = folder / f"{name}.html"
        made_once(file, make)
        return file

    return page


@pytest.fixture(scope="session")
def example_facts(example_page: Callable[[str], Path]) -> Callable[[str], Facts]:
    """What the page of an example must say."""

    def facts(name: str) -> Facts:
        return Facts.read(example_page(name).with_suffix(".json").read_text(encoding="utf-8"))

    return facts
