"""The JSON document and the rows of ``hatch``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.hatch.parents import parent_cell
from matchmaker.report.documents import document_head, fault_entry
from matchmaker.report.hatch_words import fit_verdict, learned_reason, parents_sentences
from matchmaker.report.sheets import Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.hatch.fits import LocusFit
    from matchmaker.hatch.hatching import Hatch, Hatching
    from matchmaker.report.documents import Document
    from matchmaker.tables.write import Cell
    from matchmaker.tables.write_together import Replaced


def hatch_document(answer: Hatching, done: Sequence[Replaced] | None) -> Document:
    """All of the answer; ``done`` is ``None`` where nothing was to be written."""
    prepared = answer.prepared
    return {
        **document_head("hatch", prepared.tables, prepared.flock.defaults),
        "dry_run": done is None,
        "sets": [_set(hatch) for hatch in prepared.hatches],
        "writes": [
            {
                "file": prepared.tables.files.get(table, f"{table}.csv"),
                "changed": [
                    {"row": row, "column": column, "text": text}
                    for (row, column), text in sorted(amendment.cells.items())
                ],
                "added": [dict(row) for row in amendment.added],
            }
            for table, amendment in prepared.amendments.items()
            if not amendment.empty
        ],
        "written": [
            {"file": one.path.name, "kept": one.copy.name if one.copy else None}
            for one in done or ()
        ],
        "classes": [_fit(found) for found in prepared.fits],
        "chicks": [
            {"locus": one.locus, "bands": list(one.bands), "copies": list(one.chances)}
            for one in answer.chicks
        ],
        "learned": [
            {
                "bird": one.bird,
                "locus": one.locus,
                "before": list(one.before),
                "after": list(one.after),
                "settled": one.settled or None,
                "reason": learned_reason(one),
            }
            for one in answer.learned
        ],
        "approximate": answer.approximate,
        "doubts": [fault_entry(doubt) for doubt in answer.doubts],
    }


def _set(hatch: Hatch) -> Document:
    told, parents = hatch.told, hatch.parents
    on = hatch.found.hatched_on
    return {
        "pen": told.pen,
        "row": hatch.egg.row if hatch.found.record is not None else None,
        "set_on": hatch.found.set_on and str(hatch.found.set_on),
        "hatched_on": on and str(on),
        "collected": [str(parents.first), str(parents.last)],
        "collected_assumed": parents.assumed,
        "stays_from": "plan" if parents.from_plan else "moves",
        "sire": parent_cell(parents.sires),
        "sires": {band: float(weight) for band, weight in parents.sires},
        "dam": parent_cell(parents.dams),
        "dams": {band: float(weight) for band, weight in parents.dams},
        "why": list(parents_sentences(parents)),
        "line": hatch.line.line if hatch.line else None,
        "line_by": str(hatch.line.by) if hatch.line else None,
        "bands": [chick.band for chick in told.chicks],
    }


def _fit(found: LocusFit) -> Document:
    classes, expected, fit = found.classes, found.expected, found.fit
    return {
        "pen": found.told.pen,
        "set_on": found.told.set_on and str(found.told.set_on),
        "locus": found.locus,
        "counted": dict(zip(classes.names, classes.counts, strict=True)) if classes else None,
        "expected": dict(zip(classes.names, expected.mean, strict=True))
        if classes and expected
        else None,
        "p": fit.p if fit else None,
        "chance": fit.chance if fit else None,
        "exact": fit.draws == 0 if fit else None,
        "p_error": fit.error if fit else None,
        "impossible": fit.impossible if fit else None,
        "approximate": expected.approximate if expected else None,
        "verdict": fit_verdict(found),
        "explanations": [
            {
                "why": str(one.why),
                "bird": one.bird or None,
                "genotype": one.genotype or None,
                "prior": one.prior,
                "odds": one.odds,
            }
            for one in found.explanations
        ],
    }


def learned_sheet(answer: Hatching) -> Sheet:
    """The birds whose chances changed, a row for each bird and locus."""
    header = ["bird", "locus", *(f"{when}_{n}" for when in ("before", "after") for n in range(3))]
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.bird, one.locus, *one.before, *one.after, one.settled, learned_reason(one))
        for one in answer.learned
    )
    return Sheet(header=(*header, "settled", "reason"), rows=rows)
