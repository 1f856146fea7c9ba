"""The hatch command: eggs set, what came of them, the chicks with their bands and markers.

Heavy libraries are imported inside it, so that ``--help`` answers at once.
"""

from __future__ import annotations

from matchmaker.cli.hatch_options import (
    Bands,
    Clutch,
    CockChicks,
    Collected,
    Culled,
    Dam,
    Dead,
    DryRun,
    Eggs,
    Fertile,
    From,
    Hatched,
    HatchedOn,
    HenChicks,
    Line,
    Pen,
    Seen,
    SetOn,
    Sire,
    Sold,
)
from matchmaker.cli.options import HERE, Csv, Folder, Force, Json, Undo
from matchmaker.cli.root import command


@command(
    "hatch",
    "--pen 2 --set-on 2027-03-02 --eggs 23",
    "--pen 2 --hatched 17 --bands C27-001..C27-012",
)
def hatch(
    folder: Folder = HERE,
    *,
    pen: Pen = "",
    dam: Dam = "",
    sire: Sire = "",
    set_on: SetOn = "",
    collected: Collected = "",
    eggs: Eggs = None,
    fertile: Fertile = None,
    hatched: Hatched = None,
    hatched_on: HatchedOn = "",
    bands: Bands = None,
    cock_chicks: CockChicks = None,
    hen_chicks: HenChicks = None,
    dead: Dead = None,
    culled: Culled = None,
    sold: Sold = None,
    seen: Seen = None,
    line: Line = "",
    clutch: Clutch = "",
    form: From = None,
    dry_run: DryRun = False,
    undo: Undo = False,
    json: Json = False,
    csv: Csv = None,
    force: Force = False,
) -> None:
    """Write down eggs set, chicks hatched, bands and what is seen.

    What they tell of their parents is worked out at once.
    """
    options = dict(locals())
    if undo:
        from matchmaker.cli.undo import run_undo

        return run_undo(options)
    from matchmaker.cli.hatch import run_hatch
    from matchmaker.cli.output import Output
    from matchmaker.hatch.asked import Asked

    asked = Asked.of(options)  # the options by their names
    output = Output(json=json, csv=csv, force=force)
    return run_hatch(folder, asked, form, output, dry_run=dry_run)
