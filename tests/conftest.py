"""Coverage counts what the tests of single modules run; the slow second opinions run without it."""

from __future__ import annotations

import os
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest
from coverage import Coverage
from hypothesis import settings

if TYPE_CHECKING:
    from collections.abc import Iterator

# Deadlines a busy machine would break by turns; other examples are drawn in every run.
settings.register_profile("any machine", deadline=None, max_examples=50)
settings.load_profile("any machine")

TESTS: Final = Path(__file__).parent

UNCOUNTED: Final = ("oracle", "page", "property", "published", "test_layers.py", "test_style.py")
"""They ask whether answers are right, often thousands of times over, not whether a line is run.

Counting more than doubles the time of what is all Python.
"""
CHILDREN: Final = "COVERAGE_PROCESS_CONFIG"
"""By this variable coverage gets into the processes that a test starts."""


@contextmanager
def uncounted() -> Iterator[None]:
    """Run without coverage, here and in processes started meanwhile; then go on counting."""
    counting = Coverage.current()
    if counting is None:
        yield
        return
    counting.stop()
    children = os.environ.pop(CHILDREN, None)
    try:
        yield
    finally:
        if children is not None:
            os.environ[CHILDREN] = children
        counting.start()


def is_counted(path: Path) -> bool:
    """Whether the lines that a test runs count; examples in docstrings are such tests too.

    Examples
    --------
    >>> is_counted(TESTS / "unit" / "test_one.py"), is_counted(TESTS / "page" / "test_one.py")
    (True, False)
    >>> is_counted(TESTS.parent / "matchmaker" / "errors.py")
    True
    """
    within = path.relative_to(TESTS) if path.is_relative_to(TESTS) else path
    return within.parts[0] not in UNCOUNTED


def pytest_configure(config: pytest.Config) -> None:
    """Hand files out as they come: those of few tests take longest, and must not come last."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Run a test, counted or not; workers ask this of tests that stand elsewhere too."""
    if is_counted(item.path):
        return (yield)
    with uncounted():
        return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[None]:
    """Read the tests uncounted: where all is run, the package has been imported by then."""
    if not getattr(collector, "path", TESTS.parent).is_relative_to(TESTS):
        return (yield)
    with uncounted():
        return (yield)
