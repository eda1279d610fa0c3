"""Tables as textures of linear reflectance: wood, slate, newsprint, cloth, board, plaster, plywood."""

from __future__ import annotations

import cv2
import numpy as np

from .colour import lab_to_linear
from .noise import Field, fractal, smooth_noise

__all__ = ["TABLES", "table_texture"]

TABLES = ("wood", "slate", "newsprint", "cloth", "board", "plaster", "plywood")


def _wood(
    rng: np.random.Generator, size: int, texel: float, light: tuple[float, float], wear: float
) -> tuple[Field, Field]:
    along = smooth_noise(rng, (size, size), 260 / texel, 18 / texel)
    fine = smooth_noise(rng, (size, size), 60 / texel, 0.5 / texel) * 0.5 + smooth_noise(
        rng, (size, size), 140 / texel, 1.6 / texel
    )
    y = np.arange(size, dtype=np.float32)[:, None] * texel
    rings = np.sin(2 * np.pi * (y / rng.uniform(5, 16) + 0.9 * along))
    base = np.array([rng.uniform(*light), rng.uniform(6, 15), rng.uniform(14, 30)])
    tone = 0.10 * rings + 0.09 * fine + 0.10 * fractal(rng, (size, size), 80 / texel, 3)
    seams = np.zeros((size, size), np.float32)
    pitch = rng.uniform(70, 140)
    seam = np.abs((y + rng.uniform(0, pitch)) % pitch - pitch / 2) < 0.5
    seams += seam
    worn = np.clip(fractal(rng, (size, size), 35 / texel, 4) - 1.0, 0, 2) * rng.uniform(0, 0.35) * wear
    tone = tone - 0.9 * seams
    colour = lab_to_linear(base)[None, None] * np.exp(tone)[..., None].astype(np.float32)
    clay = np.array([0.52, 0.46, 0.39], dtype=np.float32)
    colour = colour * (1 - worn[..., None]) + clay * worn[..., None]
    return colour, np.asarray(0.35 + 0.15 * rng.random() + 0 * rings, dtype=np.float32)


def _slate(rng: np.random.Generator, size: int, texel: float) -> tuple[Field, Field]:
    tone = 0.10 * fractal(rng, (size, size), 60 / texel, 7, 0.7) + 0.07 * smooth_noise(
        rng, (size, size), 0.4 / texel
    )
    bed = np.clip(smooth_noise(rng, (size, size), 150 / texel, 3 / texel) - 1.2, 0, 1)
    tone = tone + 0.15 * bed
    base = lab_to_linear((rng.uniform(20, 38), rng.normal(0, 1), rng.normal(-2, 2)))
    scuff = np.clip(smooth_noise(rng, (size, size), 60 / texel, 0.7 / texel) - 2.0, 0, 1)
    dust = (
        (0.4 * scuff + np.clip(fractal(rng, (size, size), 70 / texel, 7, 0.65), 0, 2))[..., None]
        * 0.025
        * rng.random()
    )
    return base * np.exp(tone)[..., None] + dust, np.full((size, size), 0.55, np.float32)


def _newsprint(rng: np.random.Generator, size: int, texel: float) -> tuple[Field, Field]:
    page = np.full((size, size), 255, np.uint8)
    line_mm, column_mm = rng.uniform(3.4, 4.4), rng.uniform(42, 60)
    span = size * texel
    for left in np.arange(-rng.uniform(0, column_mm), span, column_mm + 5):
        y = rng.uniform(0, 8)
        edge = max(0, int(left / texel))
        column = np.ascontiguousarray(page[:, edge : max(edge + 1, int((left + column_mm) / texel))])
        while y < span:
            if rng.random() < 0.05:
                high, letters = rng.uniform(8, 14), 7
            else:
                high, letters = line_mm * 0.62, int(column_mm / (line_mm * 0.38))
            text = "".join(rng.choice(list("aeionrstlcdm upgbh"), letters))
            scale = high / texel / 22.0
            cv2.putText(
                column,
                text,
                (int(left / texel) - edge, int((y + high) / texel)),
                cv2.FONT_HERSHEY_COMPLEX,
                scale,
                64,
                max(1, round(scale * 1.3)),
                cv2.LINE_AA,
            )
            y += high * 1.6
        page[:, edge : edge + column.shape[1]] = column
    show = page.astype(np.float32) / 255.0
    paper = lab_to_linear((rng.uniform(76, 86), rng.normal(0.5, 1), rng.uniform(4, 10)))
    tone = 1 + 0.03 * fractal(rng, (size, size), 3 / texel, 3)
    return paper * (show * tone)[..., None], np.full((size, size), 0.9, np.float32)


def _cloth(rng: np.random.Generator, size: int, texel: float) -> tuple[Field, Field]:
    pitch = rng.uniform(0.7, 1.6)
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) * texel
    x = x + 0.25 * smooth_noise(rng, (size, size), 12 / texel)
    y = y + 0.25 * smooth_noise(rng, (size, size), 12 / texel)
    weave = np.sin(2 * np.pi * x / pitch) * np.sin(2 * np.pi * y / pitch)
    base = np.array([rng.uniform(25, 82), rng.normal(0, 9), rng.normal(4, 12)])
    tone = 0.16 * weave + 0.10 * fractal(rng, (size, size), 30 / texel, 4)
    if rng.random() < 0.4:
        stripe = (np.sin(2 * np.pi * x / rng.uniform(12, 40)) > 0.6).astype(np.float32)
        tone = tone - 0.5 * stripe
    return lab_to_linear(base) * np.exp(tone)[..., None], np.full((size, size), 0.95, np.float32)


def _board(rng: np.random.Generator, size: int, texel: float) -> tuple[Field, Field]:
    base = np.array([rng.uniform(52, 78), rng.uniform(3, 9), rng.uniform(10, 24)])
    chips = fractal(rng, (size, size), 3.5 / texel, 3)
    tone = 0.05 * chips + 0.08 * fractal(rng, (size, size), 120 / texel, 3)
    colour = lab_to_linear(base) * np.exp(tone)[..., None]
    for _ in range(int(rng.integers(0, 9))):  # dried drips of glaze and slip
        centre = (int(rng.integers(size)), int(rng.integers(size)))
        axes = (int(rng.uniform(1, 7) / texel), int(rng.uniform(1, 7) / texel))
        drip = np.zeros((size, size), np.float32)
        cv2.ellipse(drip, centre, axes, float(rng.uniform(0, 180)), 0, 360, 1.0, -1, cv2.LINE_AA)
        tone_of = lab_to_linear((rng.uniform(35, 92), rng.normal(2, 8), rng.normal(8, 10)))
        colour = colour * (1 - 0.85 * drip[..., None]) + tone_of * 0.85 * drip[..., None]
    return colour, np.full((size, size), 0.7, np.float32)


def _plaster(rng: np.random.Generator, size: int, texel: float) -> tuple[Field, Field]:
    base = lab_to_linear((rng.uniform(58, 90), rng.normal(0.5, 1), rng.uniform(2, 9)))
    tone = 0.07 * fractal(rng, (size, size), 90 / texel, 6, 0.6)
    pores = np.clip(smooth_noise(rng, (size, size), 0.9 / texel) - 2.6, 0, 1)
    scuffs = np.clip(smooth_noise(rng, (size, size), 200 / texel, 2 / texel) - 1.8, 0, 1) * 0.25
    return base * np.exp(tone - 1.2 * pores - scuffs)[..., None], np.full((size, size), 0.9, np.float32)


def _marked(rng: np.random.Generator, colour: Field, wave_px: int, wear: float) -> Field:
    """Lay the wear of a bench over a table: cup rings, pencil lines, clay dust."""
    size = colour.shape[0]
    ink = np.zeros((size, size), np.float32)
    for _ in range(int(rng.integers(0, 3))):
        centre = (int(rng.integers(size)), int(rng.integers(size)))
        cv2.circle(
            ink,
            centre,
            int(size * rng.uniform(0.08, 0.16)),
            float(rng.uniform(0.1, 0.3)),
            max(2, size // 300),
            cv2.LINE_AA,
        )
    for _ in range(int(rng.integers(0, 4))):
        a, b = rng.integers(0, size, 2), rng.integers(0, size, 2)
        cv2.line(
            ink,
            tuple(map(int, a)),
            tuple(map(int, b)),
            float(rng.uniform(0.1, 0.4)),
            max(1, size // 1500),
            cv2.LINE_AA,
        )
    ink = ink * np.clip(1 + 0.6 * smooth_noise(rng, (size, size), wave_px), 0, 1.5)
    # Clay dust lies in a fine, wiped film, not in clouds.
    film = fractal(rng, (size, size), size / 4, 8, 0.72) + 0.5 * smooth_noise(
        rng, (size, size), size / 3, size / 90
    )
    dust = np.clip(film - 0.5, 0, 2)[..., None] * rng.uniform(0, 0.13) * wear
    clay = np.array([0.55, 0.50, 0.44], dtype=np.float32)
    return np.asarray(colour * (1 - ink[..., None]) * (1 - dust) + clay * dust, dtype=np.float32)


def table_texture(
    rng: np.random.Generator, kind: str, size_px: int, span_mm: float, wear: float = 1.0
) -> tuple[Field, Field]:
    """Paint a table.

    Parameters
    ----------
    rng : seeded generator
    kind : one of `TABLES`
    size_px : side of the square texture
    span_mm : side of the table it covers
    wear : how much dried clay lies on it, 1 a dusty bench

    Returns
    -------
    colour : (size_px, size_px, 3) linear reflectance
    rough : (size_px, size_px) principled roughness
    """
    texel = span_mm / size_px
    if kind in ("wood", "plywood"):
        colour, rough = _wood(rng, size_px, texel, (32, 62) if kind == "wood" else (68, 82), wear)
        rough = np.broadcast_to(rough, (size_px, size_px)).astype(np.float32)
    else:
        paint = {
            "slate": _slate,
            "newsprint": _newsprint,
            "cloth": _cloth,
            "board": _board,
            "plaster": _plaster,
        }
        colour, rough = paint[kind](rng, size_px, texel)
    colour = _marked(rng, np.asarray(colour, dtype=np.float32), max(4, size_px // 60), wear)
    if rng.random() < 0.5 and kind in ("wood", "plywood", "cloth"):
        colour, rough = np.ascontiguousarray(np.rot90(colour)), np.ascontiguousarray(np.rot90(rough))
    return np.clip(colour, 0.003, 0.92).astype(np.float32), rough
