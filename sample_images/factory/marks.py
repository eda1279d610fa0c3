"""Marks as true relief: pinhole, blister, crater and speck, drawn into a canvas.

Sizes and looks follow common studio observation: a pinhole is a steep hole with a soft lip and body at its
floor; a blister is a smooth dome, some just broken with a sharp lip; a crater is a hollow with a raised rim;
a speck is flat and dark with a soft bleed. Diameters mean: pinhole, the opening; blister, the dome's foot;
crater, crest to crest of the rim; speck, the dark core at half contrast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import Field
from .relief import Canvas, Window, smoothstep

__all__ = ["KINDS", "Mark", "draw_mark"]

KINDS = ("pinhole", "blister", "crater", "speck")


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: kind, place in the tile frame, diameter, and for a blister whether it has broken."""

    kind: str
    x_mm: float
    y_mm: float
    diameter_mm: float
    broken: bool = False


def _shape(rng: np.random.Generator, window: Window, radius_mm: float, unrest: float) -> Field:
    """Give the radius as a fraction of the mark's own outline (1 on the outline), slightly out of round."""
    lobe = np.ones_like(window.angle)
    for fold, share in ((2, 1.0), (3, 0.6), (5, 0.3)):
        lobe += unrest * share * rng.normal() * np.cos(fold * window.angle + rng.uniform(0, 6.283))
    return np.asarray(window.radius_mm / (radius_mm * np.clip(lobe, 0.5, 1.6)), dtype=np.float32)


def _pinhole(
    rng: np.random.Generator, canvas: Canvas, mark: Mark, floor: NDArray[np.float64], coat_mm: float
) -> None:
    radius = mark.diameter_mm / 2
    window = canvas.window(mark.x_mm, mark.y_mm, 3.2 * radius)
    r = _shape(rng, window, radius, 0.05)
    depth = min(max(coat_mm * rng.uniform(0.9, 1.6), 1.1 * radius), 2.6 * radius)
    lip = radius * rng.uniform(0.05, 0.22)
    canvas.height[window.where] -= depth * smoothstep(1.0, rng.uniform(0.55, 0.8), r)
    canvas.height[window.where] -= lip * np.exp(-((np.maximum(r - 0.9, 0) / 0.55) ** 2)).astype(np.float32)
    inner = smoothstep(0.98, 0.72, r)
    canvas.tint(window.where, inner, floor * rng.uniform(0.25, 0.8))
    # The glaze thins towards the lip, so the body's tone comes through in a narrow ring.
    ring = np.exp(-(((r - 1.1) / 0.25) ** 2)).astype(np.float32) * rng.uniform(0.0, 0.35)
    canvas.tint(window.where, ring, floor)
    canvas.rough[window.where] = canvas.rough[window.where] * (1 - inner) + 0.8 * inner


def _blister(
    rng: np.random.Generator, canvas: Canvas, mark: Mark, floor: NDArray[np.float64], coat_mm: float
) -> None:
    radius = mark.diameter_mm / 2
    window = canvas.window(mark.x_mm, mark.y_mm, 1.9 * radius)
    r = _shape(rng, window, radius, 0.03)
    rise = min(radius * rng.uniform(0.3, 0.75), 1.6)
    dome = rise * np.clip(1 - r**2, 0, 1) ** rng.uniform(0.75, 1.25)
    moat = 0.07 * rise * np.exp(-(((r - 1.12) / 0.16) ** 2))
    canvas.height[window.where] += (dome - moat).astype(np.float32)
    # The skin of the dome is thin: a little of what lies below, or a pale veil, shows through.
    skin = smoothstep(1.0, 0.4, r) * rng.uniform(0.0, 0.35)
    veil = floor if rng.random() < 0.5 else np.clip(floor * 0.4 + 0.35, 0, 0.9)
    canvas.tint(window.where, skin, veil)
    if mark.broken:
        opening = rng.uniform(0.28, 0.62)
        jag = _shape(rng, window, radius * opening, 0.10)
        off = np.asarray(smoothstep(1.02, 0.94, jag), dtype=np.float32)
        bottom = -min(coat_mm * rng.uniform(0.5, 1.1), 0.8 * radius)
        hollow = bottom + 0.25 * radius * np.clip(jag, 0, 1) ** 2
        canvas.height[window.where] = canvas.height[window.where] * (1 - off) + hollow * off
        dark = floor * rng.uniform(0.12, 0.7)
        canvas.tint(window.where, off, dark)
        canvas.rough[window.where] = canvas.rough[window.where] * (1 - off) + rng.uniform(0.3, 0.8) * off


def _crater(
    rng: np.random.Generator, canvas: Canvas, mark: Mark, floor: NDArray[np.float64], coat_mm: float
) -> None:
    radius = mark.diameter_mm / 2
    window = canvas.window(mark.x_mm, mark.y_mm, 2.3 * radius)
    r = _shape(rng, window, radius, 0.06)
    depth = min(radius * rng.uniform(0.3, 0.7), max(1.3 * coat_mm, 0.25 * radius))
    rim = radius * rng.uniform(0.12, 0.3)
    bowl = -depth * smoothstep(0.95, rng.uniform(0.3, 0.7), r)
    inner_width, outer_width = rng.uniform(0.1, 0.2), rng.uniform(0.2, 0.4)
    ridge = np.where(r < 1, np.exp(-(((r - 1) / inner_width) ** 2)), np.exp(-(((r - 1) / outer_width) ** 2)))
    uneven = 1 + rng.uniform(0.0, 0.5) * np.cos(window.angle + rng.uniform(0, 6.283))
    canvas.height[window.where] += (bowl + rim * ridge * uneven).astype(np.float32)
    habit = rng.random()
    tone = floor * rng.uniform(0.1, 0.9) if habit < 0.7 else canvas.colour[canvas.cell(mark.x_mm, mark.y_mm)]
    inner = smoothstep(0.85, 0.5, r)
    canvas.tint(window.where, inner * rng.uniform(0.6, 1.0), np.asarray(tone, dtype=np.float64))
    canvas.rough[window.where] = canvas.rough[window.where] * (1 - inner) + rng.uniform(0.2, 0.75) * inner
    if rng.random() < 0.35:
        hole = smoothstep(0.28, 0.16, r)
        canvas.height[window.where] -= hole * 0.35 * radius
        canvas.tint(window.where, hole, floor * 0.15)


def _speck(
    rng: np.random.Generator, canvas: Canvas, mark: Mark, floor: NDArray[np.float64], coat_mm: float
) -> None:
    del floor, coat_mm
    radius = mark.diameter_mm / 2
    window = canvas.window(mark.x_mm, mark.y_mm, 3.0 * radius)
    r = _shape(rng, window, radius, 0.14)
    iron = np.array([0.030, 0.014, 0.007]) * rng.uniform(0.5, 2.2)
    core = smoothstep(1.0 + rng.uniform(0.1, 0.35), 1.0 - rng.uniform(0.2, 0.6), r) * rng.uniform(0.7, 1.0)
    here = canvas.colour[window.where]
    halo = np.exp(-((r / rng.uniform(1.3, 2.0)) ** 2)).astype(np.float32)[..., None] * rng.uniform(0.0, 0.45)
    rust = here * np.array([0.62, 0.38, 0.22], dtype=np.float32)
    canvas.colour[window.where] = here * (1 - halo) + rust * halo
    canvas.tint(window.where, core, iron)


_DRAW = {"pinhole": _pinhole, "blister": _blister, "crater": _crater, "speck": _speck}


def draw_mark(
    rng: np.random.Generator, canvas: Canvas, mark: Mark, body: NDArray[np.float64], coat_mm: float
) -> None:
    """Draw one mark into the canvas.

    Parameters
    ----------
    rng : seeded generator
    canvas : changed in place
    mark : what and where
    body : (3,) linear sRGB of the clay below
    coat_mm : thickness of the glaze there, millimetres

    Raises
    ------
    KeyError : the kind is none of `KINDS`.
    """
    _DRAW[mark.kind](rng, canvas, mark, body, coat_mm)
