"""The least work against SciPy's linear programming (HiGHS), problem by problem; the bound below it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import linprog

from catalog.transport import least_work, work_is_at_least


def by_programming(cost, source, sink):
    """One problem, written out: every source gives its share away, every sink gets its own."""
    n, m = cost.shape
    rows = [np.kron(np.eye(n)[i], np.ones(m)) for i in range(n)]
    rows += [np.kron(np.ones(n), np.eye(m)[j]) for j in range(m)]
    sums = np.concatenate([source, sink])
    solved = linprog(cost.ravel(), A_eq=np.array(rows)[:-1], b_eq=sums[:-1], method="highs")
    assert solved.status == 0
    return solved.fun


@st.composite
def problems(draw):
    """Up to eight colours on either side; costs with ties and zeros, sinks that take nothing."""
    n, m, k = draw(st.integers(1, 8)), draw(st.integers(1, 8)), draw(st.integers(1, 3))
    whole = st.integers(0, 40).map(float)
    cost = draw(arrays(np.float64, (k, n, m), elements=whole | st.floats(0, 120)))
    source = draw(arrays(np.float64, n, elements=st.floats(0.01, 1)))
    sink = draw(arrays(np.float64, (k, m), elements=st.just(0.0) | st.floats(0.01, 1)))
    sink[sink.sum(axis=1) == 0, 0] = 1.0
    return cost, source / source.sum(), sink / sink.sum(axis=1, keepdims=True)


@settings(max_examples=60, deadline=None)
@given(problems())
def test_the_least_work_is_that_of_linear_programming(problem):
    cost, source, sink = problem
    plain = [by_programming(c, source, t) for c, t in zip(cost, sink, strict=True)]
    assert least_work(cost, source, sink) == pytest.approx(plain, abs=1e-7)
    assert np.all(work_is_at_least(cost, source, sink) <= np.array(plain) + 1e-7)


def test_a_worked_example_with_three_sources():
    """Worked by hand: the second source fills the near sink, the others split what is left."""
    cost = np.array([[[4.0, 6.0], [1.0, 9.0], [5.0, 2.0]]])
    # 0.3 and 0.2 to spare: sink 1 wants 0.6, of which source 2 gives 0.5 at 1 and source 1 0.1 at 4;
    # sink 2 wants 0.4: source 3 gives 0.2 at 2, source 1 0.2 at 6.
    work = least_work(cost, np.array([0.3, 0.5, 0.2]), np.array([[0.6, 0.4]]))
    assert work[0] == pytest.approx(0.5 * 1 + 0.1 * 4 + 0.2 * 2 + 0.2 * 6)
