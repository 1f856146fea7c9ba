"""What the page carries of pairs, read as its script reads it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from matchmaker.plan.season.season_plan import plan_season
from matchmaker.report.page.pair_explorer import pairs_view
from matchmaker.reporting import SeasonReport
from matchmaker.season.guide import season_guide

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.table import Key, PairTable

STATES = ("paired", "could-pair", "rejected")


def report_of(table: PairTable, costs: Mapping[Key, Cost] | None = None) -> SeasonReport:
    """A season without what is not told of pairs: what losses would mean."""
    return SeasonReport(
        plan=plan_season(table),
        guide=season_guide(table),
        care=cast("Any", None),
        costs=costs,
    )


@dataclass(frozen=True, kw_only=True)
class ToldRow:
    """One row of matings of a pair, as the page tells it."""

    state: str
    words: str
    more: str
    sentence: str
    rules: list[str]
    rule_states: list[str]
    evidence: list[list[str]]
    fixed: list[str]
    cautions: list[str]
    kin: list[str]
    table: list[list[str]]
    beside: list[str]
    wanted: str


@dataclass(frozen=True, kw_only=True)
class Carried:
    """All that the page carries of pairs."""

    data: dict[str, Any]
    values: Mapping[str, Any]

    @classmethod
    def of(cls, report: SeasonReport) -> Carried:
        """Made for a season."""
        view = pairs_view(report)
        return cls(data=view.data["pairs"], values=view.values)

    @property
    def mates(self) -> list[tuple[str, str]]:
        """Hens with cocks, in the order in which they are listed."""
        data = self.data
        return [(data["hens"][one[0]][0], data["cocks"][one[1]][0]) for one in data["pairs"]]

    def rows(self) -> dict[tuple[str, str, str], ToldRow]:
        """Every row of every pair, by hen, cock and name of the row."""
        found = {}
        for (hen, cock), (_, _, rows, kin) in zip(self.mates, self.data["pairs"], strict=True):
            for row in rows:
                name = "" if row[0] < 0 else self.data["texts"][row[0]]
                found[hen, cock, name] = self._row(row, kin, (hen, cock))
        return found

    def _row(self, row: list[Any], kin: list[int], birds: tuple[str, str]) -> ToldRow:
        texts = self.data["texts"]
        marks = self.data["marks"]

        def named(at: int) -> str:
            parts = texts[at].split(marks[0])
            return birds[0].join(birds[1].join(part.split(marks[1])) for part in parts)

        rules = [self.data["rules"][at] for at in row[5]]
        columns = [self.data["columns"][at] for at in row[8]]
        return ToldRow(
            state=STATES[row[1]],
            words=texts[row[2]],
            more="" if row[3] < 0 else texts[row[3]],
            sentence=named(row[4]),
            rules=[named(one[1]) for one in rules],
            rule_states=[texts[one[0]] for one in rules],
            evidence=[[texts[at] for at in one[2]] for one in rules],
            fixed=[texts[one[3]] for one in rules if one[3] >= 0],
            cautions=[named(at) for at in row[6]],
            kin=[named(at) for at in kin],
            table=self._table(row[7], [one for one in columns if len(one) > 1]),
            beside=[named(one[0]) for one in columns],
            wanted="" if row[9] < 0 else texts[row[9]],
        )

    def _table(self, own: list[int], columns: list[list[int]]) -> list[list[str]]:
        """The terms as the page shows them; no row of a trait in which none gains."""
        texts, pairs = self.data["texts"], self.data["pairs"]
        cells = [own, *(pairs[at][2][row][7] for _, _, at, row in columns)]
        told = zip(self.data["terms"], *([texts[at] for at in one] for one in cells), strict=True)
        return [
            [label, *(text or "0.00" for text in texts_)] for label, *texts_ in told if any(texts_)
        ]
