"""How a glaze breaks at a tile's edges, and its colour where it is likely thin and likely thick."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import delta_e_00
from vision.face import Face
from vision.gradient import difference_sd
from vision.reading import EdgeBreak, Lab, Subject, ThickThin
from vision.settings import FaceSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["measure_edges", "measure_thick_thin"]

Floats = NDArray[np.float64]


def _from_bare(face: Face) -> FloatImage:
    """Give the distance of each pixel from bare clay, pixels."""
    if not face.bare.any():
        return np.full(face.bare.shape, 1e6, np.float32)
    return np.asarray(cv2.distanceTransform((~face.bare).astype(np.uint8), cv2.DIST_L2, 3), np.float32)


def _nearest_side(shape: tuple[int, int]) -> NDArray[np.uint8]:
    """Name each pixel by the side of the picture it is nearest to: 0 left, 1 top, 2 right, 3 bottom."""
    rows, cols = shape
    y, x = np.mgrid[0:rows, 0:cols]
    return np.asarray(np.argmin(np.stack([x, y, cols - 1 - x, rows - 1 - y]), axis=0), np.uint8)


def _band(face: Face, from_bare: FloatImage, reach_mm: tuple[float, float], clear_mm: float) -> BoolMask:
    near, far = (mm * face.px_per_mm for mm in reach_mm)
    inside = (face.from_edge > max(near, 1.5)) & (face.from_edge <= max(far, 3.5))
    return np.asarray(face.clear & inside & (from_bare > clear_mm * face.px_per_mm))


def _middle(lab: FloatImage, where: BoolMask) -> Floats:
    return np.asarray(np.median(lab[where], axis=0), np.float64)


def measure_edges(face: Face, settings: FaceSettings) -> EdgeBreak | None:
    """Measure the colour of the glaze along a tile's edges against the field beside them.

    Parameters
    ----------
    face : the reduced piece
    settings : bands and doubts

    Returns
    -------
    EdgeBreak, or None where it is no tile or fewer than two edges carry glaze

    Notes
    -----
    Each side is set against the field beside it, and the middle one of the sides' differences is told. An
    edge is rounded and faces other light than the field: that is in the doubt, most of it in L*.
    """
    if face.subject is not Subject.TILE:
        return None
    from_bare, side = _from_bare(face), _nearest_side(face.glazed.shape)
    band = _band(face, from_bare, settings.edge_band_mm, settings.line_clear_mm)
    field = _band(face, from_bare, settings.edge_field_mm, settings.line_clear_mm)
    steps, fields = [], []
    for k in range(4):
        here, beside = band & (side == k), field & (side == k)
        if min(int(here.sum()), int(beside.sum())) >= settings.least_place_px:
            fields.append(_middle(face.lab, beside))
            steps.append(_middle(face.lab, here) - fields[-1])
    if len(steps) < 2:
        return None
    step, ground = np.median(steps, axis=0), np.mean(fields, axis=0)
    scatter = np.std(steps, axis=0, ddof=1) / np.sqrt(len(steps))
    sd = np.hypot(scatter, settings.edge_light_doubt)
    return EdgeBreak(
        field=Lab(*(float(v) for v in ground)),
        edge=Lab(*(float(v) for v in ground + step)),
        delta_e_00=float(delta_e_00(ground, ground + step)),
        delta_e_00_sd=difference_sd(ground, ground + step, sd),
        sides=len(steps),
    )


def measure_thick_thin(face: Face, edges: EdgeBreak | None, settings: FaceSettings) -> ThickThin | None:
    """Give the colour where the glaze is likely thick and where it is likely thin.

    Parameters
    ----------
    face : the reduced piece
    edges : as `measure_edges` gave them
    settings : places and doubts

    Returns
    -------
    ThickThin, or None where either place cannot be seen

    Notes
    -----
    A photo shows no thickness. It is guessed from how glaze behaves (common practice, no source): it draws
    thin over edges, and gathers at the low end of the face, taken to be the low end in the photo. A second
    coat elsewhere, or a tile photographed on its head, makes the guess wrong.
    """
    if edges is None:
        return None
    rows = np.nonzero(face.glazed.any(axis=1))[0]
    if len(rows) == 0:
        return None
    inner = face.clear & (face.from_edge > settings.edge_field_mm[0] * face.px_per_mm)
    inner &= _from_bare(face) > settings.line_clear_mm * face.px_per_mm
    low = np.nonzero(inner.any(axis=1))[0]
    if len(low) == 0:
        return None
    from_row = int(low[-1] - settings.pool_share * len(rows))
    pool = inner & (np.arange(len(inner))[:, None] >= from_row)
    if int(pool.sum()) < settings.least_place_px:
        return None
    thick = _middle(face.lab, pool)
    thin = np.asarray(edges.edge.as_tuple())
    sd = np.hypot(settings.edge_light_doubt, settings.place_doubt)
    return ThickThin(
        thick=Lab(*(float(v) for v in thick)),
        thin=edges.edge,
        thick_where="low end",
        thin_where="edges",
        delta_e_00=float(delta_e_00(thick, thin)),
        delta_e_00_sd=difference_sd(thick, thin, sd),
    )
