"""Mugs and bowls: a turned wall that wears a glaze surface, an inside, a handle."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_layout import A6, CardLayout

from . import bench
from .camera import Camera
from .colour import lab_to_linear
from .faults import DrawFaults
from .geometry import lathe_mesh, tube_mesh
from .noise import fractal
from .outline import Outline
from .palette import Body, Glaze
from .paper import Print
from .scene import Item
from .table import TABLES
from .tile_surface import MARGIN_MM, Surface, SurfaceSpec, make_surface

__all__ = ["ware_plan"]


def _profile(
    rng: np.random.Generator, kind: str, step: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Give the outside's profile from the lip down, its running length, and the wall's thickness."""
    thick = float(rng.uniform(3.0, 5.0))
    if kind == "mug":
        high, top = float(rng.uniform(75, 115)), float(rng.uniform(34, 45))
        foot, belly = top * float(rng.uniform(0.8, 1.02)), float(rng.normal(0, 3.0))
    else:
        high, top = float(rng.uniform(55, 80)), float(rng.uniform(60, 80))
        foot, belly = top * float(rng.uniform(0.42, 0.55)), float(rng.uniform(6, 12))
    lip = np.linspace(np.pi / 2, 0, 12)
    lip_points = np.column_stack(
        [top - thick / 2 + thick / 2 * np.cos(lip), high - thick / 2 + thick / 2 * np.sin(lip)]
    )
    t = np.linspace(0, 1, 200)[1:]
    wall = np.column_stack([top + (foot - top) * t + belly * np.sin(np.pi * t), (high - thick / 2) * (1 - t)])
    foot_in = np.array([[foot - 0.8, 0.0]])
    coarse = np.concatenate([lip_points, wall, foot_in])
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(coarse, axis=0).T))])
    fine = np.arange(0, run[-1], step)
    return np.column_stack([np.interp(fine, run, coarse[:, k]) for k in (0, 1)]), fine, thick


def _turns(radius_mm: float, step: float) -> NDArray[np.float64]:
    """Give the angles round the axis: fine over the front two thirds, coarse at the back."""
    front = np.arange(np.pi * 0.36, np.pi * 1.64, step / radius_mm)
    back = np.linspace(0, np.pi * 0.36, 60)[:-1]
    return np.concatenate([back, front, 2 * np.pi - back[::-1]])


def _relief(
    surface: Surface, run: NDArray[np.float64], turn: NDArray[np.float64], v_range: tuple[float, float]
) -> NDArray[np.float32]:
    rows, cols = surface.canvas.shape
    v = v_range[0] + (v_range[1] - v_range[0]) * run / run[-1]
    x = np.broadcast_to((turn / (2 * np.pi) * cols - 0.5)[None, :], (len(run), len(turn))).astype(np.float32)
    y = np.broadcast_to((v * rows - 0.5)[:, None], (len(run), len(turn))).astype(np.float32)
    return cv2.remap(surface.canvas.height, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)


def _plain(surface: Surface) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Give colour and roughness of sound glaze for inside and handle: no mark where no truth is."""
    rng = np.random.default_rng([surface.spec.seed, 17])
    mottle = 1 + 0.12 * surface.spec.glaze.variegation * fractal(rng, (256, 768), 60, 5)
    colour = lab_to_linear(surface.truth["glaze_lab"]) * np.clip(mottle, 0.5, 1.5)[..., None]
    return colour.astype(np.float32), np.full((2, 2), surface.spec.glaze.roughness, np.float32)


def ware_plan(
    rng: np.random.Generator,
    size_px: tuple[int, int],
    body: Body,
    glaze: Glaze,
    draw_faults: DrawFaults,
    kind: str | None = None,
    table: str | None = None,
    wear: float = 1.0,
    layout: bool = False,
) -> tuple[Camera, list[Item], CardLayout | None, Print]:
    """Draw a photo of a mug or bowl.

    Parameters
    ----------
    rng : seeded generator
    size_px : width and height of the photo
    body, glaze : materials
    draw_faults : asked for what is wrong with the wall
    kind : mug or bowl, None to draw it (then a card may lie beside it too)
    table : one of `TABLES`, None to draw it
    wear : of the table, see `table_texture`
    layout : True for coarse surfaces: what counts is where the piece lies

    Returns
    -------
    camera, things, the card's layout if one lies there, its print
    """
    chosen = kind is not None
    kind = kind or str(rng.choice(["mug", "bowl"], p=[0.7, 0.3]))
    rough_step, coarsest_mm, table_px = (0.6, 0.4, 1024) if layout else (0.16, 0.14, 2048)
    profile, run, thick = _profile(rng, kind, rough_step)
    high, top = float(profile[:, 1].max()), float(profile[:, 0].max())
    fov = float(rng.uniform(24, 45))
    raised = np.radians(rng.uniform(14, 46))
    fill = float(rng.uniform(0.55, 0.95))
    tall = high * np.cos(raised) + 2 * top * np.sin(raised)
    across = np.tan(np.radians(fov) / 2)
    away = max(2 * top / 2 / across, tall / 2 / (across * size_px[1] / size_px[0])) / fill
    azimuth = -np.pi / 2 + rng.normal(0, 0.12)
    target = np.array([rng.normal(0, 0.05 * top), 0.0, high * 0.48])
    card = bool(rng.random() < 0.35) and not chosen
    if card:
        target = target + np.array([-30.0, -40.0, -15.0])
        away *= 1.5
    offset = np.array([np.cos(raised) * np.cos(azimuth), np.cos(raised) * np.sin(azimuth), np.sin(raised)])
    camera = Camera(target + away * offset, target, float(rng.normal(0, 2)), fov, *size_px)
    scale = (away - top) / camera.focal_px
    width = 2 * np.pi * float(np.median(profile[:, 0])) - 2 * MARGIN_MM
    length = float(run[-1])
    bare = float(rng.choice([0.0, 1.0]) * rng.uniform(0.04, 0.14))
    box = (0.30 * width, 5.0, 0.70 * width, length * (1 - bare) - 3.0)
    spec = SurfaceSpec(
        seed=int(rng.integers(1 << 31)),
        outline=Outline("rectangle", width, length),
        body=body,
        glaze=glaze,
        bare_end="bottom" if bare else "none",
        bare_fraction=bare,
        texture=float(rng.uniform(0.2, 0.8)) if rng.random() < 0.2 else 0.0,
        flat_edge=True,
        **draw_faults(rng, box, scale),
    )
    surface = make_surface(spec, float(np.clip(scale, 0.06, coarsest_mm)))
    turn = _turns(top, rough_step)
    texture_mm = surface.canvas.step_mm * surface.canvas.shape[0]
    v_range = (MARGIN_MM / texture_mm, (MARGIN_MM + length) / texture_mm)
    outside = lathe_mesh(profile, run / run[-1], _relief(surface, run, turn, v_range), turn, v_range)
    items = [Item("wall", outside, surface.canvas.colour, surface.canvas.rough, surface)]
    lip = np.linspace(np.pi / 2, np.pi, 8)
    inner_wall = profile[(profile[:, 1] < high - thick / 2) & (profile[:, 1] > 5.0)][::8] - np.array(
        [thick, 0.0]
    )
    lip_in = np.column_stack(
        [profile[0, 0] + thick / 2 * np.cos(lip), high - thick / 2 + thick / 2 * np.sin(lip)]
    )
    floor = np.array([[max(1.0, inner_wall[-1, 0] * 0.6), 4.2], [0.5, 4.0]])
    inner = np.concatenate([lip_in, inner_wall, floor])
    coarse_turn = np.linspace(0, 2 * np.pi, 160)
    inside = lathe_mesh(inner, np.linspace(0, 1, len(inner)), None, coarse_turn, (0.1, 0.6))
    plain = _plain(surface)
    items.append(Item("inside", inside, *plain))
    if kind == "mug" and rng.random() < 0.75:
        side = float(rng.choice([0.0, np.pi])) + rng.normal(0, 0.35) - 0.15
        bow = np.linspace(-np.pi / 2, np.pi / 2, 40)
        at_z = high * 0.5 + high * 0.33 * np.sin(bow)
        reach = np.interp(at_z, profile[::-1, 1], profile[::-1, 0]) - 1.5 + 27 * np.cos(bow)
        path = np.column_stack([reach * np.cos(side), reach * np.sin(side), at_z])
        items.append(Item("handle", tube_mesh(path, 15.0, 7.5), *plain))
    items.append(bench.table_item(rng, table or str(rng.choice(TABLES)), 1500.0, np.zeros(3), table_px, wear))
    printing = Print.of(rng)
    if card:
        frame = (-top - 105.0, -top * 0.2 - 20, 0.25, float(rng.normal(0, 8)))
        items.append(bench.card_item(rng, A6, frame, printing, 8.0, float(rng.uniform(0, 0.6)), 0.4))
    return camera, items, A6 if card else None, printing
