"""Colours in cells, so that the nearest by CIEDE2000 are found without looking at every one.

CIEDE2000 is no metric (it breaks the triangle inequality, most of all between blues), so a tree that prunes
by distances would miss colours. Here each cell has a bound that no colour inside it can come under; cells are
opened in the order of their bounds, and the search ends when the next bound is above the worst distance
still wanted. What is found is the same as by looking at all.

The bound. With x = dC'/S_C and y = dH'/S_H (Sharma, Wu & Dalal 2005), the difference is

    dE^2 = (dL/S_L)^2 + x^2 + y^2 + R_T x y,    R_T <= 0.

Over a box of L*, a*, b* and one colour asked for:

- S_L grows with the distance of the mean lightness from 50, so it is largest at an end of its interval;
- a' = s a* with s between 1 and 1.5, falling as the mean chroma grows: the intervals of s, a' and C' follow,
  and from them the least |dC'| and the largest S_C;
- a box without the origin lies within less than half a turn of hue. |dH'| = 2 sqrt(C1' C2') sin(|dh|/2) is at
  least that of the least chromas and the least difference of hue; where the box holds the origin it may be 0;
- T changes by at most 0.17 + 2 * 0.24 + 3 * 0.32 + 4 * 0.20 = 2.41 per radian of mean hue, and is at most
  1.93: the largest S_H follows. Where hues may be half a turn apart the mean hue is unknown;
- |R_T| is at most r = R_C sin(2 dtheta) at the largest mean chroma and the mean hue nearest 275 degrees;
  r < 2. The least of x^2 + y^2 - r |x y| over |x| >= x0, |y| >= y0 is at the corner, unless y0 < r x0 / 2
  (there it is x0^2 (1 - r^2 / 4)), or the same with x and y exchanged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.colour import delta_e_00

__all__ = ["ColourCells", "least_delta_e_00", "make_cells"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

CELL_SIDE = 4.0
"""Side of a cell in L*, a* and b*: at a million colours some 40 lie in each."""
FIRST_LOOK = 4096
"""Colours looked at before the first bound is compared; each further look takes twice as many."""
_ROUNDING = 1e-9
"""Taken off every bound, and kept from half a turn of hue, radians: far more than rounding can add."""
_MOST_T = 1.93
_T_SLOPE = 2.41


@dataclass(frozen=True, slots=True, eq=False)
class ColourCells:
    """Rows of a list of colours, sorted into cells.

    Attributes
    ----------
    rows : (n,) int64, rows of the list, cell after cell
    starts : (m + 1,) int64, where each cell begins in `rows`
    low, high : (m, 3) float64, the least and largest L*, a*, b* of each cell's colours
    """

    rows: Ints
    starts: Ints
    low: Floats
    high: Floats

    @property
    def size_bytes(self) -> int:
        """Memory it takes."""
        return sum(part.nbytes for part in (self.rows, self.starts, self.low, self.high))

    def looks(
        self, lab: Floats, target: Floats, usable: Bools | None
    ) -> Iterator[tuple[Ints, Floats, float]]:
        """Look at ever further cells.

        Parameters
        ----------
        lab : (n, 3) the list the cells were made of
        target : (3,) the colour asked for
        usable : (n,) rows that may be found; None: all

        Yields
        ------
        rows : (k,) int64
        deltas : (k,) float64, their CIEDE2000 difference from the target
        beyond : no colour that is not yet given is nearer than this; inf after the last
        """
        bounds = least_delta_e_00(self.low, self.high, target)
        order = np.argsort(bounds, kind="stable")
        sizes = np.diff(self.starts)[order]
        upto = np.cumsum(sizes)
        first, want = 0, FIRST_LOOK
        while first < len(order):
            before = int(upto[first - 1]) if first else 0
            last = min(len(order), int(np.searchsorted(upto, before + want)) + 1)
            cells = order[first:last]
            rows = self.rows[_ranges(self.starts[cells], sizes[first:last])]
            if usable is not None:
                rows = rows[usable[rows]]
            beyond = float(bounds[order[last]]) if last < len(order) else np.inf
            yield rows, delta_e_00(lab[rows], target), beyond
            first, want = last, 2 * want

    def nearest(
        self,
        lab: Floats,
        target: Floats,
        usable: Bools | None,
        reach: Callable[[Ints, Floats], float],
        most: float = np.inf,
    ) -> tuple[Ints, Floats]:
        """Give all rows that can matter, in the list's order.

        Parameters
        ----------
        lab, target, usable : as for `looks`
        reach : of rows and their differences so far, the difference up to which rows matter; inf for all
        most : rows further than this never matter

        Returns
        -------
        rows : (k,) int64, ascending
        deltas : (k,) float64
        """
        rows, deltas = np.zeros(0, np.int64), np.zeros(0)
        cut = most
        for more, far, beyond in self.looks(lab, target, usable):
            near = far <= cut
            rows, deltas = np.concatenate([rows, more[near]]), np.concatenate([deltas, far[near]])
            cut = min(most, reach(rows, deltas))
            if np.isfinite(cut):
                near = deltas <= cut
                rows, deltas = rows[near], deltas[near]
            if beyond > cut:
                break
        order = np.argsort(rows, kind="stable")
        return rows[order], deltas[order]


def _ranges(starts: Ints, sizes: Ints) -> Ints:
    """Give the concatenation of start, start + 1, ... of each range."""
    ends = np.cumsum(sizes)
    steps = np.ones(int(ends[-1]) if len(ends) else 0, np.int64)
    if len(steps) == 0:
        return steps
    steps[0] = starts[0]
    steps[ends[:-1]] = starts[1:] - (starts[:-1] + sizes[:-1]) + 1
    return np.cumsum(steps)


def make_cells(lab: Floats) -> ColourCells:
    """Sort colours (n, 3) into cells."""
    if len(lab) == 0:
        none = np.zeros((0, 3))
        return ColourCells(np.zeros(0, np.int64), np.zeros(1, np.int64), none, none)
    place = np.floor(lab / CELL_SIDE).astype(np.int64)
    place -= place.min(axis=0)
    span = place.max(axis=0) + 1
    key = (place[:, 0] * span[1] + place[:, 1]) * span[2] + place[:, 2]
    rows = np.argsort(key, kind="stable")
    sorted_key = key[rows]
    starts = np.flatnonzero(np.r_[True, sorted_key[1:] != sorted_key[:-1]])
    within = lab[rows]
    low, high = (work.reduceat(within, starts, axis=0) for work in (np.minimum, np.maximum))
    return ColourCells(rows, np.r_[starts, len(rows)].astype(np.int64), low, high)


def least_delta_e_00(low: Floats, high: Floats, target: Floats) -> Floats:
    """Bound the CIEDE2000 difference of a colour from all colours of boxes, from below.

    Parameters
    ----------
    low, high : (m, 3) least and largest L*, a*, b* of each box
    target : (3,)

    Returns
    -------
    (m,) float64, 0 or more; the module's text has the proof
    """
    (L, a, b), c = (float(v) for v in target), float(np.hypot(target[1], target[2]))
    light = _gap(low[:, 0], high[:, 0], L, L) / np.maximum(
        _lightness_weight((low[:, 0] + L) / 2), _lightness_weight((high[:, 0] + L) / 2)
    )
    nearest, farthest = _radii(low[:, 1], high[:, 1], low[:, 2], high[:, 2])
    stretch = _stretch((farthest + c) / 2), _stretch((nearest + c) / 2)  # least, largest
    a_low = np.where(low[:, 1] < 0, stretch[1], stretch[0]) * low[:, 1]
    a_high = np.where(high[:, 1] > 0, stretch[1], stretch[0]) * high[:, 1]
    own_low, own_high = _radii(a_low, a_high, low[:, 2], high[:, 2])
    asked_low, asked_high = np.hypot(a * stretch[0], b), np.hypot(a * stretch[1], b)
    mean_chroma = (own_high + asked_high) / 2
    chroma = _gap(own_low, own_high, asked_low, asked_high) / (1.0 + 0.045 * mean_chroma)
    apart, middle, half, known = _hues(
        a_low, a_high, low[:, 2], high[:, 2], a * stretch[0], a * stretch[1], b
    )
    tone = np.where(known, np.minimum(_tone(middle) + _T_SLOPE * half, _MOST_T), _MOST_T)
    hue = 2.0 * np.sqrt(own_low * asked_low) * np.sin(apart / 2) / (1.0 + 0.015 * mean_chroma * tone)
    off = np.degrees(np.maximum(np.abs(_turn(middle - np.radians(275.0))) - half, 0.0))
    twist = np.where(known, 30.0 * np.exp(-((off / 25.0) ** 2)), 30.0)
    c7 = mean_chroma**7
    pull = 2.0 * np.sqrt(c7 / (c7 + 25.0**7)) * np.sin(np.radians(2.0 * twist))
    square = np.where(
        hue < pull * chroma / 2,
        chroma**2 * (1 - pull**2 / 4),
        np.where(
            chroma < pull * hue / 2,
            hue**2 * (1 - pull**2 / 4),
            chroma**2 + hue**2 - pull * chroma * hue,
        ),
    )
    return np.asarray(np.maximum(np.sqrt(light**2 + square) * (1 - _ROUNDING) - _ROUNDING, 0.0))


def _gap(low: Floats, high: Floats, other_low: Floats | float, other_high: Floats | float) -> Floats:
    """Give the least distance between two intervals, 0 where they meet."""
    return np.asarray(np.maximum(np.maximum(low - other_high, other_low - high), 0.0))


def _radii(a_low: Floats, a_high: Floats, b_low: Floats, b_high: Floats) -> tuple[Floats, Floats]:
    """Give the least and the largest distance of a rectangle's points from the origin."""
    zero = np.zeros_like(a_low)
    near = np.hypot(_gap(a_low, a_high, zero, zero), _gap(b_low, b_high, zero, zero))
    far = np.hypot(np.maximum(np.abs(a_low), np.abs(a_high)), np.maximum(np.abs(b_low), np.abs(b_high)))
    return near, far


def _lightness_weight(mean: Floats) -> Floats:
    return np.asarray(1.0 + 0.015 * (mean - 50.0) ** 2 / np.sqrt(20.0 + (mean - 50.0) ** 2))


def _stretch(mean_chroma: Floats) -> Floats:
    c7 = mean_chroma**7
    return np.asarray(1.5 - 0.5 * np.sqrt(c7 / (c7 + 25.0**7)))


def _tone(h: Floats) -> Floats:
    """Give T at a mean hue, radians."""
    t = 1.0 - 0.17 * np.cos(h - np.radians(30.0)) + 0.24 * np.cos(2.0 * h)
    return np.asarray(
        t + 0.32 * np.cos(3.0 * h + np.radians(6.0)) - 0.20 * np.cos(4.0 * h - np.radians(63.0))
    )


def _turn(angle: Floats) -> Floats:
    """Bring an angle to -pi..pi."""
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def _hues(
    a_low: Floats, a_high: Floats, b_low: Floats, b_high: Floats, a1: Floats, a2: Floats, b: float
) -> tuple[Floats, Floats, Floats, Bools]:
    """Compare the hues of boxes and of one colour whose a' lies between a1 and a2.

    Returns
    -------
    apart : least difference of hue, radians 0..pi; 0 where a hue is unknown
    middle, half : interval of the mean hue, radians
    known : False where the mean hue may be any
    """
    origin = (a_low <= 0) & (a_high >= 0) & (b_low <= 0) & (b_high >= 0)
    grey = np.full(a_low.shape, b == 0.0) & ((a1 == 0.0) | (a2 == 0.0))
    centre = np.arctan2((b_low + b_high) / 2, (a_low + a_high) / 2)
    off = np.stack([_turn(np.arctan2(y, x) - centre) for x in (a_low, a_high) for y in (b_low, b_high)])
    asked = np.stack([np.arctan2(b, a1), np.arctan2(b, a2)])
    asked_turn = _turn(asked[1] - asked[0])
    asked_middle, asked_half = asked[0] + asked_turn / 2, np.abs(asked_turn) / 2
    away = _turn(centre - asked_middle)
    low, high = away + off.min(axis=0) - asked_half, away + off.max(axis=0) + asked_half
    whole = 2 * np.pi
    meets = ((low <= 0) & (high >= 0)) | (low <= -whole) | (high >= whole)
    ends = np.minimum(np.abs(_turn(low)), np.abs(_turn(high)))
    unknown = origin | grey
    apart = np.where(unknown | meets, 0.0, ends)
    known = ~unknown & (low > -np.pi + _ROUNDING) & (high < np.pi - _ROUNDING)
    # the mean is (own + asked) / 2: own lies off.min..off.max round the centre, asked within its half
    middle = asked_middle + away / 2 + (off.min(axis=0) + off.max(axis=0)) / 4
    half = (off.max(axis=0) - off.min(axis=0)) / 4 + asked_half / 2
    return apart, middle, half, known
