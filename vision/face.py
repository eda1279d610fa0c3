"""A straightened piece reduced, its mirrored light taken off: what colours by place are measured on."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from vision.colour import linear_to_lab, srgb_to_linear
from vision.reading import Subject
from vision.settings import FaceSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["Face", "reduce_face"]


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A reduced view of one piece.

    Attributes
    ----------
    light : (rows, cols, 3) float32, linear RGB, white paper 1, mirrored light taken off
    lab : (rows, cols, 3) float32, CIELAB D65 of `light`
    piece, glazed, bare : (rows, cols) bool, as on the surface
    clear : (rows, cols) bool, glaze that no reflection covers and that does not touch the glaze line
    from_edge : (rows, cols) float32, pixels from the piece's outline
    px_per_mm : of this picture; by `FaceSettings.usual_width_mm` where the photo has no scale
    mm_per_px : of this picture, None without scale
    factor : pixels of this picture per pixel of the surface
    subject : what the surface is of
    """

    light: FloatImage
    lab: FloatImage
    piece: BoolMask
    glazed: BoolMask
    bare: BoolMask
    clear: BoolMask
    from_edge: FloatImage
    px_per_mm: float
    mm_per_px: float | None
    factor: float
    subject: Subject


def reduce_face(surface: Surface, veil: float, settings: FaceSettings) -> Face:
    """Reduce a surface for the colours by place.

    Parameters
    ----------
    surface : the straightened piece
    veil : linear light that the glaze mirrors from the room, white paper 1 (`vision.palette.likely_veil`)
    settings : sizes

    Returns
    -------
    Face
    """
    rows, cols = surface.glazed.shape
    factor = min(1.0, settings.long_side_px / max(rows, cols))
    size = (max(8, round(cols * factor)), max(8, round(rows * factor)))
    image = cv2.resize(surface.image, size, interpolation=cv2.INTER_AREA)
    light = srgb_to_linear(np.asarray(image, np.uint8))
    light = np.maximum(light - np.float32(veil), np.minimum(light, np.float32(0.002)))

    def shrink(mask: BoolMask) -> BoolMask:
        return np.asarray(cv2.resize(mask.view(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0)

    piece, glazed, bare = shrink(surface.piece), shrink(surface.glazed), shrink(surface.bare)
    clear = glazed & ~shrink(surface.glint)
    inner = cv2.erode(np.pad(clear, 1).astype(np.uint8), np.ones((3, 3), np.uint8), borderValue=0)
    mm_per_px = None if surface.mm_per_px is None else surface.mm_per_px / factor
    px_per_mm = min(size) / settings.usual_width_mm if mm_per_px is None else 1.0 / mm_per_px
    away = cv2.distanceTransform(np.pad(piece, 1).astype(np.uint8), cv2.DIST_L2, 3)
    return Face(
        light=light,
        lab=linear_to_lab(light),
        piece=piece,
        glazed=glazed,
        bare=bare,
        clear=np.asarray(inner[1:-1, 1:-1] > 0),
        from_edge=np.asarray(away[1:-1, 1:-1], np.float32),
        px_per_mm=px_per_mm,
        mm_per_px=mm_per_px,
        factor=factor,
        subject=surface.subject,
    )
