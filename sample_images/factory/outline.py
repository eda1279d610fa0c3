"""Outlines of tiles as signed distances: rectangle, round, L-shaped; holes and a hand's wobble."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from .noise import Field, smooth_noise

__all__ = ["Outline", "outline_polygon", "signed_distance"]


@dataclass(frozen=True, slots=True)
class Outline:
    """A tile's outline.

    Attributes
    ----------
    shape : rectangle, round or l_shape
    width_mm, height_mm : of the enclosing upright rectangle
    corner_mm : radius of the corners
    wobble_mm : standard deviation of the edge's waver
    holes : (x_mm, y_mm, radius_mm) of each hanging hole
    """

    shape: str
    width_mm: float
    height_mm: float
    corner_mm: float = 1.0
    wobble_mm: float = 0.1
    holes: tuple[tuple[float, float, float], ...] = ()


def _box(x: Field, y: Field, left: float, top: float, right: float, low: float, corner: float) -> Field:
    qx = np.abs(x - (left + right) / 2) - (right - left) / 2 + corner
    qy = np.abs(y - (top + low) / 2) - (low - top) / 2 + corner
    outside = np.hypot(np.maximum(qx, 0), np.maximum(qy, 0))
    return np.asarray(corner - outside - np.minimum(np.maximum(qx, qy), 0), dtype=np.float32)


def signed_distance(outline: Outline, x_mm: Field, y_mm: Field, rng: np.random.Generator) -> Field:
    """Give each point's distance to the edge: millimetres, positive inside.

    Parameters
    ----------
    outline : the wanted shape
    x_mm, y_mm : (rows, cols) tile coordinates, y down
    rng : seeded generator, for the wobble
    """
    w, h = outline.width_mm, outline.height_mm
    if outline.shape == "round":
        distance = np.asarray(
            (1 - np.hypot((x_mm - w / 2) / (w / 2), (y_mm - h / 2) / (h / 2))) * min(w, h) / 2,
            dtype=np.float32,
        )
    elif outline.shape == "l_shape":
        stem = _box(x_mm, y_mm, 0.0, 0.0, 0.55 * w, h, outline.corner_mm)
        foot = _box(x_mm, y_mm, 0.0, 0.62 * h, w, h, outline.corner_mm)
        distance = np.maximum(stem, foot)
    else:
        distance = _box(x_mm, y_mm, 0.0, 0.0, w, h, outline.corner_mm)
    step = abs(float(x_mm[0, 1] - x_mm[0, 0]))
    waver = smooth_noise(rng, x_mm.shape, 22.0 / step) + 0.35 * smooth_noise(rng, x_mm.shape, 5.0 / step)
    distance = distance - outline.wobble_mm * (1.0 + np.abs(waver)) * 0.7
    for cx, cy, radius in outline.holes:
        distance = np.minimum(distance, np.hypot(x_mm - cx, y_mm - cy).astype(np.float32) - radius)
    return np.asarray(distance, dtype=np.float32)


def outline_polygon(distance: Field, step_mm: float, margin_mm: float) -> np.ndarray:
    """Trace the outer edge (distance 0) as a polygon of tile coordinates: (n, 2) millimetres.

    The edge is traced on a grid and smoothed to about a tenth of a millimetre.
    """
    inside = (distance > 0).astype(np.uint8)
    contours, _ = cv2.findContours(inside, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea)
    slim = cv2.approxPolyDP(contour, 0.08 / step_mm + 0.8, True)[:, 0, :].astype(np.float64)
    return (slim + 0.5) * step_mm - margin_mm
