"""Where each piece surely is and where the table surely is: the seeds that a watershed grows from."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.extend import extend_quad
from vision.outline import fit_quad
from vision.settings import TileSettings
from vision.shadow import leave_shadow
from vision.sides import Evidence, choose_quads, weakest_stretch
from vision.surface import BoolMask, FloatImage

__all__ = ["Part", "edge_map", "mark_seeds"]

Mask8 = NDArray[np.uint8]


def _quad_of(mask: BoolMask, settings: TileSettings) -> NDArray[np.float64] | None:
    """Give a region's corners if it looks like a flat tile: four straight sides at a phone's usual tilt."""
    quad, fill, straight = fit_quad(mask)
    if fill < settings.quad_fill or straight < settings.quad_straight:
        return None
    edges = np.roll(quad, -1, axis=0) - quad
    length = np.hypot(edges[:, 0], edges[:, 1])
    if length.min() < 4:
        return None
    for k in range(2):
        if max(length[k], length[k + 2]) > settings.quad_side_ratio * min(length[k], length[k + 2]):
            return None
    cosine = (edges * np.roll(edges, 1, axis=0)).sum(axis=1) / (length * np.roll(length, 1))
    return quad if np.abs(cosine).max() <= settings.quad_most_cosine else None


def edge_map(lab: FloatImage) -> FloatImage:
    """Give the colour change across each pixel, CIELAB units a pixel, widened by a pixel to either side."""
    total = np.zeros(lab.shape[:2], np.float32)
    for i in range(3):
        plane = cv2.medianBlur(np.ascontiguousarray(lab[..., i]), 3)
        gx, gy = (
            cv2.Sobel(plane, cv2.CV_32F, 1, 0, scale=0.125),
            cv2.Sobel(plane, cv2.CV_32F, 0, 1, scale=0.125),
        )
        total += gx * gx + gy * gy
    return np.asarray(cv2.dilate(np.sqrt(total), np.ones((3, 3), np.uint8)), np.float32)


def _edge_support(edges: FloatImage, quad: NDArray[np.float64], settings: TileSettings) -> float:
    """Give how sharp the sides of a quadrilateral are, 0..1; a side along a shadow's edge is soft."""
    t = np.linspace(0.1, 0.9, 40)
    sides = []
    for k in range(4):
        points = quad[k] + t[:, None] * (quad[(k + 1) % 4] - quad[k])
        x, y = np.rint(points).astype(np.intp).T
        inside = (x >= 1) & (y >= 1) & (x < edges.shape[1] - 1) & (y < edges.shape[0] - 1)
        if inside.mean() < 0.5:
            continue
        sides.append(float(np.minimum(edges[y[inside], x[inside]] / settings.sharp_edge, 1.0).mean()))
    return 0.5 * (float(np.mean(sides)) + min(sides)) if sides else 0.0


def _parts(mask: Mask8, smallest: float) -> list[Mask8]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    return [(labels == k).astype(np.uint8) for k in range(1, count) if stats[k, cv2.CC_STAT_AREA] >= smallest]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One part of what stands out: its mask, and its corners (4, 2) where four straight sides bound it."""

    mask: Mask8
    quad: NDArray[np.float64] | None = None
    sharpness: float = 0.0

    @property
    def worth(self) -> float:
        """Pixels in a four-sided part, weighed by the sharpness of its sides."""
        return 0.0 if self.quad is None else self.sharpness * float(self.mask.sum())


class Splitter:
    """Splits what shadow or touching joins, the way that leaves most of it in sharp four-sided parts."""

    def __init__(
        self,
        distances: tuple[FloatImage, FloatImage],
        lab: FloatImage,
        limit: float,
        settings: TileSettings,
    ) -> None:
        rows, cols = lab.shape[:2]
        self.unlike, self.unshaded = distances
        self.lab, self.limit, self.settings = lab, limit, settings
        self.edges = edge_map(lab)
        self.smallest = settings.smallest_piece_fraction * rows * cols
        self.width = 2 * max(1, round(settings.thin_fraction * max(rows, cols) / 2)) + 1

    def parts_of(self, mask: Mask8) -> list[Mask8]:
        """Give the connected parts of a mask that are neither thin nor small."""
        opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((self.width, self.width), np.uint8))
        return _parts(opened, self.smallest)

    def look_at(self, mask: Mask8) -> Part:
        """See whether a part is four-sided, its sides moved in from the shadow's edge."""
        quad = _quad_of(mask > 0, self.settings)
        if quad is None:
            return Part(mask)
        sharpness = _edge_support(self.edges, quad, self.settings)
        if sharpness < self.settings.sharp_enough:
            inner = leave_shadow(quad, self.edges, self.lab, self.unshaded / self.limit, self.settings)
            sharper = _edge_support(self.edges, inner, self.settings)
            if sharper > sharpness:
                quad, sharpness = inner, sharper
        return Part(mask, quad, sharpness)

    def whole_of(self, part: Part) -> Part:
        """Give a four-sided part with what of the tile looks like the table, and without its shadow."""
        if part.quad is None:
            return part
        unshaded = self.unshaded / np.float32(self.limit)
        evidence = Evidence(self.edges, self.unlike / np.float32(self.limit), unshaded)
        settings = self.settings
        table = unshaded < 1.0
        busy = float(np.percentile(self.edges[table], 85)) if table.any() else 0.0
        weak = weakest_stretch(part.quad, evidence, settings) < settings.side_sound
        if weak and busy < settings.side_busy:
            closed = choose_quads(part.quad, float(part.mask.sum()), evidence, settings)
            if closed:
                return replace(part, quad=closed[0][0], sharpness=closed[0][1])
        grown = extend_quad(part.quad, self.edges, self.lab, unshaded, self.settings)
        return replace(part, quad=grown)

    def _apart(self, whole: Mask8) -> list[Part]:
        """See whether a four-sided part is tiles in a row with a shaded gap between; else empty."""
        for factor in self.settings.gap_factors:
            higher = ((whole > 0) & (self.unshaded > factor * self.limit)).astype(np.uint8)
            masks = self.parts_of(higher)
            if len(masks) < 2:
                continue
            parts = [self.look_at(p) for p in masks]
            if any(p.quad is None or p.sharpness < self.settings.lone_sharpness for p in parts):
                continue
            rest = whole.copy()
            for mask in masks:
                rest[cv2.dilate(mask, np.ones((5, 5), np.uint8)) > 0] = 0
            gap = float(rest.sum()) / float(whole.sum())
            if not self.settings.gap_share[0] <= gap <= self.settings.gap_share[1]:
                continue
            if float(np.median(self.unshaded[rest > 0])) < self.settings.gap_shaded * self.limit:
                return parts
        return []

    def split(self, whole: Mask8) -> list[Part]:
        """Split one connected part."""
        settings = self.settings
        area = float(whole.sum())
        first = self.look_at(whole)
        if first.worth >= settings.sharp_enough * area:
            return self._apart(whole) or [first]
        best, most = [first], first.worth
        for distance in (self.unshaded, self.unlike):
            for factor in settings.split_factors:
                higher = ((whole > 0) & (distance > factor * self.limit)).astype(np.uint8)
                masks = self.parts_of(cv2.morphologyEx(higher, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)))
                if sum(int(p.sum()) for p in masks) < settings.split_cover * area:
                    break
                parts = [self.look_at(p) for p in masks]
                worth = sum(p.worth for p in parts)
                if worth > most * settings.split_gain:
                    best, most = parts, worth
        if sum(float(p.mask.sum()) for p in best if p.quad is not None) >= settings.split_cover * area:
            return best
        hard = ((whole > 0) & (self.unshaded > self.limit)).astype(np.uint8)
        hard = cv2.morphologyEx(hard, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
        masks = self.parts_of(cv2.morphologyEx(hard, cv2.MORPH_CLOSE, np.ones((11, 11), np.uint8)))
        return [Part(p) for p in masks] or [Part(whole)]


def mark_seeds(
    distances: tuple[FloatImage, FloatImage],
    lab: FloatImage,
    limit: float,
    excluded: BoolMask,
    settings: TileSettings,
) -> tuple[NDArray[np.int32], list[Part]]:
    """Mark sure table (1) and the core of each piece (2, 3, ...); 0 is left to the watershed.

    Parameters
    ----------
    distances : two (rows, cols) float32: distance from the table's colours, and the same with a shadow on
        the table counted as table
    lab : (rows, cols, 3) float32 CIELAB of the shrunken photo
    limit : distance above which a pixel is no table
    excluded : (rows, cols) bool, card, chart, labels

    Returns
    -------
    markers : (rows, cols) int32
    parts : one for each marker from 2 on

    Notes
    -----
    What a shadow could explain starts no piece where a piece that none could explain is beside it, unless
    both together have four straight, sharp sides.
    """
    fore = ((distances[0] > limit) & ~excluded).astype(np.uint8)
    fore = cv2.morphologyEx(fore, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    fore = cv2.morphologyEx(fore, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))
    markers = np.zeros(fore.shape, np.int32)
    markers[(cv2.dilate(fore, np.ones((9, 9), np.uint8)) == 0) | excluded] = 1
    splitter = Splitter(distances, lab, limit, settings)
    found: list[Part] = []
    for whole in splitter.parts_of(fore):
        for split in splitter.split(whole):
            part = splitter.whole_of(split)
            core = cv2.erode(part.mask, np.ones((5, 5), np.uint8))
            if core.sum() < 0.2 * splitter.smallest:
                core = part.mask
            found.append(part)
            markers[core > 0] = len(found) + 1
    return markers, found
