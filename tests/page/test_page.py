"""The whole page: quiet, closed to scripts not its own, readable by anyone, narrow, printable."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.page.browsing import DESKTOP, EXAMPLES, PHONE, SMALL_PHONE, faults, overflow

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import ViewportSize

    from tests.page.browsing import Opener

pytestmark = pytest.mark.page


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_it_opens_from_disk_and_asks_for_nothing(
    opened: Opener, example_page: Callable[[str], Path], name: str, *, dark: bool
) -> None:
    page = opened(example_page(name), dark=dark)
    assert page.title().startswith("Pens for ")
    assert len(opened.record(page).requests) == 1  # the record does see requests


@pytest.mark.parametrize("viewport", [PHONE, SMALL_PHONE], ids=["360", "320"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_it_never_scrolls_sideways(
    opened: Opener, example_page: Callable[[str], Path], name: str, viewport: ViewportSize
) -> None:
    assert overflow(opened(example_page(name), viewport=viewport)) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_axe_finds_nothing(
    opened: Opener, example_page: Callable[[str], Path], viewport: ViewportSize, *, dark: bool
) -> None:
    page = opened(example_page("holm-fen"), viewport=viewport, dark=dark)
    assert faults(page) == ""
