"""Draws small glazed surfaces with marks, craze nets and bare patches whose place and size are known.

A height field is shaded with one lamp (Lambert, Blinn highlight), a window mirrored in the gloss,
noise and blur. It is a plain rival to the physical renderer: quick, and made another way.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import MarkKind, Subject
from vision.surface import Surface

__all__ = ["DrawnMark", "DrawnTile", "draw_tile"]

_OVERSAMPLING = 2


@dataclass(frozen=True)
class DrawnMark:
    """Truth of one mark, in pixels of the drawn surface."""

    kind: MarkKind
    x_px: float
    y_px: float
    diameter_px: float


@dataclass(frozen=True, eq=False)
class DrawnTile:
    """A surface and what was drawn on it."""

    surface: Surface
    marks: tuple[DrawnMark, ...]
    craze: NDArray[np.bool_]
    crawl: NDArray[np.bool_]


def _srgb_linear(colour: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)


def _smooth_noise(rng: np.random.Generator, shape: tuple[int, int], period_px: float) -> NDArray[np.float32]:
    small = rng.standard_normal((int(shape[0] / period_px) + 3, int(shape[1] / period_px) + 3))
    return cv2.resize(small.astype(np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC)


def _places(
    rng: np.random.Generator,
    count: int,
    shape: tuple[int, int],
    margin: float,
    taken: list[tuple[float, ...]],
    r: float,
) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for _ in range(count * 40):
        if len(out) == count:
            break
        x, y = rng.uniform(margin, shape[1] - margin), rng.uniform(margin, shape[0] - margin)
        if all(np.hypot(x - tx, y - ty) > 1.6 * (r + tr) for tx, ty, tr in taken):
            out.append((x, y))
            taken.append((x, y, r))
    return out


def _craze_net(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: float, width_px: float
) -> NDArray[np.float32]:
    """Return the ink coverage of a net of cell walls (edges of a random Voronoi diagram)."""
    from scipy.spatial import Voronoi

    rows, cols = shape
    count = int(1.6 * rows * cols / cell_px**2) + 8
    points = rng.uniform([-0.3 * cols, -0.3 * rows], [1.3 * cols, 1.3 * rows], (int(count * 1.6), 2))
    net = Voronoi(points)
    ink = np.zeros(shape, np.uint8)
    for a, b in net.ridge_vertices:
        if a < 0 or b < 0:
            continue
        p, q = net.vertices[a], net.vertices[b]
        if np.abs(p).max() > 1e5 or np.abs(q).max() > 1e5:
            continue
        middle = (p + q) / 2 + rng.normal(0, 0.05 * cell_px, 2)
        line = np.array([p, middle, q]).astype(np.int32)
        cv2.polylines(ink, [line], False, 255, max(1, round(width_px)), cv2.LINE_AA)
    return ink.astype(np.float32) / 255


def draw_tile(
    seed: int,
    *,
    shape: tuple[int, int] = (620, 460),
    mm_per_px: float | None = 0.08,
    counts: dict[MarkKind, int] | None = None,
    diameter_px: tuple[float, float] = (6.0, 24.0),
    glaze: tuple[float, float, float] = (0.55, 0.66, 0.62),
    body: tuple[float, float, float] = (0.82, 0.74, 0.62),
    craze_cell_px: float | None = None,
    craze_contrast: float = 0.45,
    scratches: int = 0,
    crawl_spots: int = 0,
    foot_px: int = 0,
    glints: int = 0,
    noise: float = 0.008,
    blur_px: float = 0.7,
    variegation: float = 0.04,
    lamp_deg: float | None = None,
) -> DrawnTile:
    """Draw one tile and give its truth.

    Parameters
    ----------
    seed : seed of every random choice
    shape : (rows, cols) of the surface, pixels
    mm_per_px : scale written on the surface
    counts : how many marks of each kind
    diameter_px : range of mark diameters, pixels
    glaze, body : sRGB colours 0..1
    craze_cell_px : mean craze cell, pixels; None draws no net
    craze_contrast : share of light a line takes away, 0..1
    scratches : long, nearly parallel straight lines that cross without a net
    crawl_spots : bare patches with a thick lip
    foot_px : height of a bare strip at the foot
    glints : lamp reflections marked in the glint mask
    noise : standard deviation of noise, fraction of white
    blur_px : standard deviation of blur, pixels
    variegation : strength of slow colour mottling, fraction
    lamp_deg : where the lamp stands, 0 the picture's right, 90 its foot, 180 its left; None at random. Equal
        seeds with two lamps give one surface lit twice, each with noise of its own
    """
    rng = np.random.default_rng(seed)
    s = _OVERSAMPLING
    rows, cols = shape[0] * s, shape[1] * s
    yy, xx = np.mgrid[0:rows, 0:cols].astype(np.float32)
    height = _smooth_noise(rng, (rows, cols), 90 * s) * 0.6 * s
    albedo = _srgb_linear(np.array(glaze)).astype(np.float32) * np.ones((rows, cols, 1), np.float32)
    mottling = 1 + variegation * _smooth_noise(rng, (rows, cols), 25 * s)
    albedo *= mottling[..., None]
    clay = _srgb_linear(np.array(body)).astype(np.float32)
    gloss = np.ones((rows, cols), np.float32)
    bare = np.zeros((rows, cols), bool)
    crawl = np.zeros((rows, cols), bool)

    if foot_px:
        bare[rows - foot_px * s :] = True
    taken: list[tuple[float, ...]] = []
    for _ in range(crawl_spots):
        radius = rng.uniform(18, 34) * s
        for x, y in _places(rng, 1, (rows - foot_px * s, cols), radius * 1.4, taken, radius):
            angle = np.arctan2(yy - y, xx - x)
            wobble = (
                1 + 0.18 * np.sin(2 * angle + rng.uniform(0, 6)) + 0.1 * np.sin(3 * angle + rng.uniform(0, 6))
            )
            r = np.hypot(xx - x, yy - y) / (radius * wobble)
            crawl |= r < 1
            height += (2.2 * s * np.exp(-(((r - 1.12) / 0.1) ** 2))).astype(np.float32)
    bare |= crawl

    marks: list[DrawnMark] = []
    for kind, count in (counts or {}).items():
        for _ in range(count):
            diameter = float(np.exp(rng.uniform(*np.log(diameter_px))))
            radius = diameter / 2 * s
            margin = max(3 * radius, 10 * s)
            for x, y in _places(rng, 1, (rows - foot_px * s, cols), margin, taken, radius):
                x0, x1 = int(x - 3 * radius - 4), int(x + 3 * radius + 5)
                y0, y1 = int(y - 3 * radius - 4), int(y + 3 * radius + 5)
                box = np.s_[max(y0, 0) : y1, max(x0, 0) : x1]
                angle = np.arctan2(yy[box] - y, xx[box] - x)
                wobble = 1 + 0.06 * np.sin(2 * angle + rng.uniform(0, 6.3))
                r = np.hypot(xx[box] - x, yy[box] - y) / (radius * wobble)
                if kind is MarkKind.PINHOLE:
                    inside = 1 / (1 + np.exp((r - 0.88) * 14))
                    height[box] -= radius * rng.uniform(0.5, 1.1) * inside
                    floor = (r < 0.75)[..., None]
                    albedo[box] = np.where(floor, clay * rng.uniform(0.35, 0.7), albedo[box])
                    gloss[box] = np.where(r < 0.75, 0.05, gloss[box])
                elif kind is MarkKind.BLISTER:
                    height[box] += radius * rng.uniform(0.35, 0.7) * np.clip(1 - r**2, 0, None) ** 0.8
                elif kind is MarkKind.CRATER:
                    height[box] += radius * rng.uniform(0.25, 0.5) * np.exp(-(((r - 0.85) / 0.18) ** 2))
                    height[box] -= radius * rng.uniform(0.3, 0.6) / (1 + np.exp((r - 0.6) * 12))
                    floor = (r < 0.6)[..., None]
                    albedo[box] = np.where(floor, clay * rng.uniform(0.25, 0.6), albedo[box])
                    gloss[box] = np.where(r < 0.6, 0.1, gloss[box])
                else:
                    ink = (1 / (1 + np.exp((r - 0.9) * rng.uniform(6, 16))))[..., None]
                    dark = np.array([0.05, 0.03, 0.02], np.float32) * rng.uniform(0.6, 2.0)
                    albedo[box] = albedo[box] * (1 - ink) + dark * ink
                marks.append(DrawnMark(kind, (x + 0.5) / s - 0.5, (y + 0.5) / s - 0.5, diameter))

    craze = np.zeros((rows, cols), bool)
    if craze_cell_px:
        ink = _craze_net(rng, (rows, cols), craze_cell_px * s, 1.4 * s) * ~bare
        albedo *= (1 - craze_contrast * ink)[..., None]
        craze = ink > 0.5
    if scratches:
        ink8 = np.zeros((rows, cols), np.uint8)
        direction = rng.uniform(0, np.pi)
        for _ in range(scratches):
            a = direction + rng.normal(0, 0.12)
            c = rng.uniform([0, 0], [cols, rows])
            half = rng.uniform(0.1, 0.5) * max(rows, cols)
            d = np.array([np.cos(a), np.sin(a)]) * half
            cv2.line(ink8, (c - d).astype(int).tolist(), (c + d).astype(int).tolist(), 255, s, cv2.LINE_AA)
        albedo *= (1 - 0.4 * ink8.astype(np.float32) / 255)[..., None]
    albedo = np.where(bare[..., None], clay, albedo)
    gloss[bare] = 0

    height += rng.standard_normal((rows, cols)).astype(np.float32) * 0.01
    height = cv2.GaussianBlur(height, (0, 0), 0.6 * s)
    gx, gy = np.gradient(height, axis=1), np.gradient(height, axis=0)
    normal = np.stack([-gx, -gy, np.ones_like(gx)], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    azimuth, elevation = rng.uniform(0, 2 * np.pi), np.deg2rad(rng.uniform(25, 55))
    if lamp_deg is not None:
        azimuth = np.deg2rad(lamp_deg)
    lamp = np.array(
        [np.cos(elevation) * np.cos(azimuth), np.cos(elevation) * np.sin(azimuth), np.sin(elevation)],
        np.float32,
    )
    lambert = np.clip(normal @ lamp, 0, None) / lamp[2]
    halfway = lamp + np.array([0, 0, 1], np.float32)
    halfway /= np.linalg.norm(halfway)
    blinn = np.clip(normal @ halfway, 0, 1) ** rng.uniform(60, 260)
    light = albedo * (0.45 + 0.5 * lambert)[..., None] + (0.5 * blinn * gloss)[..., None]
    falloff = 1 + 0.12 * ((xx / cols - 0.5) * lamp[0] + (yy / rows - 0.5) * lamp[1])
    light *= falloff[..., None]

    glint = np.zeros((rows, cols), bool)
    for _ in range(glints):
        c = rng.uniform([0.15 * cols, 0.15 * rows], [0.85 * cols, 0.85 * rows])
        axes = rng.uniform(6, 30, 2) * s
        shape8 = np.zeros((rows, cols), np.uint8)
        cv2.ellipse(shape8, (c.tolist(), axes.tolist(), float(rng.uniform(0, 180))), 255, -1, cv2.LINE_AA)
        veil = cv2.GaussianBlur(shape8.astype(np.float32) / 255, (0, 0), 0.8 * s) * gloss
        light += veil[..., None] * 0.9
        glint |= veil > 0.25

    if lamp_deg is not None:
        rng = np.random.default_rng([seed, round(lamp_deg)])
    light = cv2.resize(light.astype(np.float32), shape[::-1], interpolation=cv2.INTER_AREA)
    light = cv2.GaussianBlur(light, (0, 0), blur_px)
    light += rng.standard_normal(light.shape).astype(np.float32) * noise * np.sqrt(np.clip(light, 0.02, 1))
    light = np.clip(light, 0, 1)
    srgb = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    image = np.rint(srgb * 255).astype(np.uint8)
    image = cv2.imdecode(cv2.imencode(".jpg", image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])[1], 1)[
        ..., ::-1
    ]
    image = np.ascontiguousarray(image)
    lab = cv2.cvtColor(image.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)

    def small(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return cv2.resize(mask.astype(np.float32), shape[::-1], interpolation=cv2.INTER_AREA) > 0.5

    bare_small = small(bare)
    craze_small = cv2.resize(craze.astype(np.float32), shape[::-1], interpolation=cv2.INTER_AREA) > 0.3
    surface = Surface(
        image=image,
        lab=lab,
        piece=np.ones(shape, bool),
        glazed=~bare_small,
        bare=bare_small,
        glint=cv2.dilate(small(glint).astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool),
        mm_per_px=mm_per_px,
        subject=Subject.TILE,
        blur_px=blur_px,
    )
    return DrawnTile(surface, tuple(marks), craze_small, small(crawl))
