"""Tell for every pixel of a photo whether it shows glaze, bare clay, a piece's side, or no piece at all.

A small convolutional net (`piece_net_fit.py` says which, and on what it was fitted) run by ONNX Runtime.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.nets import run_net, softmax
from vision.reading import Subject
from vision.reduced import shrink_picture
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage, FloatImage
from vision.table import prepare_scene, unlike_table

__all__ = [
    "BACKGROUND",
    "BARE",
    "CHANNELS",
    "GLAZED",
    "SUBJECTS",
    "SUBJECT_STEP",
    "WALL",
    "PieceMap",
    "encoded",
    "in_view",
    "levelled",
    "look_closer",
    "map_pieces",
    "shrunken",
    "table_maps",
]

BACKGROUND, GLAZED, BARE, WALL = 0, 1, 2, 3
"""Classes of a pixel. WALL is a piece's side, inside or handle: of the piece, but not its face."""
SUBJECTS = (Subject.TILE, Subject.WARE)
"""Order of the second answer's channels."""
CHANNELS = ("red", "green", "blue", "unlike the table", "unlike it and no shadow")
"""What the net sees."""
SUBJECT_STEP = 16
"""Label files hold class + SUBJECT_STEP x place in SUBJECTS."""

_MODEL = Path(__file__).with_name("piece_net.onnx")
_STRIDE = 32


@dataclass(frozen=True, slots=True, eq=False)
class PieceMap:
    """What the net makes of a photo, at finding resolution.

    Attributes
    ----------
    chances : (4, rows, cols) float32, the chance of each class, 0..1
    subjects : (2, rows, cols) float32, the chance of each of `SUBJECTS` where there is a piece
    unlike : (rows, cols) float32, how unlike the table each place is, spreads of the table
    scale : map pixels per photo pixel
    corner_px : x, y in the photo of the map's top left corner (not of its first pixel's centre)
    table : (rows, cols, 2) float32, what `table_maps` says of the whole photo, kept to look closer
    """

    chances: FloatImage
    subjects: FloatImage
    unlike: FloatImage
    scale: float
    corner_px: tuple[float, float]
    table: FloatImage

    @property
    def face(self) -> FloatImage:
        """Chance that a pixel shows a piece's face, (rows, cols)."""
        return np.asarray(self.chances[GLAZED] + self.chances[BARE], dtype=np.float32)

    def in_map(self, photo_px: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give where points (..., 2) x, y of the photo lie in the map."""
        return np.asarray((photo_px + 0.5 - np.array(self.corner_px)) * self.scale - 0.5)

    def in_photo(self, map_px: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give where points (..., 2) x, y of the map lie in the photo."""
        return np.asarray((map_px + 0.5) / self.scale - 0.5 + np.array(self.corner_px))

    @property
    def wall(self) -> FloatImage:
        """Chance that a pixel shows a piece's side, inside or handle, (rows, cols)."""
        return np.asarray(self.chances[WALL], dtype=np.float32)

    @property
    def clay(self) -> FloatImage:
        """Chance that a face shows bare clay and not glaze, (rows, cols)."""
        return np.asarray(self.chances[BARE] / np.maximum(self.face, 1e-6), dtype=np.float32)


def levelled(photo: ByteImage) -> FloatImage:
    """Bring a photo (rows, cols, 3) to mean 0 a channel, spread 1 over all: exposure and white drop out."""
    light = photo.astype(np.float32) / np.float32(255.0)
    light -= light.mean(axis=(0, 1), keepdims=True)
    return np.asarray(light / (light.std() + np.float32(0.02)), dtype=np.float32)


def shrunken(pixels: ByteImage, settings: TileSettings) -> tuple[ByteImage, float]:
    """Shrink a photo to the net's resolution; gives it and its pixels per photo pixel."""
    rows, cols = pixels.shape[:2]
    scale = min(1.0, settings.net_long_side_px / max(rows, cols))
    size = (max(1, round(cols * scale)), max(1, round(rows * scale)))
    return np.asarray(shrink_picture(pixels, size), dtype=np.uint8), scale


def table_maps(pixels: ByteImage, shape: tuple[int, ...], settings: TileSettings) -> FloatImage:
    """Give how unlike the table each place is, with and without shadows: (rows, cols, 2) of `shape`."""
    maps = np.stack(unlike_table(prepare_scene(pixels, [], settings), settings), axis=-1)
    return np.asarray(cv2.resize(maps, (shape[1], shape[0]), interpolation=cv2.INTER_AREA), dtype=np.float32)


def encoded(light: FloatImage, table: FloatImage) -> FloatImage:
    """Join a levelled photo (rows, cols, 3) and table maps (rows, cols, 2): (len(CHANNELS), rows, cols)."""
    return np.ascontiguousarray(
        np.concatenate([light, np.log1p(table)], axis=-1).transpose(2, 0, 1), np.float32
    )


def map_pieces(pixels: ByteImage, settings: TileSettings) -> PieceMap:
    """Run the net over a photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    settings : `TileSettings`; `net_long_side_px` is the resolution

    Returns
    -------
    `PieceMap`
    """
    small, scale = shrunken(pixels, settings)
    table = np.stack(unlike_table(prepare_scene(pixels, [], settings), settings), axis=-1)
    return _mapped(small, np.asarray(table, dtype=np.float32), table, scale, (0.0, 0.0))


def look_closer(pixels: ByteImage, seen: PieceMap, part: BoolMask, settings: TileSettings) -> PieceMap:
    """Run the net again over the surroundings of one part, larger, and take the mean of both looks.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    seen : of the whole photo
    part : (rows, cols) bool, a piece in it
    settings : `TileSettings`; `closer_side_px` is how large the part then is

    Returns
    -------
    `PieceMap` of the surroundings; `seen` itself where the part is large enough, or the photo no finer
    """
    side = float(np.sqrt(part.sum()))
    scale = min(1.0, seen.scale * settings.closer_side_px / side)
    if side >= settings.closer_from_px or scale < 1.2 * seen.scale:
        return seen
    rows, cols = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
    ends = np.array([[cols[0], rows[0]], [cols[-1] + 1, rows[-1] + 1]]) / seen.scale
    margin = settings.closer_margin * float((ends[1] - ends[0]).max())
    size = np.array([pixels.shape[1], pixels.shape[0]])
    (left, top) = np.maximum(np.floor(ends[0] - margin), 0).astype(int)
    (right, low) = np.minimum(np.ceil(ends[1] + margin), size).astype(int)
    crop = pixels[top:low, left:right]
    shape = (max(1, round(crop.shape[1] * scale)), max(1, round(crop.shape[0] * scale)))
    small = np.asarray(cv2.resize(crop, shape, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    step = seen.table.shape[1] / pixels.shape[1]
    first = np.array([left, top]) * step
    last = np.array([right, low]) * step
    to_table = np.array(
        [
            [(last[0] - first[0]) / shape[0], 0, first[0] + 0.5 * (last[0] - first[0]) / shape[0] - 0.5],
            [0, (last[1] - first[1]) / shape[1], first[1] + 0.5 * (last[1] - first[1]) / shape[1] - 0.5],
        ]
    )
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    near = cv2.warpAffine(seen.table, to_table, shape, flags=how, borderMode=cv2.BORDER_REPLICATE)
    near = np.asarray(near, np.float32)
    corner = (float(left), float(top))
    out = _mapped(small, near, seen.table, scale, corner)
    to_photo = np.diag([1 / scale, 1 / scale, 1.0])
    to_photo[:2, 2] = out.in_photo(np.zeros(2))
    before = np.stack([in_view(chance, seen, to_photo, small.shape) for chance in seen.chances])
    both = (np.log(out.chances + 1e-4) + np.log(before + 1e-4)) / 2
    return replace(out, chances=softmax(both, 0))


def _mapped(
    small: ByteImage, near: FloatImage, table: FloatImage, scale: float, corner_px: tuple[float, float]
) -> PieceMap:
    rows, cols = small.shape[:2]
    maps = np.asarray(cv2.resize(near, (cols, rows), interpolation=cv2.INTER_AREA), dtype=np.float32)
    taken = encoded(levelled(small), maps).transpose(1, 2, 0)
    padded = cv2.copyMakeBorder(taken, 0, -rows % _STRIDE, 0, -cols % _STRIDE, cv2.BORDER_REPLICATE)
    planes = np.ascontiguousarray(padded.transpose(2, 0, 1)[None])
    classes, subject = run_net(_MODEL, planes, ("classes", "subject"))
    chances = softmax(classes[0], 0)[:, :rows, :cols]
    coarse = softmax(subject[0], 0)
    size = (padded.shape[1], padded.shape[0])
    fine = [cv2.resize(c, size, interpolation=cv2.INTER_LINEAR)[:rows, :cols] for c in coarse]
    return PieceMap(chances, np.stack(fine), np.ascontiguousarray(maps[..., 0]), scale, corner_px, table)


def in_view(
    field: FloatImage, seen: PieceMap, to_photo: NDArray[np.float64], shape: tuple[int, ...]
) -> FloatImage:
    """Bring a field of a `PieceMap` into a straightened view.

    Parameters
    ----------
    field : (rows, cols) float32 at the map's resolution
    seen : the map
    to_photo : (3, 3) homography from view to photo pixels
    shape : rows, cols of the view

    Returns
    -------
    (rows, cols) float32
    """
    s, (x, y) = seen.scale, seen.corner_px
    shrink = np.array([[s, 0, (0.5 - x) * s - 0.5], [0, s, (0.5 - y) * s - 0.5], [0, 0, 1.0]])
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    size = (shape[1], shape[0])
    brought = cv2.warpPerspective(field, shrink @ to_photo, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(brought, dtype=np.float32)
