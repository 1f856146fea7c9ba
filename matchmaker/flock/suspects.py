"""What a pedigree may not hold: each check looks at one bird and its parents and names the cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx as nx

from matchmaker.flock.parent_names import parent_name_faults
from matchmaker.tables.ages import (
    FIRST_EGG_AND_INCUBATION,
    USUAL_PARENT_AGE,
    first_possible_day,
    greatest_age,
    last_possible_day,
    when,
)
from matchmaker.tables.records import BirdRecord, Parentage, Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables


def parent_cells(record: BirdRecord) -> tuple[tuple[str, Sex, Parentage], ...]:
    """Return the two parental cells of a bird with the sex each must have, sire first."""
    return (("sire", Sex.COCK, record.sire), ("dam", Sex.HEN, record.dam))


def pedigree_faults(tables: FolderTables) -> list[Fault]:
    """Return every fault of the pedigree; a fault in one bird hides none of another's."""
    records = {record.bird: record for record in tables.birds}
    roles, graph = roles_of(tables), parent_graph(tables)
    faults = list(parent_name_faults(tables))
    for record in tables.birds:
        faults += _same_parent_faults(tables, record, records)
        faults += _role_faults(tables, record, roles)
    faults += [*_undated_parent_faults(tables, records, graph), *_clutch_faults(tables)]
    return [*faults, *_loop_faults(tables, records, graph)]


def pedigree_doubts(tables: FolderTables) -> list[Fault]:
    """Return the parents that are possible but younger than usual when their chick hatched."""
    records = {record.bird: record for record in tables.birds}
    return [
        tables.fault(
            "birds",
            record.row,
            side,
            kind="young-parent",
            value=parent,
            problem=f"{parent} was only {_age_text(age)} old when {record.bird} hatched",
            mend="check both hatch dates and the band of the parent",
        )
        for record in tables.birds
        for side, parent, age in _parent_ages(record, records)
        if FIRST_EGG_AND_INCUBATION <= age < USUAL_PARENT_AGE
    ]


def roles_of(tables: FolderTables) -> dict[str, set[Sex]]:
    """Return the sexes that each parent's chicks give it: {band: {cock, hen}}."""
    roles: dict[str, set[Sex]] = {}
    for record in tables.birds:
        for _, sex, cell in parent_cells(record):
            for parent, _ in cell.candidates:
                roles.setdefault(parent, set()).add(sex)
    return roles


def sexes_of(tables: FolderTables) -> dict[str, Sex | None]:
    """Each bird's sex as written, else as its chicks give it, else ``None``."""
    roles = roles_of(tables)
    return {
        record.bird: record.sex or next(iter(roles.get(record.bird, ())), None)
        for record in tables.birds
    }


def _undated_parent_faults(
    tables: FolderTables, records: Mapping[str, BirdRecord], graph: nx.DiGraph[str]
) -> Iterator[Fault]:
    """Parents without a hatch date whose own parents are too young for the chick."""
    earliest = _earliest_days(records, graph)
    for record in tables.birds:
        for side, _, cell in parent_cells(record):
            for parent, _ in cell.candidates:
                day = earliest.get(parent)
                dated = parent not in records or records[parent].hatched is not None
                if day is None or dated or record.hatched is None:
                    continue
                if last_possible_day(record) - day < FIRST_EGG_AND_INCUBATION:
                    yield tables.fault(
                        "birds",
                        record.row,
                        side,
                        kind="parent-too-late",
                        value=parent,
                        problem=f"{parent} has no hatch date (row {records[parent].row}), but by "
                        f"its own parents it cannot have hatched before {day}: too late to have a "
                        f"chick hatched {when(record)}",
                        mend="check the dates of its parents and of the chick, and the bands",
                    )


def _earliest_days(records: Mapping[str, BirdRecord], graph: nx.DiGraph[str]) -> dict[str, dt.date]:
    """Earliest day on which each bird can have hatched, by its own date or else its parents'."""
    if not nx.is_directed_acyclic_graph(graph):
        return {}  # the loop is a fault of its own
    earliest: dict[str, dt.date] = {}
    for band in nx.topological_sort(graph):
        if records[band].hatched is not None:
            earliest[band] = first_possible_day(records[band])
            continue
        parents = [earliest[one] for one in graph.predecessors(band) if one in earliest]
        if parents:
            earliest[band] = max(parents) + FIRST_EGG_AND_INCUBATION
    return earliest


def _same_parent_faults(
    tables: FolderTables, record: BirdRecord, records: Mapping[str, BirdRecord]
) -> Iterator[Fault]:
    """One bird as sire and dam; where its sex is written, that tells which cell is wrong."""
    dams = {dam for dam, _ in record.dam.candidates}
    for sire, _ in record.sire.candidates:
        if sire in dams and (sire not in records or records[sire].sex is None):
            yield tables.fault(
                "birds",
                record.row,
                "dam",
                kind="same-parent",
                value=sire,
                problem=f"{sire} is written as sire and as dam of {record.bird}",
                mend="put the right band in one of the two cells",
            )


def _role_faults(
    tables: FolderTables, record: BirdRecord, roles: Mapping[str, set[Sex]]
) -> Iterator[Fault]:
    if record.sex is None and len(roles.get(record.bird, ())) > 1:
        yield tables.fault(
            "birds",
            record.row,
            "sex",
            kind="two-roles",
            value=record.bird,
            problem=f"{record.bird} has no sex written and is sire of some chicks, dam of others",
            mend="write the sex, and put the right bands where it is named as the other parent",
        )


def _loop_faults(
    tables: FolderTables, records: Mapping[str, BirdRecord], graph: nx.DiGraph[str]
) -> Iterator[Fault]:
    for knot in sorted(sorted(part) for part in nx.strongly_connected_components(graph)):
        if len(knot) == 1 and not graph.has_edge(knot[0], knot[0]):
            continue
        inside: nx.DiGraph[str] = nx.DiGraph(sorted(graph.subgraph(knot).edges))
        loop = [parent for parent, _ in nx.find_cycle(inside, knot[0])]
        chick = records[loop[0]]
        parent = loop[-1]
        side = "sire" if any(parent == sire for sire, _ in chick.sire.candidates) else "dam"
        yield tables.fault(
            "birds",
            chick.row,
            side,
            kind="ancestor-loop",
            value=parent,
            problem=f"{chick.bird} is its own ancestor: {' → '.join([*loop, loop[0]])} "
            "(each is written as a parent of the next)",
            mend="one of these parents is wrong; start with the one hatched last",
        )


def parent_graph(tables: FolderTables) -> nx.DiGraph[str]:
    """Return the graph of written parents: an edge from each listed parent to its chick."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(record.bird for record in tables.birds)
    graph.add_edges_from(
        (parent, record.bird)
        for record in tables.birds
        for _, _, cell in parent_cells(record)
        for parent, _ in cell.candidates
        if parent in graph
    )
    return graph


def _parent_ages(
    record: BirdRecord, records: Mapping[str, BirdRecord]
) -> Iterator[tuple[str, str, dt.timedelta]]:
    for side, _, cell in parent_cells(record):
        for parent, _ in cell.candidates:
            found = records.get(parent)
            age = None if found is None else greatest_age(found, record)
            if age is not None:
                yield side, parent, age


def _age_text(age: dt.timedelta) -> str:
    return f"{age.days // 7} weeks"


def _clutch_faults(tables: FolderTables) -> Iterator[Fault]:
    """Chicks of one clutch have one sire and one dam, so what is written of them must agree."""
    first: dict[str, BirdRecord] = {}
    for record in tables.birds:
        other = first.setdefault(record.clutch or record.bird, record)
        for column, what in _clutch_clashes(record, other):
            yield tables.fault(
                "birds",
                record.row,
                column,
                kind="clutch-in-two",
                value=record.clutch,
                problem=f"{record.bird} and {other.bird} (row {other.row}) are of one clutch but "
                f"{what}",
                mend=f"write the same {column} in both rows, or give them different clutches",
            )


def _clutch_clashes(one: BirdRecord, two: BirdRecord) -> Iterator[tuple[str, str]]:
    """Columns in which two chicks of a clutch disagree, with what that means."""
    for (side, _, cell), (_, _, other) in zip(parent_cells(one), parent_cells(two), strict=True):
        if cell.origin is not other.origin or dict(cell.candidates) != dict(other.candidates):
            yield side, f"not of one {side}"
    if one.hatched and two.hatched and one.hatched.year != two.hatched.year:
        yield "hatched", "hatched in different years"
