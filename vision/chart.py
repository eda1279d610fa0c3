"""Find a 24-patch colour chart and say what the camera made of its patches.

A grid of plain patches is searched for, every way of laying the chart on it is tried, and the one whose
colours fit the published values is kept. A grid that fits nothing well is no chart: missing one costs a
hint, claiming one wrongly would spoil every colour in the photo.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from vision.card import FoundCard
from vision.card_patches import PatchSample, measure_patch
from vision.chart_grid import COLUMNS, ROWS, Patches, find_grids, find_patches, placements, project
from vision.colour import delta_e_00, lab_d50_to_lab, lab_to_linear, linear_to_lab, srgb_to_linear
from vision.reduced import reduce_picture
from vision.settings import ChartSettings, Settings
from vision.surface import ByteImage

__all__ = ["EDITIONS", "FoundChart", "chart_lab", "find_chart", "linear_fit"]

EDITIONS: tuple[str, ...] = ("after_Nov_2014", "before_Nov_2014")
"""The two published sets of values; charts changed in November 2014. The one that fits better is used."""

Floats = NDArray[np.float64]
_DEFAULT = Settings()
_PLACES = np.array([[c, r] for r in range(ROWS) for c in range(COLUMNS)], dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class FoundChart:
    """The chart as one photo shows it.

    Attributes
    ----------
    edition : which published set of values fits better, one of `EDITIONS`
    homography : (3, 3) float64, chart place (column 0..5, row 0..3) -> photo pixels
    corners_px : (4, 2) float64, corners of the field of patches: at dark skin, bluish green, black, white
    patches : the 24 patches, dark skin to black, row by row, with their published CIELAB (D65)
    residual_delta_e_00 : mean CIEDE2000 left by a linear fit of the patches that are neither clipped nor odd
    """

    edition: str
    homography: Floats
    corners_px: Floats
    patches: tuple[PatchSample, ...]
    residual_delta_e_00: float


@lru_cache(maxsize=4)
def _published(edition: str) -> tuple[tuple[float, float, float], ...]:
    text = resources.files("vision").joinpath("chart_values.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.DictReader(text.splitlines()) if row["edition"] == edition]
    if len(rows) != COLUMNS * ROWS:
        raise ValueError(f"no such edition of the chart: {edition!r}; there are {', '.join(EDITIONS)}")
    rows.sort(key=lambda row: int(row["patch"]))
    return tuple((float(r["L_star_D50"]), float(r["a_star_D50"]), float(r["b_star_D50"])) for r in rows)


@lru_cache(maxsize=4)
def chart_lab(edition: str = EDITIONS[0]) -> tuple[tuple[float, float, float], ...]:
    """Give the 24 published patch colours, CIELAB D65, dark skin to black.

    Notes
    -----
    Published under D50; taken to D65 by the Bradford transform. Source: `chart_values.csv`.
    """
    lab = lab_d50_to_lab(np.array(_published(edition)))
    return tuple((float(v[0]), float(v[1]), float(v[2])) for v in lab)


def find_chart(
    pixels: ByteImage, settings: Settings = _DEFAULT, card: FoundCard | None = None
) -> FoundChart | None:
    """Find a 24-patch chart in a photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8, sRGB
    settings : `settings.chart` holds the thresholds, `settings.card` those of clipping
    card : the reference card, when one was found; its own patches are then not taken for a chart's

    Returns
    -------
    The chart, or None when none is in view or none can be trusted.
    """
    chart = settings.chart
    for long_side in chart.search_long_sides_px:
        small, to_full = reduce_picture(pixels, long_side)
        if min(small.shape[:2]) < 4 * chart.patch_side_px[0]:
            return None
        begun = False
        for grid in find_grids(_beside(card, find_patches(small, chart), to_full), chart):
            begun = True
            best = _best_placement(small, list(placements(grid)), chart)
            if best is not None:
                found = _describe(pixels, to_full @ best, settings)
                if found.residual_delta_e_00 <= chart.accept_delta_e_00:
                    return found
        if small is pixels or not begun:
            return None
    return None


def _beside(card: FoundCard | None, patches: Patches, to_full: Floats) -> Patches:
    """Leave out the patches that lie on the reference card."""
    if card is None or not len(patches):
        return patches
    x, y = project(card.to_mm @ to_full, patches.centre).T
    off = (x < 0) | (y < 0) | (x > card.layout.width_mm) | (y > card.layout.height_mm)
    return Patches(patches.centre[off], patches.axes[off], patches.area[off])


def _best_placement(
    small: ByteImage, tries: list[tuple[Floats, int]], settings: ChartSettings
) -> Floats | None:
    """Try every placement against the published colours; None unless one fits well and clearly best."""
    reach = np.linspace(-settings.sample_reach, settings.sample_reach, 5)
    around = np.stack(np.meshgrid(reach, reach), axis=-1).reshape(-1, 2)
    points = (_PLACES[:, None] + around[None]).reshape(-1, 2)
    rough: list[tuple[float, Floats, Floats]] = []
    wanted = lab_to_linear(np.array(chart_lab())).astype(np.float64)
    for matrix, covered in tries:
        if covered < settings.least_inliers:
            continue
        at = np.rint(project(matrix, points)).astype(np.int64)
        if at.min() < 0 or (at.max(axis=0) >= (small.shape[1], small.shape[0])).any():
            continue
        linear = srgb_to_linear(small[at[:, 1], at[:, 0]]).reshape(len(_PLACES), -1, 3)
        bright = linear @ np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
        spread = np.median(bright.std(axis=1) / (bright.mean(axis=1) + 0.01))
        if float(spread) > settings.patch_spread_limit:
            continue
        mean = np.median(linear, axis=1).astype(np.float64)
        left = np.cbrt(np.clip(mean @ linear_fit(mean, wanted), 0, 2)) - np.cbrt(np.clip(wanted, 0, 2))
        rough.append((float(np.median(np.abs(left))), mean, matrix))
    rough.sort(key=lambda item: item[0])
    scores = [
        (min(_misfit(mean, edition, settings) for edition in EDITIONS), matrix)
        for _, mean, matrix in rough[: settings.placements_judged]
    ]
    if not scores:
        return None
    scores.sort(key=lambda pair: pair[0])
    best, matrix = scores[0]
    if best > settings.accept_delta_e_00:
        return None
    if len(scores) > 1 and best > settings.accept_margin * scores[1][0]:
        return None
    return matrix


def linear_fit(seen: Floats, wanted: Floats) -> Floats:
    """Fit wanted = seen @ M in linear light, weighted so that equal errors in lightness count alike.

    Parameters
    ----------
    seen, wanted : (n, 3) linear RGB, n at least 4

    Returns
    -------
    (3, 3) float64
    """
    # the slope of L* is proportional to Y to the power -2/3; the floor keeps black patches from ruling
    weight = (wanted @ np.array([0.2126, 0.7152, 0.0722]) + 0.04)[:, None] ** (-2.0 / 3.0)
    matrix, *_ = np.linalg.lstsq(seen * weight, wanted * weight, rcond=None)
    return np.asarray(matrix, dtype=np.float64)


def _misfit(seen: Floats, edition: str, settings: ChartSettings) -> float:
    """Give the mean CIEDE2000 left by a linear fit; infinite where the greys do not come out grey.

    Clipped patches are left out, and up to `most_odd` patches that do not fit the others.
    """
    lab = np.array(chart_lab(edition))
    wanted = lab_to_linear(lab).astype(np.float64)
    used = (seen.max(axis=1) < 0.98) & (seen.max(axis=1) > 0.0005)
    if int(used.sum()) < 16:
        used[:] = True
    matrix = linear_fit(seen[used], wanted[used])
    fitted = linear_to_lab(np.clip(seen @ matrix, 0.0, 2.0))
    off = delta_e_00(fitted, lab)
    odd = np.argsort(np.where(used, -off, 0.0))[: settings.most_odd]
    odd = odd[off[odd] > settings.odd_patch_delta_e_00]
    if len(odd):
        used[odd] = False
        matrix = linear_fit(seen[used], wanted[used])
        fitted = linear_to_lab(np.clip(seen @ matrix, 0.0, 2.0))
        off = delta_e_00(fitted, lab)
    greys = np.arange(18, 23)[used[18:23]]
    chroma = np.hypot(fitted[greys, 1] - lab[greys, 1], fitted[greys, 2] - lab[greys, 2])
    if len(greys) < 2 or float(chroma.mean()) > settings.grey_chroma_limit:
        return float("inf")
    return float(off[used].mean())


def _describe(pixels: ByteImage, matrix: Floats, settings: Settings) -> FoundChart:
    """Sample the patches at full resolution and choose the edition."""
    seen = [_sample(pixels, matrix, place, settings) for place in _PLACES]
    linear = np.array([patch.linear_rgb for patch in seen])
    misfit = {edition: _misfit(linear, edition, settings.chart) for edition in EDITIONS}
    edition = min(EDITIONS, key=misfit.__getitem__)
    patches = tuple(
        PatchSample(lab, p.linear_rgb, p.spread, p.clipped, p.x_px, p.y_px, p.place)
        for p, lab in zip(seen, chart_lab(edition), strict=True)
    )
    ends = np.array([[-0.5, -0.5], [COLUMNS - 0.5, -0.5], [COLUMNS - 0.5, ROWS - 0.5], [-0.5, ROWS - 0.5]])
    return FoundChart(edition, matrix, project(matrix, ends), patches, misfit[edition])


def _sample(pixels: ByteImage, matrix: Floats, place: Floats, settings: Settings) -> PatchSample:
    reach = np.linspace(-settings.chart.sample_reach, settings.chart.sample_reach, 24)
    around = np.stack(np.meshgrid(reach, reach), axis=-1).reshape(-1, 2)
    at = np.rint(project(matrix, place + around)).astype(np.int64)
    at = np.clip(at, 0, (pixels.shape[1] - 1, pixels.shape[0] - 1))
    middle = project(matrix, place[None])[0]
    codes = pixels[at[:, 1], at[:, 0]]
    return measure_patch(
        codes,
        (0.0, 0.0, 0.0),
        (float(middle[0]), float(middle[1])),
        (float(place[0]), float(place[1])),
        settings.card,
    )
