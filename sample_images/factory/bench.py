"""Things laid out on a bench: where tiles, card, chart and labels lie, and the camera that frames them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.card_layout import CardLayout

from .camera import Camera
from .geometry import box_mesh, sheet_mesh, tile_mesh, tube_mesh
from .paper import CHART_SIZE_MM, LABEL_SIZE_MM, Print, card_texture, chart_texture, label_texture
from .scene import Item
from .table import table_texture
from .tile_surface import Surface

__all__ = [
    "camera_over",
    "card_item",
    "chart_item",
    "label_item",
    "lay_rows",
    "pencil_item",
    "photographer_items",
    "table_item",
    "tile_item",
]

Frame = tuple[float, float, float, float]


def table_item(
    rng: np.random.Generator,
    kind: str,
    span_mm: float,
    centre: NDArray[np.float64],
    size_px: int,
    wear: float = 1.0,
) -> Item:
    """Give the table: a square of `span_mm` about `centre`, its texture turned a little."""
    colour, rough = table_texture(rng, kind, size_px, span_mm, wear)
    mesh = sheet_mesh(span_mm, span_mm, np.zeros((2, 2), np.float32))
    turn = float(rng.uniform(-12, 12)) if rng.random() < 0.7 else 0.0
    corner = np.array(
        [
            [np.cos(np.radians(turn)), -np.sin(np.radians(turn))],
            [np.sin(np.radians(turn)), np.cos(np.radians(turn))],
        ]
    )
    left, top = centre[:2] + corner @ np.array([-span_mm / 2, span_mm / 2])
    return Item("table", mesh.placed(float(left), float(top), 0.0, turn), colour, rough)


def _curl(rng: np.random.Generator, most_mm: float) -> NDArray[np.float32]:
    v, u = np.mgrid[0:9, 0:13].astype(np.float32)
    u, v = u / 12 - 0.5, v / 8 - 0.5
    bend = rng.uniform(0, most_mm) * (2 * (u * np.cos(t := rng.uniform(0, 3.14)) + v * np.sin(t))) ** 2
    return np.asarray(bend, dtype=np.float32)


def card_item(
    rng: np.random.Generator,
    layout: CardLayout,
    frame: Frame,
    printing: Print,
    px_per_mm: float,
    dirt: float,
    curl_mm: float,
) -> Item:
    """Give the reference card as a thin sheet, its corners lifted by up to `curl_mm`."""
    sheet = sheet_mesh(layout.width_mm, layout.height_mm, _curl(rng, curl_mm)).placed(*frame)
    return Item("card", sheet, card_texture(rng, layout, px_per_mm, printing, dirt), None, None, frame)


def chart_item(frame: Frame, px_per_mm: float, thick_mm: float) -> Item:
    """Give the 24-patch chart as a board of `thick_mm`."""
    board = box_mesh(CHART_SIZE_MM[0], CHART_SIZE_MM[1], thick_mm).placed(*frame)
    return Item("chart", board, chart_texture(px_per_mm), None, None, frame)


def label_item(
    rng: np.random.Generator, name: str, code: str, frame: Frame, printing: Print, px_per_mm: float
) -> Item:
    """Give a label strip."""
    sheet = sheet_mesh(*LABEL_SIZE_MM, _curl(rng, 0.5)).placed(*frame)
    return Item(name, sheet, label_texture(rng, code, px_per_mm, printing), None, None, frame)


def tile_item(name: str, surface: Surface, frame: Frame, stride: int) -> Item:
    """Give a tile lying at a frame."""
    mesh = tile_mesh(surface, stride).placed(*frame)
    return Item(name, mesh, surface.canvas.colour, surface.canvas.rough, surface, frame)


def pencil_item(rng: np.random.Generator, start: NDArray[np.float64]) -> Item:
    """Give a pencil or needle tool lying on the table, from `start` away to the upper right."""
    turn = rng.uniform(-0.3, 1.3)
    thick = rng.uniform(2.5, 7.5)
    reach = np.linspace(0, rng.uniform(90, 170), 12)[:, None]
    path = np.column_stack(
        [start[0] + reach * np.cos(turn), start[1] + reach * np.sin(turn), np.full(12, thick / 2)]
    )
    paints = (
        (0.5, 0.34, 0.17),
        (0.62, 0.36, 0.02),
        (0.02, 0.02, 0.02),
        (0.3, 0.3, 0.31),
        (0.35, 0.03, 0.03),
        (0.02, 0.07, 0.2),
    )
    colour = np.asarray(paints[int(rng.integers(len(paints)))], dtype=np.float32)
    return Item("pencil", tube_mesh(path, thick, thick), colour, np.full((2, 2), 0.4, np.float32))


def _down(camera: Camera) -> float:
    return float(np.tan(np.radians(camera.fov_deg) / 2) * camera.height_px / camera.width_px)


def photographer_items(rng: np.random.Generator, camera: Camera) -> list[Item]:
    """Give the phone in the hand and the figure behind it: they show in glossy glaze and shade the bench."""
    right, up, forward = camera.axes()
    basis = np.stack([right, up, -forward], -1)
    corner = camera.position - 3.0 * forward - right * rng.uniform(15, 60) + up * rng.uniform(15, 60)
    slab = box_mesh(rng.uniform(140, 160), rng.uniform(68, 76), 8.0)
    phone = slab.vertices.astype(np.float64) @ basis.T + corner
    mesh = type(slab)(phone.astype(np.float32), None, slab.uv, slab.faces)
    items = [Item("phone", mesh, np.array([0.03, 0.03, 0.03], np.float32), np.full((2, 2), 0.5, np.float32))]
    if rng.random() < 0.7:
        path = np.linspace(0, 1, 10)[:, None]
        # Clear of the frame: behind the lowest point of the table that the photo shows.
        rays = [
            forward + x * right * np.tan(np.radians(camera.fov_deg) / 2) - y * up * _down(camera)
            for x in (-1, 1)
            for y in (-1, 1)
        ]
        seen = [camera.position[1] - camera.position[2] / ray[2] * ray[1] for ray in rays if ray[2] < -0.05]
        near = min([camera.position[1], *seen]) - rng.uniform(290, 420)
        foot = np.array([camera.position[0] + rng.uniform(-150, 150), near, -300])
        body = foot + path * np.array([0, rng.uniform(0, 60), 900.0])
        cloth = np.asarray(rng.uniform(0.02, 0.5) * (1 + 0.3 * rng.standard_normal(3)), dtype=np.float32)
        items.append(Item("figure", tube_mesh(body, 420, 230), np.clip(cloth, 0.01, 0.8), None))
    return items


def lay_rows(
    rng: np.random.Generator, sizes: list[tuple[float, float]], columns: int, gap_mm: float
) -> tuple[list[Frame], tuple[float, float]]:
    """Lay rectangles in rows, each a little turned and off.

    Returns
    -------
    frames : top left corner x, y (world), z = 0 and turn of each
    extent : width and height of the whole, mm; its top left is at (0, 0)
    """
    frames: list[Frame] = []
    y, widest = 0.0, 0.0
    for start in range(0, len(sizes), columns):
        row = sizes[start : start + columns]
        x = 0.0
        for width, height in row:
            turn = float(np.clip(rng.normal(0, 3.0), -9, 9))
            sway = abs(np.sin(np.radians(turn)))
            x += sway * height / 2
            frames.append(
                (x + float(rng.normal(0, 1)), -y - float(rng.uniform(0, 3)) - sway * width / 2, 0.0, turn)
            )
            x += width + sway * height / 2 + gap_mm * float(rng.uniform(0.7, 1.4))
        widest = max(widest, x - gap_mm)
        y += max(height for _, height in row) + gap_mm * float(rng.uniform(0.8, 1.3)) + 4
    return frames, (widest, y - gap_mm)


def camera_over(
    rng: np.random.Generator,
    box: tuple[float, float, float, float],
    size_px: tuple[int, int],
    tilt_deg: float,
    slack: float,
    fov_deg: float | None = None,
) -> Camera:
    """Give a camera that frames a box of the table.

    Parameters
    ----------
    rng : seeded generator
    box : left, low, right, top in world mm
    size_px : width and height of the photo
    tilt_deg : angle between the line of sight and the vertical
    slack : 1 fills the frame, more leaves table around
    """
    left, low, right, top = box
    target = np.array([(left + right) / 2, (low + top) / 2, 2.0])
    target[:2] += rng.normal(0, 0.02, 2) * (right - left)
    fov = float(rng.uniform(36, 62)) if fov_deg is None else fov_deg
    across = np.tan(np.radians(fov) / 2)
    down = across * size_px[1] / size_px[0]
    away = max((right - left) / 2 / across, (top - low) / 2 / down) * slack
    away = max(away, 95.0)
    azimuth = float(rng.normal(-np.pi / 2, 0.6))
    tilt = np.radians(tilt_deg)
    offset = np.array([np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), np.cos(tilt)])
    roll = float(rng.normal(0, 2.5))
    camera = Camera(target + away * offset, target, roll, fov, *size_px)
    # A near corner looks larger than the middle: step back until the whole box is in the frame.
    corners = np.array([[x, y, 0.0] for x in (left, right) for y in (low, top)])
    size = np.array(size_px)
    while slack > 1.0 and (np.abs(camera.project(corners) / size - 0.5) > 0.485).any():
        away *= 1.03
        camera = Camera(target + away * offset, target, roll, fov, *size_px)
    return camera
