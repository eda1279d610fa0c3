"""Draws single faces whose finish is to be learnt: small pictures, all roughness, any light."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from . import bench
from .camera import Camera
from .faults import draw_faults
from .lights import draw_lighting
from .palette import BODIES, GLAZES, vary_body, vary_glaze
from .patch import patch_plan
from .scene import Item, Shot
from .table import TABLES
from .tile_surface import Surface, make_surface
from .truth import to_world
from .variation import draw_tile

__all__ = ["FacePlan", "draw_face", "with_roughness"]

LONG_SIDE_PX = 256
"""Of the picture: at that size what a tile mirrors is told as well as from a phone's pixels."""
_STEP_MM = 0.3
ROUGHNESS = (0.05, 0.75)
"""Least and most that `vary_glaze` gives."""


@dataclass(frozen=True, slots=True, eq=False)
class FacePlan:
    """One face in its scene.

    Attributes
    ----------
    subject : tile or patch
    shot : the face is its only item with a surface
    item : the face's place among the shot's items
    photo_px : long side of the whole photo that this is cut from, in pixels of this picture
    """

    subject: str
    shot: Shot
    item: int
    photo_px: float


def _focal_to_long(camera: Camera) -> float:
    return max(camera.width_px, camera.height_px) / camera.focal_px


def _cut(rng: np.random.Generator, camera: Camera, points: np.ndarray) -> Camera:
    """Give a camera in the same place that looks at some points (n, 3) of the scene alone."""
    aimed = replace(camera, target=points.mean(axis=0))
    off = aimed.project(points) - [aimed.width_px / 2 - 0.5, aimed.height_px / 2 - 0.5]
    half = np.abs(off).max(axis=0) * rng.uniform(1.04, 1.16)
    scale = LONG_SIDE_PX / 2 / half.max()
    wide, tall = (int(2 * np.ceil(side * scale)) for side in half)
    fov = 2 * np.degrees(np.arctan(wide / 2 / scale / aimed.focal_px))
    return replace(aimed, fov_deg=float(fov), width_px=wide, height_px=tall)


def draw_face(seed: tuple[int, ...]) -> FacePlan:
    """Draw one face; equal seeds give equal plans.

    Notes
    -----
    A tile lies anywhere in a photo that may show more than it, and is cut out: how far the camera stands and
    under which angle it is seen are those of a whole photo. One in five is a close-up.
    """
    rng = np.random.default_rng(list(seed))
    if rng.random() < 0.2:
        size = (LONG_SIDE_PX, LONG_SIDE_PX * 3 // 4)
        body = vary_body(rng, BODIES[str(rng.choice(list(BODIES)))])
        glaze = vary_glaze(rng, GLAZES[str(rng.choice(list(GLAZES)))])

        def faults(rng: np.random.Generator, box: tuple[float, ...], scale: float) -> dict[str, object]:
            return draw_faults(rng, box, scale, body.specks_per_cm2)

        camera, items = patch_plan(rng, size, body, glaze, faults, float(rng.uniform(0.19, 0.53)))
        return _lit(rng, "patch", camera, camera, items)
    spec = draw_tile(rng, 0.15)
    wide, tall = spec.outline.width_mm, spec.outline.height_mm
    share = float(np.exp(rng.uniform(np.log(0.22), np.log(0.95))))
    room = max(max(wide, tall) / share, wide * 1.05, tall * 1.05 / 0.75)
    size = (1600, 1200) if rng.random() < 0.75 else (1200, 1600)
    box = (
        (room, room * 0.75) if size[0] > size[1] else (max(room * 0.75, wide * 1.05), max(room, tall * 1.05))
    )
    tilt = float(np.clip(abs(rng.normal(0, 11)), 0, 25))
    whole = bench.camera_over(rng, (0.0, -box[1], box[0], 0.0), size, tilt, 1.02)
    left, top = (
        float(rng.uniform(0, max(0.1, room - side))) for room, side in zip(box, (wide, tall), strict=True)
    )
    frame = (left, -top, 0.0, float(np.clip(rng.normal(0, 3), -9, 9)))
    corners = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall]], np.float64)
    camera = _cut(rng, whole, to_world(frame, corners, spec.thickness_mm))
    table = bench.table_item(rng, str(rng.choice(TABLES)), max(box) * 2.5 + 60, whole.target, 384)
    tile = bench.tile_item("tile0", make_surface(spec, _STEP_MM), frame, 1)
    return _lit(rng, "tile", camera, whole, [tile, table])


def _lit(
    rng: np.random.Generator, subject: str, camera: Camera, whole: Camera, items: list[Item]
) -> FacePlan:
    everything = (*items, *bench.photographer_items(rng, whole))
    shot = Shot(camera, everything, draw_lighting(rng, whole), 4, int(rng.integers(1 << 30)))
    return FacePlan(subject, shot, 0, _focal_to_long(whole) * camera.focal_px)


def with_roughness(surface: Surface, roughness: float) -> Surface:
    """Make the same surface once more under a glaze of another roughness."""
    glaze = replace(surface.spec.glaze, roughness=roughness)
    return make_surface(replace(surface.spec, glaze=glaze), surface.canvas.step_mm)
