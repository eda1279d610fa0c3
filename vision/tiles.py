"""Find the pieces in a photo and say what each one is: a flat tile, ware, or a close-up of glaze."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.close_up import close_up_chance
from vision.corners import corner_radius, rounded
from vision.frame_cut import mostly_out
from vision.outline import contour_of, fit_quad, order_corners, polygon_area, refine_quad, snap_contour
from vision.oval import fit_oval
from vision.parts import find_parts, with_insides
from vision.piece_net import SUBJECTS, PieceMap, in_view, look_closer, map_pieces
from vision.reading import Subject
from vision.settings import TileSettings
from vision.settle import Settled, moved_out, settle_sides
from vision.sheet import carries_laid, is_sheet
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = [
    "Piece",
    "closer_part",
    "find_pieces",
    "open_ground",
    "reading_order",
    "whole_frame",
]

Points = NDArray[np.float64]
_INSIDE = 0.25
"""A part of which this share is more likely wall than face is a pot with its inside."""
_AT_ONCE = 2
"""Parts outlined at the same time."""


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
    support : mean chance, 0..1, that what it encloses is a piece's face
    seen : what it was outlined in
    likely : chance, 0..1, that it is pottery at all, by `vision.pottery`; None where it was not asked
    straight : True when four straight sides outline it, their corners sharp or round
    mostly_out : True when less than half of its edge lies in the photo
    """

    subject: Subject
    outline_px: Points
    frame_px: Points
    guessed: bool = False
    edge_cut: bool = False
    support: float = 1.0
    seen: PieceMap | None = None
    likely: float | None = None
    straight: bool = False
    mostly_out: bool = False


def whole_frame(pixels: ByteImage, *, guessed: bool) -> Piece:
    """Take the whole frame as one close-up of glaze."""
    rows, cols = pixels.shape[:2]
    corners = np.array([[0, 0], [cols - 1, 0], [cols - 1, rows - 1], [0, rows - 1]], dtype=np.float64)
    return Piece(Subject.PATCH, corners, corners, guessed=guessed, edge_cut=False)


def _box(points: Points) -> Points:
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=np.float64)


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


def open_ground(
    shape: tuple[int, ...], keep_out: list[Points], scale: float, settings: TileSettings
) -> BoolMask:
    """Mark what may hold a piece: not the card, the chart or a label strip."""
    excluded = np.zeros(shape[:2], np.uint8)
    for polygon in keep_out:
        cv2.fillPoly(excluded, [np.rint(polygon * scale * 16).astype(np.int32)], 1, shift=4)
    grow = 2 * round(settings.keep_out_margin * settings.net_long_side_px) + 1
    return np.asarray(cv2.dilate(excluded, np.ones((grow, grow), np.uint8)) == 0, dtype=np.bool_)


def _contour(face: FloatImage, part: BoolMask) -> Points:
    """Trace where the face chance passes a half round one part, between the pixels: (n, 2) x, y."""
    near = cv2.dilate(part.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    field = np.where(part, np.maximum(face, 0.5), np.where(near, np.minimum(face, 0.5), 0.0))
    fine = cv2.resize(field.astype(np.float32), None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)
    return (contour_of(np.asarray(fine > 0.5, dtype=np.bool_)) - 0.5) / 2.0


def _touches_border(part: BoolMask) -> bool:
    return bool(part[:2].any() or part[-2:].any() or part[:, :2].any() or part[:, -2:].any())


def _has_sides(part: BoolMask, settings: TileSettings) -> bool:
    """Tell a tile that nearly fills the frame: four straight sides, most of them inside it."""
    corners, fill, straight = fit_quad(part)
    size = np.array([part.shape[1], part.shape[0]]) - 1
    low, high = corners < settings.sides_slack_px, corners > size - settings.sides_slack_px
    outside = sum(bool((end[k] & end[(k + 1) % 4]).any()) for end in (low, high) for k in range(4))
    return fill >= settings.quad_fill and straight >= settings.sides_straight and outside <= 1


def _four_sides(
    pixels: ByteImage,
    seen: PieceMap,
    part: BoolMask,
    foot: Points | None,
    keep_out: list[Points],
    settings: TileSettings,
    *,
    as_ware: bool,
) -> Settled | None:
    """Give a tile's four sides, settled on edges of the photo; None for a part that has none.

    The part's shape tells them, or four edges of the photo do; of what passes for ware (`as_ware`) both must.
    """
    corners, fill, straight = fit_quad(part)
    by_shape = fill >= settings.quad_fill and straight >= settings.quad_straight
    if not by_shape and (as_ware or fill < settings.quad_fill_least):
        return None
    settled = settle_sides(pixels, seen.in_photo(corners), seen, foot, settings, keep_out)
    by_edges = float(settled.miss.mean()) < settings.quad_miss
    return settled if by_edges or (by_shape and not as_ware) else None


def _as_tile(
    pixels: ByteImage, seen: PieceMap, part: BoolMask, sides: Settled | None, settings: TileSettings
) -> tuple[Points, Points]:
    """Outline a part as a flat tile: by four straight sides where it has them, else by its own curve.

    Gives the outline and the frame.
    """
    if sides is None:
        outline = _curve(pixels, seen, part, settings)
        outline = outline if (oval := fit_oval(outline, settings)) is None else oval
        box = cv2.boxPoints(cv2.minAreaRect(outline.astype(np.float32))).astype(np.float64)
        return outline, order_corners(box)
    reach = settings.refine_share * float(np.sqrt(polygon_area(sides.corners)))
    edges, _ = refine_quad(pixels, sides.corners, reach, settings)
    corners = moved_out(edges, sides.beyond_px)
    return rounded(corners, corner_radius(pixels, edges, settings)), corners


def _shown(seen: PieceMap, part: BoolMask) -> FloatImage:
    """Give the chance of what a part is outlined by: a face, or of a pot taken with its inside both."""
    inside = float((seen.wall > seen.face)[part].mean()) > _INSIDE
    return np.asarray(seen.face + seen.wall, dtype=np.float32) if inside else seen.face


def _curve(pixels: ByteImage, seen: PieceMap, part: BoolMask, settings: TileSettings) -> Points:
    curve = seen.in_photo(_contour(_shown(seen, part), part))
    return snap_contour(pixels, curve, settings.refine_steps / seen.scale, settings)


def closer_part(
    pixels: ByteImage, seen: PieceMap, part: BoolMask, settings: TileSettings
) -> tuple[PieceMap, BoolMask]:
    """Look at a small part again, larger; gives it as it was where the closer look finds something else."""
    near = look_closer(pixels, seen, part, settings)
    if near is seen:
        return seen, part
    to_photo = np.diag([1 / near.scale, 1 / near.scale, 1.0])
    to_photo[:2, 2] = near.in_photo(np.zeros(2))
    was = in_view(part.astype(np.float32), seen, to_photo, near.face.shape) > 0.5
    reach = 2 * round(settings.closer_reach * float(np.sqrt(was.sum()))) + 1
    ground = cv2.dilate(was.astype(np.uint8), np.ones((reach, reach), np.uint8)) > 0
    for found in find_parts(near.face, near.clay, near.wall, np.asarray(ground, np.bool_), settings):
        both, either = float((found & was).sum()), float((found | was).sum())
        if both >= settings.closer_alike * either:
            return near, found
    return seen, part


def _vote(seen: PieceMap, part: BoolMask) -> tuple[Subject, float]:
    """Give what a part most likely is, and with what chance."""
    chances = [float(field[part].mean()) for field in seen.subjects]
    best = int(np.argmax(chances))
    return SUBJECTS[best], chances[best]


def find_pieces(
    pixels: ByteImage,
    keep_out: list[Points],
    *,
    flat: bool,
    subject: Subject | None,
    settings: TileSettings,
    foot: Points | None = None,
    seen: PieceMap | None = None,
) -> tuple[Piece, ...]:
    """Find, outline and name the pieces in a photo, in reading order.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    keep_out : polygons in photo pixels that are no piece: card, chart, label strips
    flat : True when a card, chart or label lies in the photo: then the whole frame is no close-up of glaze,
        and a piece without straight sides may be a tile
    subject : what the person says it is; None to guess
    settings : `TileSettings`
    foot : (3, 3) homography from where a point of a tile's face shows to where the table below it would; None
        where the camera's place is unknown
    seen : what `map_pieces` says of the photo, where it was asked already

    Returns
    -------
    tuple of Piece
        Empty when nothing looks like one.
    """
    if subject is Subject.PATCH:
        return (whole_frame(pixels, guessed=False),)
    seen = seen or map_pieces(pixels, settings)
    face = seen.face
    ground = open_ground(face.shape, keep_out, seen.scale, settings)
    parts = find_parts(face, seen.clay, seen.wall, ground, settings)
    if not parts and subject is not None:  # the person sees a piece: look again for the likeliest place
        brighter = np.asarray(face / max(float(face.max()), 1e-6), dtype=np.float32)
        parts = find_parts(brighter, seen.clay, seen.wall, ground, settings)[:1]
    if subject is None and not flat:
        chance = close_up_chance(pixels, seen, parts)
        if chance > 0.5 and not (parts and _has_sides(parts[0], settings)):
            return (whole_frame(pixels, guessed=chance < settings.subject_sure),)
    if subject is not Subject.TILE:
        ware = np.where(ground, seen.subjects[SUBJECTS.index(Subject.WARE)], 0.0).astype(np.float32)
        parts = with_insides(parts, face * ground, seen.wall * ground, ware, settings)
    with ThreadPoolExecutor(_AT_ONCE) as each:
        named = list(
            each.map(lambda part: _named(pixels, seen, part, subject, flat, foot, keep_out, settings), parts)
        )
    pieces = [piece for piece in named if piece is not None]
    return tuple(reading_order(_without_strays(pieces, settings)))


def _named(
    pixels: ByteImage,
    seen: PieceMap,
    part: BoolMask,
    subject: Subject | None,
    flat: bool,
    foot: Points | None,
    keep_out: list[Points],
    settings: TileSettings,
) -> Piece | None:
    """Say what a part is and outline it; None where it looks too much like the table, or is a sheet."""
    kind, chance = _vote(seen, part)
    support = float(_shown(seen, part)[part].mean())
    like_table = float(np.median(seen.unlike[part])) < settings.least_unlike
    like_table &= chance * support < settings.sure_though_alike
    if subject is None and (like_table or support < settings.least_support):
        return None
    guessed = subject is None and min(chance, support) < settings.subject_sure
    cut = _touches_border(part)
    near, own = closer_part(pixels, seen, part, settings)
    as_ware = subject is None and kind is Subject.WARE
    sides = None
    if as_ware or (subject or kind) is Subject.TILE:
        sides = _four_sides(pixels, near, own, foot, keep_out, settings, as_ware=as_ware)
    if as_ware and sides is not None:
        kind, guessed = Subject.TILE, True
    kind = subject or kind
    straight = sides is not None
    if kind is Subject.TILE:
        outline, frame = _as_tile(pixels, near, own, sides, settings)
        unlikely = not flat and not straight and chance < settings.tile_sure
        if subject is None and unlikely:
            kind, guessed = Subject.WARE, True  # neither straight sides nor a card beside it: a pot
    if kind is Subject.WARE:
        outline = _curve(pixels, near, own, settings)
        frame = _box(outline)
    if subject is None and carries_laid(outline, keep_out, settings):
        return None
    if subject is None and not straight and is_sheet(pixels, outline, support, keep_out, settings):
        return None
    out = cut and mostly_out(outline, pixels.shape, settings)
    return Piece(kind, outline, frame, guessed, cut, support, near, straight=straight, mostly_out=out)


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
