"""Colours by place: gradient, edges, thick and thin, opacity over a stripe, from one reduced picture."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.edges import measure_edges, measure_thick_thin
from vision.face import Face
from vision.gradient import measure_gradient
from vision.opacity import measure_opacity
from vision.palette import ColourDoubt
from vision.reading import FaceColours
from vision.settings import Settings
from vision.stripe import Stripe, find_stripe, marked_stripe

__all__ = ["measure_face_colours"]


def measure_face_colours(
    face: Face,
    doubt: ColourDoubt,
    to_photo: NDArray[np.float64],
    stripes: Sequence[Sequence[Sequence[float]]],
    settings: Settings,
) -> FaceColours:
    """Measure the colours by place of one piece.

    Parameters
    ----------
    face : the reduced piece
    doubt : what is known of the photo's colours
    to_photo : (3, 3) homography, view pixels to photo pixels
    stripes : stripes a person marked, corners in photo pixels; the one on this piece stands in place of what
        would be found
    settings : every threshold
    """
    to_view = np.diag([1 / face.factor, 1 / face.factor, 1.0])
    to_view[:2, 2] = 0.5 / face.factor - 0.5
    from_face = to_photo @ to_view
    stripe = _marked(face, from_face, stripes) or find_stripe(face, settings.face)
    edges = measure_edges(face, settings.face)
    return FaceColours(
        gradient=measure_gradient(face, settings.face),
        edges=edges,
        thick_thin=measure_thick_thin(face, edges, settings.face),
        opacity=None
        if stripe is None
        else measure_opacity(face, stripe, doubt, settings.face, settings.colour, from_face),
    )


def _marked(
    face: Face, from_face: NDArray[np.float64], stripes: Sequence[Sequence[Sequence[float]]]
) -> Stripe | None:
    """Give the marked stripe whose middle lies on this piece."""
    rows, cols = face.piece.shape
    to_face = np.linalg.inv(from_face)
    for corners in stripes:
        points = np.asarray(corners, np.float64).reshape(1, -1, 2)
        here = cv2.perspectiveTransform(points, to_face)[0]
        x, y = (round(float(v)) for v in here.mean(axis=0))
        if 0 <= y < rows and 0 <= x < cols and face.piece[y, x]:
            return marked_stripe(here)
    return None
