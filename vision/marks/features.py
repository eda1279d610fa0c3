"""What a candidate looks like, in numbers that do not depend on its size, the lamp's side or the exposure.

Each candidate is resampled to a small square that spans 2.6 of its radii, cut into rings, and each ring
described by its mean colour, spread and its first two angular harmonics.
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates, Pyramid
from vision.surface import Surface

__all__ = ["FEATURE_NAMES", "measure_features"]

_SIDE = 25
_REMAP_ROWS = 8000
_EXTENT = 2.6
_RINGS = (0.0, 0.3, 0.55, 0.8, 1.0, 1.2, 1.5, 1.9, 2.6)
_LEVEL_RADIUS_PX = 3.0
_ZONES = {"core": (0.0, 0.55), "inside": (0.0, 0.85), "rim": (0.85, 1.3), "outside": (1.5, 2.6)}


def _grid() -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    axis = np.linspace(-_EXTENT, _EXTENT, _SIDE, dtype=np.float32)
    u, v = np.meshgrid(axis, axis)
    return u, v, np.hypot(u, v)


def _zone_weights(edges: tuple[tuple[float, float], ...]) -> NDArray[np.float32]:
    """Give (samples, zones) averaging weights with a soft border half a sample wide."""
    _, _, rho = _grid()
    soft = _EXTENT / _SIDE
    columns = []
    for low, high in edges:
        outer = np.clip((high - rho) / soft + 0.5, 0, 1)
        inner = np.clip((rho - low) / soft + 0.5, 0, 1) if low > 0 else np.ones_like(rho)
        weight = (outer * inner).ravel()
        columns.append(weight / weight.sum())
    return np.stack(columns, axis=1).astype(np.float32)


_RING_WEIGHTS = _zone_weights(tuple(pairwise(_RINGS)))
_ZONE_WEIGHTS = _zone_weights(tuple(_ZONES.values()))


def _harmonic(order: int) -> NDArray[np.float32]:
    """Give (samples, 2 * rings) weights of cos and sin of `order` times the angle."""
    u, v, _ = _grid()
    angle = order * np.arctan2(v, u).ravel()
    return np.concatenate(
        [_RING_WEIGHTS * np.cos(angle)[:, None], _RING_WEIGHTS * np.sin(angle)[:, None]], axis=1
    ).astype(np.float32)


_FIRST, _SECOND = _harmonic(1), _harmonic(2)
_N_RINGS = len(_RINGS) - 1

FEATURE_NAMES: tuple[str, ...] = (
    "log_radius_px",
    "radius_blurs",
    "strength",
    "channel",
    *(f"lightness_{k}" for k in range(_N_RINGS - 1)),
    *(f"colour_{k}" for k in range(_N_RINGS - 1)),
    *(f"spread_{k}" for k in range(_N_RINGS)),
    *(f"dipole_{k}" for k in range(_N_RINGS)),
    *(f"quadrupole_{k}" for k in range(_N_RINGS)),
    "dipole_inside_rim",
    "dipole_rim_outside",
    "dipole_core_inside",
    "dipole_agreement",
    "dipole_inside_lamp",
    "dipole_rim_lamp",
    "lamp_coherence",
    "brightest_core",
    "darkest_core",
    "brightest_inside",
    "darkest_inside",
    "brightest_rim",
    "darkest_rim",
    "brightest_outside",
    "darkest_outside",
    "brightest_distance",
    "darkest_distance",
    "bright_dark_cosine",
    *(f"saturated_{zone}" for zone in _ZONES),
    *(f"glint_{zone}" for zone in _ZONES),
    *(f"domain_{zone}" for zone in _ZONES),
    "chroma_core",
    "chroma_shift",
    "hue_shift",
    "floor_to_body",
    "body_to_glaze",
    "steepest_step",
    "steepest_at",
    "contrast_to_texture",
    "glaze_lightness",
    "glaze_chroma",
    "core_lightness",
    "texture",
    "crowding",
)


def _patches(
    candidates: Candidates, levels: tuple[NDArray[np.generic], ...], which: NDArray[np.intp], first_level: int
) -> NDArray[np.float32]:
    """Resample each candidate from pyramid level `which`, giving (n, samples, channels)."""
    u, v, _ = _grid()
    channels = 1 if levels[0].ndim == 2 else levels[0].shape[2]
    out = np.empty((len(candidates), _SIDE * _SIDE, channels), np.float32)
    for index, image in enumerate(levels):
        level = index + first_level
        some = np.nonzero(which == level)[0]
        factor, offset = Pyramid.place(level)
        for start in range(0, len(some), _REMAP_ROWS):
            part = some[start : start + _REMAP_ROWS]
            r = candidates.radius_px[part][:, None] / np.float32(factor)
            map_x = (candidates.x_px[part][:, None] - np.float32(offset)) / np.float32(factor) + r * u.ravel()
            map_y = (candidates.y_px[part][:, None] - np.float32(offset)) / np.float32(factor) + r * v.ravel()
            taken = cv2.remap(image, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
            out[part] = taken.reshape(len(part), _SIDE * _SIDE, -1)
    return out


def _unit(vector: NDArray[np.float32]) -> NDArray[np.float32]:
    length = np.linalg.norm(vector, axis=-1, keepdims=True)
    return np.asarray(vector / np.maximum(length, 1e-3), np.float32)


def _extremes(light: NDArray[np.float32], low: float, high: float) -> list[NDArray[np.float32]]:
    _, _, rho = _grid()
    zone = light[:, ((rho >= low) & (rho < high)).ravel()]
    ordered = np.partition(zone, (1, -2), axis=1)
    return [ordered[:, -2], ordered[:, 1]]


def measure_features(surface: Surface, candidates: Candidates, pyramid: Pyramid) -> NDArray[np.float32]:
    """Describe each candidate.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    candidates : n candidates
    pyramid : from `build_pyramid` of the same surface

    Returns
    -------
    (n, len(FEATURE_NAMES)) float32, no NaN
    """
    n = len(candidates)
    if n == 0:
        return np.zeros((0, len(FEATURE_NAMES)), np.float32)
    u, v, rho = _grid()
    top = len(pyramid.light) - 1
    fitting = np.floor(np.log2(np.maximum(candidates.radius_px / _LEVEL_RADIUS_PX, 1e-3)))
    which = np.clip(fitting, 0, top).astype(np.intp)
    light = _patches(candidates, pyramid.light, which, 0)[..., 0]
    colour = _patches(candidates, pyramid.colour, np.maximum(which, 1), 1)
    masks = _patches(candidates, pyramid.masks, np.maximum(which, 1), 1)
    around = np.nonzero((rho > 1.4).ravel())[0][::3]
    outer_light = light[:, around]
    ground = np.concatenate(
        [np.median(outer_light, axis=1)[:, None], np.median(colour[:, around], axis=1)], axis=1
    )
    ring = np.stack([light @ _RING_WEIGHTS, *(colour[..., k] @ _RING_WEIGHTS for k in (0, 1))], axis=2)
    relative = ring - ground[:, None, :]
    squares = (light * light) @ _RING_WEIGHTS
    spread = np.sqrt(np.maximum(squares - relative[..., 0] ** 2, 0))
    first = (light @ _FIRST).reshape(n, 2, _N_RINGS).transpose(0, 2, 1)
    second = (light @ _SECOND).reshape(n, 2, _N_RINGS).transpose(0, 2, 1)
    core, inside, rim, outside = (
        first[:, :2].mean(1),
        first[:, :3].mean(1),
        first[:, 3:5].mean(1),
        first[:, 6:].mean(1),
    )
    lamp, coherence = _lamp_direction(candidates, inside)
    extremes = [
        *_extremes(light, 0, 0.55),
        *_extremes(light, 0, 0.85),
        *_extremes(light, 0.85, 1.3),
        *_extremes(light, 1.5, 2.6),
    ]
    near = (rho < 1.3).ravel()
    brightest = np.argmax(light[:, near], axis=1)
    darkest = np.argmin(light[:, near], axis=1)
    places = np.stack([u.ravel()[near], v.ravel()[near]], axis=1)
    bright_at, dark_at = places[brightest], places[darkest]
    zones = np.stack([masks[..., k] @ _ZONE_WEIGHTS for k in range(3)], axis=2) / 255
    texture = np.median(np.abs(outer_light - ground[:, :1]), axis=1) * 1.48
    chroma = np.hypot(relative[..., 1], relative[..., 2])
    glaze = (
        np.median(surface.lab[::5, ::5][surface.glazed[::5, ::5]], axis=0)
        if surface.glazed.any()
        else ground.mean(0)
    )
    body = _body(surface, glaze)
    core_colour = ring[:, :2].mean(1)
    step = np.diff(relative[..., 0], axis=1)
    steepest = np.argmax(np.abs(step), axis=1)
    contrast = relative[:, :3, 0].mean(1)
    core_chroma = np.hypot(core_colour[:, 1], core_colour[:, 2])
    ground_chroma = np.hypot(ground[:, 1], ground[:, 2])
    columns = [
        np.log(candidates.radius_px),
        candidates.radius_px / max(surface.blur_px, 0.3),
        candidates.strength,
        candidates.channel.astype(np.float32),
        *relative[:, :-1, 0].T,
        *chroma[:, :-1].T,
        *spread.T,
        *np.linalg.norm(first, axis=2).T,
        *np.linalg.norm(second, axis=2).T,
        (_unit(inside) * _unit(rim)).sum(1),
        (_unit(rim) * _unit(outside)).sum(1),
        (_unit(core) * _unit(inside)).sum(1),
        np.linalg.norm(first.sum(1), axis=1) / np.maximum(np.linalg.norm(first, axis=2).sum(1), 1e-3),
        inside @ lamp,
        rim @ lamp,
        np.full(n, coherence),
        *extremes,
        np.linalg.norm(bright_at, axis=1),
        np.linalg.norm(dark_at, axis=1),
        (_unit(bright_at) * _unit(dark_at)).sum(1),
        *zones[..., 2].T,
        *zones[..., 1].T,
        *zones[..., 0].T,
        core_chroma,
        core_chroma - ground_chroma,
        np.hypot(core_colour[:, 1] - ground[:, 1], core_colour[:, 2] - ground[:, 2]),
        np.linalg.norm(core_colour[:, 1:] - body[1:], axis=1),
        np.full(n, np.linalg.norm(body - glaze)),
        step[np.arange(n), steepest],
        steepest.astype(np.float32),
        contrast / (texture + 0.5),
        np.full(n, glaze[0]),
        np.full(n, np.hypot(glaze[1], glaze[2])),
        core_colour[:, 0],
        texture,
        _crowding(candidates),
    ]
    return np.nan_to_num(np.stack(columns, axis=1).astype(np.float32), nan=0.0, posinf=1e4, neginf=-1e4)


def _body(surface: Surface, glaze: NDArray[np.float32]) -> NDArray[np.float32]:
    """Colour of the bare clay; the glaze's own where none is in view."""
    bare = surface.bare[::3, ::3]
    if bare.sum() < 50:
        return glaze
    colour: NDArray[np.float32] = np.median(surface.lab[::3, ::3][bare], axis=0)
    return colour


def _lamp_direction(candidates: Candidates, dipole: NDArray[np.float32]) -> tuple[NDArray[np.float32], float]:
    """Give the direction most dipoles share (unit vector) and how well they share it, 0..1."""
    weight = np.linalg.norm(dipole, axis=1) * np.minimum(candidates.strength, 20)
    total = float(weight.sum())
    if total <= 0:
        return np.array([1, 0], np.float32), 0.0
    mean = (_unit(dipole) * weight[:, None]).sum(0) / total
    coherence = float(np.linalg.norm(mean))
    return (mean / max(coherence, 1e-6)).astype(np.float32), coherence


def _crowding(candidates: Candidates) -> NDArray[np.float32]:
    """Count strong candidates within ten radii, as a logarithm."""
    x, y = candidates.x_px, candidates.y_px
    strong = candidates.strength > 2 * np.median(candidates.strength)
    near = np.hypot(x[:, None] - x[strong], y[:, None] - y[strong]) < 10 * candidates.radius_px[:, None]
    crowd: NDArray[np.float32] = np.log1p(near.sum(1)).astype(np.float32)
    return crowd
