"""Whether a document shown beside the plan was made from the same tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.pairs.table import PairTable
    from matchmaker.report.documents import Document


def staleness(table: PairTable, document: Document) -> Iterator[str]:
    """A sentence where tables have changed since a document was made."""
    now, then = dict(table.study.flock.tables.inputs), document.get("inputs", {})
    changed = sorted(name for name in {*now, *then} if now.get(name) != then.get(name))
    if changed:
        yield f"Worked out before {listed(changed)} changed: make it anew to be sure of it."
