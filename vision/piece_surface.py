"""A piece's surface as the measuring stages get it: straightened, colour-corrected, parted, blur known."""

from __future__ import annotations

from concurrent.futures import Future

import cv2
import numpy as np

from vision.balance import Correction, correct_image, shading_gain
from vision.colour import srgb8_to_lab
from vision.masks import part_surface
from vision.piece_net import in_view
from vision.settings import Settings
from vision.sharpness import measure_blur
from vision.surface import ByteImage, Surface
from vision.tiles import Piece
from vision.view import StraightView

__all__ = ["blur_in_view", "corrected_surface"]


def corrected_surface(
    view: StraightView,
    piece: Piece,
    correction: Correction,
    light: tuple[float, float],
    blur: Future[float | None],
    photo_px: int,
    settings: Settings,
) -> tuple[Surface, float]:
    """Correct a view's colours and part it.

    Parameters
    ----------
    view, piece : the straightened view (rows, cols) and the piece it shows
    correction : of the photo's colours
    light : log of the light on the piece over that on card or chart, by the table around, and its weight
    blur : of `blur_in_view`, awaited when it is needed
    photo_px : long side of the photo
    settings : `settings.tiles`

    Returns
    -------
    The surface, and the share of the piece that is clipped, 0..1
    """
    full = (cv2.inRange(view.image, (settings.tiles.clipped_code,) * 3, (255,) * 3) > 0) & view.piece
    clipped = float(full.sum()) / max(1, int(view.piece.sum()))
    x, y = piece.frame_px.mean(axis=0)
    by_table, weight = light
    by_slope = np.log(shading_gain(correction, x, y))
    image = correct_image(correction, view.image, np.exp(weight * by_table + (1 - weight) * by_slope))
    lab = srgb8_to_lab(image)
    clay, slack_px = None, 0.0
    if piece.seen is not None:
        clay = in_view(piece.seen.clay, piece.seen, view.to_photo, view.piece.shape)
        slack_px = settings.tiles.refine_steps * view.shrink / piece.seen.scale
    parts = part_surface(lab, view.piece, clay, slack_px, settings.tiles)
    found_px = blur.result()
    surface = Surface(
        image=image,
        lab=lab,
        piece=view.piece,
        glazed=parts.glazed,
        bare=parts.bare,
        glint=np.asarray(parts.glint | (full & parts.glazed), dtype=np.bool_),
        mm_per_px=view.mm_per_px,
        subject=piece.subject,
        blur_px=settings.tiles.blur_unknown_px if found_px is None else found_px,
        frame_share=max(view.piece.shape) / view.shrink / photo_px,
    )
    return surface, clipped


def blur_in_view(pixels: ByteImage, view: StraightView, piece: Piece, settings: Settings) -> float | None:
    """Measure the blur round a piece in the photo, its own outline among the edges, as pixels of the view."""
    low, high = piece.outline_px.min(axis=0), piece.outline_px.max(axis=0)
    pad = settings.tiles.blur_pad * float((high - low).max())
    left, top = (int(max(0, v)) for v in low - pad)
    right, bottom = (int(v) for v in high + pad + 1)
    found = measure_blur(pixels[top:bottom, left:right], settings.tiles)
    return None if found is None else max(found * view.shrink, settings.tiles.blur_floor_px)
