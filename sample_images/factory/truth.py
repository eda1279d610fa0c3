"""From the made scene to the truth file: where each outline, mark and mask lies in the photo."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .noise import Field
from .scene import Item, Sight
from .tile_surface import Surface

__all__ = ["facing_outline", "plane_scale", "rect_corners", "surface_masks", "tile_truth", "to_world"]


def _round(values: NDArray[np.float64]) -> list[list[float]]:
    return [[round(float(x), 2), round(float(y), 2)] for x, y in values]


def to_world(
    frame: tuple[float, float, float, float], points_mm: NDArray[np.float64], z_mm: float
) -> NDArray[np.float64]:
    """Place (..., 2) points of a frame's plane, lifted by `z_mm`, in the world: (..., 3) mm."""
    x, y, z, turn = frame
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    px, py = points_mm[..., 0], -points_mm[..., 1]
    return np.stack([x + c * px - s * py, y + s * px + c * py, np.full_like(px, z + z_mm)], -1)


def rect_corners(
    camera: Camera, frame: tuple[float, float, float, float], width_mm: float, height_mm: float, z_mm: float
) -> list[list[float]]:
    """Project a rectangle's corners, top left first, clockwise: 4 pairs of photo pixels."""
    corners = np.array([[0, 0], [width_mm, 0], [width_mm, height_mm], [0, height_mm]], dtype=np.float64)
    return _round(camera.project(to_world(frame, corners, z_mm)))


def plane_scale(camera: Camera, point: NDArray[np.float64]) -> float:
    """Give millimetres per pixel at a world point, on the level plane through it (root of the area scale)."""
    around = point + np.array([[0.5, 0, 0], [-0.5, 0, 0], [0, 0.5, 0], [0, -0.5, 0]])
    px = camera.project(around)
    across, along = px[0] - px[1], px[2] - px[3]
    area = abs(across[0] * along[1] - across[1] * along[0])
    return float(1 / np.sqrt(area))


def _sample(field: NDArray[np.bool_], uv: Field) -> NDArray[np.bool_]:
    rows, cols = field.shape
    col = np.clip((uv[..., 0] * cols).astype(np.int32), 0, cols - 1)
    row = np.clip((uv[..., 1] * rows).astype(np.int32), 0, rows - 1)
    return field[row, col]


def _sample_thin(field: NDArray[np.bool_], uv: Field, reach: int) -> NDArray[np.bool_]:
    wide = cv2.dilate(field.astype(np.uint8), np.ones((reach, reach), np.uint8)) > 0 if reach > 1 else field
    return _sample(wide, uv)


def surface_masks(
    surface: Surface, sight: Sight, index: int, texels_per_px: float
) -> dict[str, NDArray[np.bool_]]:
    """Give masks in the photo's frame: piece (all of it), glazed (walls left out), crazing, crawl."""
    here = sight.item == index
    flat = here & (sight.normal[..., 2] > 0.35) if surface.spec.flat_edge is False else here
    reach = max(1, int(np.ceil(texels_per_px)) | 1)
    return {
        "piece": here,
        "glazed": flat & _sample(surface.canvas.glazed, sight.uv),
        "crazing": flat & _sample_thin(surface.crazed, sight.uv, reach),
        "crawl": flat & _sample(surface.crawled, sight.uv),
    }


def facing_outline(mask: NDArray[np.bool_]) -> list[list[float]]:
    """Trace a mask's largest outline as a polygon of photo pixels."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return []
    contour = max(contours, key=cv2.contourArea)
    return _round(cv2.approxPolyDP(contour, 0.8, True)[:, 0, :].astype(np.float64))


def _visible(px: NDArray[np.float64], sight: Sight, index: int) -> bool:
    rows, cols = sight.item.shape
    x, y = round(float(px[0])), round(float(px[1]))
    return 1 <= x < cols - 1 and 1 <= y < rows - 1 and bool(sight.item[y, x] == index)


def _flat_mark(
    camera: Camera, item: Item, mark: dict[str, object]
) -> tuple[NDArray[np.float64], float, float]:
    surface = item.surface
    canvas = surface.canvas
    reach = 0.7 * float(mark["diameter_mm"])
    cells = [
        canvas.cell(mark["x_mm"] + dx, mark["y_mm"] + dy)
        for dx, dy in ((reach, 0), (-reach, 0), (0, reach), (0, -reach))
    ]
    level = float(np.median([canvas.height[cell] for cell in cells])) + surface.spec.thickness_mm
    half = float(mark["diameter_mm"]) / 2
    cross = np.array([[0, 0], [half, 0], [-half, 0], [0, half], [0, -half]])
    points = cross + np.array([mark["x_mm"], mark["y_mm"]])
    px = camera.project(to_world(item.frame, points, level))
    across, along = px[1] - px[2], px[3] - px[4]
    gaze = camera.axes()[2]
    return px[0], float(np.sqrt(abs(across[0] * along[1] - across[1] * along[0]))), float(-gaze[2])


def _wall_mark(
    camera: Camera, item: Item, mark: dict[str, object]
) -> tuple[NDArray[np.float64], float, float] | None:
    """Find a wall mark by the mesh's vertices round it: place and diameter in pixels, cosine of facing."""
    canvas = item.surface.canvas
    rows, cols = canvas.shape
    down = item.mesh.uv[:, 1] * (rows * canvas.step_mm) - canvas.margin_mm - mark["y_mm"]
    half = float(mark["diameter_mm"]) / 2
    reach = half * 1.5 + 4 * canvas.step_mm
    near = np.flatnonzero(np.abs(down) < reach)
    across = item.mesh.uv[near, 0] * (cols * canvas.step_mm) - canvas.margin_mm - mark["x_mm"]
    gap = np.hypot(across, down[near])
    ring = near[(gap > half) & (gap < reach)]
    if len(ring) < 4:
        return None
    centre = item.mesh.vertices[ring].astype(np.float64).mean(axis=0)
    normal = item.mesh.normals[ring].astype(np.float64).mean(axis=0)
    away = camera.position - centre
    depth = float(np.linalg.norm(away))
    facing = float(normal @ away) / (float(np.linalg.norm(normal)) * depth)
    if facing < 0.15:
        return None
    return camera.project(centre), 2 * half * camera.focal_px / depth * float(np.sqrt(facing)), facing


def tile_truth(camera: Camera, item: Item, index: int, sight: Sight, subject: str) -> dict[str, object]:
    """Give one surface's truth with photo pixels filled in.

    Parameters
    ----------
    camera : of the photo
    item : the tile, wall or patch; `item.surface` is set
    index : its place among the shot's items
    sight : what each pixel sees
    subject : tile, ware or patch
    """
    surface = item.surface
    spec = surface.spec
    truth = dict(surface.truth)
    w, h = spec.outline.width_mm, spec.outline.height_mm
    marks = []
    for mark in truth["marks"]:
        found = (_wall_mark if subject == "ware" else _flat_mark)(camera, item, mark)
        if found is None or not _visible(found[0], sight, index):
            continue
        px, diameter_px, facing = found
        place = {"x_px": round(float(px[0]), 2), "y_px": round(float(px[1]), 2)}
        marks.append(mark | place | {"diameter_px": round(diameter_px, 2), "facing": round(facing, 3)})
    truth["marks"] = marks
    if subject == "tile":
        level = spec.thickness_mm + 0.2
        truth["outline_px"] = _round(camera.project(to_world(item.frame, surface.polygon_mm, level)))
        truth["corners_px"] = (
            rect_corners(camera, item.frame, w, h, level) if spec.outline.shape == "rectangle" else None
        )
        centre = to_world(item.frame, np.array([w / 2, h / 2]), level)
        truth["mm_per_px"] = round(plane_scale(camera, centre), 6)
    elif subject == "ware":
        truth["outline_px"] = facing_outline(sight.item == index)
        truth["corners_px"] = None
        truth["mm_per_px"] = None
    else:
        cols, rows = camera.width_px, camera.height_px
        truth["outline_px"] = [[0, 0], [cols - 1, 0], [cols - 1, rows - 1], [0, rows - 1]]
        truth["corners_px"] = None
        level = spec.thickness_mm + 0.3
        middle = camera.target.copy()
        middle[2] = level
        truth["mm_per_px"] = round(plane_scale(camera, middle), 6)
    return truth
