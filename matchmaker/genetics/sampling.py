"""Sampled marginals, with their errors, of a network too tangled to sum exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.blocks import block
from matchmaker.genetics.chains import Chains
from matchmaker.genetics.cutset import cut_sets
from matchmaker.genetics.elimination import CELLS_MAX, TooTangledError, neighbours
from matchmaker.genetics.factors import opened, states_of
from matchmaker.genetics.peeling import peeled
from matchmaker.genetics.starts import NoStartError, starting_states

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from matchmaker.genetics.chains import Round
    from matchmaker.genetics.factors import Network, Opened
    from matchmaker.genetics.peeling import Peeled

    Array = NDArray[np.float64]
    States = NDArray[np.intp]

CHAINS = 128
SWEEPS_MAX = 1008
"""Rounds of 16, 32, 64, 128, 256 and 512 sweeps."""

FIRST_ROUND = 16
NARROW = 729
"""Cells of a clique (six variables of three states) up to which sums are taken exactly."""

GROUPS_MAX = 32
ERROR_AIM = 0.005
"""Standard error of any probability below which chains stop early."""

ERROR_MAX = 0.02
"""Largest standard error of a probability with which an answer is given."""

DISAGREEMENT_MAX = 1.1
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

    def joint(self, one: int, two: int) -> Array:
        """Return the joint probabilities of two variables, counted from the samples."""
        shape = (len(self.marginals[one]), len(self.marginals[two]))
        counts = np.zeros(shape)
        np.add.at(counts, (self.samples[:, one], self.samples[:, two]), 1.0)
        return counts / len(self.samples)


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
    jointly and exactly given those in it, with cut sets that take turns. Rounds of sweeps double;
    only the last counts, all earlier ones are burn-in. It ends when the chains agree and no
    standard error is over ``ERROR_AIM``, or after ``sweeps_max`` sweeps. The same network and a
    generator of the same seed give the same answer.

    Raises
    ------
    ContradictionError
        If the evidence is seen to be impossible.
    TooTangledError
        If at the end the chains disagree (potential scale reduction over 1.1) or a standard
        error is over ``ERROR_MAX``, or if no possible state to start from was found.

    Notes
    -----
    Blocked Gibbs sampling on pedigrees (Jensen, Kong and Kjærulff 1995, Int J Hum Comput Stud
    42:647, from memory). Agreement cannot be proved by sampling: chains start far apart, so that
    modes they cannot leave show as disagreement.

    Examples
    --------
    >>> from matchmaker.genetics.factors import Network, Table
    >>> network = Network()
    >>> parent, chick = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.25, 0.75])), parent)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), parent, chick)
    >>> sampled(network, np.random.default_rng(1)).marginals[chick].round(3).tolist()
    [0.625, 0.375]
    """
    net = opened(network)
    part = peeled(net, narrow)
    runs = _started(net, part, generator, chains, narrow)
    groups = max(count for count in range(1, GROUPS_MAX + 1) if chains % count == 0)
    rounds = _rounds(runs, sweeps_max)
    while True:
        seen, last = next(rounds)
        found = _estimates(part, seen, groups)
        error = max((float(_error(columns).max()) for columns in found.values()), default=0.0)
        if last or (seen.disagreement <= DISAGREEMENT_MAX and error <= ERROR_AIM):
            break
    if seen.disagreement > DISAGREEMENT_MAX or error > ERROR_MAX:
        raise TooTangledError(CELLS_MAX, "sampled instead, the chains did not agree; ")
    return Sampled(
        marginals=_spread(net, {one: columns.mean(axis=1) for one, columns in found.items()}, 1.0),
        errors=_spread(net, {one: _error(columns) for one, columns in found.items()}, 0.0),
        samples=_samples(net, part, seen, generator),
        chains=chains,
        sweeps=len(seen.draws),
        disagreement=seen.disagreement,
    )


def _started(
    net: Opened, part: Peeled, generator: np.random.Generator, chains: int, narrow: int
) -> Chains:
    """Return chains on the core, in possible states, and the blocks that move them.

    The chains number the core's variables anew, from nought in the order of ``part.core``.
    """
    number = {variable: at for at, variable in enumerate(part.core)}
    sizes = [net.open_sizes[variable] for variable in part.core]
    factors = [factor.renumbered(number) for factor in part.factors]
    near = neighbours((factor.scope for factor in factors), dict(enumerate(sizes)))
    cuts = cut_sets(near, dict(enumerate(sizes)), narrow)
    try:
        states = starting_states(factors, sizes, chains, generator)
    except NoStartError:
        raise TooTangledError(CELLS_MAX, "sampling found no genotypes to start from; ") from None
    blocks = [block(cut, factors, dict(enumerate(sizes))) for cut in cuts]
    return Chains(blocks, sizes, states, generator)


def _rounds(runs: Chains, sweeps_max: int) -> Iterator[tuple[Round, bool]]:
    """Yield rounds, each twice as long, and whether it is the last; a first one only burns in."""
    length = FIRST_ROUND
    runs.round(length)
    left = sweeps_max - length
    while True:
        length *= 2
        left -= length
        yield runs.round(length), left < 2 * length


def _estimates(part: Peeled, seen: Round, groups: int) -> dict[int, Array]:
    """Return the probabilities of all open variables by group of chains, (states, groups)."""
    number = {variable: at for at, variable in enumerate(part.core)}

    def joint(scope: tuple[int, ...]) -> Array:
        return seen.joint([number[variable] for variable in scope], groups)

    found = part.marginals(joint)
    return found | {one: seen.marginal(at, groups) for one, at in number.items()}


def _error(columns: Array) -> Array:
    """Return the standard error (states,) of the mean of independent columns."""
    count = columns.shape[1]
    found: Array = columns.std(axis=1, ddof=1) / np.sqrt(count)
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
    net: Opened, part: Peeled, seen: Round, generator: np.random.Generator
) -> NDArray[np.uint8]:
    """Return joint states of all variables: core states evenly spaced in time, the rest drawn."""
    sweeps, _, chains = seen.draws.shape
    step = -(-sweeps * chains // SAMPLES_MAX)
    core = seen.draws[::step]
    states = np.zeros((len(net.sizes), len(core) * chains), dtype=np.intp)
    states[list(part.core)] = core.transpose(1, 0, 2).reshape(len(part.core), states.shape[1])
    part.draw(states, generator)
    for variable, mask in enumerate(net.masks):
        states[variable] = np.array(states_of(mask))[states[variable]]
    return states.T.astype(np.uint8)
