"""A craze net's direction and the spread of its cells' sizes."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_net import Net
from vision.settings import CrazingSettings

__all__ = ["Direction", "axial_mean", "cell_quartiles_px", "line_angles", "net_direction"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Direction:
    """Which way the lines of a net run.

    Attributes
    ----------
    degrees : mean axis, 0..180: 0 across the picture, 90 upright, anticlockwise as seen
    strength : mean resultant length of the doubled angles, 0 (all ways alike) .. 1 (all parallel)
    shares : share of the lines' length in each of 12 classes of 15 degrees, from 0 up
    """

    degrees: float
    strength: float
    shares: tuple[float, ...]


def line_angles(net: Net, smooth_px: float) -> tuple[Floats, Floats]:
    """Give the direction of the line at each pixel of the skeleton, and the length that pixel stands for.

    Parameters
    ----------
    net : lines at working resolution
    smooth_px : reach of the structure tensor

    Returns
    -------
    degrees : (n,) 0..180, anticlockwise as seen
    length : (n,) pixels: a pixel of a slanting line stands for more than one

    Notes
    -----
    Structure tensor of the smoothed skeleton (Bigün & Granlund 1987): the line runs across its steepest way.
    """
    drawn = cv2.GaussianBlur(net.skeleton.astype(np.float32), (0, 0), 1.2)
    gx = cv2.Scharr(drawn, cv2.CV_32F, 1, 0)
    gy = cv2.Scharr(drawn, cv2.CV_32F, 0, 1)
    xx, yy, xy = (
        cv2.GaussianBlur(product, (0, 0), smooth_px)[net.skeleton].astype(np.float64)
        for product in (gx * gx, gy * gy, gx * gy)
    )
    steepest = 0.5 * np.arctan2(2 * xy, xx - yy)
    # rows run downwards: turn the sign, so that angles go anticlockwise as seen
    degrees = np.degrees(np.pi / 2 - steepest) % 180.0
    radians = np.radians(degrees)
    return degrees, 1.0 / np.maximum(np.abs(np.cos(radians)), np.abs(np.sin(radians)))


def axial_mean(degrees: Floats, weight: Floats) -> tuple[float, float]:
    """Give mean axis (0..180 degrees) and mean resultant length (doubled angles, Mardia & Jupp 2000)."""
    turned = (weight * np.exp(2j * np.radians(degrees))).sum() / weight.sum()
    return float(np.degrees(np.angle(turned)) / 2 % 180.0), float(np.abs(turned))


def net_direction(net: Net, settings: CrazingSettings) -> Direction | None:
    """Give a net's direction, None where there are hardly any lines."""
    if int(net.skeleton.sum()) < settings.least_direction_px:
        return None
    degrees, length = line_angles(net, settings.direction_smooth_px)
    mean, strength = axial_mean(degrees, length)
    shares, _ = np.histogram(degrees, bins=12, range=(0.0, 180.0), weights=length)
    return Direction(mean, strength, tuple(float(v) for v in shares / shares.sum()))


def cell_quartiles_px(
    net: Net, cell_px: float, settings: CrazingSettings
) -> tuple[float, float, float] | None:
    """Give the quartiles of the cells' sizes (root of area), pixels of the working resolution.

    Parameters
    ----------
    net : lines at working resolution
    cell_px : size of a cell by the length of line (see `vision.crazing`), to know which gaps to close
    settings : how much of a net must be closed

    Returns
    -------
    Quartiles over whole cells; None where too few are closed

    Notes
    -----
    Short gaps in the walls are closed by thickening them; each cell then gets back what that took from it.
    """
    thick = max(0, round(settings.cell_gap_share * cell_px / 2))
    walls = net.skeleton.astype(np.uint8)
    if thick:
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * thick + 1, 2 * thick + 1))
        walls = cv2.dilate(walls, disc)
    space = (net.domain & (walls == 0)).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(space, connectivity=4)
    rim = cv2.dilate((~net.domain).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    rim[[0, -1]] = rim[:, [0, -1]] = True
    whole = np.ones(len(stats), bool)
    whole[np.unique(labels[rim])] = False
    whole[0] = False
    areas = stats[whole, cv2.CC_STAT_AREA].astype(np.float64)
    sizes = np.sqrt(areas) + 2 * thick + 1
    sizes = sizes[sizes > settings.least_cell_share * cell_px]
    if len(sizes) < settings.least_cells:
        return None
    covered = float((sizes**2).sum())
    if covered < settings.least_closed_share * float(net.domain.sum()):
        return None
    q = np.percentile(sizes, [25, 50, 75])
    return float(q[0]), float(q[1]), float(q[2])
