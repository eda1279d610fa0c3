"""A 6 by 4 grid of plain patches in a picture: find the patches, join neighbours, fit the grid."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import ChartSettings
from vision.surface import ByteImage

__all__ = ["COLUMNS", "ROWS", "Grid", "Patches", "find_grids", "find_patches", "placements", "project"]

COLUMNS, ROWS = 6, 4
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """Plain, nearly square regions: (n, 2) centres, (n, 2, 2) sides as rows u and v, (n,) areas; pixels."""

    centre: Points
    axes: Points
    area: Points

    def __len__(self) -> int:
        return len(self.centre)


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Patches joined into a grid: (n, 2) whole-number places, their centres, and grid -> picture."""

    places: NDArray[np.int64]
    centres: Points
    homography: Points


def project(homography: Points, points: NDArray[Any]) -> Points:
    """Take (n, 2) points through a homography."""
    shaped = np.asarray(points, dtype=np.float64).reshape(1, -1, 2)
    return np.asarray(cv2.perspectiveTransform(shaped, homography)[0], dtype=np.float64)


def find_patches(small: ByteImage, settings: ChartSettings) -> Patches:
    """Find plain, nearly square regions.

    Parameters
    ----------
    small : (rows, cols, 3) uint8 sRGB, about 1000 px long

    Notes
    -----
    The picture is cut where local contrast is high, at several levels, and what is left between the cuts is
    kept when it fills a square.
    """
    lab = cv2.cvtColor(cv2.GaussianBlur(small, (3, 3), 0), cv2.COLOR_RGB2LAB)
    kernel = np.ones((3, 3), np.uint8)
    contrast = cv2.subtract(cv2.dilate(lab, kernel), cv2.erode(lab, kernel))
    edge = cv2.max(cv2.max(contrast[..., 0], contrast[..., 1]), contrast[..., 2])
    flat = [(edge <= level).view(np.uint8) for level in settings.edge_levels]
    with ThreadPoolExecutor(2) as at_once:
        found = [one for level in at_once.map(_square_regions, flat, repeat(settings)) for one in level]
    kept: list[tuple[float, float, Points, float]] = []
    if found:
        centres = np.array([[f[0], f[1]] for f in found])
        reach = np.sqrt(np.array([f[3] for f in found])) * 0.4
        taken = np.zeros(len(found), bool)
        for i in np.argsort([-f[3] for f in found]):
            if not taken[i]:
                kept.append(found[i])
                taken |= np.abs(centres - centres[i]).max(axis=1) < reach[i]
    return Patches(
        np.array([[k[0], k[1]] for k in kept]).reshape(-1, 2),
        np.array([k[2] for k in kept]).reshape(-1, 2, 2),
        np.array([k[3] for k in kept]).reshape(-1),
    )


def _square_regions(
    flat: NDArray[np.uint8], settings: ChartSettings
) -> list[tuple[float, float, Points, float]]:
    """Give centre x, y, axes and area of the connected regions that look like a patch."""
    least, most = settings.patch_side_px
    _, labels, stats, _ = cv2.connectedComponentsWithStats(flat, connectivity=4, ltype=cv2.CV_32S)
    width, height, area = (
        stats[:, cv2.CC_STAT_WIDTH],
        stats[:, cv2.CC_STAT_HEIGHT],
        stats[:, cv2.CC_STAT_AREA],
    )
    box = np.maximum(width * height, 1)
    likely = (
        (np.minimum(width, height) >= least * 0.7)
        & (np.maximum(width, height) <= most * 1.5)
        & (area >= 0.5 * least * least)
        & (area >= 0.42 * box)
        & (np.maximum(width, height) <= settings.patch_aspect * 1.3 * np.minimum(width, height))
    )
    likely[0] = False
    found = []
    for i in np.flatnonzero(likely):
        x, y, w, h, size = (int(v) for v in stats[i])
        part = (labels[y : y + h, x : x + w] == i).astype(np.uint8)
        outlines, _ = cv2.findContours(part, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
        outline = max(outlines, key=len)
        (cx, cy), (a, b), angle = cv2.minAreaRect(outline)
        a, b = a + 1.0, b + 1.0
        if min(a, b) < least or max(a, b) > most or max(a, b) > settings.patch_aspect * min(a, b):
            continue
        filled = max(size, cv2.contourArea(outline))
        hull = cv2.contourArea(cv2.convexHull(outline)) + 1.0
        if (
            filled < settings.patch_fill * a * b * 0.9
            or cv2.contourArea(outline) < settings.patch_fill * hull
        ):
            continue
        turn = np.deg2rad(angle)
        u = np.array([np.cos(turn), np.sin(turn)]) * a
        v = np.array([-np.sin(turn), np.cos(turn)]) * b
        found.append((x + cx, y + cy, np.array([u, v]), float(filled)))
    return found


def find_grids(patches: Patches, settings: ChartSettings) -> Iterator[Grid]:
    """Join neighbouring patches into grids, largest first."""
    if len(patches) < settings.least_patches:
        return
    joined = _neighbours(patches, settings)
    left = set(range(len(patches)))
    groups: list[dict[int, tuple[int, int]]] = []
    while left:
        start = max(left, key=lambda i: len(joined[i]))
        group = _grow(start, joined, patches)
        left -= group.keys() | {start}
        if len(group) >= settings.least_patches:
            groups.append(group)
    for group in sorted(groups, key=len, reverse=True)[:4]:
        grid = _fit(group, patches, settings)
        if grid is not None:
            yield grid


def _neighbours(patches: Patches, settings: ChartSettings) -> list[list[int]]:
    """For each patch, those that lie one step along one of its axes and have about its size."""
    near, far = settings.neighbour_reach
    inverse = np.linalg.inv(np.transpose(patches.axes, (0, 2, 1)))
    apart = patches.centre[None] - patches.centre[:, None]
    steps = np.einsum("nij,nmj->nmi", inverse, apart)
    size = np.abs(steps)
    along, sideways = size.max(axis=2), size.min(axis=2)
    ratio = patches.area[None] / patches.area[:, None]
    limit = settings.neighbour_area_ratio
    fits = (along > near) & (along < far) & (sideways < settings.neighbour_sideways)
    fits &= (ratio < limit) & (ratio > 1 / limit)
    fits &= fits.T
    result = []
    for i in range(len(patches)):
        best: dict[tuple[int, int], tuple[float, int]] = {}
        for j in np.flatnonzero(fits[i]):
            axis = int(np.argmax(size[i, j]))
            way = (axis, 1 if steps[i, j, axis] > 0 else -1)
            if way not in best or along[i, j] < best[way][0]:
                best[way] = (float(along[i, j]), int(j))
        result.append([j for _, j in best.values()])
    return result


def _grow(start: int, joined: list[list[int]], patches: Patches) -> dict[int, tuple[int, int]]:
    """Give patches their places, outwards from one, carrying the sense of the axes along."""
    place = {start: (0, 0)}
    frame = {start: patches.axes[start]}
    taken = {(0, 0)}
    queue = deque([start])
    while queue:
        i = queue.popleft()
        for j in joined[i]:
            if j in place:
                continue
            step = np.linalg.solve(frame[i].T, patches.centre[j] - patches.centre[i])
            axis = int(np.argmax(np.abs(step)))
            move = [0, 0]
            move[axis] = 1 if step[axis] > 0 else -1
            there = (place[i][0] + move[0], place[i][1] + move[1])
            if there in taken:
                continue
            place[j], frame[j] = there, _same_sense(frame[i], patches.axes[j])
            taken.add(there)
            queue.append(j)
    return place


def _same_sense(frame: Points, axes: Points) -> Points:
    """Turn a patch's axes by quarter turns until they run like its neighbour's."""
    u, v = axes
    rivals = [np.array(pair) for pair in ((u, v), (v, -u), (-u, -v), (-v, u))]
    return max(rivals, key=lambda pair: float((pair * frame).sum()))


def _fit(group: dict[int, tuple[int, int]], patches: Patches, settings: ChartSettings) -> Grid | None:
    """Fit grid -> picture to a group, then gather the patches that lie on it."""
    index = np.array(list(group))
    places = np.array([group[i] for i in index], dtype=np.int64)
    if len(np.unique(places[:, 0])) < 2 or len(np.unique(places[:, 1])) < 2:
        return None
    step = float(np.median(np.sqrt(patches.area[index])))
    cv2.setRNGSeed(1)
    homography, used = cv2.findHomography(
        places.astype(np.float64), patches.centre[index], cv2.RANSAC, 2 * settings.grid_fit * step
    )
    if homography is None or int(used.sum()) < settings.least_patches:
        return None
    homography = np.asarray(homography, dtype=np.float64)
    if abs(float(np.linalg.det(homography))) < 1e-9:
        return None
    for _ in range(2):
        there = project(np.linalg.inv(homography), patches.centre)
        whole = np.rint(there)
        off = np.abs(there - whole).max(axis=1)
        low, high = places.min(axis=0) - 2, places.max(axis=0) + 2
        on = (off < settings.grid_fit) & ((whole >= low) & (whole <= high)).all(axis=1)
        sized = np.abs(np.log(patches.area / np.median(patches.area[index]))) < np.log(4.0)
        chosen = np.flatnonzero(on & sized)
        _, first = np.unique(whole[chosen], axis=0, return_index=True)
        chosen = chosen[first]
        if len(chosen) < settings.least_patches:
            return None
        spots = whole[chosen]
        if len(np.unique(spots[:, 0])) < 2 or len(np.unique(spots[:, 1])) < 2:
            return None
        better, _ = cv2.findHomography(spots, patches.centre[chosen], 0)
        if better is None:
            return None
        homography = np.asarray(better, dtype=np.float64)
        if abs(float(np.linalg.det(homography))) < 1e-9:
            return None
    return Grid(spots.astype(np.int64), patches.centre[chosen], homography)


def placements(grid: Grid) -> Iterator[tuple[Points, int]]:
    """Give every way to lay the 6 by 4 chart on a grid.

    Yields
    ------
    (3, 3) chart place (column, row) -> picture, never mirrored, and how many found patches it covers
    """
    low, high = grid.places.min(axis=0), grid.places.max(axis=0)
    flipped = float(np.linalg.det(grid.homography)) < 0
    for wide, tall in ((COLUMNS, ROWS), (ROWS, COLUMNS)):
        starts = [
            range(int(min(low[a], high[a] - n + 1)), int(max(low[a], high[a] - n + 1)) + 1)
            for a, n in ((0, wide), (1, tall))
        ]
        for left in starts[0]:
            for top in starts[1]:
                inside = ((grid.places >= (left, top)) & (grid.places < (left + wide, top + tall))).all(
                    axis=1
                )
                covered = int(inside.sum())
                for matrix in _turns(left, top, wide, tall, flipped):
                    yield grid.homography @ matrix, covered


def _turns(left: int, top: int, wide: int, tall: int, flipped: bool) -> Iterator[Points]:
    """Give the two ways, half a turn apart, to map the chart's places onto this window unmirrored."""
    corners = [(left, top), (left + wide - 1, top), (left + wide - 1, top + tall - 1), (left, top + tall - 1)]
    if flipped:
        corners = corners[::-1]
    chart = np.array([[0, 0], [COLUMNS - 1, 0], [COLUMNS - 1, ROWS - 1], [0, ROWS - 1]], np.float32)
    for turn in range(4):
        there = np.array(corners[turn:] + corners[:turn], np.float32)
        first = np.abs(there[1] - there[0]).max()
        if int(first) == COLUMNS - 1:
            yield np.asarray(cv2.getPerspectiveTransform(chart, there), dtype=np.float64)
