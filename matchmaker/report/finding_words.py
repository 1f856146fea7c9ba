"""What is said of a fault or a doubt: its place, what rests on it, its mend, what that changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.mends.bench import Why
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.errors import CellMend, Fault
    from matchmaker.mends.effects import Effect
    from matchmaker.mends.reach import Reach

ROWS_MAX: Final = 6
"""Rows named of one fault that stands in many; of more only the number is said."""

CELLS_MAX: Final = 4
"""Cells shown of one mend; of more only the number is said."""

NAMED_MAX: Final = 2
"""Breeders named where a finding touches no more than these."""

SAME: Final = 0.05
"""Wanted chicks; less than this is no difference in a plan, which is shown to a tenth."""

WHYS: Final = {
    Why.NOT_SAFE: "look first, then mend it by hand",
    Why.CLASH: "another finding wants something else in the same place: settle it by hand",
    Why.STALE: "the cell does not say any more what was found there: mend it by hand",
    Why.BROKEN: "its file cannot be changed as it is: mend what is said of the whole file first",
    Why.BOOK: "it stands in a workbook, which is not written to: mend it there, or save the sheet "
    "as CSV and move the workbook out of the folder",
    Why.SETTINGS: "it stands in the settings: mend it there by hand",
    Why.NO_TABLE: "there is no such table that can be read: mend it by hand",
    Why.WORSE: "written down, it would only lead to another finding: look at both",
    Why.UNTRIED: "not tried, as too many mends beside it lead to other findings: mend those first",
}


def counted_findings(found: Iterable[Reach]) -> str:
    """How many faults and doubts there are, and what that means."""
    stops = [reach.stops for reach in found]
    faults, doubts = sum(stops), len(stops) - sum(stops)
    told = [
        f"{count} {kind}{'' if count == 1 else 's'} ({what})"
        for count, kind, what in (
            (faults, "fault", "must be mended"),
            (doubts, "doubt", "worth a look"),
        )
        if count
    ]
    return " and ".join(told)


def place_text(fault: Fault, *more: Fault) -> str:
    """File, row and column (or key of the settings) of a fault, with the value that stands there.

    ``more`` are faults of other rows alike in all else.
    """
    rows = [str(one.row) for one in (fault, *more) if one.row is not None]
    parts = [fault.file]
    if rows:
        beyond = f" and {len(rows) - ROWS_MAX} more" if len(rows) > ROWS_MAX else ""
        parts.append(f"row{'s' if more else ''} {', '.join(rows[:ROWS_MAX])}{beyond}")
    if fault.column:
        parts.append(f"{'key' if fault.file == SETTINGS_FILE else 'column'} {fault.column}")
    value = f' "{fault.value}"' if fault.value else ""
    return ", ".join(parts) + value


def touches_text(reach: Reach, breeders: Sequence[str]) -> str:
    """How many of this spring's breeders rest on a finding; few of them by name.

    Examples
    --------
    >>> from matchmaker.errors import Fault
    >>> from matchmaker.mends.reach import Reach
    >>> doubt = Fault(kind="k", file="birds.csv", problem="p", mend="m")
    >>> touches_text(Reach(fault=doubt, stops=False, touched={"H1": 0.5}), ("C1", "H1", "H2"))
    'touches 1 of 3 breeders: H1'

    Of more the sum of their parts is said as well, a bird that rests on it wholly being 1: by it
    findings are sorted.

    >>> touched = {"C1": 1.0, "H1": 0.5, "H2": 0.5}
    >>> touches_text(Reach(fault=doubt, stops=False, touched=touched), ("C1", "H1", "H2", "H3"))
    'touches 3 of 4 breeders (as much as 2.0 birds)'
    """
    count, of = len(reach.touched), len(breeders)
    if not count:
        return "touches no bird that can be penned this spring"
    if count == of == 1:
        return "touches the only breeder"
    told = f"touches all {of} breeders" if count == of else f"touches {count} of {of} breeders"
    if count <= NAMED_MAX:
        return f"{told}: {' and '.join(reach.touched)}"
    weight = f"{reach.weight:.1f}"
    return told if weight == f"{count:.1f}" else f"{told} (as much as {weight} birds)"


def mend_texts(faults: Sequence[Fault]) -> list[str]:
    """The cells that the mends of findings alike would write, and whether that is safe."""
    mends = [mend for fault in faults for mend in fault.mends]
    if not mends:
        return []
    where = {mend.table for mend in mends} != {faults[0].file.partition(".")[0]}
    shown = [cell_text(mend, table=where) for mend in mends[:CELLS_MAX]]
    if len(mends) > CELLS_MAX:
        shown.append(f"and {len(mends) - CELLS_MAX} more")
    mark = "safe" if faults[0].safe else "look first"
    return [f"{'; '.join(shown)} ({mark})"]


def cell_text(mend: CellMend, *, table: bool = False) -> str:
    """One cell as it is and as it would be, or a row that would go.

    Examples
    --------
    >>> from matchmaker.errors import CellMend
    >>> cell_text(CellMend(table="birds", row=7, column="dam", was="H 1", becomes="H1"))
    'row 7, dam: "H 1" → "H1"'
    >>> cell_text(CellMend(table="birds", row=8, column="", was="", becomes=None), table=True)
    'birds, row 8: taken out'
    """
    place = f"{mend.table}, row {mend.row}" if table else f"row {mend.row}"
    if mend.becomes is None:
        return f"{place}: taken out"
    return f"{place}, {mend.column}: {becoming(mend.was, mend.becomes)}"


def becoming(was: str, becomes: str) -> str:
    """What a cell says and what it is to say.

    Examples
    --------
    >>> becoming("", "hen"), becoming("2,1 kg", "")
    ('empty → "hen"', '"2,1 kg" → empty')
    """
    old, new = (f'"{text}"' if text else "empty" for text in (was, becomes))
    return f"{old} → {new}"


def effect_text(effect: Effect | None) -> str:
    """What a mend would change in the plan, as it was measured."""
    if effect is None:
        return "not measured: the time was over (give more with --time-limit)"
    if effect.faults:
        many = "1 fault stops" if effect.faults == 1 else f"{effect.faults} faults stop"
        return f"with this mended {many} the plan"
    if effect.worth is None:
        return "with this mended no plan is possible (matchmaker plan says why)"
    proof = "" if effect.proved else " (not proved in the time given)"
    return f"with this mended {_plan_text(effect)}{proof}"


def together_text(effect: Effect) -> str:
    """What all mends at once would lead to, where faults stop the plan.

    Examples
    --------
    >>> from matchmaker.mends.effects import Effect
    >>> together_text(Effect(faults=2))
    'With all cells written that are shown with →, 2 faults stop the plan'
    """
    told = effect_text(effect).removeprefix("with this mended ")
    return f"With all cells written that are shown with →, {told}"


def _plan_text(effect: Effect) -> str:
    if effect.gain is None:
        return (
            f"there is a plan: {effect.pairs_after} pairs, worth {effect.worth:.1f} wanted chicks"
        )
    if effect.kept == effect.pairs == effect.pairs_after:
        kept = "the plan keeps its pairs"
    elif effect.kept == effect.pairs:
        more = effect.pairs_after - effect.pairs
        kept = f"the plan keeps its {effect.pairs} pairs, gets {more} more"
    else:
        kept = f"the plan keeps {effect.kept} of {effect.pairs} pairs"
    if abs(effect.gain) < SAME:
        return f"{kept} and is worth as much"
    than = "more" if effect.gain > 0 else "less"
    return f"{kept} and is worth {abs(effect.gain):.1f} wanted chicks {than}"
