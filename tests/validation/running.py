"""The sections worked out, the whole form in two processes."""

from __future__ import annotations

import importlib
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TYPE_CHECKING

from tests.validation.checks import Report

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.validation.checks import Effort, Section

SECTIONS = ("kin", "genotypes", "shares", "merit", "optimum", "simulator")
"""Modules of the sections, in the order of the page."""

LONGEST_FIRST = ("optimum", "simulator", "kin", "genotypes", "shares", "merit")
WORKERS = 2


def validate(effort: Effort, told: Callable[[Section], object]) -> Report:
    """Work out all sections; each is told of in the order of the page."""
    if effort.peers:
        with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
            begun = {name: pool.submit(section, name, effort) for name in LONGEST_FIRST}
            found = [_told(begun[name].result(), told) for name in SECTIONS]
    else:
        found = [_told(section(name, effort), told) for name in SECTIONS]
    return Report(effort=effort, sections=tuple(found))


def section(name: str, effort: Effort) -> Section:
    """One section, worked out."""
    found: Section = importlib.import_module(f"tests.validation.{name}").section(effort)
    return found


def _told(section: Section, told: Callable[[Section], object]) -> Section:
    told(section)
    return section
