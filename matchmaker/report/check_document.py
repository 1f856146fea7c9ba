"""What ``check --json`` prints: faults and doubts with all that is known of them, and rows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matchmaker.genetics.loci.locus import cautions
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import Document, document_head, fault_entry, risk_entries
from matchmaker.report.line_sentences import rotation_sentence
from matchmaker.report.mended import effect_entry, mended_document
from matchmaker.report.wording import crossing_sentence

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.checking import Check
    from matchmaker.mends.mended import Mended
    from matchmaker.mends.reach import Reach
    from matchmaker.report.findings import Shown


def check_document(
    found: Check, shown: Shown, mended: tuple[Mended, Path | None] | None = None
) -> Document:
    """Faults, doubts and open crossings; what was ``mended``, with the folder, if it was asked."""
    defaults = () if found.table is None else defaults_of(found.table)
    going = found.table is not None or bool(found.not_looked_at)
    document = {
        **document_head("check", found.tables, defaults),
        "breeders": list(shown.reaches.breeders),
        "faults": [_entry(one, shown) for one in shown.reaches.found if one.stops],
        "doubts": [_entry(one, shown) for one in shown.reaches.found if not one.stops],
        "together": effect_entry(shown.effects.together),
        "not_looked_at": list(found.not_looked_at),
        "columns_not_read": {
            found.tables.files[name]: list(columns)
            for name, columns in found.tables.extras.items()
            if columns
        },
        "crossings": [
            {
                "row": crossing.name,
                "hens": list(crossing.hens),
                "cocks": list(crossing.cocks),
                "chicks": crossing.chicks,
                "purpose": str(crossing.purpose),
                "sentence": crossing_sentence(crossing),
            }
            for crossing in found.crossings
        ],
        "rotation": rotation_sentence(found.table.study.flock.settings) if found.table else None,
        "risks": risk_entries(found.table) if found.table else [],
        "cautions": [
            {"locus": symbol, "caution": caution}
            for symbol, caution in (cautions(found.loci) if going else {}).items()
        ],
    }
    return document if mended is None else {**document, "mended": mended_document(*mended)}


def _entry(reach: Reach, shown: Shown) -> dict[str, Any]:
    """A finding with what rests on it; ``touched`` gives each breeder's part of 0 to 1."""
    effects, fault = shown.effects, reach.fault
    return {
        **fault_entry(fault),
        "touches": len(reach.touched),
        "weight": round(reach.weight, 6),
        "touched": {band: round(part, 6) for band, part in reach.touched.items()},
        "effect": effect_entry(effects.of.get(fault)),
        "left_out": fault in effects.left_out,
    }
