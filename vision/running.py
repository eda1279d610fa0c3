"""Glaze that has run below its line, and glaze pooled just above it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import delta_e_00
from vision.face import Face
from vision.gradient import difference_sd
from vision.reading import Lab, Pool, Running, Subject
from vision.settings import RunningSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["foot_side", "measure_running", "runs_of_line"]

Floats = NDArray[np.float64]

_TURNS = {"bottom": 0, "left": 1, "right": 3}
"""Quarter turns (anticlockwise) that bring a side to the bottom."""


def foot_side(piece: BoolMask, bare: BoolMask, settings: RunningSettings) -> str | None:
    """Give the side of the picture at which a bare foot runs along the piece: bottom, else left or right.

    Notes
    -----
    A bare top is the end a tile was held by: what lies along it is a dip's line, and no glaze runs up.
    """
    for side, turn in _TURNS.items():
        inside, clay = np.rot90(piece, turn), np.rot90(bare, turn)
        rows = np.nonzero(inside.any(axis=1))[0]
        if len(rows) == 0:
            return None
        depth = max(2, round(settings.foot_depth_share * len(rows)))
        strip = slice(int(rows[-1]) + 1 - depth, int(rows[-1]) + 1)
        length = int(inside[strip].any(axis=0).sum())
        if int((clay & inside)[strip].any(axis=0).sum()) >= settings.foot_along * max(length, 1):
            return side
    return None


def _largest(mask: BoolMask) -> BoolMask:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    if count < 2:
        return mask
    return np.asarray(labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA])))


def _line(glazed: BoolMask, clear_px: float) -> tuple[Floats, slice]:
    """Give the lowest glazed row of each column, and the columns that count."""
    solid = _largest(glazed)
    cols = np.nonzero(solid.any(axis=0))[0]
    pad = round(clear_px)
    use = slice(int(cols[0]) + pad, int(cols[-1]) + 1 - pad)
    lowest = len(solid) - 1 - np.argmax(solid[::-1], axis=0)
    return np.asarray(lowest[use], np.float64), use


def runs_of_line(line: Floats, px_per_mm: float, settings: RunningSettings) -> tuple[Floats, list[slice]]:
    """Give how far each place of a glaze line lies below the line without runs, and where the runs are.

    Parameters
    ----------
    line : (n,) lowest glazed row at each column, pixels; larger is lower
    px_per_mm : scale
    settings : what counts as a run

    Returns
    -------
    below : (n,) pixels
    runs : columns of each run

    Notes
    -----
    The line without runs is its grey opening by a window as wide as the widest run (Serra 1982): what is
    narrower than the window and hangs below its surroundings is taken off.
    """
    window = 2 * max(1, round(settings.widest_run_mm * px_per_mm / 2)) + 1
    pad = window
    padded = np.pad(line, pad, mode="edge").astype(np.float32)[None, :]
    opened = cv2.morphologyEx(padded, cv2.MORPH_OPEN, np.ones((1, window), np.uint8))
    below = np.asarray(line - opened[0, pad:-pad], np.float64)
    runs = []
    high = below >= settings.least_run_mm * px_per_mm
    edges = np.flatnonzero(np.diff(np.concatenate([[0], high.astype(np.int8), [0]])))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        length = float(below[start:stop].max())
        left, right = int(start), int(stop)
        while left > 0 and below[left - 1] >= length / 2:
            left -= 1
        while right < len(below) and below[right] >= length / 2:
            right += 1
        half = below[left:right] >= length / 2
        if length >= settings.least_slender * int(half.sum()):
            runs.append(slice(left, right))
    return below, runs


def measure_running(face: Face, settings: RunningSettings) -> Running | None:
    """Measure runs below the glaze line of a tile and the pooling above it.

    Parameters
    ----------
    face : the reduced piece
    settings : what counts as a run

    Returns
    -------
    Running, or None where there is no bare foot to run onto: then nothing can be said.

    Notes
    -----
    Lengths are measured from the glaze line as it is between the runs, along the face. A run that reaches the
    end of the tile is told as at least so long.
    """
    if face.subject is not Subject.TILE:
        return None
    side = foot_side(face.piece, face.bare, settings)
    if side is None:
        return None
    turn = _TURNS[side]
    glazed, piece = np.rot90(face.glazed, turn), np.rot90(face.piece, turn)
    line, use = _line(glazed, settings.side_clear_mm * face.px_per_mm)
    if len(line) < 2 * settings.widest_run_mm * face.px_per_mm:
        return None
    below, runs = runs_of_line(line, face.px_per_mm, settings)
    ends = len(piece) - 1 - np.argmax(piece[::-1], axis=0)[use]
    longest = max((float(below[run].max()) for run in runs), default=0.0)
    wide = sum(run.stop - run.start for run in runs)
    mm = face.mm_per_px
    return Running(
        present=bool(runs),
        runs=len(runs),
        longest_mm=None if mm is None else longest * mm,
        longest_sd_mm=None if mm is None else float(np.hypot(settings.line_doubt_mm, mm)),
        longest_px=longest / face.factor,
        width_share=wide / len(line),
        reaches_end=any(bool((line[run] >= ends[run] - 2).any()) for run in runs),
        toward=side,
        pool=_pool(face, turn, line, use, settings),
    )


def _pool(face: Face, turn: int, line: Floats, use: slice, settings: RunningSettings) -> Pool | None:
    """Set the glaze just above its line against the field farther up."""
    farthest = max(settings.pool_band_mm[1], settings.pool_field_mm[1]) * face.px_per_mm
    near = slice(max(0, int(line.min() - farthest)), int(line.max()) + 1)
    lab, clear = np.rot90(face.lab, turn)[near, use], np.rot90(face.clear, turn)[near, use]
    inner = np.rot90(face.from_edge, turn)[near, use] > 3.0 * face.px_per_mm
    above = (line[None, :] - np.arange(near.start, near.start + len(lab))[:, None]) / face.px_per_mm
    steps, fields = [], []
    for columns in np.array_split(np.arange(len(line)), settings.strips):
        places = [
            _place(lab[:, columns], (clear & inner)[:, columns], above[:, columns], band, settings)
            for band in (settings.pool_band_mm, settings.pool_field_mm)
        ]
        if places[0] is not None and places[1] is not None:
            steps.append(places[0] - places[1])
            fields.append(places[1])
    if len(steps) < 3:
        return None
    step, field = np.median(steps, axis=0), np.mean(fields, axis=0)
    scatter = np.std(steps, axis=0, ddof=1) / np.sqrt(len(steps))
    sd = np.hypot(scatter, settings.pool_doubt)
    return Pool(
        pooled=Lab(*(float(v) for v in field + step)),
        field=Lab(*(float(v) for v in field)),
        delta_e_00=float(delta_e_00(field, field + step)),
        delta_e_00_sd=difference_sd(field, field + step, sd),
    )


def _place(
    lab: FloatImage, clear: BoolMask, above_mm: Floats, band: tuple[float, float], settings: RunningSettings
) -> Floats | None:
    where = clear & (above_mm > band[0]) & (above_mm < band[1])
    if int(where.sum()) < settings.least_pixels:
        return None
    return np.asarray(np.median(lab[where], axis=0), np.float64)
