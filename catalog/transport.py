"""The least work of turning shares of some colours into shares of others, for many pieces at once.

The transport problem (Hitchcock 1941): of sources with shares s and sinks with shares t, both adding to 1,
and a cost for each pair, the flow of least cost. By its dual, any prices u of the sources are a bound:

    s u + sum_j t_j min_i (cost_ij - u_i),

and the largest such bound is the least work itself. As a function of u (one source's held at 0) it is concave
and flat in pieces, so it is largest where lines cross on which two sources cost a sink the same. With two or
three sources those crossings are few, and all are tried; more go to SciPy's linear programming.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["least_work", "work_is_at_least"]

Floats = NDArray[np.float64]

_CROSSINGS_MOST = 3
"""With so many sources or fewer the crossings are tried; four would be thousands."""


def work_is_at_least(cost: Floats, given: Floats, taken: Floats) -> Floats:
    """Bound the least work from below: all of each colour goes to its nearest, whoever else does.

    Parameters
    ----------
    cost : (k, n, m), of k problems, 0 or more
    given : (n,), shares of the sources, adding to 1
    taken : (k, m), shares of the sinks, each row adding to 1; 0 where a problem has fewer

    Returns
    -------
    (k,) float64
    """
    # The nearest source of a sink that takes nothing costs nothing; as a source's nearest it does not count.
    there = np.where(taken[:, None] > 0, cost, np.inf)
    forth = there.min(axis=2) @ given
    back = (taken * cost.min(axis=1)).sum(axis=1)
    bound: Floats = np.maximum(forth, back)
    return bound


def least_work(cost: Floats, given: Floats, taken: Floats) -> Floats:
    """Give the least work of each problem; shapes as in `work_is_at_least`."""
    k, n, m = cost.shape
    given = np.broadcast_to(given, (k, n))
    if n > _CROSSINGS_MOST >= m:
        return _by_crossings(cost.transpose(0, 2, 1), taken, given)
    if n > _CROSSINGS_MOST:
        return _by_programming(cost, given, taken)
    return _by_crossings(cost, given, taken)


def _by_crossings(cost: Floats, given: Floats, taken: Floats) -> Floats:
    """Give the largest bound over all crossings; `cost` (k, n, m) with n at most three, `given` (k, n)."""
    m = cost.shape[2]
    over = cost[:, :-1] - cost[:, -1:]  # (k, n - 1, m): a source's cost beyond the last one's, sink by sink
    if over.shape[1] == 0:
        return np.asarray((taken * cost[:, 0]).sum(axis=1), dtype=np.float64)
    if over.shape[1] == 1:
        prices = over.transpose(0, 2, 1)
    else:
        first, second = (np.repeat(over[:, i], m, axis=1) for i in (0, 1))
        each_second, gap = (np.tile(row, (1, m)) for row in (over[:, 1], over[:, 0] - over[:, 1]))
        crossings = ((first, each_second), (first, first - gap), (second + gap, second))
        prices = np.concatenate([np.stack(pair, axis=2) for pair in crossings], axis=1)
    prices = np.concatenate([prices, np.zeros_like(prices[:, :, :1])], axis=2)
    bound = np.einsum("kpn,kn->kp", prices, given)
    for sink in range(m):
        bound += taken[:, None, sink] * (cost[:, None, :, sink] - prices).min(axis=2)
    work: Floats = np.maximum(bound.max(axis=1), 0.0)  # rounding can end just under nothing
    return work


def _by_programming(cost: Floats, given: Floats, taken: Floats) -> Floats:
    """Solve all problems as one linear program whose blocks have nothing in common."""
    from scipy.optimize import linprog
    from scipy.sparse import csr_array, kron

    k, n, m = cost.shape
    one = np.vstack([np.kron(np.eye(n), np.ones(m)), np.kron(np.ones(n), np.eye(m))])[:-1]
    sums = np.concatenate([given, taken], axis=1)[:, :-1]
    solved = linprog(
        cost.ravel(), A_eq=kron(np.eye(k), csr_array(one), format="csr"), b_eq=sums.ravel(), method="highs"
    )
    return np.asarray((solved.x.reshape(cost.shape) * cost).sum(axis=(1, 2)), dtype=np.float64)
