"""How unlike the table each part of a photo is: the table's colours are learnt along the photo's border."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reduced import shrink_picture
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = ["Scene", "prepare_scene", "unlike_table"]


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """The photo at finding resolution.

    Attributes
    ----------
    lab : (rows, cols, 3) float32 CIELAB
    excluded : (rows, cols) bool, not to be taken for table nor piece
    scale : its pixels per photo pixel
    """

    lab: FloatImage
    excluded: BoolMask
    scale: float


def prepare_scene(pixels: ByteImage, keep_out: list[NDArray[np.float64]], settings: TileSettings) -> Scene:
    """Shrink the photo to finding resolution and mark what is not to be taken for a piece.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    keep_out : polygons (n, 2) in photo pixels: card, chart, label strips
    settings : `TileSettings`
    """
    rows, cols = pixels.shape[:2]
    scale = min(1.0, settings.find_long_side_px / max(rows, cols))
    size = (max(1, round(cols * scale)), max(1, round(rows * scale)))
    small = shrink_picture(pixels, size)
    lab = cv2.cvtColor(small.astype(np.float32) / np.float32(255.0), cv2.COLOR_RGB2LAB)
    excluded = np.zeros(lab.shape[:2], np.uint8)
    for polygon in keep_out:
        cv2.fillPoly(excluded, [np.rint(polygon * scale * 16).astype(np.int32)], 1, shift=4)
    grow = 2 * round(settings.keep_out_margin * settings.find_long_side_px) + 1
    excluded = cv2.dilate(excluded, np.ones((grow, grow), np.uint8))
    return Scene(lab, excluded.astype(bool), scale)


def _border(shape: tuple[int, int], width: int) -> BoolMask:
    border = np.ones(shape, dtype=np.bool_)
    border[width:-width, width:-width] = False
    return border


def _shading(lab: FloatImage, sure: BoolMask, rounds: int) -> FloatImage:
    """Fit the table's colour as a quadratic of place, by rounds of trimmed least squares.

    Returns
    -------
    (rows, cols, 3) float32: how far the fit departs from its own median on the table
    """
    rows, cols = lab.shape[:2]
    x = (np.arange(cols, dtype=np.float32) / cols - np.float32(0.5))[None, :]
    y = (np.arange(rows, dtype=np.float32) / rows - np.float32(0.5))[:, None]
    index = np.flatnonzero(sure)
    index = index[:: max(1, index.size // 4000)]
    at_x, at_y = x[0, index % cols], y[index // cols, 0]
    a = np.stack([np.ones_like(at_x), at_x, at_y, at_x * at_x, at_x * at_y, at_y * at_y], axis=-1)
    b = lab.reshape(-1, 3)[index]
    keep = np.ones(index.size, dtype=bool)
    coefficients = np.zeros((6, 3), np.float32)
    weigh = np.array([1.0, 2.0, 2.0], np.float32)
    for _ in range(rounds):
        ridge = np.diag([0.0, 1.0, 1.0, 4.0, 4.0, 4.0]).astype(np.float32) * (0.01 * keep.sum())
        coefficients = np.linalg.solve(a[keep].T @ a[keep] + ridge, a[keep].T @ b[keep])
        miss = np.abs((a @ coefficients - b) * weigh).max(axis=1)
        keep = miss <= max(4.0, 2.0 * float(np.median(miss[keep])))
        if keep.sum() < 50:
            break
    planes = []
    for c in coefficients.astype(np.float32).T:
        plane = (c[0] + c[1] * x + c[3] * (x * x)) + (c[2] * y + c[5] * (y * y)) + c[4] * (x * y)
        planes.append(plane - np.median(plane[sure]))
    return np.asarray(np.stack(planes, axis=-1), dtype=np.float32)


def _sectors(places: NDArray[np.intp], shape: tuple[int, int], count: int) -> NDArray[np.intp]:
    """Give the sector round the frame's middle, 0..count - 1, of each flat index."""
    rows, cols = np.divmod(places, shape[1])
    angle = np.arctan2(rows / shape[0] - 0.5, cols / shape[1] - 0.5)
    return np.asarray(np.floor((angle + np.pi) / (2 * np.pi) * count) % count, dtype=np.intp)


def table_distance(lab: FloatImage, sure: BoolMask, settings: TileSettings) -> tuple[FloatImage, FloatImage]:
    """Tell how unlike the table each pixel is, in units of the table's own spread.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB of the shrunken photo, smoothed
    sure : (rows, cols) bool, pixels taken for table

    Returns
    -------
    unlike : (rows, cols) float32, 0 on the table's commonest colours; above about 3 is unlike the table
    unshaded : the same with a shadow on the table counted as table
    """
    flat = lab - _shading(lab, sure, settings.shading_rounds)
    places = np.flatnonzero(sure)
    places = places[:: max(1, len(places) // 3000)]
    samples = flat.reshape(-1, 3)[places]
    sector = _sectors(places, (flat.shape[0], flat.shape[1]), settings.table_sectors)
    weighted = samples * np.array([0.6, 1.0, 1.0], np.float32)
    cv2.setRNGSeed(7)
    _, labels, _ = cv2.kmeans(
        weighted,
        min(settings.table_colours, len(samples)),
        None,
        (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 0.2),
        2,
        cv2.KMEANS_PP_CENTERS,
    )
    labels = labels.ravel()
    clusters = []
    for k in range(int(labels.max()) + 1):
        part = samples[labels == k]
        spread_round = len(np.unique(sector[labels == k]))
        if len(part) < settings.table_colour_share * len(samples):
            continue
        if (
            len(part) < settings.table_sure_share * len(samples)
            and spread_round < settings.table_least_sectors
        ):
            continue
        centre = np.median(part, axis=0)
        spread = np.clip(
            1.4826 * np.median(np.abs(part - centre), axis=0),
            np.array(settings.table_spread_floor, np.float32),
            np.array(settings.table_spread_most, np.float32),
        )
        clusters.append((centre.astype(np.float32), spread.astype(np.float32)))
    return _nearest(flat, clusters, settings)


def _nearest(
    flat: FloatImage, clusters: list[tuple[NDArray[np.float32], NDArray[np.float32]]], settings: TileSettings
) -> tuple[FloatImage, FloatImage]:
    """Give each pixel's distance to the nearest table colour, plainly and with shadow allowed."""
    light, a, b = (np.ascontiguousarray(flat[..., i]) for i in range(3))
    best = np.full(light.shape, np.inf, dtype=np.float32)
    best_unshaded = best.copy()
    floor = np.float32(settings.deepest_shadow ** (1.0 / 3.0))
    one, zero, sixteen = np.float32(1.0), np.float32(0.0), np.float32(16.0)
    for centre, spread in clusters:
        off = (light - centre[0]) / spread[0]
        lighter = np.maximum(off, zero) ** 2
        darker = np.minimum(off, zero) * np.float32(settings.shadow_weight)
        plain = lighter + darker * darker
        plain += ((a - centre[1]) / spread[1]) ** 2
        plain += ((b - centre[2]) / spread[2]) ** 2
        np.minimum(best, plain, out=best)
        # in shadow L* + 16 and the chroma fall together, as all goes with the cube root of the light
        full = centre[0] + sixteen
        fall = np.clip((light + sixteen) / full, floor, one)
        too_dark = np.minimum(light + sixteen - fall * full, zero) / spread[0]
        unshaded = lighter + too_dark * too_dark
        unshaded += ((a - fall * centre[1]) / (spread[1] * np.float32(settings.shadow_tint))) ** 2
        unshaded += ((b - fall * centre[2]) / (spread[2] * np.float32(settings.shadow_tint))) ** 2
        np.minimum(best_unshaded, unshaded, out=best_unshaded)
    np.minimum(best_unshaded, best, out=best_unshaded)
    return np.sqrt(best), np.sqrt(best_unshaded)


def _sure_table(scene: Scene, settings: TileSettings) -> BoolMask:
    rows, cols = scene.lab.shape[:2]
    width = max(3, round(settings.border_fraction * min(rows, cols)))
    sure = _border((rows, cols), width)
    return np.asarray(sure & ~scene.excluded, dtype=np.bool_)


def unlike_table(scene: Scene, settings: TileSettings) -> tuple[FloatImage, FloatImage]:
    """Tell how unlike the table each pixel is, by the colours met along the border, then by all like them.

    Returns
    -------
    unlike, unshaded : (rows, cols) float32, in spreads of the table; a shadow counts as unlike in the
        first and as table in the second. Zero where the border shows too little table to tell.
    """
    sure = _sure_table(scene, settings)
    if sure.sum() < 50:
        nothing = np.zeros(sure.shape, np.float32)
        return nothing, nothing
    lab = np.asarray(cv2.medianBlur(scene.lab, 5), np.float32)
    unlike, unshaded = table_distance(lab, sure, settings)
    again = sure & (unlike < settings.sure_table_distance)
    if again.sum() > 200:
        inner = (unlike < settings.sure_table_distance * 0.6) & ~scene.excluded
        more = table_distance(lab, np.asarray(again | inner), settings)
        unlike, unshaded = np.minimum(unlike, more[0]), np.minimum(unshaded, more[1])
    return unlike, unshaded
