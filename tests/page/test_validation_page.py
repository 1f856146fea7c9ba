"""The validation page in a browser: readable on a phone, by axe-core's rules, with no noise."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from tests.page.browsing import SMALL_PHONE, faults, overflow
from tests.validation.checks import QUICK, Report
from tests.validation.page import page_html
from tests.validation.shares import section

if TYPE_CHECKING:
    from tests.page.browsing import Opener

pytestmark = pytest.mark.page


@pytest.fixture(scope="module")
def html() -> str:
    """One section, with a check that fails, whose marks must be readable too."""
    whole = section(QUICK)
    wrong = replace(whole.checks[0], ours=0.5)
    return page_html(
        Report(effort=QUICK, sections=(replace(whole, checks=(wrong, *whole.checks)),))
    )


@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_nothing_and_it_never_scrolls_sideways(
    opened: Opener, html: str, *, dark: bool
) -> None:
    page = opened(html, viewport=SMALL_PHONE, dark=dark)
    assert overflow(page) == []
    assert faults(page) == []
    assert overflow(page) == []
