"""Smooth random fields: the raw stuff of clay, glaze, wood and cloth."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Field", "fractal", "smooth_noise", "wave"]

Field = NDArray[np.float32]


def smooth_noise(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: float, cell_y_px: float | None = None
) -> Field:
    """Give a smooth field of mean about 0 and standard deviation 1.

    Parameters
    ----------
    rng : seeded generator
    shape : (rows, cols) of the field
    cell_px : size of a wave across, pixels
    cell_y_px : size of a wave down, pixels; None makes it the same as across

    Returns
    -------
    (rows, cols) float32
    """
    rows, cols = shape
    across = max(2, int(cols / max(cell_px, 1.0)) + 3)
    down = max(2, int(rows / max(cell_y_px or cell_px, 1.0)) + 3)
    if across >= cols and down >= rows:
        return rng.standard_normal(shape, dtype=np.float32)
    seedling = rng.standard_normal((min(down, rows + 3), min(across, cols + 3)), dtype=np.float32)
    field = cv2.resize(seedling, (cols, rows), interpolation=cv2.INTER_CUBIC)
    spread = float(field.std())
    return np.asarray((field - field.mean()) / (spread if spread > 1e-6 else 1.0), dtype=np.float32)


def fractal(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: float, octaves: int = 4, gain: float = 0.5
) -> Field:
    """Sum smooth fields of halving cell size; standard deviation 1.

    Parameters
    ----------
    rng : seeded generator
    shape : (rows, cols)
    cell_px : size of the largest wave, pixels
    octaves : how many fields are summed
    gain : weight of each field against the one before, 0..1
    """
    total = np.zeros(shape, np.float32)
    weight = 1.0
    for octave in range(octaves):
        total += weight * smooth_noise(rng, shape, cell_px / 2**octave)
        weight *= gain
    return np.asarray(total / max(float(total.std()), 1e-6), dtype=np.float32)


def wave(rng: np.random.Generator, length: int, cell_px: float) -> Field:
    """Give a smooth wave along one line: (length,) float32, standard deviation 1."""
    return smooth_noise(rng, (2, length), cell_px, 1.0)[0]
