"""The route command: ask, check the name of the scheme, show."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.errors import UsageError
from matchmaker.report.route import print_route
from matchmaker.report.route_document import route_document, route_sheet
from matchmaker.route.schemes import RESTRICTIONS

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.route.asking import Asked


def run_route(folder: Path, asked: Asked, scheme: str, output: Output) -> None:
    """Answer.

    Raises
    ------
    UsageError
        If there is no scheme of that name, or no route can be searched for.
    """
    if scheme not in RESTRICTIONS:
        names = ", ".join(sorted(RESTRICTIONS))
        raise UsageError(f"there is no scheme {scheme!r}; --scheme takes one of: {names}")
    table = verbs.pairs(folder)
    answer, stop = verbs.route(table.study, asked), verbs.stopping(table)
    output.show(
        lambda console: print_route(console, answer, scheme, stop),
        lambda: route_document(answer, scheme, stop),
        lambda: route_sheet(answer, scheme),
    )
