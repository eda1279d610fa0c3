"""Patches that could be bare clay inside the glaze, and what each looks like beside the glaze around it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import CrawlingSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["PATCH_FEATURE_NAMES", "Patches", "find_patches", "least_area_px"]

PATCH_FEATURE_NAMES: tuple[str, ...] = (
    "log_area_share",
    "enclosed",
    "at_edge",
    "colour_step",
    "lightness_step",
    "chroma_step",
    "edge_sharpness",
    "clay_likeness",
    "clay_likeness_around",
    "to_bare",
    "bare_known",
    "grain",
    "grain_around",
    "brightest",
    "brightest_around",
    "lip_bright",
    "lip_dark",
    "spread",
    "spread_around",
    "compactness",
    "masked_bare",
    "same_colour_share",
    "glint_around",
    "glint_inside",
)
"""What a patch's probability rests on. Colours are CIELAB, lengths are shares, at the working size."""

_ENOUGH_PX = 4000
"""Pixels whose percentiles and means stand for those of a larger part."""


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """Patches at working size.

    Attributes
    ----------
    labels : (rows, cols) int32, 0 none, k + 1 the patch of row k; later rows lie over earlier ones
    masks : each patch as (row slice, column slice, bool mask of that box)
    features : (n, len(PATCH_FEATURE_NAMES)) float32
    factor : working pixels per surface pixel
    glazed_px : glazed area at working size, pixels
    """

    masks: tuple[tuple[slice, slice, BoolMask], ...]
    features: NDArray[np.float32]
    shape: tuple[int, int]
    factor: float
    glazed_px: int


def clay_likeness(colour: NDArray[np.float32]) -> float:
    """Say how far a colour could be fired clay, 0..1: white to buff to brown, never blue or green."""
    chroma = float(np.hypot(colour[1], colour[2]))
    hue_deg = float(np.degrees(np.arctan2(colour[2], colour[1])))
    neutral = float(np.exp(-((chroma / 7.0) ** 2)))
    warm = float(np.exp(-(((hue_deg - 65.0) / 30.0) ** 2)) * np.exp(-((max(0.0, chroma - 30.0) / 10.0) ** 2)))
    return max(warm, neutral)


def _places(mask: BoolMask) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Give rows and columns of a mask's pixels, of a large one's an even choice of as many as tell enough."""
    at = np.flatnonzero(mask)
    rows, cols = np.divmod(at[:: max(1, len(at) // _ENOUGH_PX)], mask.shape[1])
    return rows, cols


def _some_of(lab: FloatImage, mask: BoolMask) -> FloatImage:
    """Give the colours (n, 3) of `_places`."""
    return np.ascontiguousarray(lab[_places(mask)])


def _clusters(lab: FloatImage, use: BoolMask, settings: CrawlingSettings) -> NDArray[np.int32]:
    """Part the used pixels into a few colours; gives (rows, cols) int32, -1 elsewhere."""
    if np.count_nonzero(use) < 50:
        return np.full(use.shape, -1, np.int32)
    sample = _some_of(lab, use)
    cv2.setRNGSeed(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 0.5)
    _, _, centres = cv2.kmeans(sample, settings.colours, None, stop, 2, cv2.KMEANS_PP_CENTERS)
    axes = cv2.split(lab)
    nearest = np.full(use.shape, np.inf, np.float32)
    out = np.full(use.shape, -1, np.int32)
    for number, centre in enumerate(centres):
        away = sum((axis - at) ** 2 for axis, at in zip(axes, centre, strict=True))
        out[away < nearest] = number
        np.minimum(nearest, away, out=nearest)
    out[~use] = -1
    return out


def _clay_coloured(lab: FloatImage, use: BoolMask, foot: BoolMask, settings: CrawlingSettings) -> BoolMask:
    """Give what is not in the mask and nearer to the foot's colour than half the way from the glaze."""
    if not use.any():
        return use
    clay, glaze = (np.median(_some_of(lab, part), axis=0) for part in (foot, use))
    gap = float(np.linalg.norm(clay - glaze))
    squares = [(axis - at) ** 2 for axis, at in zip(cv2.split(lab), clay, strict=True)]
    away = np.sqrt(squares[0] + squares[1] + squares[2])
    return np.asarray(use & (away < 0.5 * gap) & (gap > settings.least_clay_step), np.bool_)


def find_patches(surface: Surface, settings: CrawlingSettings) -> Patches:
    """Find patches by colour and by the bare mask, and describe them.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : thresholds

    Returns
    -------
    Patches; those of a bare foot along a side of the piece are left out
    """
    rows, cols = surface.piece.shape
    factor = min(1.0, settings.working_side_px / max(rows, cols))
    size = (max(8, round(cols * factor)), max(8, round(rows * factor)))
    lab = cv2.resize(surface.lab, size, interpolation=cv2.INTER_AREA)
    lab = cv2.merge([cv2.medianBlur(channel, 3) for channel in cv2.split(lab)])

    def shrink(mask: BoolMask) -> BoolMask:
        if not mask.any():
            return np.zeros(size[::-1], np.bool_)
        return np.asarray(
            cv2.resize(mask.view(np.uint8) * 255, size, interpolation=cv2.INTER_AREA) > 127, np.bool_
        )

    piece, bare, glint = shrink(surface.piece), shrink(surface.bare), shrink(surface.glint)
    foot = _foot(bare, piece, settings)
    use = piece & ~glint & ~foot
    glazed_px = int((piece & ~bare).sum())
    least_px = least_area_px(surface, factor, glazed_px, settings)
    layers = [(bare & ~foot, True)]
    # what small patches escape the mask is parted by colour alone, and the model judges
    clusters = _clusters(lab, use, settings)
    layers += [(clusters == k, False) for k in range(settings.colours)]
    if foot.sum() >= settings.foot_px:
        # white clay looks like a glint: what is truly one is left to the model
        layers += [(_clay_coloured(lab, piece & ~foot & ~bare, foot, settings), False)]
    ground = _Ground(lab, piece, bare, glint, foot)
    boxes: list[tuple[slice, slice, BoolMask]] = []
    features: list[list[float]] = []
    for layer, from_mask in layers:
        opened = cv2.morphologyEx(layer.astype(np.uint8), cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
        share = float(layer.sum()) / max(1, int(use.sum()))
        _, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
        order = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[: settings.most_patches] + 1
        for k in order:
            area = int(stats[k, cv2.CC_STAT_AREA])
            if area < least_px or area > settings.largest_share * use.sum():
                continue
            x, y, w, h = (int(v) for v in stats[k, :4])
            pad = 7
            box = (slice(max(0, y - pad), y + h + pad), slice(max(0, x - pad), x + w + pad))
            mask = labels[box] == k
            described = ground.describe(box, mask, area, glazed_px, from_mask, share)
            if described is not None:
                boxes.append((*box, mask))
                features.append(described)
    table = np.array(features, np.float32).reshape(len(features), len(PATCH_FEATURE_NAMES))
    return Patches(tuple(boxes), np.nan_to_num(table), (size[1], size[0]), factor, glazed_px)


def least_area_px(surface: Surface, factor: float, glazed_px: int, settings: CrawlingSettings) -> float:
    """Give the smallest patch counted, pixels of the working size, of which `glazed_px` are glaze."""
    if surface.mm_per_px is None:
        wanted = settings.smallest_spot_fraction * glazed_px
    else:
        wanted = settings.smallest_spot_mm2 * (factor / surface.mm_per_px) ** 2
    return max(wanted, settings.smallest_spot_px)


def _foot(bare: BoolMask, piece: BoolMask, settings: CrawlingSettings) -> BoolMask:
    """Give the bare ground that belongs to a side of the piece left bare: a foot, a wax line, a handhold."""
    foot = np.zeros_like(bare)
    if not bare.any() or not piece.any():
        return foot
    labels = cv2.connectedComponents(bare.astype(np.uint8), connectivity=8)[1]
    for turn in range(4):
        inside, clay, names = np.rot90(piece, turn), np.rot90(bare, turn), np.rot90(labels, turn)
        filled = np.nonzero(inside.any(axis=1))[0]
        depth = max(2, round(settings.foot_band * len(filled)))
        band = slice(int(filled[0]), int(filled[0]) + depth)
        along = (clay & inside)[band].any(axis=0).sum() / max(1, inside[band].any(axis=0).sum())
        if along >= settings.foot_along:
            touching = np.unique(names[band])
            foot |= np.isin(labels, touching[touching > 0])
    return foot


def _percentiles(values: NDArray[np.float32], *percents: float) -> list[float]:
    """Give percentiles of some numbers all at once, as NumPy does between neighbours."""
    places = [percent / 100 * (len(values) - 1) for percent in percents]
    near = [(int(place), min(int(place) + 1, len(values) - 1)) for place in places]
    ordered = np.partition(values, sorted({k for pair in near for k in pair}))
    ends = [(float(ordered[low]), float(ordered[high])) for low, high in near]
    return [a + (place - int(place)) * (b - a) for place, (a, b) in zip(places, ends, strict=True)]


def _share(part: BoolMask, of: BoolMask) -> float:
    """Give how much of a part lies in a mask, 0..1; 0 of no part."""
    return int(np.count_nonzero(part & of)) / max(1, int(np.count_nonzero(part)))


class _Ground:
    """The working-size pictures that patches are described against."""

    def __init__(
        self, lab: FloatImage, piece: BoolMask, bare: BoolMask, glint: BoolMask, foot: BoolMask
    ) -> None:
        self.piece, self.glint, self.bare = piece, glint, bare
        self.axes = cv2.split(lab)
        light = self.axes[0]
        self.fine = np.abs(light - cv2.GaussianBlur(light, (0, 0), 1.5))
        steps = [
            cv2.magnitude(
                cv2.Sobel(axis, cv2.CV_32F, 1, 0, scale=0.125),
                cv2.Sobel(axis, cv2.CV_32F, 0, 1, scale=0.125),
            )
            for axis in self.axes
        ]
        self.slope = np.sqrt(steps[0] ** 2 + steps[1] ** 2 + steps[2] ** 2)
        known = foot if np.count_nonzero(foot) > 30 else bare
        self.clay = np.median(_some_of(lab, known), axis=0) if np.count_nonzero(known) > 30 else None
        self.edge = cv2.erode(piece.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=0) == 0

    def describe(
        self,
        box: tuple[slice, slice],
        mask: BoolMask,
        area: int,
        glazed_px: int,
        from_mask: bool,
        share: float,
    ) -> list[float] | None:
        """Give one patch's features, None when nothing of the piece lies around it."""
        solid = mask.astype(np.uint8)
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
        grown = cv2.dilate(solid, kernel)
        beside = cv2.dilate(grown, kernel)
        wide = cv2.dilate(beside, kernel, iterations=4) > 0
        piece, glint = self.piece[box], self.glint[box]
        around = wide & (beside == 0) & piece & ~glint
        lip = wide & ~mask & piece
        if np.count_nonzero(around) < 12:
            return None
        shrunk = cv2.erode(solid, kernel, borderValue=0) > 0
        core = _places(shrunk if np.count_nonzero(shrunk) >= 6 else mask)
        beside_it = _places(around)
        inside = [axis[box][core] for axis in self.axes]
        outside = [axis[box][beside_it] for axis in self.axes]
        (light, bright), (light_around, bright_around) = (
            _percentiles(v[0], 50, 98) for v in (inside, outside)
        )
        inner = np.array([light, *(_percentiles(v, 50)[0] for v in inside[1:])], np.float32)
        outer = np.array([light_around, *(_percentiles(v, 50)[0] for v in outside[1:])], np.float32)
        outline = mask & ~shrunk
        rim = (grown > 0) & ~shrunk
        beyond = rim & ~mask
        enclosed = _share(beyond, piece & ~self.bare[box])
        step = float(np.linalg.norm(inner - outer))
        lip_dark, lip_bright = _percentiles(self.axes[0][box][lip], 10, 90)
        length = max(1, int(np.count_nonzero(outline)))
        return [
            float(np.log(area / max(1, glazed_px))),
            enclosed,
            _share(outline, self.edge[box]),
            step,
            float(inner[0] - outer[0]),
            float(np.hypot(inner[1], inner[2]) - np.hypot(outer[1], outer[2])),
            _percentiles(self.slope[box][rim], 50)[0] / (step + 3.0),
            clay_likeness(inner),
            clay_likeness(outer),
            100.0 if self.clay is None else float(np.linalg.norm(inner - self.clay)),
            float(self.clay is not None),
            float(self.fine[box][core].mean()),
            float(self.fine[box][beside_it].mean()),
            bright - light,
            bright_around - light_around,
            lip_bright - light_around,
            light_around - lip_dark,
            float(np.mean([np.abs(v - m).mean() for v, m in zip(inside, inner, strict=True)])),
            float(np.mean([np.abs(v - m).mean() for v, m in zip(outside, outer, strict=True)])),
            float(4 * np.pi * area / length**2),
            float(from_mask or _share(mask, self.bare[box]) > 0.5),
            share,
            _share(lip, glint),
            _share(mask, glint),
        ]
