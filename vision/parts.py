"""Part what the piece net takes for the faces of pieces into pieces."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.joined import cut_joined
from vision.settings import TileSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["find_parts", "with_insides"]


def find_parts(
    face: FloatImage, clay: FloatImage, wall: FloatImage, ground: BoolMask, settings: TileSettings
) -> list[BoolMask]:
    """Part the face chance into connected pieces, largest first, without slivers and crumbs.

    Holes are filled, but for the inside of a pot, which its lip goes round.

    Parameters
    ----------
    face : (rows, cols) float32, chance of a piece's face
    clay : (rows, cols) float32, chance that a face shows clay and not glaze
    wall : (rows, cols) float32, chance of a piece's side, inside or handle
    ground : (rows, cols) bool, where a piece may be
    settings : `TileSettings`

    Returns
    -------
    (rows, cols) bool each, at most `settings.most_pieces`
    """
    loose = ((face > settings.face_loose) & ground).astype(np.uint8)
    loose = cv2.morphologyEx(loose, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(loose, connectivity=4)
    areas = stats[:, cv2.CC_STAT_AREA]
    sure = np.bincount(labels.ravel(), (face > settings.face_sure).ravel(), count) / np.maximum(areas, 1)
    smallest = settings.smallest_piece_fraction * face.size
    parts: list[BoolMask] = []
    for k in sorted(range(1, count), key=lambda k: -int(areas[k])):
        if areas[k] < smallest or len(parts) >= settings.most_pieces:
            break
        if sure[k] < settings.face_sure_share:
            continue
        whole = np.zeros(face.shape, np.uint8)
        contours, _ = cv2.findContours(
            (labels == k).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
        )
        cv2.drawContours(whole, contours, -1, 1, -1)
        inside = (whole > 0) & (labels != k) & (wall > 0.5)
        if inside.sum() > settings.inside_share * areas[k]:
            whole[inside] = 0
        for part in _split(whole, face, clay, settings):
            parts += [half for half in cut_joined(part, face, settings) if half.sum() >= smallest]
    return sorted(parts, key=lambda part: -int(part.sum()))[: settings.most_pieces]


def with_insides(
    parts: list[BoolMask], face: FloatImage, wall: FloatImage, ware: FloatImage, settings: TileSettings
) -> list[BoolMask]:
    """Take a pot as one part, inside and all, of which the outside is hardly seen or comes in several parts.

    An outer wall is one part: where it is not, the net cannot tell it from the inside, as of a pot that lies
    on its side or is seen from high up.

    Parameters
    ----------
    parts : what `find_parts` gives
    face, wall : as there
    ware : (rows, cols) float32, chance that a piece is ware and no tile
    settings : `TileSettings`

    Returns
    -------
    (rows, cols) bool each: such pots instead of their parts, and the other parts
    """
    shown = ((face + wall) > 0.5).astype(np.uint8)
    count, labels = cv2.connectedComponents(
        cv2.morphologyEx(shown, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    )
    pots: list[BoolMask] = []
    for k in range(1, count):
        pot = np.asarray(labels == k, dtype=np.bool_)
        own = [part for part in parts if (part & pot).sum() > 0.5 * part.sum()]
        outside = sum(int(part.sum()) for part in own)
        inside = int((pot & (wall > face)).sum())
        most = settings.inside_most if len(own) == 1 else settings.inside_most_of_several
        if own and inside > most * outside and float(ware[pot].mean()) > 0.5:
            parts = [part for part in parts if not any(part is each for each in own)]
            pots.append(pot)
    return sorted([*parts, *pots], key=lambda part: -int(part.sum()))


def _split(
    whole: NDArray[np.uint8], face: FloatImage, clay: FloatImage, settings: TileSettings
) -> list[BoolMask]:
    """Part pieces that lie so near each other that a bridge joins them; gives each without its tails.

    Where the face is unsure along a line with glaze on both sides, two pieces meet there; with glaze on the
    one and clay on the other side the line is a piece's own glaze line.
    """
    sure = cv2.erode(((face > settings.apart_sure) & (whole > 0)).astype(np.uint8), np.ones((3, 3), np.uint8))
    glazed = [core for core in _large_parts(sure, settings) if float((clay[core] < 0.5).mean()) > 0.3]
    apart = _grown(whole, glazed, 3) if len(glazed) > 1 else [np.asarray(whole > 0, dtype=np.bool_)]
    out: list[BoolMask] = []
    for one in apart:
        width = 2 * round(settings.bridge_share * float(np.sqrt(one.sum())) / 2) + 1
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
        beyond = cv2.copyMakeBorder(one.astype(np.uint8), width, width, width, width, cv2.BORDER_REPLICATE)
        cores = _large_parts(cv2.erode(beyond, kernel)[width:-width, width:-width], settings)
        out += _grown(one.astype(np.uint8), cores, width) if cores else [one]
    return out


def _grown(whole: NDArray[np.uint8], cores: list[BoolMask], width: int) -> list[BoolMask]:
    """Give each core what of the whole lies nearer to it than to any other, and near it at all."""
    seeds = np.any(cores, axis=0).astype(np.uint8)
    _, nearest = cv2.distanceTransformWithLabels(1 - seeds, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_CCOMP)
    reach = np.ones((width + 2, width + 2), np.uint8)
    return [
        np.asarray(
            (nearest == nearest[core][0]) & (whole > 0) & (cv2.dilate(core.astype(np.uint8), reach) > 0),
            dtype=np.bool_,
        )
        for core in cores
    ]


def _large_parts(mask: NDArray[np.uint8], settings: TileSettings) -> list[BoolMask]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    areas = stats[:, cv2.CC_STAT_AREA]
    large = [k for k in range(1, count) if areas[k] >= settings.bridge_core * areas[1:].max()]
    return [np.asarray(labels == k, dtype=np.bool_) for k in large]
