"""A phone's tone curve, undone: a power of light and an S-shaped contrast, each with its inverse table."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vision.colour import linear_to_srgb, srgb_to_linear

__all__ = ["tone_table", "undo_tone"]

_STEPS = 2049


@lru_cache(maxsize=256)
def _table(power: float, contrast: float) -> NDArray[np.float32]:
    """Light by picture code, at _STEPS codes from 0 to 1."""
    code = np.linspace(0.0, 1.0, _STEPS)
    curve = code + contrast * (code * code * (3.0 - 2.0 * code) - code)
    before = np.interp(code, curve, code)
    table = (srgb_to_linear(before).astype(np.float64) ** power).astype(np.float32)
    table.setflags(write=False)
    return table


def tone_table(power: float, contrast: float) -> NDArray[np.float32]:
    """Give light, 0..1, for each of the 256 codes of an sRGB picture.

    Parameters
    ----------
    power : exponent on light after the contrast is undone; 1 changes nothing
    contrast : strength of the S-curve the phone applied to its codes, above -1 and below 1: code +
        contrast * (smoothstep(code) - code)

    Returns
    -------
    (256,) float32, read-only
    """
    index = np.linspace(0.0, _STEPS - 1.0, 256)
    return np.asarray(np.interp(index, np.arange(_STEPS), _table(power, contrast)), dtype=np.float32)


def undo_tone(linear: NDArray[Any], power: float, contrast: float) -> NDArray[np.float32]:
    """Take linear light, decoded as plain sRGB, through the inverse of the tone curve; any shape, float32."""
    if power == 1.0 and contrast == 0.0:
        return np.asarray(linear, dtype=np.float32)
    code = linear_to_srgb(linear) * np.float32(_STEPS - 1)
    return np.asarray(np.interp(code, np.arange(_STEPS), _table(power, contrast)), dtype=np.float32)
