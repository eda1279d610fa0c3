"""Cuts a small square picture of each candidate, the same size whatever the mark's, for the mark net."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates, Pyramid
from vision.surface import FloatImage

__all__ = ["CHANNELS", "SIDE", "cut_squares"]

SIDE = 24
"""Rows and columns of a square."""
CHANNELS = ("lightness", "a", "b", "lightness around", "reflection", "glaze", "radius", "sharpness", "ground")
_NEAR, _FAR = 2.4, 6.0
"""Half widths of the near and the far view, radii of the candidate."""
_LEVEL_RADIUS_PX = 4.5
"""Radius, pixels of the pyramid's level, at which a candidate is looked at closely."""
_BATCH = 8000


def _sample(
    candidates: Candidates,
    levels: tuple[NDArray[np.generic], ...],
    first: int,
    extent: float,
    radius_px: float,
) -> FloatImage:
    """Resample each candidate where its radius is about `radius_px`: (n, SIDE, SIDE, channels)."""
    axis = ((np.arange(SIDE) + 0.5) / SIDE * 2 - 1) * extent
    u, v = (part.ravel().astype(np.float32) for part in np.meshgrid(axis, axis))
    fitting = np.floor(np.log2(np.maximum(candidates.radius_px / radius_px, 1e-3)))
    which = np.clip(fitting, first, first + len(levels) - 1).astype(np.intp)
    channels = 1 if levels[0].ndim == 2 else levels[0].shape[2]
    out = np.empty((len(candidates), SIDE * SIDE, channels), np.float32)
    for index, image in enumerate(levels):
        some = np.nonzero(which == index + first)[0]
        factor, offset = Pyramid.place(index + first)
        for start in range(0, len(some), _BATCH):
            part = some[start : start + _BATCH]
            x, y, r = (
                values[part][:, None] for values in (candidates.x_px, candidates.y_px, candidates.radius_px)
            )
            map_x = (x + r * u - np.float32(offset)) / np.float32(factor)
            map_y = (y + r * v - np.float32(offset)) / np.float32(factor)
            seen = cv2.remap(image, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
            out[part] = seen.reshape(len(part), SIDE * SIDE, -1)
    return out.reshape(-1, SIDE, SIDE, channels)


def cut_squares(candidates: Candidates, pyramid: Pyramid, blur_px: float) -> FloatImage:
    """Cut each candidate out.

    Parameters
    ----------
    candidates : n candidates
    pyramid : of their surface
    blur_px : of the surface

    Returns
    -------
    (n, len(CHANNELS), SIDE, SIDE) float32, each channel within about -3..3. Lightness and colour are
    relative to the glaze around; radius, sharpness and the glaze's lightness fill a channel each.
    """
    n = len(candidates)
    out = np.zeros((n, len(CHANNELS), SIDE, SIDE), np.float32)
    if n == 0:
        return out
    light = _sample(candidates, pyramid.light, 0, _NEAR, _LEVEL_RADIUS_PX)[..., 0]
    colour = _sample(candidates, pyramid.colour, 1, _NEAR, _LEVEL_RADIUS_PX)
    masks = _sample(candidates, pyramid.masks, 1, _NEAR, _LEVEL_RADIUS_PX)
    around = _sample(candidates, pyramid.light, 0, _FAR, _LEVEL_RADIUS_PX / 2)[..., 0]
    ground = np.median(around.reshape(n, -1), axis=1)
    tint = np.median(colour.reshape(n, -1, 2), axis=1)
    out[:, 0] = (light - ground[:, None, None]) / 15
    out[:, 1:3] = ((colour - tint[:, None, None]) / 8).transpose(0, 3, 1, 2)
    out[:, 3] = (around - ground[:, None, None]) / 15
    out[:, 4] = np.maximum(masks[..., 1], masks[..., 2]) / 255
    out[:, 5] = masks[..., 0] / 255
    out[:, 6] = (np.log(candidates.radius_px) - 2)[:, None, None]
    out[:, 7] = (np.log(candidates.radius_px / max(blur_px, 0.3)) - 1.5)[:, None, None]
    out[:, 8] = (ground / 50 - 1)[:, None, None]
    return np.clip(out, -6, 6)
