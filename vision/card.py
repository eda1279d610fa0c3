"""Find the reference card: scale, pose, and how the camera saw its greys.

Markers are detected in a reduced picture, their edges measured at full resolution, and one homography
is fitted to all corners. Coordinates are (x, y) with the first pixel's centre at (0, 0).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_drawing import ARUCO_DICTIONARY
from vision.card_layout import LAYOUTS, CardLayout
from vision.card_markers import SeenMarker, refine_marker
from vision.card_patches import PatchSample, sample_patches
from vision.reading import Flag
from vision.reduced import reduce_picture
from vision.settings import CardSettings, Settings
from vision.surface import ByteImage

__all__ = ["FoundCard", "find_card", "scale_at"]

Points = NDArray[np.float64]
_DEFAULT = Settings()


@dataclass(frozen=True, slots=True, eq=False)
class FoundCard:
    """The card as one photo shows it.

    Attributes
    ----------
    layout : which card
    homography : (3, 3) float64, card millimetres -> photo pixels
    to_mm : (3, 3) float64, photo pixels -> card millimetres; straightens anything in the card's plane
    corners_px : (4, 2) float64, the trimmed card's corners: its own top left, top right, bottom right,
        bottom left. They may lie outside the photo when the card is partly seen
    mm_per_px : millimetres per pixel at the card's centre
    reprojection_px : root mean square distance of the marker corners from the fit, pixels
    markers_seen : ids of the markers that agree with the pose
    greys : the ramp's patches that lie in the photo
    papers : places of bare paper that lie in the photo, for the shading across the card
    flags : CARD_PARTLY_SEEN when fewer than four markers are seen
    """

    layout: CardLayout
    homography: Points
    to_mm: Points
    corners_px: Points
    mm_per_px: float
    reprojection_px: float
    markers_seen: tuple[int, ...]
    greys: tuple[PatchSample, ...]
    papers: tuple[PatchSample, ...]
    flags: tuple[Flag, ...] = ()

    def local_mm_per_px(self, x: float, y: float) -> float:
        """Give millimetres per pixel at a place in the photo, in the card's plane.

        Parameters
        ----------
        x, y : photo pixels

        Returns
        -------
        The root of the area ratio: the mean over directions when the view is tilted.
        """
        return scale_at(self.to_mm, x, y)


def scale_at(homography: Points, x: float, y: float) -> float:
    """Give the linear magnification of a homography at a point: the root of its Jacobian's determinant."""
    w = float(homography[2] @ (x, y, 1.0))
    return math.sqrt(abs(float(np.linalg.det(homography))) / abs(w) ** 3)


def _project(homography: Points, points: Points) -> Points:
    return np.asarray(cv2.perspectiveTransform(points.reshape(1, -1, 2), homography)[0], dtype=np.float64)


def find_card(pixels: ByteImage, settings: Settings = _DEFAULT) -> FoundCard | None:
    """Find the studio's reference card in a photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8, sRGB
    settings : `settings.card` holds the thresholds

    Returns
    -------
    The card, the best one when there are two, or None when none is in view. Two of the four markers
    are enough for a pose.

    Notes
    -----
    Any turn; tilt up to about 50 degrees. Markers: ArUco, DICT_4X4_50 (Garrido-Jurado et al. 2014).
    """
    card = settings.card
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    best: FoundCard | None = None
    for long_side in card.detect_long_side_px:
        small, to_full = reduce_picture(grey, long_side)
        poses = sorted(
            _poses(_detect(grey, small, to_full, card), grey.shape, card),
            key=lambda pose: pose.rank,
            reverse=True,
        )
        found = (_describe(pose, pixels, card) for pose in poses)
        best = next((one for one in found if _ramp_agrees(one, card)), best)
        if (best and len(best.markers_seen) == 4) or small is grey:
            break
    return best


def _ramp_agrees(card: FoundCard, settings: CardSettings) -> bool:
    """Tell whether the greys between the markers look like our ramp: other sheets use the same markers."""
    whole = len(card.markers_seen) == 4
    limit = settings.ramp_likeness_whole if whole else settings.ramp_likeness
    middle = card.layout.height_mm / 2
    alike = []
    for upper in (True, False):
        ramp = [patch for patch in card.greys if (patch.place[1] < middle) is upper]
        if len(ramp) >= settings.least_greys:
            asked = np.array([patch.lab[0] for patch in ramp])
            seen = np.cbrt(np.array([sum(patch.linear_rgb) for patch in ramp]))
            flat = float(seen.std()) <= 1e-6
            alike.append(0.0 if flat else float(np.corrcoef(asked, seen)[0, 1]))
    return max(alike) >= limit if alike else whole


def _detect(
    grey: NDArray[Any], small: NDArray[Any], to_full: Points, settings: CardSettings
) -> list[SeenMarker]:
    """Detect markers in a reduced picture and measure their corners in the full one."""
    if min(small.shape) < settings.smallest_picture_px:
        return []
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = 4 * settings.first_quad_side_fraction
    least, most = settings.threshold_windows_px
    parameters.adaptiveThreshWinSizeMin, parameters.adaptiveThreshWinSizeMax = least, most
    parameters.adaptiveThreshWinSizeStep = most - least
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(ARUCO_DICTIONARY), parameters)
    corners, ids, _ = detector.detectMarkers(small)
    if ids is None:
        return []
    ours = {marker for layout in LAYOUTS for marker in layout.marker_ids}
    seen = []
    for marker, quad in zip(ids.ravel().tolist(), corners, strict=True):
        if marker in ours:
            rough = _project(to_full, np.asarray(quad, dtype=np.float64).reshape(4, 2))
            seen.append(SeenMarker(marker, refine_marker(grey, rough, float(to_full[0, 0]), settings)))
    return seen


@dataclass(frozen=True, slots=True, eq=False)
class _Pose:
    layout: CardLayout
    homography: Points
    markers: tuple[int, ...]
    reprojection_px: float
    side_px: float

    @property
    def rank(self) -> tuple[int, float]:
        return (len(self.markers), self.side_px)


def _marker_corners_mm(layout: CardLayout) -> dict[int, Points]:
    return {
        marker: np.array(
            [
                [rect.x_mm, rect.y_mm],
                [rect.x_mm + rect.width_mm, rect.y_mm],
                [rect.x_mm + rect.width_mm, rect.y_mm + rect.height_mm],
                [rect.x_mm, rect.y_mm + rect.height_mm],
            ]
        )
        for marker, rect in zip(layout.marker_ids, layout.marker_rects(), strict=True)
    }


def _poses(seen: list[SeenMarker], shape: tuple[int, ...], settings: CardSettings) -> Iterator[_Pose]:
    """Give every consistent card: each marker in turn foretells where its three fellows should be."""
    for layout in LAYOUTS:
        places = _marker_corners_mm(layout)
        ours = [marker for marker in seen if marker.marker_id in places]
        for first in ours:
            guess = cv2.getPerspectiveTransform(
                places[first.marker_id].astype(np.float32), first.corners_px.astype(np.float32)
            )
            group = [first]
            for other in places.keys() - {first.marker_id}:
                rivals = [marker for marker in ours if marker.marker_id == other]
                if not rivals:
                    continue
                there = _project(guess, places[other])
                nearest = min(rivals, key=lambda m: float(np.abs(m.corners_px - there).mean()))
                off = float(np.linalg.norm((nearest.corners_px - there).mean(axis=0)))
                if off <= settings.neighbour_tolerance * max(nearest.side_px, first.side_px):
                    group.append(nearest)
            pose = _fit(layout, places, group, settings)
            if pose is not None and _possible(pose, shape, settings):
                yield pose


def _fit(
    layout: CardLayout, places: dict[int, Points], group: list[SeenMarker], settings: CardSettings
) -> _Pose | None:
    """Fit one homography to a group of markers, dropping the worst while the fit is too loose."""
    while len(group) >= 2:
        mm = np.concatenate([places[marker.marker_id] for marker in group])
        px = np.concatenate([marker.corners_px for marker in group])
        homography, _ = cv2.findHomography(mm, px, 0)
        if homography is None:
            return None
        off = np.linalg.norm(_project(homography, mm) - px, axis=1)
        rms = float(np.sqrt((off**2).mean()))
        side = float(np.median([marker.side_px for marker in group]))
        loose = settings.reprojection_limit[len(group) - 2]
        if rms <= max(settings.reprojection_floor_px, loose * side):
            ids = tuple(sorted(marker.marker_id for marker in group))
            return _Pose(layout, np.asarray(homography, dtype=np.float64), ids, rms, side)
        worst = int(np.argmax((off**2).reshape(-1, 4).sum(axis=1)))
        group = [marker for i, marker in enumerate(group) if i != worst]
    return None


def _possible(pose: _Pose, shape: tuple[int, ...], settings: CardSettings) -> bool:
    """Refuse poses that no hand-held photo has: turned inside out, edge on, or wildly foreshortened."""
    layout, matrix = pose.layout, pose.homography
    outline = np.array(
        [[0.0, 0.0], [layout.width_mm, 0.0], [layout.width_mm, layout.height_mm], [0.0, layout.height_mm]]
    )
    depth = outline @ matrix[2, :2] + matrix[2, 2]
    if float(depth.min()) <= 0.0 or float(np.linalg.det(matrix)) <= 0.0:
        return False
    corners = _project(matrix, outline)
    if not cv2.isContourConvex(corners.astype(np.float32)):
        return False
    scales = [scale_at(matrix, float(x), float(y)) for x, y in outline]
    x, y = layout.width_mm / 2, layout.height_mm / 2
    w = float(matrix[2] @ (x, y, 1.0))
    centre = matrix[:2] @ (x, y, 1.0) / w
    jacobian = (matrix[:2, :2] - np.outer(centre, matrix[2, :2])) / w
    axes = np.linalg.svd(jacobian, compute_uv=False)
    inside = bool((np.abs(centre) < 4 * max(shape[:2])).all())
    return (
        inside
        and max(scales) <= settings.scale_ratio_limit * min(scales)
        and float(axes[0]) <= settings.anisotropy_limit * float(axes[1])
    )


def _describe(pose: _Pose, pixels: ByteImage, settings: CardSettings) -> FoundCard:
    layout = pose.layout
    matrix = pose.homography / pose.homography[2, 2]
    outline = np.array(
        [[0.0, 0.0], [layout.width_mm, 0.0], [layout.width_mm, layout.height_mm], [0.0, layout.height_mm]]
    )
    greys, papers = sample_patches(pixels, layout, matrix, settings)
    return FoundCard(
        layout=layout,
        homography=matrix,
        to_mm=np.asarray(np.linalg.inv(matrix), dtype=np.float64),
        corners_px=_project(matrix, outline),
        mm_per_px=1.0 / scale_at(matrix, layout.width_mm / 2, layout.height_mm / 2),
        reprojection_px=pose.reprojection_px,
        markers_seen=pose.markers,
        greys=greys,
        papers=papers,
        flags=() if len(pose.markers) == 4 else (Flag.CARD_PARTLY_SEEN,),
    )
