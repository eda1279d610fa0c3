"""Draws a scene to be shot twice: tiles or a close-up, unmoved, the lamp on the left, then on the right."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .faults import draw_mixed_faults
from .lights import Lamp, clear_of_view, white_of
from .photo import PhotoPlan
from .variation import draw_photo

__all__ = ["draw_pair"]

_TILE_PX, _PATCH_PX = (1400, 1050), (960, 720)
_LAMPS = {"bulb": (60.0, 150.0), "panel": (120.0, 380.0)}
"""Smallest and largest width, mm: a desk lamp, a work light (common practice, no source)."""


def _side_lamp(rng: np.random.Generator, camera: Camera, side: float, like: Lamp | None) -> Lamp:
    """Place a lamp beside the scene, -1 for the photo's left, 1 for its right; `like` is moved over."""
    right, _, _ = camera.axes()
    across = right * np.array([1.0, 1.0, 0.0])
    across = across / np.linalg.norm(across)
    along = np.array([-across[1], across[0], 0.0])
    for _ in range(40):
        lift, away = np.radians(rng.uniform(14, 50)), rng.uniform(380, 1200)
        swing = np.radians(rng.normal(0, 14))
        level = side * np.cos(swing) * across + np.sin(swing) * along
        centre = camera.target + away * (np.cos(lift) * level + np.sin(lift) * np.array([0.0, 0.0, 1.0]))
        if like is not None:
            lamp = replace(like, centre=centre)
        else:
            kind = str(rng.choice(list(_LAMPS)))
            size = float(rng.uniform(*_LAMPS[kind]))
            colour = white_of(float(rng.uniform(2700, 5500)))
            lamp = Lamp(kind, centre, camera.target, size, size, 1.0, colour)
        if clear_of_view(lamp, camera) is lamp:
            return lamp
    return clear_of_view(lamp, camera)


def _moved(rng: np.random.Generator, camera: Camera) -> Camera:
    """Give the camera as a hand that tries to hold still holds it a moment later."""
    away = float(np.linalg.norm(camera.position - camera.target)) / 400

    def step(spread_mm: float) -> NDArray[np.float64]:
        return np.asarray(rng.normal(0, spread_mm * away, 3) * np.array([1.0, 1.0, 0.6]))

    return replace(
        camera,
        position=camera.position + step(6.0),
        target=camera.target + step(4.0) * np.array([1.0, 1.0, 0.0]),
        roll_deg=camera.roll_deg + float(rng.normal(0, 0.9)),
    )


def draw_pair(seed: tuple[int, ...]) -> tuple[PhotoPlan, PhotoPlan]:
    """Draw a photo with the lamp on the left, and the same with the lamp on the right.

    Parameters
    ----------
    seed : the pair's own seed words; equal seeds give equal pairs. The last one even: tiles and card; odd: a
        close-up

    Returns
    -------
    left, right : plans of two photos. In half of the pairs the phone stood still, in half a hand held it.
    """
    subject, size_px = ("tile", _TILE_PX) if seed[-1] % 2 == 0 else ("patch", _PATCH_PX)
    plan = draw_photo(seed, subject, True, tile_faults=draw_mixed_faults, size_px=size_px)
    rng = np.random.default_rng([*seed, 2])
    shot = plan.shot
    others = tuple(
        replace(lamp, share=lamp.share * float(rng.uniform(0.05, 0.4)))
        for lamp in shot.lighting.lamps
        if rng.random() < 0.25
    )
    room = replace(shot.lighting, room_share=float(rng.uniform(0.12, 0.8)))
    first = replace(_side_lamp(rng, shot.camera, -1.0, None), share=float(rng.uniform(0.7, 1.5)))
    second = _side_lamp(rng, shot.camera, 1.0, first)
    camera = shot.camera if rng.random() < 0.5 else _moved(rng, shot.camera)
    return (
        replace(plan, shot=replace(shot, lighting=replace(room, lamps=(first, *others)))),
        replace(
            plan,
            shot=replace(
                shot,
                camera=camera,
                lighting=replace(room, lamps=(second, *others)),
                seed=int(rng.integers(1 << 30)),
            ),
            noise_seed=int(rng.integers(1 << 31)),
        ),
    )
