"""One glazed surface: height, colour, roughness, masks and truth, before any light falls on it."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from .colour import lab_to_linear, linear_to_lab
from .marks import Mark, draw_mark
from .networks import Crawling, Crazing, draw_crawling, draw_crazing
from .noise import Field, fractal, smooth_noise, wave
from .nuisance import Nuisances, draw_nuisances
from .outline import Outline, outline_polygon, signed_distance
from .palette import Body, Glaze, finish_of
from .places import cell_quartiles, place_truth, run_truth, stripe_ratio
from .relief import Canvas, smoothstep

__all__ = ["MARGIN_MM", "Surface", "SurfaceSpec", "make_surface"]

MARGIN_MM = 0.8
"""Grid kept beyond the outline, so that the edge itself is inside the fields."""


@dataclass(frozen=True, slots=True)
class SurfaceSpec:
    """What is asked of one surface.

    Attributes
    ----------
    seed : of every random choice below
    outline : shape and size in the tile frame
    body, glaze : materials
    thickness_mm : of the clay
    bare_end : end left unglazed: top, bottom, left, right or none
    bare_fraction : share of the tile's length left bare
    coats : share of the glazed length (from the bare end) at which each further coat begins
    texture : 0 smooth .. 1 combed and stamped clay
    stripe : True paints a dark band below the glaze
    marks, crazing, crawling, nuisances : what is drawn into it
    code : the tile's label, or None
    flat_edge : True leaves the edges unrounded and unthinned (close-ups, walls of ware)
    """

    seed: int
    outline: Outline
    body: Body
    glaze: Glaze
    thickness_mm: float = 6.5
    bare_end: str = "bottom"
    bare_fraction: float = 0.15
    coats: tuple[float, ...] = ()
    texture: float = 0.0
    stripe: bool = False
    marks: tuple[Mark, ...] = ()
    crazing: Crazing | None = None
    crawling: Crawling | None = None
    nuisances: Nuisances = field(default_factory=Nuisances)
    code: str | None = None
    flat_edge: bool = False


@dataclass(slots=True, eq=False)
class Surface:
    """A made surface: the canvas with its masks and truth.

    Attributes
    ----------
    spec : what was asked
    canvas : height, colour, roughness, glazed
    distance : (rows, cols) millimetres from the edge, positive inside
    polygon_mm : (n, 2) outline in the tile frame
    crazed, crawled : (rows, cols) bool
    truth : plain values for the JSON, photo pixels not yet in it
    """

    spec: SurfaceSpec
    canvas: Canvas
    distance: Field
    polygon_mm: NDArray[np.float64]
    crazed: NDArray[np.bool_]
    crawled: NDArray[np.bool_]
    truth: dict[str, object]


def _glaze_line(
    rng: np.random.Generator, spec: SurfaceSpec, x: Field, y: Field, step: float
) -> tuple[Field, Field | None]:
    """Give each point's distance past the glaze line (mm, positive on glaze) and each column's run."""
    w, h = spec.outline.width_mm, spec.outline.height_mm
    if spec.bare_end == "none":
        return np.full(x.shape, 99.0, np.float32), None
    upright = spec.bare_end in ("top", "bottom")
    along = y if upright else x
    length = h if upright else w
    count = x.shape[1] if upright else x.shape[0]
    ripple = 0.9 * wave(rng, count, rng.uniform(14, 30) / step) + 0.25 * wave(rng, count, 4.0 / step)
    runs = None
    if spec.bare_end == "bottom" and spec.glaze.run > 0.3:
        lobes = np.clip(wave(rng, count, rng.uniform(5, 10) / step), 0, None) ** 1.5
        runs = 2.6 * spec.glaze.run * lobes
        ripple = ripple - runs
    how_much = rng.uniform(0.3, 1.3)
    ripple = np.asarray(ripple * how_much, dtype=np.float32)
    shift = ripple[None, :] if upright else ripple[:, None]
    edge = spec.bare_fraction * length
    near = along if spec.bare_end in ("top", "left") else length - along
    past = np.asarray(near - edge - shift, dtype=np.float32)
    return past, None if runs is None else np.asarray(runs * how_much, dtype=np.float32)


def _coat(rng: np.random.Generator, spec: SurfaceSpec, past: Field, distance: Field, step: float) -> Field:
    """Give the glaze's thickness as a share of one nominal coat."""
    shape = past.shape
    height = spec.outline.height_mm
    y = np.linspace(0, 1, shape[0], dtype=np.float32)[:, None]
    coat = 1.0 + (0.45 * rng.uniform(0.2, 1.0)) * (y - 0.5) + 0.10 * smooth_noise(rng, shape, 18 / step)
    coat = coat + 0.05 * smooth_noise(rng, shape, 4 / step)
    length = height if spec.bare_end in ("top", "bottom", "none") else spec.outline.width_mm
    glazed_length = length * (1 - (0 if spec.bare_end == "none" else spec.bare_fraction))
    for start in spec.coats:
        count = shape[1]
        ripple = wave(rng, count, 15 / step)[None, :] * 0.7
        reach = past if spec.bare_end != "none" else y * height
        coat = coat + 0.75 * smoothstep(-0.5, 0.9, np.asarray(reach - start * glazed_length + ripple))
    if spec.glaze.streak > 0.02:
        flow = smooth_noise(rng, shape, 1.6 / step, 26 / step) + 0.6 * smooth_noise(
            rng, shape, 5 / step, 60 / step
        )
        coat = coat + 0.16 * spec.glaze.streak * flow
    if spec.bare_end == "bottom" and spec.glaze.run > 0.3:
        coat = coat + spec.glaze.run * 0.7 * np.exp(-((np.clip(past - 1.0, 0, None) / 2.2) ** 2))
    coat = coat * (1 - 0.75 * np.exp(-np.clip(past, 0, None) / rng.uniform(0.25, 0.8)))
    if not spec.flat_edge:
        coat = coat * (
            1 - rng.uniform(0.45, 0.9) * np.exp(-np.clip(distance, 0, None) / rng.uniform(0.4, 1.1))
        )
    return np.asarray(np.clip(coat, 0.02, 4.0), dtype=np.float32)


def _clay(rng: np.random.Generator, spec: SurfaceSpec, distance: Field, step: float) -> tuple[Field, Field]:
    """Give the clay's relief (mm) and its colour (rows, cols, 3) linear."""
    shape = distance.shape
    relief = 0.10 * smooth_noise(rng, shape, 40 / step) + 0.012 * smooth_noise(rng, shape, 1.2 / step)
    grain = spec.body.grain
    relief = relief + grain * (0.014 * fractal(rng, shape, 0.5 / step, 2))
    if spec.texture > 0:
        turn = rng.uniform(-0.3, 0.3)
        rows, cols = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32) * step
        comb = np.sin(2 * np.pi * (cols * np.cos(turn) + rows * np.sin(turn)) / rng.uniform(2.5, 7.0))
        relief = relief + spec.texture * 0.22 * np.clip(
            comb + 0.2 * smooth_noise(rng, shape, 9 / step), -0.6, 1
        )
    if not spec.flat_edge:
        radius = rng.uniform(0.5, 1.6)
        depth = np.clip(radius - distance, 0, radius)
        relief = relief - (radius - np.sqrt(np.clip(radius**2 - depth**2, 0, None)))
    mottle = 1 + 0.05 * fractal(rng, shape, 20 / step, 4) + grain * 0.10 * fractal(rng, shape, 0.5 / step, 2)
    colour = lab_to_linear(spec.body.lab)[None, None, :] * np.clip(mottle, 0.4, 1.5)[..., None]
    return np.asarray(relief, dtype=np.float32), np.asarray(colour, dtype=np.float32)


def _glaze_colour(rng: np.random.Generator, spec: SurfaceSpec, coat: Field, step: float) -> Field:
    """Give the glaze's diffuse colour (rows, cols, 3) linear from its thickness and mottle."""
    glaze, shape = spec.glaze, coat.shape
    mottle = fractal(rng, shape, rng.uniform(2.5, 9.0) / step, 6, 0.64)
    if glaze.streak > 0.05:
        mottle = mottle + 1.2 * glaze.streak * smooth_noise(rng, shape, 1.2 / step, 16 / step)
    share = smoothstep(0.15, 1.25, coat) + 0.22 * glaze.variegation * mottle
    if glaze.variegation > 0.45:  # a phase-parted glaze: rivulets and spots of the thin colour
        cells = fractal(rng, shape, 1.4 / step, 3)
        share = share - 0.35 * (glaze.variegation - 0.3) * smoothstep(0.4, 1.4, cells)
    share = np.clip(share, 0, 1.25)[..., None].astype(np.float32)
    thin, thick = np.asarray(glaze.thin_lab), np.asarray(glaze.thick_lab)
    lab = (thin + share * (thick - thin)).astype(np.float32)
    fine = 0.6 * smooth_noise(rng, shape, 12 / step) + (0.4 + 0.8 * glaze.variegation) * smooth_noise(
        rng, shape, 0.2 / step
    )
    lab[..., 0] = np.clip(lab[..., 0] + fine, 3, 96)
    return np.clip(cv2.cvtColor(lab, cv2.COLOR_Lab2LRGB), 0.002, 0.95)


def _mean_lab(colour: Field, where: NDArray[np.bool_]) -> list[float] | None:
    if not where.any():
        return None
    some = colour[where]
    return [round(float(v), 3) for v in linear_to_lab(some[:: 1 + len(some) // 200_000]).mean(axis=0)]


def make_surface(spec: SurfaceSpec, step_mm: float) -> Surface:
    """Make the fields, masks and truth of one surface.

    Parameters
    ----------
    spec : what is wanted
    step_mm : grid step; about the photo's millimetres per pixel

    Returns
    -------
    Surface; equal for equal arguments

    Notes
    -----
    `glaze_lab` is the mean over the glazed area, marks and craze lines left out, of the CIELAB D65 of
    the diffuse base colour: what a perfect reader would get with all mirror reflection taken away.
    """
    rng = np.random.default_rng([spec.seed, 71])
    w, h = spec.outline.width_mm, spec.outline.height_mm
    cols, rows = (round((side + 2 * MARGIN_MM) / step_mm) for side in (w, h))
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    x, y = (x + 0.5) * step_mm - MARGIN_MM, (y + 0.5) * step_mm - MARGIN_MM
    if spec.flat_edge:
        distance = np.full((rows, cols), 99.0, np.float32)
        polygon = np.array([[0, 0], [w, 0], [w, h], [0, h]], dtype=np.float64)
    else:
        distance = signed_distance(spec.outline, x, y, rng)
        polygon = outline_polygon(distance, step_mm, MARGIN_MM)
    past, runs = _glaze_line(rng, spec, x, y, step_mm)
    coat = _coat(rng, spec, past, distance, step_mm)
    clay_relief, clay_colour = _clay(rng, spec, distance, step_mm)
    glazed = (past > 0) & (distance > 0.05)
    body_linear = lab_to_linear(spec.body.lab)
    clay_colour *= (
        1 - 0.25 * np.exp(-((np.clip(-past, 0, None) / 1.2) ** 2))[..., None] * (past < 0)[..., None]
    )
    glaze_colour = _glaze_colour(rng, spec, coat, step_mm)
    ratio = None
    if spec.stripe:
        plain = glaze_colour
        band = smoothstep(2.2, 1.9, np.abs(y - h * 0.55) + 0.1 * smooth_noise(rng, (rows, cols), 3 / step_mm))
        hiding = np.exp(-1.4 * coat) * band
        glaze_colour = glaze_colour * (1 - hiding[..., None]) + 0.012 * hiding[..., None]
        ratio = stripe_ratio(plain, glaze_colour, y, h * 0.55)
    soft = smoothstep(-0.06, 0.10, past)[..., None]
    colour = np.asarray(clay_colour * (1 - soft) + glaze_colour * soft, dtype=np.float32)
    # Molten glaze fills the small grain of the clay and keeps its own gentle ripple.
    filled = cv2.GaussianBlur(clay_relief, (0, 0), max(0.8, 0.5 / step_mm))
    ripple = rng.uniform(0.001, 0.006) * smooth_noise(rng, (rows, cols), rng.uniform(3, 8) / step_mm)
    if rng.random() < 0.25:
        ripple = ripple + rng.uniform(0.003, 0.010) * smooth_noise(
            rng, (rows, cols), rng.uniform(1.5, 2.5) / step_mm
        )
    thickness = spec.glaze.thickness_mm
    levelled = cv2.GaussianBlur(coat, (0, 0), 0.9 / step_mm)
    bed = 0.3 * coat + 0.7 * np.where(past < 2.5, coat, levelled) if spec.bare_end != "none" else levelled
    glaze_height = filled + ripple + bed * thickness * smoothstep(-0.05, 0.5, past)
    height = np.where(past > -0.05, glaze_height, clay_relief).astype(np.float32)
    rough_noise = 1 + 0.08 * smooth_noise(rng, (rows, cols), 6 / step_mm)
    rough = np.where(glazed, np.clip(spec.glaze.roughness * rough_noise, 0.04, 0.9), 0.85).astype(np.float32)
    canvas = Canvas(step_mm, MARGIN_MM, height, colour, rough, glazed)
    truth: dict[str, object] = {}
    crawled, spots = np.zeros((rows, cols), np.bool_), 0
    glazed_before = glazed.copy()
    if spec.crawling:
        inner = glazed & (distance > 0.4)
        crawled, spots = draw_crawling(rng, canvas, spec.crawling, inner, (clay_colour, clay_relief))
    unmarked = canvas.glazed.copy()
    clean_colour = canvas.colour.copy()
    crazed, line_mm = np.zeros((rows, cols), np.bool_), 0.0
    if spec.crazing:
        crazed, line_mm = draw_crazing(rng, canvas, spec.crazing, canvas.glazed)
    listed = []
    for mark in spec.marks:
        row, col = canvas.cell(mark.x_mm, mark.y_mm)
        if not (unmarked[row, col] and distance[row, col] > 0.3 * mark.diameter_mm):
            continue
        draw_mark(rng, canvas, mark, body_linear, thickness * float(coat[row, col]))
        listed.append(mark)
        near = canvas.window(mark.x_mm, mark.y_mm, 1.2 * mark.diameter_mm)
        unmarked[near.where] &= near.radius_mm > 0.6 * mark.diameter_mm
    nuisances = draw_nuisances(rng, canvas, spec.nuisances, w, h)
    glazed_area = float(np.count_nonzero(glazed_before)) * step_mm**2 / 100.0
    truth |= {
        "width_mm": w,
        "height_mm": h,
        "thickness_mm": spec.thickness_mm,
        "shape": spec.outline.shape,
        "glaze_name": spec.glaze.name,
        "body_name": spec.body.name,
        "glaze_lab": _mean_lab(clean_colour, unmarked),
        "body_lab": _mean_lab(clean_colour, (past < -1.5) & (distance > 1.0)),
        "glaze_area_cm2": round(float(np.count_nonzero(canvas.glazed)) * step_mm**2 / 100.0, 3),
        "roughness": round(spec.glaze.roughness, 4),
        "finish": finish_of(spec.glaze.roughness),
        "bare_end": spec.bare_end,
        "code": spec.code,
        "marks": [
            {
                "kind": mark.kind,
                "x_mm": round(mark.x_mm, 4),
                "y_mm": round(mark.y_mm, 4),
                "diameter_mm": round(mark.diameter_mm, 4),
                "broken": mark.broken,
            }
            for mark in listed
        ],
        "crazing": {
            "present": bool(crazed.any()),
            "cell_mm": round(spec.crazing.cell_mm, 3) if spec.crazing else None,
            "length_mm_per_cm2": round(line_mm / glazed_area, 3) if glazed_area > 0 else 0.0,
            "contrast": round(spec.crazing.contrast, 3) if spec.crazing else 0.0,
            "stained": spec.crazing.stained if spec.crazing else False,
        },
        "crawling": {
            "present": bool(spots > 0),
            "area_fraction": round(float(crawled.sum()) / max(1.0, float(glazed_before.sum())), 5),
            "spots": spots,
        },
        "nuisances": nuisances,
        "running": run_truth(runs, distance, step_mm),
        "craze_cells": cell_quartiles(crazed, glazed_before, step_mm),
        "places": place_truth(clean_colour, coat, canvas.glazed | crawled, distance, step_mm, ratio),
    }
    return Surface(spec, canvas, distance, polygon, crazed, crawled, truth)
