"""Every hen with every cock, to look up."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from markupsafe import Markup, escape

from matchmaker.explain.pair import Verdict
from matchmaker.flock.listing import natural
from matchmaker.pairs.rules import nearest_cause
from matchmaker.report.page.pair_data import Writer, mates_in_order
from matchmaker.report.page.pair_standing import standing_pairs
from matchmaker.report.page.pair_texts import Teller
from matchmaker.report.page.shared import Shared
from matchmaker.report.page.view import View
from matchmaker.report.season_words import source_sentence
from matchmaker.report.why.costs import cost_legend, not_worked_out
from matchmaker.report.why.terms import VALUE_MEANS, line_sentence
from matchmaker.report.wording import listed, reasons

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.report.page.pair_data import Mates
    from matchmaker.report.page.pair_standing import Standing
    from matchmaker.report.page.pair_texts import Told
    from matchmaker.reporting import SeasonReport


DIFFERS: Final = (
    "The pens that stand are not those of the best plan. “Paired” speaks of the pens that stand; "
    "what a pair would cost is counted from the best plan."
)
"""What has to be known where the pens are not those that costs are counted from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HenList:
    """A hen with all her cocks, for readers without scripts."""

    band: str
    line: str
    note: str
    rows: Sequence[Markup]


def pairs_view(report: SeasonReport) -> View:
    """Every hen with every cock, to look up."""
    standing = standing_pairs(report)
    teller = Teller(report, standing)
    pairs = mates_in_order(report, teller)
    notes = _notes(report, standing)
    return View(
        values={
            "hens": _hen_lists(report, teller, pairs, notes),
            "intro": _intro(report),
            "differs": DIFFERS if standing.differs else "",
            "count": len(pairs),
        },
        data={"pairs": _data(report, standing, teller, pairs, notes)},
    )


def _data(
    report: SeasonReport,
    standing: Standing,
    teller: Teller,
    pairs: Sequence[Mates],
    notes: Mapping[str, str],
) -> dict[str, Any]:
    """What the script is given."""
    birds = report.table.study.flock.by_band()
    hens = Shared({band: at for at, band in enumerate(_ordered({one.hen for one in pairs}))})
    cocks = Shared({band: at for at, band in enumerate(_ordered({one.cock for one in pairs}))})
    writer = Writer(report, standing, teller)
    written = writer.written(pairs, hens, cocks)
    lines = sorted({birds[str(band)].line for side in (hens, cocks) for band in side.of})
    return {
        "marks": [teller.marks.hen, teller.marks.cock],
        "hens": [[band, birds[str(band)].line, notes[str(band)]] for band in hens.of],
        "cocks": [[band, birds[str(band)].line, notes[str(band)]] for band in cocks.of],
        "lines": lines,
        "terms": writer.labels,
        "texts": list(writer.texts.of),
        "rules": list(writer.rules.of),
        "columns": list(writer.columns.of),
        "pairs": written,
        "value": VALUE_MEANS,
        "could": f"Could pair, {_foremost(report)} first",
        "needs": {
            goal.line: line_sentence(report.plan, goal.line) for goal in report.plan.problem.lines
        },
        "others": _other_birds(report, {*hens.of, *cocks.of}),
    }


def _foremost(report: SeasonReport) -> str:
    """Which pairs come first of those that could be; see ``mates_in_order``."""
    return "those of most value" if report.costs is None else "the cheapest"


def _ordered(bands: set[str]) -> list[str]:
    return sorted(bands, key=lambda band: (natural(band), band))


def _other_birds(report: SeasonReport, breeders: set[Any]) -> list[list[str]]:
    """All birds of the books that are in no pair, with what they are."""
    birds = report.table.study.flock.birds
    return [[one.band, _kind(one)] for one in birds if one.band not in breeders]


def _kind(bird: Bird) -> str:
    """A bird's sex or age, line and what became of it."""
    return ", ".join(filter(None, (str(bird.sex or "bird"), bird.line, str(bird.record.status))))


def _intro(report: SeasonReport) -> list[str]:
    """What the states and costs are counted from."""
    source = source_sentence(report.guide)
    found = [f"Pens: {source[0].lower()}{source[1:]}"]
    if report.costs is None:
        found.append(f"{not_worked_out('matchmaker why')} Those of most value come first.")
    else:
        found.append(cost_legend(report.costs.values(), "matchmaker pairs --prices --exact"))
    return found


def _notes(report: SeasonReport, standing: Standing) -> dict[str, str]:
    """Where each bird is, or why it is in no pen."""
    found = {}
    for band, broken in report.table.of_birds.items():
        hers, his = standing.of_hen.get(band), standing.of_cock.get(band)
        places = [f"in pen {one.pen} with {one.pair.cock}" for one in hers or ()]
        if his:
            pens = listed(dict.fromkeys(one.pen for one in his))
            hens = len({one.pair.hen for one in his})
            places.append(f"in pen {pens} with {hens} hen{'' if hens == 1 else 's'}")
        why = reasons(nearest_cause(broken))
        found[band] = "; ".join(filter(None, [*places, why])) or "in no pen"
    return found


def _hen_lists(
    report: SeasonReport, teller: Teller, pairs: Sequence[Mates], notes: Mapping[str, str]
) -> list[HenList]:
    birds = report.table.study.flock.by_band()
    rows: dict[str, list[Markup]] = defaultdict(list)
    for one in pairs:
        rows[one.hen].append(_static_row(teller, one))
    return [
        HenList(band=band, line=birds[band].line, note=notes[band], rows=rows[band])
        for band in _ordered(set(rows))
    ]


def _static_row(teller: Teller, mates: Mates) -> Markup:
    """A cock in the list of a hen: state, cost and reasons, row by row where there are several."""
    rows: dict[str, list[str]] = defaultdict(list)
    for told in mates.rows:
        rows[_static_text(told)].append(told.pair.crossing.name if told.pair.crossing else "")
    parts = [
        f"{_row_names(names) if len(mates.rows) > 1 else ''}{said}" for said, names in rows.items()
    ]
    said = teller.marks.filled(" ".join(parts), mates.hen, mates.cock)
    return Markup("<b>{}</b> {}").format(mates.cock, escape(said))


def _row_names(names: Sequence[str]) -> str:
    quoted = [f"“{name}”" for name in names]
    return f"In the row{'s' if len(names) > 1 else ''} {listed(quoted)}: "


def _static_text(told: Told) -> str:
    why = " ".join(one.heading for one in told.rules)
    if told.verdict is Verdict.REJECTED:
        return f"rejected. {why}"
    return ": ".join(filter(None, (told.state, told.more))) + "." + (f" {why}" if why else "")
