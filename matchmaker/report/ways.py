"""Ways out in the keeper's words: what is changed, and the literal edit that changes it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from matchmaker.plan.no_plan.repair import Act
from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.wording import counted
from matchmaker.tables.toml_names import section, toml_key, toml_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from matchmaker.plan.no_plan.diagnosis import WayOut
    from matchmaker.plan.no_plan.repair import Cell, Edit
    from matchmaker.scheme_settings import MatingSettings


def way_sentence(way: WayOut) -> str:
    """A way out in one sentence, without the rows to write for a crossing."""
    parts = []
    for at, edit in enumerate(way.edits):
        added = _added_wishes(way.edits[at:]) if edit.act is Act.ADD else ()
        if at and _allows(edit) and _allows(way.edits[at - 1]):
            continue
        parts.append(_allow_sentence(added) if len(added) > 1 else edit_sentence(edit))
    return "; and ".join(parts)


def way_rows(way: WayOut) -> str:
    """The rows of crossings that a way out writes, as they stand in the settings; "" for none."""
    return "\n".join(toml_rows(edit.matings) for edit in way.edits if edit.act is Act.OPEN_ROW)


def trial_sentence(way: WayOut) -> str:
    """What the plan then is."""
    trial = way.trial
    least = "" if trial.proved else "at least "
    pairs = counted(trial.pairs, "pair")
    return f"gives a plan of {pairs}, worth {least}{trial.value:.1f} wanted chicks"


def edit_sentence(edit: Edit) -> str:
    """One edit: what it means, then where to write what."""
    return f"{_MEANS[_what(edit)](edit)}: {_where(edit)}"


def _what(edit: Edit) -> str:
    """The key, column or table that an edit is about."""
    if edit.act is Act.ASK:
        return "matings"
    if edit.act in (Act.ADD, Act.DELETE):
        return f"{edit.act} {edit.table}"
    return edit.column or edit.key[-1]


def _where(edit: Edit) -> str:
    return _WHERE[edit.act](edit)


def _now(edit: Edit) -> str:
    return "" if edit.before is None else f" (now {cell_text(edit.before)})"


def _written(edit: Edit) -> str:
    under = section(*edit.key[:-1])
    return (
        f"in {edit.file} under {under} write {edit.key[-1]} = {cell_text(edit.after)}{_now(edit)}"
    )


def _removed(edit: Edit) -> str:
    return f"in {edit.file} under {section(*edit.key[:-1])} delete {edit.key[-1]}{_now(edit)}"


def _cell(edit: Edit) -> str:
    place = f"in {edit.file}, row {edit.row} ({edit.about}),"
    if edit.after == "":
        return f"{place} empty {edit.column}{_now(edit)}"
    return f"{place} write {edit.column} = {cell_text(edit.after)}{_now(edit)}"


def _added(edit: Edit) -> str:
    cells = ", ".join(f"{name} = {text}" for name, text in edit.cells)
    return f"in {edit.file} add a row with {cells}"


def _opened(edit: Edit) -> str:
    if len(edit.matings) == 1:
        return f"add this row to {edit.file}"
    return (
        f"write these rows into {edit.file} (written rows take the place of those assumed, so all "
        "of them stand here)"
    )


_WHERE: Mapping[Act, Callable[[Edit], str]] = {
    Act.WRITE: _written,
    Act.REMOVE: _removed,
    Act.CELL: _cell,
    Act.DELETE: lambda edit: f"delete row {edit.row} of {edit.file} ({edit.about})",
    Act.ADD: _added,
    Act.OPEN_ROW: _opened,
    Act.ASK: lambda edit: f"--matings {edit.after}",
}


def cell_text(cell: Cell) -> str:
    """A cell as the keeper writes it.

    Examples
    --------
    >>> cell_text(True), cell_text(0.125), cell_text(7), cell_text("Cedar")
    ('yes', '0.125', '7', 'Cedar')
    """
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


def _of_line(edit: Edit) -> str:
    return f"line {edit.about}"


def _asks(things: str) -> Callable[[Edit], str]:
    def means(edit: Edit) -> str:
        if edit.act is Act.REMOVE or not edit.after:
            return f"ask {_of_line(edit)} for no number of {things}"
        what = things.removesuffix("s") if edit.after == 1 else things
        return f"ask {_of_line(edit)} for {cell_text(edit.after)} {what} at least"

    return means


def _kinship(edit: Edit) -> str:
    whose = _of_line(edit) if edit.about else "the flock"
    return f"raise the kinship limit of {whose} to {cell_text(edit.after)}"


def _share(edit: Edit) -> str:
    whose = f"{_of_line(edit)}'s" if edit.about else "all"
    return f"let one cock have {percent(_number(edit))} of {whose} pairs"


def _number(edit: Edit) -> float:
    return float(edit.after) if isinstance(edit.after, int | float) else 0.0


def _hens(edit: Edit) -> str:
    if edit.table == "birds":
        return f"give cock {edit.about} {edit.after} hens"
    return f"give pen {edit.about} {edit.after} places"


_MEANS: Mapping[str, Callable[[Edit], str]] = {
    "cocks_min": _asks("cocks"),
    "hens_min": lambda edit: (
        f"let pen {edit.about} hold {edit.after} hens at least"
        if edit.table == "pens"
        else _asks("hens")(edit)
    ),
    "wanted_min": _asks("wanted chicks"),
    "wanted_cocks_min": _asks("wanted sons"),
    "wanted_hens_min": _asks("wanted daughters"),
    "certainty": lambda edit: f"ask {_of_line(edit)} for no certainty",
    "sire_share_max": _share,
    "kinship_max": _kinship,
    "mean_inbreeding_max": lambda edit: (
        f"let the chicks' mean inbreeding be {cell_text(edit.after)}"
    ),
    "group_kinship_max": lambda edit: (
        f"let the kinship of the parents as a group be {cell_text(edit.after)}"
    ),
    "rearing_room": lambda edit: f"make room to raise {edit.after} chicks",
    "incubator_per_week": lambda edit: f"make room to set {edit.after} eggs a week",
    "proof_min": lambda edit: (
        f"take a bird for what its row needs from a chance of {percent(_number(edit))} on"
    ),
    "wanted_chance_min": lambda edit: (
        f"let pairs count from {percent(_number(edit), 1)} wanted chicks on"
    ),
    "pens_per_cock": lambda edit: f"let a cock serve {edit.after} pens at a time",
    "matings": lambda edit: (
        f"open the crossing {edit.about}"
        if edit.act is Act.OPEN_ROW
        else f"ask for {edit.after} pairs, not {edit.before}"
    ),
    "hens_max": _hens,
    "line": lambda edit: f"let pen {edit.about} breed for any line",
    "use": lambda edit: f"let pen {edit.about} be used for any matings",
    "open": lambda edit: f"open pen {edit.about}",
    "pen_up": lambda edit: f"make up the pens on {cell_text(edit.after)}, not before",
    "add pens": lambda edit: f"set up one more pen ({edit.about})",
    "add wishes": lambda edit: f"allow {' with '.join(edit.about.split())}{_related(edit)}",
    "delete wishes": lambda _: "give up a wish",
}


def _related(edit: Edit) -> str:
    return "" if edit.kinship is None else f" (kinship {kinship_text(edit.kinship)})"


def _allows(edit: Edit) -> bool:
    return edit.act is Act.ADD and edit.table == "wishes"


def _added_wishes(edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """The pairs allowed at the head of these edits."""
    found: list[Edit] = []
    for edit in edits:
        if not _allows(edit):
            break
        found.append(edit)
    return tuple(found)


def _allow_sentence(edits: Sequence[Edit]) -> str:
    rows = "; ".join(",".join(text for _, text in edit.cells) for edit in edits)
    columns = ",".join(name for name, _ in edits[0].cells)
    closest = max((edit.kinship for edit in edits if edit.kinship is not None), default=None)
    related = "" if closest is None else f" (kinship up to {kinship_text(closest)})"
    return (
        f"allow {len(edits)} pairs{related}: in {edits[0].file} add these rows (columns "
        f"{columns}): {rows}"
    )


def toml_rows(matings: Iterable[MatingSettings]) -> str:
    """Rows of crossings as they stand in the settings."""
    return "\n".join(_toml_row(row) for row in matings)


def _toml_row(row: MatingSettings) -> str:
    lines = [
        "[[matings]]",
        f"name = {toml_text(row.name or '')}",
        f"hens = {_listed(row.hens)}",
        f"cocks = {_listed(row.cocks)}",
        f"chicks = {toml_text(row.chicks)}",
        f"purpose = {toml_text(row.purpose)}",
    ]
    if row.keep:
        lines.append(f"keep = {_inline(row.keep)}")
    return "\n".join(lines) + "\n"


def _listed(names: Iterable[str]) -> str:
    return f"[{', '.join(map(toml_text, names))}]"


def _inline(table: Mapping[str, object]) -> str:
    inside = (
        f"{toml_key(name)} = {_inline(value) if isinstance(value, dict) else value}"
        for name, value in table.items()
    )
    return f"{{ {', '.join(inside)} }}" if table else "{}"


def edit_entry(edit: Edit) -> dict[str, Any]:
    """One edit; ``to`` is what is to stand there, null where something is deleted."""
    after: Any = edit.after
    if edit.act is Act.ADD:
        after = dict(edit.cells)
    elif edit.act is Act.OPEN_ROW:
        after = toml_rows(edit.matings)
    elif edit.act is Act.REMOVE:
        after = None
    elif isinstance(after, bool | dt.date):
        after = cell_text(after)
    return {
        "act": str(edit.act),
        "file": edit.file or None,
        "key": list(edit.key) or None,
        "row": edit.row,
        "column": edit.column or None,
        "about": edit.about or None,
        "from": cell_text(edit.before) if isinstance(edit.before, dt.date) else edit.before,
        "to": after,
        "sentence": edit_sentence(edit),
    }
