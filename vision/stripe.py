"""A dark stripe under the glaze: where a person marked it, or where a straight dark band crosses the face."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.face import Face
from vision.reading import Subject
from vision.settings import FaceSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["Stripe", "find_stripe", "marked_stripe"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stripe:
    """A straight band, in pixels of the reduced face.

    Attributes
    ----------
    x, y : its middle
    angle_rad : of its long axis, from x towards y
    length, width : along and across
    by_hand : True where a person marked it
    """

    x: float
    y: float
    angle_rad: float
    length: float
    width: float
    by_hand: bool

    def along_across(self, shape: tuple[int, int]) -> tuple[FloatImage, FloatImage]:
        """Give each pixel's distance from the middle along the stripe and across it."""
        y, x = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
        c, s = np.float32(np.cos(self.angle_rad)), np.float32(np.sin(self.angle_rad))
        dx, dy = x - np.float32(self.x), y - np.float32(self.y)
        return c * dx + s * dy, c * dy - s * dx

    def corners(self) -> Floats:
        """Give its four corners, (4, 2) x, y."""
        c, s = np.cos(self.angle_rad), np.sin(self.angle_rad)
        half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (self.length / 2, self.width / 2)
        return np.asarray(half @ np.array([[c, s], [-s, c]]) + (self.x, self.y), np.float64)


def marked_stripe(corners: Sequence[Sequence[float]] | Floats) -> Stripe:
    """Take a stripe from the corners a person marked, (n, 2) pixels of the reduced face."""
    (x, y), (one, two), degrees = cv2.minAreaRect(np.asarray(corners, np.float32))
    angle = float(np.radians(degrees))
    if two > one:
        one, two, angle = two, one, angle + np.pi / 2
    return Stripe(float(x), float(y), angle, float(one), float(max(two, 1.0)), True)


def _profiles(lab: FloatImage, use: BoolMask, strips: int) -> tuple[Floats, Floats]:
    """Give running sums of L* and of its weight down each strip: (rows + 1, strips) each."""
    weight = use.astype(np.float32)
    size = (strips, len(use))
    light = cv2.resize(np.ascontiguousarray(lab[..., 0]) * weight, size, interpolation=cv2.INTER_AREA)
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    zero = np.zeros((1, strips))
    return np.vstack([zero, np.cumsum(light, axis=0)]), np.vstack([zero, np.cumsum(share, axis=0)])


def _between(sums: tuple[Floats, Floats], low: Floats, high: Floats) -> Floats:
    """Give mean L* between rows low and high of each strip, NaN where hardly anything is clear."""
    light, share = (part.ravel() for part in sums)
    rows, strips = sums[0].shape
    at = np.arange(strips)
    a, b = (
        np.minimum(np.maximum(np.rint(v), 0), rows - 1).astype(np.intp) * strips + at for v in (low, high)
    )
    weight = share.take(b) - share.take(a)
    enough = weight > 0.4 * np.maximum(high - low, 1.0)
    mean = (light.take(b) - light.take(a)) / np.maximum(weight, 1e-9)
    return np.asarray(np.where(enough, mean, np.nan))


def _dips(sums: tuple[Floats, Floats], centre: Floats, width: float) -> Floats:
    """Give how far L* in a band of this width drops under the lower of its two sides."""
    core = _between(sums, centre - 0.3 * width, centre + 0.3 * width)
    above = _between(sums, centre - 1.6 * width, centre - 0.85 * width)
    below = _between(sums, centre + 0.85 * width, centre + 1.6 * width)
    return np.asarray(np.minimum(above, below) - core)


def _row_medians(values: Floats, seen: NDArray[np.intp]) -> Floats:
    """Give the median of each row without its NaN; `seen` says how many numbers are left."""
    ordered = np.sort(values, axis=1)  # NaN last
    row = np.arange(len(values))
    return np.asarray((ordered[row, (seen - 1) // 2] + ordered[row, seen // 2]) / 2)


def _best_band(
    lab: FloatImage, use: BoolMask, px_per_mm: float, settings: FaceSettings
) -> tuple[float, float, float, float, float] | None:
    """Look for a band across the columns: drop, row at the middle, slope, width, strips' share."""
    rows, cols = use.shape
    sums = _profiles(lab, use, settings.stripe_strips)
    margin = settings.stripe_margin_share * rows
    centres = np.arange(margin, rows - margin, 1.0)
    x = (np.arange(settings.stripe_strips) + 0.5) / settings.stripe_strips * cols - cols / 2
    least, most = (max(3.0, mm * px_per_mm) for mm in (settings.stripe_least_mm, settings.stripe_most_mm))
    found: list[tuple[float, float, float, float, float]] = []
    slopes = np.linspace(-1, 1, 5) * settings.stripe_most_slope
    leaning = (centres[:, None] + slopes[:, None, None] * x).reshape(-1, settings.stripe_strips)
    for width in np.geomspace(least, min(most, rows / 4), 7):
        dips = _dips(sums, leaning, float(width))
        seen = np.isfinite(dips).sum(axis=1)
        enough = seen >= settings.stripe_least_strips * settings.stripe_strips
        middles = np.full(len(dips), -1.0)
        middles[enough] = _row_medians(dips[enough], seen[enough])
        shares = (dips > 0.5 * middles[:, None]).sum(axis=1) / settings.stripe_strips
        per_slope = (values.reshape(len(slopes), -1) for values in (enough, middles, shares))
        for slope, any_enough, middle, share in zip(slopes, *per_slope, strict=True):
            if not any_enough.any():
                continue
            at = int(np.argmax(middle))
            found.append(
                (float(middle[at]), float(centres[at]), float(slope), float(width), float(share[at]))
            )
            if slope == 0.0:
                # strong drops elsewhere at this width make it a pattern
                away = np.abs(centres - centres[at]) > 1.6 * width
                if away.any():
                    other = int(np.argmax(np.where(away, middle, -1.0)))
                    found.append((float(middle[other]), float(centres[other]), 0.0, float(width), -1.0))
    best = max((f for f in found if f[4] >= 0), default=None)
    if best is None or best[0] < settings.stripe_least_dip or best[4] < settings.stripe_least_strips:
        return None
    reach = 1.6 * best[3]
    rivals = [f[0] for f in found if abs(f[1] - best[1]) > reach + f[3]]
    return None if rivals and max(rivals) > settings.stripe_alone * best[0] else best


def _profile(
    lab: FloatImage, use: BoolMask, centre: float, slope: float, reach: float
) -> NDArray[np.float64]:
    """Give mean L* across a band that leans by `slope`, from `reach` above its middle to `reach` below."""
    rows, cols = use.shape
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    across = y - np.float32(centre) - np.float32(slope) * (x - cols / 2)
    near = use & (np.abs(across) < reach)
    place = np.rint(across[near] + reach).astype(int)
    counts = np.bincount(place, minlength=int(2 * reach) + 2)
    mean = np.bincount(place, lab[..., 0][near], minlength=len(counts)) / np.maximum(counts, 1)
    return np.asarray(np.where(counts > 0, mean, np.inf))


def _edges(profile: NDArray[np.float64], drop: float, width: float) -> tuple[int, int, float]:
    """Give where a profile rises by half the drop on either side, and how wide the softer rise is."""
    middle = len(profile) // 2
    core = profile[np.abs(np.arange(len(profile)) - middle) < 0.3 * width]
    floor = float(np.median(core))
    places, soft = [], 0.0
    for side in (profile[middle::-1], profile[middle:]):
        quarter, half, most = (int(np.argmax(side > floor + share * drop)) for share in (0.25, 0.5, 0.75))
        places.append(half)
        soft = max(soft, float(most - quarter) if most else np.inf)
    return middle - places[0] + 1, middle + places[1] - 1, soft


def _settled(
    lab: FloatImage,
    use: BoolMask,
    band: tuple[float, float, float, float, float],
    settings: FaceSettings,
) -> tuple[float, float, float] | None:
    """Give row of the middle, slope and width of a band by its sharpest edges; None where they are soft."""
    drop, centre, slope, width, _ = band
    reach = 2 * width
    fits = []
    for lean in slope + np.linspace(-1, 1, 9) * settings.stripe_most_slope / 2:
        low, high, soft = _edges(_profile(lab, use, centre, float(lean), reach), drop, width)
        fits.append((soft, abs(lean - slope), float(lean), low, high))
    soft, _, lean, low, high = min(fits)
    if soft > max(settings.stripe_edge_px, settings.stripe_edge_share * width):
        return None
    return centre + (low + high) / 2 - reach, lean, max(2.0, float(high - low + 1))


def find_stripe(face: Face, settings: FaceSettings) -> Stripe | None:
    """Find the one straight dark band that crosses the glazed face.

    Parameters
    ----------
    face : the reduced piece; only tiles carry stripes
    settings : what counts as one

    Returns
    -------
    Stripe, or None. Bands that repeat (combing, brush marks), steps from one colour to another (a second
    coat) and bands that do not reach across are none.
    """
    if face.subject is not Subject.TILE:
        return None
    use = face.clear & (face.from_edge > settings.edge_band_mm[1] * face.px_per_mm)
    rows, cols = np.nonzero(use.any(axis=1))[0], np.nonzero(use.any(axis=0))[0]
    if len(rows) < 40 or len(cols) < 40:
        return None
    top, left = int(rows[0]), int(cols[0])
    box = (slice(top, int(rows[-1]) + 1), slice(left, int(cols[-1]) + 1))
    stripes: list[tuple[float, Stripe]] = []
    for turned in (False, True):
        lab, inside = face.lab[box], use[box]
        if turned:
            lab, inside = np.ascontiguousarray(lab.transpose(1, 0, 2)), np.ascontiguousarray(inside.T)
        band = _best_band(lab, inside, face.px_per_mm, settings)
        if band is None:
            continue
        settled = _settled(lab, inside, band, settings)
        if settled is None:
            continue
        centre, slope, width = settled
        middle, length = inside.shape[1] / 2, float(inside.shape[1])
        lean = float(np.arctan(slope))
        if turned:
            stripe = Stripe(left + centre, top + middle, np.pi / 2 - lean, length, width, False)
        else:
            stripe = Stripe(left + middle, top + centre, lean, length, width, False)
        stripes.append((band[0], stripe))
    return max(stripes, key=lambda s: s[0])[1] if stripes else None
