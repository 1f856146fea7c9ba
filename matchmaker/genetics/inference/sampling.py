"""Sampled marginals, with their errors, of a network too tangled to sum exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.inference.blocks import block
from matchmaker.genetics.inference.chains import Chains, Seen, joint
from matchmaker.genetics.inference.cutset import REPEATED, cut_set, cut_sets
from matchmaker.genetics.inference.elimination import CELLS_MAX, TooTangledError, neighbours
from matchmaker.genetics.inference.factors import opened, states_of
from matchmaker.genetics.inference.peeling import peeled
from matchmaker.genetics.inference.starts import NoStartError, starting_states

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.blocks import Block
    from matchmaker.genetics.inference.elimination import Neighbours
    from matchmaker.genetics.inference.factors import Network, Opened
    from matchmaker.genetics.inference.logfactors import Factor
    from matchmaker.genetics.inference.peeling import Peeled

    Array = NDArray[np.float64]

CHAINS = 256
STARTS = 32
"""Different states that most chains start from; a few start in states none of these are in."""

SWEEPS_MAX = 512
FIRST_SWEEPS = 4
"""Length of the first four stretches; two more of twice the length follow, and so on."""

BLOCKS_MAX = 24
NARROW = 243
"""Cells of a clique (five variables of three states) up to which sums are taken exactly."""

GROUPS = STARTS
"""Chains are pooled into so many groups at most, whose spread gives the standard errors.

As many as starting states, so that chains from one start, alike at first, are in one group.
"""

ERROR_AIM = 0.01
"""Standard error of every probability at which chains stop early."""

ERROR_MAX = 0.02
"""Largest standard error of a probability with which an answer is given."""

DISAGREEMENT_MAX = 1.1
"""Customary limit of the potential scale reduction factor."""

RARELY_FIXED = 0.03
"""How much less the neighbours of a variable count that a block shall rather leave free."""

SAMPLES_MAX = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampled:
    """Probabilities estimated from chains of draws, and how far to trust them.

    ``marginals`` and ``errors`` (standard errors) hold one array (states,) per variable;
    ``samples`` (samples, variables) joint states drawn, chain after chain in turn, so that joint
    probabilities of several variables can be counted. ``sweeps`` were used of each chain.
    """

    marginals: tuple[Array, ...]
    errors: tuple[Array, ...]
    samples: NDArray[np.uint8]
    chains: int
    sweeps: int
    disagreement: float

    @property
    def error(self) -> float:
        """Largest standard error of any probability."""
        return max((float(error.max()) for error in self.errors), default=0.0)


def sampled(
    network: Network,
    generator: np.random.Generator,
    *,
    chains: int = CHAINS,
    sweeps_max: int = SWEEPS_MAX,
    narrow: int = NARROW,
) -> Sampled:
    """Estimate every variable's probabilities by sampling, with standard errors.

    What needs no clique of over ``narrow`` cells is summed out exactly beforehand. In the core
    that is left, ``chains`` chains are drawn in large blocks: all variables outside a cut set
    jointly and exactly given those in it, with cut sets that take turns. The first half of all
    sweeps is burn-in. They double until the chains agree and no standard error is over
    ``ERROR_AIM``, or to ``sweeps_max``; between, a block is added that frees what chains disagree
    on. The same network and a generator of the same seed give the same answer.

    Raises
    ------
    ContradictionError
        If the evidence is seen to be impossible.
    TooTangledError
        If at the end the chains disagree (potential scale reduction over 1.1) or a standard
        error is over ``ERROR_MAX``, or if no possible state to start from was found.
    ValueError
        If the chains cannot be grouped evenly.

    Notes
    -----
    Blocked Gibbs sampling on pedigrees (Jensen, Kong and Kjærulff 1995, Int J Hum Comput Stud
    42:647, from memory). Agreement cannot be proved by sampling: chains start far apart, and
    every state that trimming leaves to a variable of the core is looked for as a start, so that
    modes they cannot leave show as disagreement. A mode that no single state tells from the
    others, and that random starts do not come upon, can still be missed.

    Examples
    --------
    >>> from matchmaker.genetics.inference.factors import Network, Table
    >>> network = Network()
    >>> parent, chick = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.25, 0.75])), parent)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), parent, chick)
    >>> sampled(network, np.random.default_rng(1)).marginals[chick].round(3).tolist()
    [0.625, 0.375]
    """
    if chains < 2 or chains % min(GROUPS, chains):
        raise ValueError(f"chains must be 2 to {GROUPS}, or a multiple of {GROUPS}")
    net = opened(network)
    part = peeled(net, narrow)
    core = _Core.of(net, part, narrow)
    runs = core.started(generator, chains)
    looks = _looks(runs, sweeps_max)
    reading = _read(core, part, next(looks))
    while not reading.within(ERROR_AIM):
        runs.blocks += core.freeing(reading.unlike, runs.blocks)
        seen = next(looks, None)
        if seen is None:
            break
        reading = _read(core, part, seen)
    if not reading.within(ERROR_MAX):
        problem = f"drawn by lot {sweeps_max} times over they do not settle either; "
        raise TooTangledError(CELLS_MAX, problem)
    means = {variable: columns.mean(axis=1) for variable, columns in reading.columns.items()}
    return Sampled(
        marginals=_spread(net, means, 1.0),
        errors=_spread(net, reading.errors, 0.0),
        samples=_samples(net, part, reading.draws, generator),
        chains=chains,
        sweeps=len(reading.draws),
        disagreement=reading.disagreement,
    )


@dataclass(frozen=True, slots=True)
class _Reading:
    """What the sweeps so far say: probabilities by group of chains, and how far to trust them."""

    draws: NDArray[np.uint8]
    columns: dict[int, Array]
    errors: dict[int, Array]
    unlike: Array

    @property
    def disagreement(self) -> float:
        return float(self.unlike.max(initial=1.0))

    def within(self, error: float) -> bool:
        largest = max((float(each.max()) for each in self.errors.values()), default=0.0)
        return self.disagreement <= DISAGREEMENT_MAX and largest <= error


@dataclass(frozen=True, slots=True)
class _Core:
    """What is left after peeling; its variables are numbered anew, from nought."""

    number: dict[int, int]
    sizes: dict[int, int]
    factors: tuple[Factor, ...]
    near: Neighbours
    narrow: int

    @classmethod
    def of(cls, net: Opened, part: Peeled, narrow: int) -> _Core:
        number = {variable: at for at, variable in enumerate(part.core)}
        sizes = {at: net.open_sizes[variable] for variable, at in number.items()}
        factors = tuple([factor.renumbered(number) for factor in part.factors])
        near = neighbours((factor.scope for factor in factors), sizes)
        return cls(number, sizes, factors, near, narrow)

    def started(self, generator: np.random.Generator, chains: int) -> Chains:
        """Return chains in possible states, and the blocks that move them."""
        cuts = cut_sets(self.near, self.sizes, self.narrow) if self.sizes else []
        blocks = [block(cut, self.factors, self.sizes) for cut in cuts]
        usual = min(chains, STARTS)
        try:
            starts = starting_states(self.factors, self.sizes, usual, generator)
        except NoStartError:
            problem = "to draw them by lot no genotypes were found to start from; "
            raise TooTangledError(CELLS_MAX, problem) from None
        states = starts[:, np.arange(chains) % usual]
        rare = starts[:, usual : usual + chains // 2]
        states[:, chains - rare.shape[1] :] = rare
        return Chains(blocks, list(self.sizes.values()), states, generator)

    def freeing(self, unlike: Array, blocks: Sequence[Block]) -> list[Block]:
        """Return one more block, in which the variables that chains disagree on most are free."""
        worst = [int(one) for one in np.argsort(-unlike) if unlike[one] > DISAGREEMENT_MAX]
        if not worst or len(blocks) >= BLOCKS_MAX:
            return []
        times = np.array([np.isin(list(self.sizes), each.free) for each in blocks]).sum(axis=0)
        weight = {
            one: REPEATED ** (len(blocks) - times[one]) * (RARELY_FIXED if one in worst else 1.0)
            for one in self.sizes
        }
        cut = cut_set(self.near, self.sizes, self.narrow, weight, worst[:1])
        return [block(cut, self.factors, self.sizes)]


def _looks(runs: Chains, sweeps_max: int) -> Iterator[Seen]:
    """Yield the later half of all sweeps so far; then sweep as often again, and so on."""
    length = FIRST_SWEEPS
    quarters = [runs.run(length) for _ in range(4)]
    yield Seen(quarters[2:], runs.sizes)
    while 8 * length <= sweeps_max:
        halves = [quarters[0].then(quarters[1]), quarters[2].then(quarters[3])]
        length *= 2
        quarters = halves + [runs.run(length) for _ in range(2)]
        yield Seen(quarters[2:], runs.sizes)


def _read(core: _Core, part: Peeled, seen: Seen) -> _Reading:
    draws = seen.draws
    sweeps, _, chains = draws.shape
    groups = min(GROUPS, chains)

    def of_core(scope: tuple[int, ...]) -> Array:
        variables = [core.number[variable] for variable in scope]
        return joint(draws[:, variables], [core.sizes[one] for one in variables], groups)

    columns = part.marginals(of_core)
    columns |= {one: seen.marginal(at, groups) for one, at in core.number.items()}
    # What was never drawn may still happen: no error is below that of one draw in all.
    least = 1.0 / (sweeps * chains) if core.number else 0.0
    errors = {one: np.maximum(_standard_error(each), least) for one, each in columns.items()}
    return _Reading(draws, columns, errors, seen.disagreements())


def _standard_error(columns: Array) -> Array:
    """Return the standard error (states,) of the mean of independent columns."""
    found: Array = columns.std(axis=1, ddof=1) / np.sqrt(columns.shape[1])
    return found


def _spread(net: Opened, known: dict[int, Array], settled: float) -> tuple[Array, ...]:
    """Put numbers of the possible states back among all states."""
    full = []
    for variable, (size, mask) in enumerate(zip(net.sizes, net.masks, strict=True)):
        spread = np.zeros(size)
        spread[states_of(mask)] = known.get(variable, settled)
        full.append(spread)
    return tuple(full)


def _samples(
    net: Opened, part: Peeled, draws: NDArray[np.uint8], generator: np.random.Generator
) -> NDArray[np.uint8]:
    """Return joint states of all variables: core states evenly spaced in time, the rest drawn."""
    sweeps, _, chains = draws.shape
    core = draws[:: -(-sweeps * chains // SAMPLES_MAX)]
    states = np.zeros((len(net.sizes), len(core) * chains), dtype=np.intp)
    states[list(part.core)] = core.transpose(1, 0, 2).reshape(len(part.core), states.shape[1])
    part.draw(states, generator)
    for variable, mask in enumerate(net.masks):
        states[variable] = np.array(states_of(mask))[states[variable]]
    return states.T.astype(np.uint8)
