"""Triangle meshes as plain arrays: height fields, sheets, boxes and turned walls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import Field
from .tile_surface import Surface

__all__ = ["MeshArrays", "box_mesh", "lathe_mesh", "sheet_mesh", "tile_mesh", "tube_mesh"]


@dataclass(frozen=True, slots=True, eq=False)
class MeshArrays:
    """A mesh: vertices (n, 3) mm, normals (n, 3) or None, uv (n, 2), faces (m, 3)."""

    vertices: NDArray[np.float32]
    normals: NDArray[np.float32] | None
    uv: NDArray[np.float32]
    faces: NDArray[np.uint32]

    def placed(self, x_mm: float, y_mm: float, z_mm: float, turn_deg: float) -> MeshArrays:
        """Turn about the vertical through the origin, then move."""
        c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]], dtype=np.float32)
        moved = self.vertices @ turn.T + np.array([x_mm, y_mm, z_mm], dtype=np.float32)
        normals = None if self.normals is None else self.normals @ turn.T
        return MeshArrays(moved, normals, self.uv, self.faces)


def _grid_faces(rows: int, cols: int) -> NDArray[np.uint32]:
    index = np.arange(rows * cols, dtype=np.uint32).reshape(rows, cols)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]
    return np.concatenate([np.stack([a, d, b], -1).reshape(-1, 3), np.stack([b, d, c], -1).reshape(-1, 3)])


def tile_mesh(surface: Surface, stride: int) -> MeshArrays:
    """Give a tile's mesh: origin at the tile frame's, x right, world y = -tile y, foot at z = 0.

    Parameters
    ----------
    surface : the made surface
    stride : grid steps per vertex
    """
    canvas = surface.canvas
    step, margin = canvas.step_mm, canvas.margin_mm
    first = stride // 2
    height = canvas.height[first::stride, first::stride] + surface.spec.thickness_mm
    distance = surface.distance[first::stride, first::stride]
    rows, cols = height.shape
    j, i = np.meshgrid(np.arange(cols, dtype=np.float32), np.arange(rows, dtype=np.float32))
    x = (j * stride + first + 0.5) * step - margin
    y = (i * stride + first + 0.5) * step - margin
    uv = np.stack([(x + margin) / (step * canvas.shape[1]), (y + margin) / (step * canvas.shape[0])], -1)
    pace = step * stride
    slope_y, slope_x = np.gradient(height, pace)
    if not surface.spec.flat_edge:
        grad_y, grad_x = np.gradient(distance, pace)
        norm = np.maximum(np.hypot(grad_x, grad_y), 1e-3)
        rim = (distance <= 0) & (distance > -1.6 * pace)
        # The last ring of vertices is drawn onto the outline and down to the table: a clean upright wall.
        x = np.where(rim, x - distance * grad_x / norm, x)
        y = np.where(rim, y - distance * grad_y / norm, y)
        height = np.where(distance <= 0, 0.0, height)
        wall = distance <= pace
        slope_x = np.where(wall, 4.0 * grad_x / norm, slope_x)
        slope_y = np.where(wall, 4.0 * grad_y / norm, slope_y)
    normals = np.stack([-slope_x, slope_y, np.ones_like(slope_x)], -1)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    faces = _grid_faces(rows, cols)
    if not surface.spec.flat_edge:
        depth = distance.ravel()[faces]
        faces = faces[(depth.max(axis=1) > 0) & (depth.min(axis=1) > -1.6 * pace)]
    vertices = np.stack([x, -y, height], -1).reshape(-1, 3)
    return MeshArrays(
        vertices.astype(np.float32),
        normals.reshape(-1, 3).astype(np.float32),
        uv.reshape(-1, 2).astype(np.float32),
        faces,
    )


def sheet_mesh(width_mm: float, height_mm: float, lift: Field) -> MeshArrays:
    """Give a thin sheet, top left at the origin, y down; `lift` (rows, cols) is its height, mm."""
    rows, cols = lift.shape
    u, v = np.meshgrid(np.linspace(0, 1, cols), np.linspace(0, 1, rows))
    vertices = np.stack([u * width_mm, -v * height_mm, lift], -1).reshape(-1, 3)
    return MeshArrays(
        vertices.astype(np.float32),
        None,
        np.stack([u, v], -1).reshape(-1, 2).astype(np.float32),
        _grid_faces(rows, cols),
    )


def box_mesh(width_mm: float, depth_mm: float, high_mm: float) -> MeshArrays:
    """Give a box on z = 0, top left of its top at the origin; uv covers the top, sides take its border."""
    top = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float32)
    inset = top * 0.996 + 0.002
    ring = np.stack([top[:, 0] * width_mm, -top[:, 1] * depth_mm], -1)
    vertices = np.concatenate(
        [
            np.column_stack([ring, np.full(4, high_mm)]),
            np.column_stack([ring, np.full(4, high_mm)]),
            np.column_stack([ring, np.zeros(4)]),
        ]
    )
    uv = np.concatenate([top, inset, inset])
    faces = [[0, 2, 1], [0, 3, 2]]
    for k in range(4):
        n = (k + 1) % 4
        faces += [[4 + k, 4 + n, 8 + k], [4 + n, 8 + n, 8 + k]]
    return MeshArrays(
        vertices.astype(np.float32), None, uv.astype(np.float32), np.array(faces, dtype=np.uint32)
    )


def lathe_mesh(
    profile: NDArray[np.float64],
    along: NDArray[np.float64],
    relief: Field | None,
    turn: NDArray[np.float64],
    v_range: tuple[float, float],
) -> MeshArrays:
    """Turn a profile about the z axis.

    Parameters
    ----------
    profile : (n, 2) radius and z, from the rim downwards
    along : (n,) 0..1 place on the wall's texture, top to bottom
    relief : (n, around) millimetres outward along the profile's normal, or None
    turn : (around,) radians from the back (+y), where the seam lies: 0 .. 2 pi, rising
    v_range : part of the texture's rows used

    Notes
    -----
    u runs 0..1 from the back over the left (-x), the front (-y, towards the photographer) and the right (+x).
    """
    around = len(turn)
    angle = np.pi / 2 + turn
    tangent = np.gradient(profile, axis=0)
    tangent /= np.maximum(np.linalg.norm(tangent, axis=1, keepdims=True), 1e-9)
    outward = np.stack([-tangent[:, 1], tangent[:, 0]], -1)
    radius, z = profile[:, 0:1], profile[:, 1:2]
    if relief is not None:
        radius = radius + outward[:, 0:1] * relief
        z = z + outward[:, 1:2] * relief
    radius, z = np.broadcast_to(radius, (len(profile), around)), np.broadcast_to(z, (len(profile), around))
    position = np.stack([radius * np.cos(angle), radius * np.sin(angle), z], -1)
    du = np.gradient(position, axis=1)
    du[:, 0] = du[:, -1] = (position[:, 1] - position[:, 0] + position[:, -1] - position[:, -2]) / 2
    dv = np.gradient(position, axis=0)
    normals = np.cross(dv, du)
    normals /= np.maximum(np.linalg.norm(normals, axis=-1, keepdims=True), 1e-9)
    u = np.broadcast_to(turn / (2 * np.pi), (len(profile), around))
    v = np.broadcast_to((v_range[0] + (v_range[1] - v_range[0]) * along)[:, None], (len(profile), around))
    return MeshArrays(
        position.reshape(-1, 3).astype(np.float32),
        normals.reshape(-1, 3).astype(np.float32),
        np.stack([u, v], -1).reshape(-1, 2).astype(np.float32),
        _grid_faces(len(profile), around),
    )


def tube_mesh(path: NDArray[np.float64], wide_mm: float, thick_mm: float) -> MeshArrays:
    """Sweep an oval along a path (n, 3): a handle. Its uv lies in the middle of the texture."""
    count = 24
    tangent = np.gradient(path, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    side = np.cross(tangent, np.array([0.0, 0.0, 1.0]))
    side *= np.where(side @ side[0] < 0, -1.0, 1.0)[
        :, None
    ]  # a handle leaves and comes back: one side all along
    side = side.mean(axis=0, keepdims=True)
    if np.linalg.norm(side) < 1e-3:
        side = np.array([[1.0, 0.0, 0.0]])
    side = np.repeat(side / np.linalg.norm(side), len(path), axis=0)
    over = np.cross(side, tangent)
    angle = np.linspace(0, 2 * np.pi, count)
    ring = (
        np.cos(angle)[None, :, None] * side[:, None] * wide_mm / 2
        + np.sin(angle)[None, :, None] * over[:, None] * thick_mm / 2
    )
    position = path[:, None, :] + ring
    normals = (
        np.cos(angle)[None, :, None] * side[:, None] / wide_mm
        + np.sin(angle)[None, :, None] * over[:, None] / thick_mm
    )
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    u, v = np.meshgrid(np.linspace(0.02, 0.10, count), np.linspace(0.2, 0.8, len(path)))
    return MeshArrays(
        position.reshape(-1, 3).astype(np.float32),
        normals.reshape(-1, 3).astype(np.float32),
        np.stack([u, v], -1).reshape(-1, 2).astype(np.float32),
        _grid_faces(len(path), count),
    )
