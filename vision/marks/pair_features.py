"""What a candidate looks like under a lamp on either side: painted on, standing up or going down.

Light falling on a matt surface goes by the cosine between its normal and the lamp (Lambert), so a dome is
bright on the lamp's side and a pit on the far one; paint is the same under both lamps. Each candidate is
resampled to a square whose u axis runs towards the first lamp; half the difference of both photos is what
turns with the lamp, half their sum what does not.
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates, Pyramid
from vision.marks.classify import CLASSES

__all__ = ["PAIR_FEATURE_NAMES", "measure_pair_features"]

_SIDE = 25
_EXTENT = 2.6
_RINGS = (0.0, 0.35, 0.65, 0.9, 1.15, 1.5, 2.0, 2.6)
_ALONG = (-1.5, -1.05, -0.7, -0.35, 0.0, 0.35, 0.7, 1.05, 1.5)
"""Places along the lamp's axis, radii, where the profile is taken."""
_LEVEL_RADIUS_PX = 3.0
_BATCH = 8000
_N = len(_RINGS) - 1

PAIR_FEATURE_NAMES: tuple[str, ...] = (
    *(f"{which}_log_{kind}" for which in ("mean", "low", "high") for kind in CLASSES),
    *(f"paint_{k}" for k in range(_N)),
    *(f"turns_along_{k}" for k in range(_N)),
    *(f"turns_across_{k}" for k in range(_N)),
    *(f"differs_{k}" for k in range(_N)),
    *(f"turning_{k}" for k in range(_N)),
    *(f"painted_{k}" for k in range(_N)),
    *(f"lit_{k}" for k in range(len(_ALONG))),
    "lit_most",
    "lit_most_at",
    "lit_least",
    "lit_least_at",
    "paint_most",
    "paint_least",
    "same_alike",
    "mirrored_alike",
    "turning_to_noise",
    "paint_to_noise",
    "turning_to_paint",
    "shines_in_one",
    "shines_in_both",
    "rim_shines_in_one",
    "paint_chroma",
    "alike",
    "log_size",
)


def _grid() -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    axis = np.linspace(-_EXTENT, _EXTENT, _SIDE, dtype=np.float32)
    u, v = np.meshgrid(axis, axis)
    return u, v, np.hypot(u, v)


def _rings() -> NDArray[np.float32]:
    """Give (samples, rings) averaging weights with a soft border."""
    _, _, rho = _grid()
    soft = _EXTENT / _SIDE
    columns = []
    for low, high in pairwise(_RINGS):
        outer = np.clip((high - rho) / soft + 0.5, 0, 1)
        inner = np.clip((rho - low) / soft + 0.5, 0, 1) if low > 0 else np.ones_like(rho)
        weight = (outer * inner).ravel()
        columns.append(weight / weight.sum())
    return np.stack(columns, axis=1).astype(np.float32)


def _profile() -> NDArray[np.float32]:
    """Give (samples, places) weights of small blobs along the lamp's axis."""
    u, v, _ = _grid()
    columns = [np.exp(-0.5 * (((u - at) / 0.2) ** 2 + (v / 0.35) ** 2)).ravel() for at in _ALONG]
    return np.stack([c / c.sum() for c in columns], axis=1).astype(np.float32)


_U, _V, _RHO = (part.ravel() for part in _grid())
_RING = _rings()
_COS = np.asarray(_RING * (_U / np.maximum(_RHO, 1e-3))[:, None], np.float32)
_SIN = np.asarray(_RING * (_V / np.maximum(_RHO, 1e-3))[:, None], np.float32)
_LINE = _profile()


def _look(
    candidates: Candidates,
    levels: tuple[NDArray[np.generic], ...],
    first_level: int,
    lamp: NDArray[np.float32],
) -> NDArray[np.float32]:
    """Resample each candidate with its u axis towards the lamp: (n, samples, channels)."""
    channels = 1 if levels[0].ndim == 2 else levels[0].shape[2]
    out = np.empty((len(candidates), _SIDE * _SIDE, channels), np.float32)
    fitting = np.floor(np.log2(np.maximum(candidates.radius_px / _LEVEL_RADIUS_PX, 1e-3)))
    which = np.clip(fitting, first_level, first_level + len(levels) - 1).astype(np.intp)
    right, down = _U * lamp[0] - _V * lamp[1], _U * lamp[1] + _V * lamp[0]
    for index, image in enumerate(levels):
        some = np.nonzero(which == index + first_level)[0]
        factor, offset = Pyramid.place(index + first_level)
        for start in range(0, len(some), _BATCH):
            part = some[start : start + _BATCH]
            r = candidates.radius_px[part][:, None]
            map_x = (candidates.x_px[part][:, None] + r * right - np.float32(offset)) / np.float32(factor)
            map_y = (candidates.y_px[part][:, None] + r * down - np.float32(offset)) / np.float32(factor)
            seen = cv2.remap(image, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
            out[part] = seen.reshape(len(part), _SIDE * _SIDE, -1)
    return out


def _alike(one: NDArray[np.float32], other: NDArray[np.float32]) -> NDArray[np.float32]:
    """Correlate squares within 1.4 radii."""
    near = _RHO < 1.4
    a, b = one[:, near], other[:, near]
    a, b = a - a.mean(1, keepdims=True), b - b.mean(1, keepdims=True)
    size = np.sqrt((a * a).sum(1) * (b * b).sum(1))
    return np.asarray((a * b).sum(1) / np.maximum(size, 1e-3), np.float32)


def _extreme(values: NDArray[np.float32], sign: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Give the largest (or, with -1, least) value within 1.2 radii and how far towards the lamp it lies."""
    near = np.nonzero(_RHO < 1.2)[0]
    at = np.argmax(sign * values[:, near], axis=1)
    return values[np.arange(len(values)), near[at]], _U[near[at]]


def measure_pair_features(
    candidates: Candidates,
    pyramids: tuple[Pyramid, Pyramid],
    shares: tuple[NDArray[np.float32], NDArray[np.float32]],
    lamp: NDArray[np.float32],
    alike: float,
) -> NDArray[np.float32]:
    """Describe each candidate by both photos.

    Parameters
    ----------
    candidates : n candidates, of either photo
    pyramids : of the first and the second view, in the same pixels
    shares : (n, len(CLASSES)) of each candidate in each view
    lamp : (2,) unit vector towards the first lamp, pixels of the view
    alike : how well both views match

    Returns
    -------
    (n, len(PAIR_FEATURE_NAMES)) float32, no NaN. Both photos given the other way round, with the lamp's
    direction turned, give the same.
    """
    n = len(candidates)
    if n == 0:
        return np.zeros((0, len(PAIR_FEATURE_NAMES)), np.float32)
    outer = _RHO > 1.6
    views = []
    for pyramid in pyramids:
        light = _look(candidates, pyramid.light, 0, lamp)[..., 0]
        views.append(light - np.median(light[:, outer], axis=1)[:, None])
    first, second = views
    mirrored = second.reshape(n, _SIDE, _SIDE)[:, :, ::-1].reshape(n, -1)
    half = np.float32(0.5)
    paint, turns = half * (first + second), half * (first - second)
    lit = np.asarray(half * (first + mirrored), np.float32)
    painted = np.sqrt((paint * paint) @ _RING)
    turning = np.sqrt((turns * turns) @ _RING)
    inside, noise = turning[:, :4].mean(1), turning[:, -1] + 0.3
    contrast = painted[:, :3].mean(1)
    most, most_at = _extreme(lit, 1.0)
    least, least_at = _extreme(lit, -1.0)
    masks = [
        np.maximum(m[..., 1], m[..., 2]) / 255
        for m in (_look(candidates, p.masks, 1, lamp) for p in pyramids)
    ]
    shine = [m @ _RING for m in masks]
    inner = [s[:, :3].mean(1) for s in shine]
    rim = [s[:, 3:5].mean(1) for s in shine]
    chroma = []
    for pyramid in pyramids:
        colour = _look(candidates, pyramid.colour, 1, lamp)
        chroma.append(colour[:, _RHO < 0.65].mean(1) - np.median(colour[:, outer], axis=1))
    logs = [np.log(np.maximum(s, 1e-4)) for s in shares]
    columns = [
        *((logs[0] + logs[1]) / 2).T,
        *np.minimum(*logs).T,
        *np.maximum(*logs).T,
        *(paint @ _RING).T,
        *(turns @ _COS).T,
        *np.abs(turns @ _SIN).T,
        *np.abs(turns @ _RING).T,
        *turning.T,
        *painted.T,
        *(lit @ _LINE).T,
        most,
        most_at,
        least,
        least_at,
        _extreme(np.asarray(paint, np.float32), 1.0)[0],
        _extreme(np.asarray(paint, np.float32), -1.0)[0],
        _alike(first, second),
        _alike(first, mirrored),
        np.log(inside / noise + 1e-2),
        np.log(contrast / noise + 1e-2),
        np.log((inside + 0.3) / (contrast + 0.3)),
        np.abs(inner[0] - inner[1]),
        np.minimum(*inner),
        np.abs(rim[0] - rim[1]),
        np.linalg.norm((chroma[0] + chroma[1]) / 2, axis=1),
        np.full(n, alike),
        np.log(candidates.radius_px),
    ]
    return np.nan_to_num(np.stack(columns, axis=1).astype(np.float32), nan=0.0, posinf=1e4, neginf=-1e4)
