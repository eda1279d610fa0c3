"""Find the pieces in a photo and say what each one is: a flat tile, ware, or a close-up of glaze."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import contour_of, order_corners, polygon_area, refine_quad, snap_contour
from vision.pose import Pose, pose_of
from vision.reading import Subject
from vision.segment import Region, Scene, find_regions, prepare_scene
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage
from vision.walls import step_up_walls
from vision.ware import tidy_ware, ware_outline

__all__ = ["Piece", "find_pieces", "reading_order", "whole_frame"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One piece in the photo.

    Attributes
    ----------
    subject : what it is taken for
    outline_px : (n, 2) x, y in photo pixels
    frame_px : (4, 2) corners that straightening maps to the view's corners
    guessed : True when what it is was guessed without much ground
    edge_cut : True when the frame cuts it
    support : mean colour change across the outline, CIELAB units; weak outlines are doubtful
    """

    subject: Subject
    outline_px: Points
    frame_px: Points
    guessed: bool = False
    edge_cut: bool = False
    support: float = 0.0


def whole_frame(pixels: ByteImage, *, guessed: bool) -> Piece:
    """Take the whole frame as one close-up of glaze."""
    rows, cols = pixels.shape[:2]
    corners = np.array([[0, 0], [cols - 1, 0], [cols - 1, rows - 1], [0, rows - 1]], dtype=np.float64)
    return Piece(Subject.PATCH, corners, corners, guessed=guessed, edge_cut=False)


def _box(points: Points) -> Points:
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=np.float64)


def _filled(mask: BoolMask) -> BoolMask:
    whole = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(whole, [contour_of(mask).astype(np.int32)], -1, 1, -1)
    return np.asarray(whole > 0, dtype=np.bool_)


def _opened(mask: BoolMask, settings: TileSettings) -> BoolMask:
    """Take away what is thinner than a pencil and keep the largest part."""
    width = 2 * max(1, round(settings.thin_fraction * max(mask.shape) / 2)) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    if count < 2:
        return mask
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    return np.asarray(labels == largest, dtype=np.bool_)


def _as_tile(pixels: ByteImage, region: Region, scale: float, pose: Pose, settings: TileSettings) -> Piece:
    """Outline a region as a flat tile: by four straight sides where it has them, else by its own curve."""
    step = 1.0 / scale
    cut = region.touches_border
    if region.quad is not None:
        to_photo = (region.quad + 0.5) * step - 0.5
        corners, support = refine_quad(pixels, to_photo, 4.0 * step, settings)
        if step > 1.5:
            corners, support = refine_quad(pixels, corners, max(3.0, 1.2 * step), settings)
        corners = step_up_walls(pixels, corners, pose, settings)
        return Piece(Subject.TILE, corners, corners, edge_cut=cut, support=float(np.mean(support)))
    mask = _opened(_filled(region.mask), settings)
    outline = snap_contour(pixels, (contour_of(mask) + 0.5) * step - 0.5, 3.0 * step, settings)
    box = cv2.boxPoints(cv2.minAreaRect(outline.astype(np.float32))).astype(np.float64)
    return Piece(Subject.TILE, outline, order_corners(box), edge_cut=cut)


def _as_ware(pixels: ByteImage, scene: Scene, region: Region, settings: TileSettings) -> Piece:
    mask = tidy_ware(scene, _filled(region.loose), region.shadow, settings)
    outline = ware_outline(pixels, mask, scene.scale, settings)
    return Piece(Subject.WARE, outline, _box(outline), edge_cut=region.touches_border)


def reading_order(pieces: list[Piece]) -> list[Piece]:
    """Sort pieces as a page is read: rows from the top, each row from the left."""
    if not pieces:
        return []
    boxes = [
        (p.outline_px[:, 1].min(), p.outline_px[:, 1].max(), p.outline_px[:, 0].mean(), p) for p in pieces
    ]
    boxes.sort(key=lambda b: (b[0] + b[1]) / 2)
    rows: list[list[tuple[float, float, float, Piece]]] = []
    for box in boxes:
        middle = (box[0] + box[1]) / 2
        if rows and middle < float(np.mean([b[1] for b in rows[-1]])):
            rows[-1].append(box)
        else:
            rows.append([box])
    return [b[3] for row in rows for b in sorted(row, key=lambda b: b[2])]


def _looks_like_glaze(scene: Scene, settings: TileSettings) -> bool:
    """Tell whether a frame without a piece could be a close-up: one family of colours, corner to corner."""
    lab = cv2.GaussianBlur(scene.lab, (0, 0), 3.0)
    grid = [
        np.median(part.reshape(-1, 3), axis=0)
        for band in np.array_split(lab, 3, axis=0)
        for part in np.array_split(band, 3, axis=1)
    ]
    spread = np.array(grid).std(axis=0)
    return bool(
        spread[0] < settings.patch_lightness_spread and max(spread[1], spread[2]) < settings.patch_hue_spread
    )


def _is_glare(scene: Scene, region: Region, settings: TileSettings) -> bool:
    """Tell whether a region is the reflection of a lamp in a close-up: much of it fills the sensor."""
    full = scene.lab[..., 0][region.mask] > settings.glint_white_lightness - 3.0
    return float(full.mean()) > settings.glare_full_share


def find_pieces(
    pixels: ByteImage,
    keep_out: list[Points],
    *,
    flat: bool,
    subject: Subject | None,
    settings: TileSettings,
    pose: Pose | None = None,
) -> tuple[Piece, ...]:
    """Find, outline and name the pieces in a photo, in reading order.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    keep_out : polygons in photo pixels that are no piece: card, chart, label strips
    flat : True when a card or chart lies in the photo, so pieces most likely lie flat beside it
    subject : what the person says it is; None to guess
    settings : `TileSettings`
    pose : of the camera over the table; None for straight above

    Returns
    -------
    Pieces; empty when nothing stands out and the frame is no close-up.
    """
    if subject is Subject.PATCH:
        return (whole_frame(pixels, guessed=False),)
    scene = prepare_scene(pixels, keep_out, settings)
    regions = find_regions(scene, settings)
    frame = float(scene.lab.shape[0] * scene.lab.shape[1])
    least = settings.lone_fraction * frame
    sharp = any(r.sharpness >= settings.lone_sharpness and r.area_px >= least for r in regions)
    if sharp:  # beside a clear tile, what has no straight sides and runs out of the frame is table
        regions = tuple(r for r in regions if r.quad is not None or not r.touches_border)
    if subject is None and not flat and not sharp:
        solid = [r for r in regions if not _is_glare(scene, r, settings)]
        largest = max((r.area_px for r in solid), default=0) / frame
        if largest > settings.patch_cover:
            return (whole_frame(pixels, guessed=False),)
        if largest < settings.patch_largest_piece and _looks_like_glaze(scene, settings):
            return (whole_frame(pixels, guessed=True),)
        if largest < settings.patch_largest_piece and len(regions) > settings.most_crumbs:
            return ()
    pose = pose or pose_of(None, pixels.shape, settings)
    pieces: list[Piece] = []
    flat = flat or sharp
    for region in regions:
        four_sided = flat and region.quad is not None
        if subject is Subject.TILE or (subject is None and four_sided):
            pieces.append(_as_tile(pixels, region, scene.scale, pose, settings))
        elif subject is Subject.WARE or not flat:
            pieces.append(
                replace(
                    _as_ware(pixels, scene, region, settings), guessed=subject is None and len(regions) > 1
                )
            )
        else:
            pieces.append(replace(_as_tile(pixels, region, scene.scale, pose, settings), guessed=True))
    pieces = _without_strays(pieces, settings)
    return tuple(reading_order(pieces))


def _without_strays(pieces: list[Piece], settings: TileSettings) -> list[Piece]:
    """Drop slivers, crumbs, and what lies inside another piece."""
    kept: list[Piece] = []
    areas = [polygon_area(p.outline_px) for p in pieces]
    if not areas:
        return []
    largest = max(areas)
    for piece, area in zip(pieces, areas, strict=True):
        sides = np.hypot(*(np.roll(piece.frame_px, -1, axis=0) - piece.frame_px).T)
        if sides.min() < settings.least_aspect * sides.max() or area < settings.stray_share * largest:
            continue
        centre = tuple(float(v) for v in piece.outline_px.mean(axis=0))
        if any(cv2.pointPolygonTest(k.outline_px.astype(np.float32), centre, False) > 0 for k in kept):
            continue
        kept.append(piece)
    return kept
