"""The bound of a cell and the search by cells, against CIEDE2000 worked out for every colour.

The references are colour-science's delta_E_CIE2000 (another library) and the plain loop over all.
"""

import warnings

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from catalog.colour_cells import least_delta_e_00, make_cells
from vision.colour import delta_e_00

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.difference import delta_E_CIE2000

ANY = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
GREY = st.tuples(st.floats(0, 100), st.floats(-0.6, 0.6), st.floats(-0.6, 0.6))
# The hue of most turn (275 degrees) and the cut of the hue circle (0 degrees), where the formula bends most.
BLUE = st.tuples(st.floats(0, 100), st.floats(200, 350), st.floats(0, 128)).map(
    lambda v: (v[0], v[2] * np.cos(np.radians(v[1])), v[2] * np.sin(np.radians(v[1])))
)
WRAP = st.tuples(st.floats(0, 100), st.floats(-12, 12), st.floats(0, 128)).map(
    lambda v: (v[0], v[2] * np.cos(np.radians(v[1])), v[2] * np.sin(np.radians(v[1])))
)
COLOUR = st.one_of(ANY, GREY, BLUE, WRAP)


@settings(max_examples=400, deadline=None)
@given(COLOUR, COLOUR, st.floats(0, 40), st.integers(0, 2**32 - 1))
@example(
    (0.0, 2.0, -4.0714684340429872e-115), (0.0, -1.0, -0.0), 1.0, 0
)  # half a turn apart but for rounding
def test_no_colour_of_a_box_comes_under_its_bound(corner, target, side, seed):
    rng = np.random.default_rng(seed)
    low = np.array([corner])
    high = low + rng.uniform(0, side, 3)
    inside = np.concatenate([rng.random((40, 3)), rng.integers(0, 2, (40, 3))]) * (high - low) + low
    bound = least_delta_e_00(low, high, np.array(target))[0]
    assert bound <= delta_E_CIE2000(inside, np.array(target)).min()


@settings(max_examples=200, deadline=None)
@given(COLOUR, COLOUR)
def test_the_bound_of_a_single_colour_is_near_its_difference(colour, target):
    one = np.array([colour])
    bound = least_delta_e_00(one, one, np.array(target))[0]
    true = float(delta_E_CIE2000(one[0], np.array(target)))
    # Loose only where hues are opposite or one is grey, for there the mean hue is taken as unknown, and in
    # the blues, where the rotation term takes off what the bound cannot.
    assert bound <= true + 1e-9
    blue = min(one[0, 2], target[2]) < 0
    if min(np.hypot(*one[0, 1:]), np.hypot(*target[1:])) > 1 and true < 10 and not blue:
        assert bound >= 0.9 * true - 1e-6


@settings(max_examples=150, deadline=None)
@given(
    st.lists(COLOUR, min_size=1, max_size=300),
    COLOUR,
    st.integers(1, 12),
    st.one_of(st.none(), st.integers(0, 2**32 - 1)),
)
def test_cells_give_the_nearest_rows_of_a_plain_loop(colours, target, limit, seed):
    lab, asked = np.array(colours), np.array(target)
    usable = None if seed is None else np.random.default_rng(seed).random(len(lab)) < 0.5
    rows, deltas = make_cells(lab).nearest(
        lab, asked, usable, lambda _, d: np.partition(d, limit - 1)[limit - 1] if len(d) >= limit else np.inf
    )
    plain = delta_e_00(lab, asked)
    if usable is not None:
        plain[~usable] = np.inf
    wanted = np.sort(plain[np.isfinite(plain)])[:limit]
    assert np.sort(deltas)[:limit] == pytest.approx(wanted, abs=1e-9)
    assert deltas == pytest.approx(plain[rows], abs=1e-9)
    if len(wanted) == limit:  # every row as near as the last wanted is there, equal ones too
        assert set(np.flatnonzero(plain < wanted[-1] - 1e-9)) <= set(rows.tolist())


def test_thousands_of_colours_are_searched_in_several_looks():
    rng = np.random.default_rng(3)
    lab = rng.uniform([5, -60, -70], [95, 60, 80], (60_000, 3))
    cells = make_cells(lab)
    for target in ([40.0, -2.0, -20.0], [30.0, 20.0, -60.0], [99.0, -120.0, 120.0], [50.0, 0.0, 0.0]):
        asked = np.array(target)
        looked = sum(len(rows) for rows, _, beyond in cells.looks(lab, asked, None) if beyond < 3)
        rows, _ = cells.nearest(lab, asked, None, lambda _, d: float(np.sort(d)[24]))
        assert set(rows) == set(np.argsort(delta_e_00(lab, asked))[:25])
        assert looked < len(lab)


def test_a_farthest_distance_bounds_what_is_given():
    lab = np.random.default_rng(4).uniform([5, -60, -70], [95, 60, 80], (5_000, 3))
    asked = np.array([40.0, -2.0, -20.0])
    rows, _ = make_cells(lab).nearest(lab, asked, None, lambda *_: np.inf, 4.0)
    assert set(rows) == set(np.flatnonzero(delta_e_00(lab, asked) <= 4.0))


def test_no_colours_are_no_cells():
    rows, deltas = make_cells(np.zeros((0, 3))).nearest(
        np.zeros((0, 3)), np.array([50.0, 0, 0]), None, lambda *_: np.inf
    )
    assert len(rows) == len(deltas) == 0
