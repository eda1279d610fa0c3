"""Read a photo: from pixels to a `PhotoReading`, one stage after the other."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.balance import Correction, fit_correction
from vision.card import FoundCard, find_card
from vision.chart import FoundChart, find_chart
from vision.crawling import detect_crawling, without_patches
from vision.crazing import detect_crazing
from vision.drawn import drawn_pieces
from vision.face import reduce_face
from vision.face_colours import measure_face_colours
from vision.faults import call_faults, mark_density
from vision.flags import photo_flags, tile_flags
from vision.gloss import GlossJudgement, judge_gloss, judge_pair_gloss
from vision.grounds import PhotoGrounds, doubt_subject
from vision.holes import part_hanging_hole
from vision.labels import find_labels, join_labels
from vision.laid import foot_below, keep_out_of
from vision.marks.candidates import smallest_diameter_px
from vision.marks.find import find_marks
from vision.marks.pair import find_pair_marks
from vision.palette import ColourDoubt, likely_veil, measure_body_colour, measure_glaze_colour
from vision.photo import Photo, load_photo
from vision.piece_net import map_pieces
from vision.piece_surface import blur_in_view, corrected_surface
from vision.plane_height import RaisedPlane, raise_plane
from vision.pottery import likely_pottery
from vision.reading import (
    Calibration,
    CalibrationKind,
    FaceColours,
    Flag,
    Gloss,
    PhotoReading,
    Running,
    Subject,
    Taught,
    TileReading,
)
from vision.running import measure_running
from vision.settings import Settings
from vision.shadow import find_shadow
from vision.surface import BoolMask, ByteImage, Surface
from vision.surround import measure_surround, surround_gain
from vision.taught_card import TaughtCard
from vision.tiles import Piece, find_pieces
from vision.two_lamps_second import SecondPhoto, open_second
from vision.view import straighten

__all__ = ["PhotoRead", "TileView", "read_file", "read_photo"]

_DEFAULT = Settings()
_AT_ONCE = 2
"""Pieces, and stages of a piece, read at the same time: the arrays of more would fill a small computer."""


@dataclass(frozen=True, slots=True, eq=False)
class TileView:
    """The pictures that go with one `TileReading`.

    Attributes
    ----------
    image : (rows, cols, 3) uint8 sRGB, straightened, colour-corrected where the photo allows it
    glazed, bare, glint, crazing, crawling : (rows, cols) bool
    lines : (rows, cols) bool, fine lines that join into no net; empty where crazing is called
    hole, shadow : (rows, cols) bool, the hole a tile hangs by and a shadow cast across the piece
    to_photo : (3, 3) homography from view pixels to photo pixels
    """

    image: ByteImage
    glazed: BoolMask
    bare: BoolMask
    glint: BoolMask
    crazing: BoolMask
    lines: BoolMask
    crawling: BoolMask
    hole: BoolMask
    shadow: BoolMask
    to_photo: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PhotoRead:
    """A photo's reading and, in the same order as its tiles, their views."""

    reading: PhotoReading
    views: tuple[TileView, ...]


def read_file(
    path: str | Path, *, subject: Subject | None = None, settings: Settings = _DEFAULT
) -> PhotoRead:
    """Load and read a photo file.

    Raises
    ------
    UnreadablePhotoError : the file is not a photo.
    OSError : the file is missing or may not be opened.
    """
    return read_photo(load_photo(path, settings), subject=subject, settings=settings)


def read_photo(
    photo: Photo,
    *,
    subject: Subject | None = None,
    outlines: Sequence[Sequence[Sequence[float]]] = (),
    stripes: Sequence[Sequence[Sequence[float]]] = (),
    thickness_mm: float | None = None,
    taught: Sequence[TaughtCard] = (),
    on: date | None = None,
    beside: Photo | None = None,
    settings: Settings = _DEFAULT,
) -> PhotoRead:
    """Read a photo.

    Parameters
    ----------
    photo : as `vision.photo.load_photo` gives it
    subject : what the person says the photo shows; None to guess
    outlines : pieces outlined by a person, each three or more corners x, y in photo pixels, in order round
        the piece; where there are any, they alone are read, in the order given
    stripes : dark stripes under the glaze as a person marked them, each three or more corners x, y in photo
        pixels; without one a stripe is looked for
    thickness_mm : of the tiles, so that their faces' height above the card is known; None for a usual one
    taught : the studio's printed cards whose true colours are known
    on : the day to tell a taught card's age on; None for today
    beside : a second photo of the same pieces, lit from the other side; see `vision.two_lamps.read_pair`
    settings : every threshold

    Returns
    -------
    The reading and its views. A photo without any piece gives no tiles and the flag NOTHING_FOUND, one of
    what is no pottery, where nobody said that it is, the flag NOT_POTTERY.

    Raises
    ------
    OutlineError : an outline encloses no part of the photo.
    PairMismatchError : the photo beside it shows nothing of this one.
    """
    pixels = photo.pixels
    with ThreadPoolExecutor(1) as aside:
        asked = not outlines and subject is not Subject.PATCH
        mapped = aside.submit(map_pieces, pixels, settings.tiles) if asked else None
        card = find_card(pixels, settings)
        chart = find_chart(pixels, settings, card)
        labels = find_labels(pixels, settings.labels)
        correction = fit_correction(card, chart, settings, taught)
        flags = photo_flags(photo, card, correction, pixels, settings)
        seen = None if mapped is None else mapped.result()
    second = None
    if beside is not None:
        second = open_second(photo, beside, card, [label.text for label in labels], taught, settings)
    keep_out = keep_out_of(card, chart, labels, settings)
    raised = None
    if card is not None:
        raised = raise_plane(card.homography, pixels.shape, thickness_mm, photo.focal_35mm, settings.tiles)
    if outlines:
        pieces = drawn_pieces(outlines, pixels, subject, settings)
    else:
        pieces = find_pieces(
            pixels,
            keep_out,
            flat=bool(keep_out),
            subject=subject,
            settings=settings.tiles,
            foot=foot_below(card, raised),
            seen=seen,
        )
    if not pieces:
        flags.append(Flag.NOTHING_FOUND)
    vouched = subject is not None or bool(outlines) or card is not None or bool(labels)
    if pieces and not vouched:
        close_up = pieces[0].subject is Subject.PATCH
        pieces = likely_pottery(pixels, pieces, settings)
        if close_up and not pieces:  # the frame as a whole is no glaze, but there may be a pot in it
            inside = find_pieces(
                pixels, keep_out, flat=True, subject=None, settings=settings.tiles, seen=seen
            )
            pieces = likely_pottery(pixels, inside, settings)
        flags += [] if pieces else [Flag.NOT_POTTERY]
    elif subject is not None and len(pieces) > 1 and not outlines:
        # a person says that there is one; what else was outlined has to look like it
        pieces = likely_pottery(pixels, pieces, settings) or pieces
    calibration = _calibration(card, correction, on or date.today())
    if calibration.taught is not None and calibration.taught.age_days > settings.balance.taught_old_days:
        flags.append(Flag.CARD_AGED)
    codes = join_labels(labels, [piece.outline_px for piece in pieces], settings.labels)
    grounds = PhotoGrounds(
        vouched=vouched,
        grey=Flag.GREY_PHOTO in photo.flags,
        pieces=len(pieces),
        laid=tuple(found.corners_px for found in (card, chart) if found is not None),
    )
    lights = _lights(pixels, pieces, keep_out, _reference(card, chart, correction), settings)
    with ThreadPoolExecutor(_AT_ONCE) as each, ThreadPoolExecutor(_AT_ONCE) as stages:
        # one piece is read here, where what finding it took is free again
        read = (map if len(pieces) == 1 else each.map)(
            lambda piece, light: _read_piece(
                pixels,
                piece,
                card,
                raised,
                correction,
                calibration,
                light,
                grounds,
                stripes,
                stages,
                second,
                settings,
            ),
            pieces,
            lights,
        )
        tiles, views = [], []
        for (tile, view), code in zip(read, codes, strict=True):
            tiles.append(replace(tile, label=code, outlined_by_hand=bool(outlines)))
            views.append(view)
    reading = PhotoReading(
        photo=photo.name,
        sha256=photo.sha256,
        calibration=calibration,
        tiles=tuple(tiles),
        flags=tuple(dict.fromkeys(flags)),
    )
    return PhotoRead(reading, tuple(views))


def _reference(
    card: FoundCard | None, chart: FoundChart | None, correction: Correction
) -> NDArray[np.float64] | None:
    """Give the outline of what the colours were corrected from."""
    if chart is not None and correction.kind is CalibrationKind.CHART:
        return chart.corners_px
    return card.corners_px if card is not None and correction.kind is CalibrationKind.CARD else None


def _lights(
    pixels: ByteImage,
    pieces: tuple[Piece, ...],
    keep_out: list[NDArray[np.float64]],
    reference: NDArray[np.float64] | None,
    settings: Settings,
) -> list[tuple[float, float]]:
    """Compare the light on each flat tile with that on the card or chart: log factor and its weight."""
    if reference is None or not pieces:
        return [(0.0, 0.0)] * len(pieces)
    outlines = [piece.outline_px for piece in pieces]
    *around, there = measure_surround(pixels, [*outlines, reference], keep_out, settings.balance)
    return [
        surround_gain(here, there, settings.balance) if piece.subject is Subject.TILE else (0.0, 0.0)
        for piece, here in zip(pieces, around, strict=True)
    ]


def _read_piece(
    pixels: ByteImage,
    piece: Piece,
    card: FoundCard | None,
    raised: RaisedPlane | None,
    correction: Correction,
    calibration: Calibration,
    light: tuple[float, float],
    grounds: PhotoGrounds,
    stripes: Sequence[Sequence[Sequence[float]]],
    stages: Executor,
    second: SecondPhoto | None,
    settings: Settings,
) -> tuple[TileReading, TileView]:
    flat = raised if piece.subject is Subject.TILE else None
    to_mm = flat.to_mm if flat is not None else None if card is None else card.to_mm
    view = straighten(pixels, piece, to_mm, settings.tiles)
    blur = stages.submit(blur_in_view, pixels, view, piece, settings)
    surface, clipped = corrected_surface(
        view, piece, correction, light, blur, max(pixels.shape[:2]), settings
    )
    pair = None if second is None else second.beside(view, surface, correction, settings)
    face = surface if pair is None else pair.clear

    def by_place(judged: GlossJudgement) -> tuple[Gloss, ColourDoubt, FaceColours, Running | None]:
        """Measure what rests on the finish: how much mirrored light to take off, and the colours under it."""
        known = calibration.kind is not CalibrationKind.NONE
        veil = likely_veil(judged.shares, settings.colour) if known else 0.0
        doubt = ColourDoubt(
            calibration.kind,
            calibration.residual_delta_e_00,
            veil=veil,
            taught=calibration.taught is not None,
        )
        reduced = reduce_face(face, veil, settings.face)
        colours = measure_face_colours(reduced, doubt, view.to_photo, stripes, settings)
        return judged.gloss, doubt, colours, measure_running(reduced, settings.running)

    net = stages.submit(detect_crazing, surface, settings.crazing)
    crawling, crawled = detect_crawling(surface, settings.crawling)
    if pair is None:
        # bare white clay among the glaze would pass for a bright reflection
        clear = without_patches(surface, crawled)
        shine = stages.submit(lambda: by_place(judge_gloss(clear, settings.gloss)))
        marks = find_marks(clear, settings.marks)
    else:
        shine = stages.submit(lambda: by_place(judge_pair_gloss(pair, settings)))
        least = replace(settings.marks, least_probability=settings.two_lamps.least_mark_probability)
        marks = find_pair_marks(pair.without_patches(crawled), least)
    marks, hole = part_hanging_hole(surface, marks, settings.tiles)
    body = measure_body_colour(face, settings.colour)
    shadow = find_shadow(pixels, view.to_photo, view.piece, settings.shadow)
    gloss, doubt, face_colours, running = shine.result()
    glaze = measure_glaze_colour(face, doubt, settings.colour, marks)
    crazing, crazed, lines = net.result()
    smallest_px = smallest_diameter_px(surface.blur_px, settings.marks)
    area_cm2 = _clear_area_cm2(face)
    density = mark_density(marks, area_cm2)
    too_small = min(view.image.shape[:2]) < settings.tiles.least_view_px
    doubted = doubt_subject(piece, grounds, too_small, settings.grounds)
    tile = TileReading(
        subject=piece.subject,
        outline_px=tuple((float(x), float(y)) for x, y in piece.outline_px),
        glaze=glaze,
        body=body,
        gloss=gloss,
        marks=marks,
        density_per_cm2=density,
        crazing=crazing,
        crawling=crawling,
        faults=() if doubted else call_faults(piece.subject, marks, crazing, crawling, area_cm2, density),
        face_colours=face_colours,
        running=running,
        plane_height=None if flat is None else flat.height,
        width_mm=view.width_mm,
        height_mm=view.height_mm,
        view_mm_per_px=view.mm_per_px,
        smallest_mark_mm=None if view.mm_per_px is None else smallest_px * view.mm_per_px,
        flags=tile_flags(
            piece, view, surface, crazing, gloss.finish is None, glaze is None, clipped, smallest_px, settings
        )
        + ((Flag.SUBJECT_DOUBTED,) if doubted else ())
        + ((Flag.SECOND_PHOTO_UNUSED,) if second is not None and pair is None else ())
        + ((Flag.FINE_LINES,) if lines.any() and not (doubted or piece.subject is Subject.WARE) else ()),
    )
    picture = TileView(
        image=surface.image,
        glazed=np.asarray(surface.glazed & ~crawled, np.bool_),
        bare=surface.bare,
        glint=face.glint,
        crazing=crazed,
        lines=lines,
        crawling=crawled,
        hole=hole,
        shadow=shadow,
        to_photo=view.to_photo,
    )
    return tile, picture


def _clear_area_cm2(surface: Surface) -> float | None:
    """Give the glazed area that no reflection hides, None without scale."""
    if surface.mm_per_px is None:
        return None
    return int((surface.glazed & ~surface.glint).sum()) * surface.mm_per_px**2 / 100.0


def _calibration(card: FoundCard | None, correction: Correction, on: date) -> Calibration:
    known = correction.taught
    return Calibration(
        kind=correction.kind,
        mm_per_px=None if card is None else card.mm_per_px,
        residual_delta_e_00=correction.residual_delta_e_00,
        taught=None if known is None else Taught(known.on, known.residual_delta_e_00, (on - known.on).days),
    )
