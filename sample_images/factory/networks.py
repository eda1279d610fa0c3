"""Crazing (a net of hairlines) and crawling (bare patches with a thick rolled lip)."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Voronoi

from .noise import Field, fractal, smooth_noise
from .relief import Canvas

__all__ = ["Crawling", "Crazing", "crack_net", "draw_crawling", "draw_crazing"]


@dataclass(frozen=True, slots=True)
class Crazing:
    """A wanted net: cell size, line width, contrast 0..1 and whether the lines are stained (dark) or dry."""

    cell_mm: float
    width_mm: float = 0.05
    contrast: float = 0.6
    stained: bool = True


@dataclass(frozen=True, slots=True)
class Crawling:
    """Wanted bare patches: how many, their size, and the height of the rolled lip."""

    spots: int
    size_mm: float
    lip_mm: float = 0.5


def crack_net(
    rng: np.random.Generator, width_mm: float, height_mm: float, cell_mm: float
) -> tuple[list[NDArray[np.float64]], float]:
    """Draw a net of cells over a rectangle.

    Returns
    -------
    lines : each (n, 2) millimetres, gently bent, junction to junction
    cell_mm : the square root of the mean area a seed stands for (the truth of the cell size)
    """
    reach = 2 * cell_mm
    nx, ny = int((width_mm + 2 * reach) / cell_mm) + 1, int((height_mm + 2 * reach) / cell_mm) + 1
    gx, gy = np.meshgrid(np.arange(nx), np.arange(ny))
    spread = rng.uniform(0.28, 0.42)
    seeds = np.stack([gx.ravel() + 0.5 * (gy.ravel() % 2), gy.ravel()], axis=1).astype(float)
    seeds = (seeds + rng.normal(0.0, spread, seeds.shape)) * cell_mm - reach
    net = Voronoi(seeds)
    bend = rng.uniform(0.02, 0.07) * cell_mm
    lines: list[NDArray[np.float64]] = []
    for a, b in net.ridge_vertices:
        if a < 0 or b < 0 or rng.random() < 0.04:
            continue
        start, end = net.vertices[a], net.vertices[b]
        length = float(np.hypot(*(end - start)))
        if length > 4 * cell_mm:
            continue
        t = np.linspace(0.0, 1.0, max(3, int(length / cell_mm * 10)))[:, None]
        normal = np.array([start[1] - end[1], end[0] - start[0]]) / max(length, 1e-9)
        bow = np.sin(np.pi * t) * rng.normal(0.0, bend) + np.sin(2 * np.pi * t) * rng.normal(0.0, bend / 2)
        lines.append(start + t * (end - start) + bow * normal)
    return lines, cell_mm


def draw_crazing(
    rng: np.random.Generator, canvas: Canvas, wanted: Crazing, allowed: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], float]:
    """Draw the net on the allowed part of the canvas.

    Returns
    -------
    mask : (rows, cols) bool, the lines, at least one grid step wide
    length_mm : total length of line inside `allowed`
    """
    rows, cols = canvas.shape
    step = canvas.step_mm
    lines, _ = crack_net(rng, cols * step, rows * step, wanted.cell_mm)
    ink = np.zeros((rows, cols), np.uint8)
    centre = np.zeros((rows, cols), np.uint8)
    length_mm = 0.0
    width_px = wanted.width_mm / step
    for line in lines:
        points = np.round((line / step - 0.5) * 16).astype(np.int32)
        cv2.polylines(ink, [points], False, 255, max(1, round(width_px)), cv2.LINE_AA, 4)
        cv2.polylines(centre, [points], False, 255, 1, cv2.LINE_8, 4)
        middle = (line[1:] + line[:-1]) / 2 / step
        at = np.clip(middle.astype(int), 0, (cols - 1, rows - 1))
        kept = allowed[at[:, 1], at[:, 0]]
        length_mm += float(np.hypot(*(line[1:] - line[:-1])[kept].T).sum())
    amount = ink.astype(np.float32) / 255.0 * allowed
    amount *= np.clip(1.0 + 0.35 * smooth_noise(rng, (rows, cols), 6.0 / step), 0.35, 1.3)
    amount *= wanted.contrast * min(1.0, width_px)
    everywhere = (slice(0, rows), slice(0, cols))
    if wanted.stained:
        stain = np.array([0.045, 0.026, 0.014]) * rng.uniform(0.6, 2.5)
        bleed = cv2.GaussianBlur(amount, (0, 0), max(0.8, 0.12 / step)) * 0.35
        canvas.tint(everywhere, np.maximum(amount, bleed), stain)
    else:
        pale = canvas.colour.mean(axis=(0, 1)) * (0.35 if rng.random() < 0.6 else 1.9)
        canvas.tint(everywhere, amount, np.clip(pale, 0.01, 0.9))
    canvas.height -= np.asarray(amount * min(0.02, 0.25 * step), dtype=np.float32)
    return (centre > 0) & allowed, length_mm


def draw_crawling(
    rng: np.random.Generator,
    canvas: Canvas,
    wanted: Crawling,
    allowed: NDArray[np.bool_],
    bare: tuple[NDArray[np.float32], Field],
) -> tuple[NDArray[np.bool_], int]:
    """Pull the glaze back into a rolled lip around bare patches.

    Parameters
    ----------
    rng : seeded generator
    canvas : changed in place: glaze becomes bare inside the patches
    wanted : number and size
    allowed : (rows, cols) bool, where patches may lie
    bare : the clay's own colour (rows, cols, 3) and relief (rows, cols), as it lies below the glaze

    Returns
    -------
    mask : (rows, cols) bool, bare patches
    spots : how many separate patches came out
    """
    rows, cols = canvas.shape
    step = canvas.step_mm
    pull = np.full((rows, cols), -9.0, np.float32)  # far from any patch: no noise may open one
    ys, xs = np.nonzero(cv2.erode(allowed.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=4))
    if len(xs) == 0:
        return np.zeros((rows, cols), np.bool_), 0
    for _ in range(wanted.spots):
        k = int(rng.integers(len(xs)))
        size = wanted.size_mm * rng.lognormal(0.0, 0.35) / step
        stretch, turn = rng.uniform(0.5, 1.0), rng.uniform(0, 3.1416)
        reach = int(2.2 * size) + 2
        top, low = max(0, ys[k] - reach), min(rows, ys[k] + reach)
        left, right = max(0, xs[k] - reach), min(cols, xs[k] + reach)
        y, x = np.mgrid[top:low, left:right].astype(np.float32)
        u = (x - xs[k]) * np.cos(turn) + (y - ys[k]) * np.sin(turn)
        v = (-(x - xs[k]) * np.sin(turn) + (y - ys[k]) * np.cos(turn)) / stretch
        blob = 1.0 - np.hypot(u, v) / (size * 0.55)
        pull[top:low, left:right] = np.maximum(pull[top:low, left:right], blob)
    pull += 0.32 * fractal(rng, (rows, cols), wanted.size_mm * 0.9 / step, 3) * (pull > -1.0)
    mask = ((pull > 0.0) & allowed).astype(np.uint8)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask)
    small = np.flatnonzero(stats[:, cv2.CC_STAT_AREA] * step * step < 0.15)
    mask[np.isin(labels, small)] = 0
    spots = int(count - 1 - np.count_nonzero(small))
    outside = cv2.distanceTransform(1 - mask, cv2.DIST_L2, 5) * step
    width = wanted.lip_mm * rng.uniform(1.0, 1.8)
    lip = wanted.lip_mm * np.sqrt(np.clip(1 - ((outside - width) / width) ** 2, 0, 1)) * (outside < 2 * width)
    canvas.height += np.asarray(lip * canvas.glazed * (mask == 0), dtype=np.float32)
    inside = mask > 0
    canvas.height[inside] = bare[1][inside]
    canvas.colour[inside] = bare[0][inside]
    canvas.rough[inside] = 0.85
    canvas.glazed &= ~inside
    return np.asarray(inside, dtype=np.bool_), spots
