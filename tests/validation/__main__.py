"""Write the validation page: ``python -m tests.validation [-o validation.html] [--quick]``.

All sections are worked out anew, one line is printed of each, and the command ends with 1 if any
figure is farther from its reference than it may be.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tests.validation.checks import QUICK, WHOLE
from tests.validation.page import page_html
from tests.validation.running import validate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.validation.checks import Check, Section


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the page, print a line a section; 1 if a check fails."""
    parser = argparse.ArgumentParser(prog="python -m tests.validation")
    parser.add_argument("-o", "--output", type=Path, default=Path("validation.html"))
    parser.add_argument(
        "--quick", action="store_true", help="few birds and flocks, no other programs: seconds"
    )
    args = parser.parse_args(arguments)
    report = validate(QUICK if args.quick else WHOLE, told=lambda one: print(line(one), flush=True))  # noqa: T201
    for check in report.failed:
        print(f"FAILED {told(check)}", file=sys.stderr)  # noqa: T201
    args.output.write_text(page_html(report), encoding="utf-8")
    print(f"{args.output}: {len(report.checks)} checks, {len(report.failed)} failed")  # noqa: T201
    return 1 if report.failed else 0


def line(section: Section) -> str:
    """One line on a section.

    Examples
    --------
    >>> from tests.validation.checks import Origin
    >>> origin = Origin(source="published/test_lange_2003.py")
    >>> from tests.validation.checks import Section
    >>> print(line(Section(key="k", title="T", about="", checks=(origin.check("x", 1, 1),))))
    T: 1 check of 1 figure, all within tolerance
    """
    checks, entries, failed = len(section.checks), section.entries, len(section.failed)
    counted = f"{checks} check{'s' * (checks != 1)} of {entries:,} figure{'s' * (entries != 1)}"
    state = f"{failed} FAILED" if failed else "all within tolerance"
    return f"{section.title}: {counted}, {state}"


def told(check: Check) -> str:
    """A check that fails, in one line."""
    return (
        f"{check.what}: ours {check.ours:.8g}, outside {check.outside:.8g}, difference "
        f"{check.difference:.2g}, allowed {check.tolerance:.2g} ({check.source})"
    )


if __name__ == "__main__":
    sys.exit(main())
