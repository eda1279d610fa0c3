"""Printed labels: the QR codes lying in the photo, and which tile each belongs to."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import LabelSettings
from vision.surface import ByteImage

__all__ = ["Label", "find_labels", "join_labels", "label_strip"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """One QR code: its text and its four corners (4, 2) in photo pixels."""

    text: str
    corners_px: Points


def _read(grey: NDArray[np.uint8], scale: float) -> list[Label]:
    import zxingcpp

    found = []
    for code in zxingcpp.read_barcodes(
        np.ascontiguousarray(grey),
        formats=zxingcpp.BarcodeFormat.QRCode,
        try_invert=False,
        try_downscale=False,
    ):
        if not code.valid or not code.text.strip():
            continue
        p = code.position
        corners = [(q.x, q.y) for q in (p.top_left, p.top_right, p.bottom_right, p.bottom_left)]
        found.append(Label(code.text.strip(), (np.array(corners, dtype=np.float64) + 0.5) / scale - 0.5))
    return found


def find_labels(pixels: ByteImage, settings: LabelSettings) -> tuple[Label, ...]:
    """Read the QR codes in a photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB

    Returns
    -------
    Labels, each code once. A small photo is read again enlarged and sharpened: its modules are hardly two
    pixels wide.
    """
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    longest = max(grey.shape)
    scale = min(1.0, settings.long_side_px / longest)
    first = grey if scale == 1.0 else cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    found = _read(first, scale)
    if longest <= settings.enlarge_below_px:
        large = cv2.resize(grey, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_CUBIC)
        soft = cv2.GaussianBlur(large, (0, 0), 2.5)
        found += _read(cv2.addWeighted(large, 1.8, soft, -0.8, 0), 2.0)
    kept: dict[str, Label] = {}
    for label in found:
        kept.setdefault(label.text, label)
    return tuple(kept.values())


def join_labels(
    labels: tuple[Label, ...], outlines: list[Points], settings: LabelSettings
) -> list[str | None]:
    """Join each label to the piece it lies nearest to, one label a piece.

    Parameters
    ----------
    labels : codes found
    outlines : (n, 2) outline of each piece, photo pixels

    Returns
    -------
    One text or None for each outline. A label farther off than `most_distance` of a piece's size joins none.
    """
    pairs = []
    for i, label in enumerate(labels):
        centre = tuple(float(v) for v in label.corners_px.mean(axis=0))
        for j, outline in enumerate(outlines):
            size = float(np.hypot(*(outline.max(axis=0) - outline.min(axis=0))))
            off = -cv2.pointPolygonTest(outline.astype(np.float32), centre, True)
            if off <= settings.most_distance * size:
                pairs.append((max(off, 0.0) / size, i, j))
    joined: list[str | None] = [None] * len(outlines)
    used: set[int] = set()
    for _, i, j in sorted(pairs):
        if i not in used and joined[j] is None:
            joined[j] = labels[i].text
            used.add(i)
    return joined


def label_strip(label: Label, settings: LabelSettings) -> Points:
    """Give the outline of the paper strip a code is printed on: the code grown to the strip's usual length.

    The strip runs to the right of the code in the code's own frame; it is kept out of the search for pieces.
    """
    tl, tr, br, bl = label.corners_px
    across, down = tr - tl, bl - tl
    quiet, length = settings.quiet_share, settings.strip_share
    return np.array(
        [
            tl - quiet * across - quiet * down,
            tr + length * across - quiet * down,
            br + length * across + quiet * down,
            bl - quiet * across + quiet * down,
        ]
    )
