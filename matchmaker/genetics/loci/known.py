"""All loci that can be asked about: the catalogue's and those of a folder's settings."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.errors import InputError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.settled import resolve_loci
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.genetics.loci.locus import Locus


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownLoci:
    """The catalogue, with what a folder's settings change of it or add (``stated``)."""

    loci: Mapping[str, Locus]
    stated: tuple[str, ...] = ()
    inputs: Mapping[str, str] = field(default_factory=dict)


def known_loci(folder: Path | None = None) -> KnownLoci:
    """Every locus of the catalogue and, given a folder, those its settings describe.

    Raises
    ------
    UsageError
        If there is no such folder.
    InputError
        With every fault of the folder's settings, if there are any; its tables are not looked at.

    Examples
    --------
    >>> known_loci().loci["O"].name
    'Blue eggshell'
    """
    if folder is None:
        return KnownLoci(loci=catalogue())
    from matchmaker.tables.read import read_folder

    tables = read_folder(folder, known_loci=frozenset(catalogue()))
    if tables.settings is None:
        raise InputError(tuple(fault for fault in tables.faults if fault.file == SETTINGS_FILE))
    loci = dict(catalogue())
    faults: list[Fault] = []
    for symbol in tables.settings.loci:
        found, wrong = resolve_loci(tables.settings, [symbol])
        loci |= found
        faults += [replace(one, row=tables.setting_place(one.column or "")["row"]) for one in wrong]
    if faults:
        raise InputError(tuple(faults))
    inputs = {name: digest for name, digest in tables.inputs.items() if name == SETTINGS_FILE}
    return KnownLoci(loci=loci, stated=tuple(tables.settings.loci), inputs=inputs)
