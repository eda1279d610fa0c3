"""What a reading warns of: flags of a photo and of each piece in it."""

from __future__ import annotations

import numpy as np

from vision.balance import Correction
from vision.card import FoundCard
from vision.photo import Photo
from vision.reading import CalibrationKind, Crazing, Flag, Subject
from vision.settings import Settings
from vision.surface import ByteImage, Surface
from vision.tiles import Piece
from vision.view import StraightView

__all__ = ["photo_flags", "tile_flags"]


def photo_flags(
    photo: Photo, card: FoundCard | None, correction: Correction, pixels: ByteImage, settings: Settings
) -> list[Flag]:
    """Give the flags of a photo as a whole.

    Parameters
    ----------
    photo : with the flags of its loading
    card, correction : as found and fitted
    pixels : (rows, cols, 3) uint8 sRGB
    settings : `settings.tiles.dark_code`
    """
    flags = list(photo.flags)
    if card is None:
        flags += [Flag.NO_CARD, Flag.NO_SCALE]
    else:
        flags += list(card.flags)
    flags += list(correction.flags)
    if correction.kind is CalibrationKind.NONE:
        flags.append(Flag.COLOUR_UNCORRECTED)
    tiles = settings.tiles
    thin = pixels[::16, ::16]
    if float(np.percentile(thin, 99)) < tiles.dark_code:
        flags.append(Flag.TOO_DARK)
    return flags


def tile_flags(
    piece: Piece,
    view: StraightView,
    surface: Surface,
    crazing: Crazing,
    no_finish: bool,
    no_glaze: bool,
    clipped: float,
    smallest_px: float,
    settings: Settings,
) -> tuple[Flag, ...]:
    """Give the flags of one piece.

    Parameters
    ----------
    piece, view, surface : as found, straightened and corrected
    crazing : its reading
    no_finish, no_glaze : nothing is told of the finish, of the glaze's colour
    clipped : share of the piece that is clipped, 0..1
    smallest_px : smallest mark told, pixels of the view
    settings : the thresholds in `settings.tiles`
    """
    tiles = settings.tiles
    flags: list[Flag] = []
    if piece.guessed:
        flags.append(Flag.SUBJECT_GUESSED)
    if piece.edge_cut:
        flags.append(Flag.MOSTLY_OUT if piece.mostly_out else Flag.EDGE_CUT)
    if piece.subject is Subject.WARE:
        flags.append(Flag.CURVED_SURFACE)
    if view.scale_approximate:
        flags.append(Flag.SCALE_APPROXIMATE)
    if view.mm_per_px is None:
        flags.append(Flag.NO_SCALE)
    if no_glaze or surface.glazed.sum() < tiles.little_glaze * surface.piece.sum():
        flags.append(Flag.LITTLE_GLAZE)
    if no_finish:
        flags.append(Flag.NO_REFLECTION)
    if clipped > tiles.clipped_fraction:
        flags.append(Flag.CLIPPED_HIGHLIGHTS)
    if min(view.image.shape[:2]) < tiles.least_view_px:
        flags.append(Flag.LOW_RESOLUTION)
    if surface.blur_px > max(tiles.blurred_px, tiles.blurred_fraction * max(view.image.shape)):
        flags.append(Flag.BLURRED)
    if crazing.present is None:
        flags.append(Flag.CRAZING_NOT_ASSESSABLE)
    if view.mm_per_px is not None:
        too_small = smallest_px * view.mm_per_px > tiles.pinhole_mm
    else:
        too_small = min(view.image.shape[:2]) < tiles.least_view_px or surface.blur_px > tiles.blurred_px
    if too_small:
        flags.append(Flag.PINHOLES_NOT_ASSESSABLE)
    return tuple(flags)
