"""All that the page of a season shows, worked out together."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.explain.prices import pair_costs
from matchmaker.plan.nearly_best.near_model import minds_kinship
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.plan.solvers.watch import Watch
from matchmaker.rebalance.spares import precautions
from matchmaker.season.guide import season_guide
from matchmaker.season.own_changes import own_changes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.rebalance.spares import Precautions
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.own_changes import OwnChanges

DIVES: Final = 24
"""Plans that are looked for to bound what pairs cost: as many as there is time for while the rest
of the page is made. Measured: a plan is then known with every pair of holm-fen."""


@dataclass(frozen=True, kw_only=True)
class SeasonReport:
    """A season's plan with all that is told of it.

    ``plan`` is the best plan; ``guide`` holds the pens that stand (those of the moves, else of
    the written plan, else of the best plan) with their dates, eggs and chicks; ``care`` is what
    the loss of each cock would mean. ``costs`` is what each allowed pair would cost the plan,
    ``None`` where the kinship of the parents as a group has a limit or a price. ``changed`` is how
    the pens that stand differ from the best plan, ``None`` where they do not.
    """

    plan: SeasonPlan
    guide: SeasonGuide
    care: Precautions
    costs: Mapping[Key, Cost] | None
    changed: OwnChanges | None = None

    @property
    def table(self) -> PairTable:
        """All pairs, judged."""
        return self.plan.table

    @property
    def stands_as_planned(self) -> bool:
        """Whether the pens that stand have the pairs of the best plan, and no others."""
        best = {(pair.hen, pair.cock) for pen in self.plan.pens for pair in pen.pairs}
        return best == {(pair.hen, pair.cock) for pair in self.guide.pens.pairs}


def season_report(
    table: PairTable, *, dives: int = DIVES, wait: bool = True, watch: Watch | None = None
) -> SeasonReport:
    """Work out all that the page of a season shows.

    What pairs cost is worked out in a thread of its own beside the rest.

    Parameters
    ----------
    table
        All pairs, judged.
    dives
        How many plans are looked for to bound what pairs cost.
    wait
        Whether to return only when all is known. Else ``costs`` of the report waits for its end
        where it is looked into first, and raises there what went wrong; what is written to file
        descriptor 1 until then is lost, as the solver's own messages are kept from it.
    watch
        Told how far the search for the plan is. It may end the work early: the plan is then the
        best one found, cocks are left out of ``care``, and costs stay wide ranges, but true.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    watch = watch or Watch()
    plan = plan_season(table, watch=watch)
    costs = None if minds_kinship(plan.problem) else _costs_of(plan, dives, watch)
    try:
        guide = season_guide(table, plan=plan, watch=watch)
        found = SeasonReport(
            plan=plan,
            guide=guide,
            care=precautions(plan, watch=watch),
            costs=costs,
            changed=own_changes(guide.pens, plan),
        )
        if wait and costs is not None:
            costs.wait()
    except BaseException:
        watch.stop()  # nobody will ask for the costs
        raise
    return found


def _costs_of(plan: SeasonPlan, dives: int, watch: Watch) -> Awaited:
    return Awaited(lambda: pair_costs(plan, dives=dives, watch=watch) or {}, watch)


class Awaited(Mapping["Key", "Cost"]):
    """What pairs cost, being worked out in a thread; whoever looks into it waits for the end."""

    def __init__(self, work: Callable[[], Mapping[Key, Cost]], watch: Watch) -> None:
        self._found: Mapping[Key, Cost] = {}
        self._failure: BaseException | None = None
        self._watch = watch
        self._thread = threading.Thread(target=self._run, args=(work,), daemon=True)
        self._thread.start()

    def _run(self, work: Callable[[], Mapping[Key, Cost]]) -> None:
        try:
            self._found = work()
        except BaseException as failure:  # noqa: BLE001 -- raised where it is waited for
            self._failure = failure

    def wait(self) -> Mapping[Key, Cost]:
        """What was found, once it is.

        Raises
        ------
        BaseException
            What the work raised, or the interrupt of who waits: the work is then told to stop.
        """
        try:
            self._thread.join()
        except KeyboardInterrupt:
            self._watch.stop()
            raise
        if self._failure is not None:
            raise self._failure
        return self._found

    def __getitem__(self, key: Key) -> Cost:
        """What a pair costs."""
        return self.wait()[key]

    def __iter__(self) -> Iterator[Key]:
        """The pairs, in the order of the plan's problem."""
        return iter(self.wait())

    def __len__(self) -> int:
        """Of how many pairs it is known."""
        return len(self.wait())
