"""What a command says where no plan is possible: why, and ways out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.cli.streams import print_document
from matchmaker.report.diagnosis import conflict_entry, print_diagnosis
from matchmaker.report.documents import as_json, no_plan_document
from matchmaker.report.screen import console_for

if TYPE_CHECKING:
    from matchmaker.errors import NoPlanError
    from matchmaker.pairs.table import PairTable


def explain_no_plan(
    table: PairTable,
    error: NoPlanError,
    *,
    json: bool,
    fresh: bool = False,
    matings: int | None = None,
) -> None:
    """Say on standard error, and as a document, why there is no plan; the error is told then."""
    import sys

    diagnosis = verbs.diagnose(table, error, fresh=fresh, matings=matings)
    if json:
        print_document(as_json(no_plan_document(table, conflict_entry(table, diagnosis))))
    print_diagnosis(console_for(sys.stderr), table, diagnosis)
    error.told = True
