"""Close-ups in which the whole frame is glaze."""

from __future__ import annotations

import numpy as np

from . import bench
from .camera import Camera
from .faults import DrawFaults
from .outline import Outline
from .palette import Body, Glaze
from .scene import Item
from .tile_surface import SurfaceSpec, make_surface

__all__ = ["patch_plan"]

_MARGIN = 0.1


def patch_plan(
    rng: np.random.Generator,
    size_px: tuple[int, int],
    body: Body,
    glaze: Glaze,
    draw_faults: DrawFaults,
    mm_per_px: float | None = None,
) -> tuple[Camera, list[Item]]:
    """Draw a close-up: the camera over a glazed sheet larger than the frame.

    Parameters
    ----------
    rng : seeded generator
    size_px : width and height of the photo
    body, glaze : materials
    draw_faults : asked for what is wrong with it
    mm_per_px : scale, None to draw 0.03 to 0.085
    """
    scale = float(rng.uniform(0.03, 0.085)) if mm_per_px is None else mm_per_px
    wide, tall = size_px[0] * scale * 1.22 + 10, size_px[1] * scale * 1.3 + 10
    box = (wide * _MARGIN, tall * _MARGIN, wide * (1 - _MARGIN), tall * (1 - _MARGIN))
    spec = SurfaceSpec(
        seed=int(rng.integers(1 << 31)),
        outline=Outline("rectangle", wide, tall),
        body=body,
        glaze=glaze,
        bare_end="none",
        flat_edge=True,
        **draw_faults(rng, box, scale),
    )
    surface = make_surface(spec, max(0.04, scale))
    stride = max(1, round(0.075 / surface.canvas.step_mm))
    tilt = float(np.clip(abs(rng.normal(0, 7)), 0, 16))
    half = (size_px[0] * scale / 2, size_px[1] * scale / 2)
    view = (-half[0], -half[1], half[0], half[1])
    camera = bench.camera_over(rng, view, size_px, tilt, 1.0, float(rng.uniform(28, 50)))
    return camera, [bench.tile_item("tile0", surface, (-wide / 2, tall / 2, 0.0, 0.0), stride)]
